package main

import (
	"net"
	"net/netip"
	"sync"
)

// How many connections may be open at once: of one address of the network, of this
// machine itself (a proxy, with all who come through it), and of all together. A
// browser opens half a dozen.
const (
	addressConnections = 256
	ownConnections     = 3000
	allConnections     = 4096
)

// boundListener closes connections over the limits as soon as they come: one device
// must not keep the others out by holding connections.
type boundListener struct {
	net.Listener
	address, own, all int

	mu   sync.Mutex
	open map[netip.Addr]int
	sum  int
}

func bound(l net.Listener) *boundListener {
	return &boundListener{Listener: l, address: addressConnections, own: ownConnections, all: allConnections, open: map[netip.Addr]int{}}
}

// Accept returns the next connection that is within the limits.
func (l *boundListener) Accept() (net.Conn, error) {
	for {
		conn, err := l.Listener.Accept()
		if err != nil {
			return nil, err
		}
		from := remoteAddress(conn)
		if l.count(from) {
			return &boundConn{Conn: conn, left: sync.OnceFunc(func() { l.leave(from) })}, nil
		}
		_ = conn.Close() // nobody is told: an answer would be one more thing to wait for
	}
}

// remoteAddress is who connects, without the port.
func remoteAddress(conn net.Conn) netip.Addr {
	tcp, ok := conn.RemoteAddr().(*net.TCPAddr)
	if !ok {
		return netip.Addr{}
	}
	return tcp.AddrPort().Addr().Unmap().WithZone("")
}

func (l *boundListener) count(from netip.Addr) (ok bool) {
	most := l.address
	if from.IsLoopback() {
		most = l.own
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.open[from] >= most || l.sum >= l.all {
		return false
	}
	l.open[from]++
	l.sum++
	return true
}

func (l *boundListener) leave(from netip.Addr) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.sum--
	if l.open[from]--; l.open[from] == 0 {
		delete(l.open, from)
	}
}

// boundConn gives its place back when it is closed.
type boundConn struct {
	net.Conn
	left func()
}

func (c *boundConn) Close() error {
	c.left()
	return c.Conn.Close()
}
