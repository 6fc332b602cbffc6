package handlers

import (
	"math"
	"net/http"
	"net/netip"
	"strconv"
	"sync"
	"time"

	"github.com/gin-gonic/gin"
	"golang.org/x/time/rate"
)

// Limits are what one device may take of the server, so that the others have the rest.
// The zero value sets none.
type Limits struct {
	Tablet  Allowance // one tablet
	Address Allowance // one address of the network, with all that ask from it
	Own     Allowance // this machine: a proxy in front of the server, with all who come through it
	Streams int       // live streams that are open to one address

	OwnStreams int              // to this machine
	Now        func() time.Time // nil: time.Now
}

// Allowance is so many requests a second, and so many at once after a quiet time.
type Allowance struct {
	PerSecond float64
	AtOnce    int
}

// UsualLimits are far above what people do. A tablet that sends a full queue after a
// day without a connection sends its taps one by one, each after the answer to the one
// before: it may send two thousand as fast as it can, and is slowed then. Two hundred
// tablets that come back at once behind a proxy are served.
func UsualLimits() Limits {
	return Limits{
		Tablet: Allowance{250, 2000}, Address: Allowance{500, 4000}, Own: Allowance{10_000, 20_000},
		Streams: 100, OwnStreams: 1100,
	}
}

// mostDevices is how many devices are told apart; more share what their address may
// take. A device that was quiet for quietFor may take all of its allowance again.
const (
	mostDevices = 10_000
	quietFor    = time.Minute
)

// device is who asks: a tablet at an address, or "" for all of an address.
type device struct {
	address netip.Addr
	tablet  string
}

// meter is what a device has taken lately.
type meter struct {
	left *rate.Limiter
	last time.Time
}

// pace holds every device to the limits.
type pace struct {
	limits Limits

	mu      sync.Mutex
	meters  map[device]*meter
	swept   time.Time
	streams map[netip.Addr]int
}

func newPace(limits Limits) *pace {
	if limits.Now == nil {
		limits.Now = time.Now
	}
	return &pace{limits: limits, meters: map[device]*meter{}, streams: map[netip.Addr]int{}}
}

// wait is after which time a device may ask again; 0: now.
func (p *pace) wait(address netip.Addr, tablet string) time.Duration {
	p.mu.Lock()
	defer p.mu.Unlock()
	now := p.limits.Now()
	p.sweep(now)
	all := p.limits.Address
	if address.IsLoopback() {
		all = p.limits.Own
	}
	if wait := p.take(device{address: address}, all, now); wait > 0 {
		return wait
	}
	if tablet == "" || len(p.meters) >= mostDevices {
		return 0
	}
	return p.take(device{address, tablet}, p.limits.Tablet, now)
}

// take counts one request of a device.
func (p *pace) take(d device, of Allowance, now time.Time) time.Duration {
	if of.PerSecond <= 0 {
		return 0
	}
	m := p.meters[d]
	if m == nil {
		m = &meter{left: rate.NewLimiter(rate.Limit(of.PerSecond), of.AtOnce)}
		p.meters[d] = m
	}
	m.last = now
	one := m.left.ReserveN(now, 1)
	wait := one.DelayFrom(now)
	if wait > 0 {
		one.CancelAt(now) // it is not let in
	}
	return wait
}

// sweep forgets, now and then, who was quiet.
func (p *pace) sweep(now time.Time) {
	if now.Sub(p.swept) < quietFor {
		return
	}
	p.swept = now
	for d, m := range p.meters {
		if now.Sub(m.last) >= quietFor {
			delete(p.meters, d)
		}
	}
}

// open counts one more stream of an address, until closed is called; ok is false where
// it has as many as it may have.
func (p *pace) open(address netip.Addr) (closed func(), ok bool) {
	most := p.limits.Streams
	if address.IsLoopback() {
		most = p.limits.OwnStreams
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if most > 0 && p.streams[address] >= most {
		return nil, false
	}
	p.streams[address]++
	return func() {
		p.mu.Lock()
		defer p.mu.Unlock()
		if p.streams[address]--; p.streams[address] == 0 {
			delete(p.streams, address)
		}
	}, true
}

// askedFrom is the address that a request came from. What a proxy says of it is not
// read: anybody can say it. One device holds a whole network of IPv6 addresses (RFC
// 4291, section 2.5.4), which counts as one.
func askedFrom(r *http.Request) netip.Addr {
	from, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return netip.Addr{}
	}
	addr := from.Addr().Unmap().WithZone("")
	if addr.Is6() && !addr.IsLoopback() {
		if net, err := addr.Prefix(64); err == nil {
			return net.Addr()
		}
	}
	return addr
}

// paced refuses who asks too often. A tablet's queue keeps its taps, and goes on when
// it may.
func (s *server) paced(c *gin.Context) {
	wait := s.pace.wait(askedFrom(c.Request), cookieTablet(c))
	if wait == 0 {
		c.Next()
		return
	}
	s.askLater(c, wait)
}

// askLater answers who asks too often.
func (s *server) askLater(c *gin.Context, wait time.Duration) {
	s.turnAway(c, http.StatusTooManyRequests, s.words(c).say("Too much is asked for from here at once; nothing was done. Try again in %d s.", retryAfter(c, wait)))
}

// retryAfter tells a program after which time to ask again, in whole seconds.
func retryAfter(c *gin.Context, wait time.Duration) (seconds int) {
	seconds = int(math.Ceil(wait.Seconds()))
	c.Header("Retry-After", strconv.Itoa(seconds))
	return seconds
}
