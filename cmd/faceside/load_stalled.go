package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"sync"
	"syscall"
	"time"
)

// stalled are live streams that were opened and that nobody reads, as on a tablet
// that sleeps with its connection open, or is carried out of the network's reach.
type stalled struct {
	tablets []*loadTablet
	streams []net.Conn // of each
	leave   context.CancelFunc
	there   sync.WaitGroup
}

// stallAgain is how long a stream is left. The server gives up one that it could not
// write to for some seconds, and then it would press nobody any more.
const stallAgain = 20 * time.Second

// stall opens one of each tablet, and opens them again and again until they are closed.
func stall(ctx context.Context, tablets []*loadTablet) (*stalled, error) {
	ctx, leave := context.WithCancel(ctx)
	s := &stalled{tablets: tablets, leave: leave, streams: make([]net.Conn, len(tablets))}
	if err := s.open(ctx); err != nil {
		s.close()
		return nil, fmt.Errorf("opening streams that are not read: %w", err)
	}
	s.there.Go(func() {
		for pause(ctx, stallAgain); ctx.Err() == nil; pause(ctx, stallAgain) {
			_ = s.open(ctx) // the server may be about to stop; else the next time
		}
	})
	return s, nil
}

// open opens all, in the places of those that are open.
func (s *stalled) open(ctx context.Context) error {
	s.closeAll()
	for i := range s.streams {
		var err error
		if s.streams[i], err = openStalled(ctx, s.tablets[i]); err != nil {
			return err
		}
	}
	return nil
}

// closeAll closes what is open. It was never read: nothing is lost with it.
func (s *stalled) closeAll() {
	for i, c := range s.streams {
		if c != nil {
			_ = c.Close()
		}
		s.streams[i] = nil
	}
}

// openStalled opens one. Little is let wait on the way to it, so that the server soon
// cannot write any more: small packets, and next to no room for what is not read.
func openStalled(ctx context.Context, t *loadTablet) (net.Conn, error) {
	req, err := t.request(ctx, http.MethodGet, "/live", nil)
	if err != nil {
		return nil, err
	}
	dialer := net.Dialer{Control: func(_, _ string, raw syscall.RawConn) error {
		var err error
		ran := raw.Control(func(fd uintptr) {
			err = errors.Join(
				syscall.SetsockoptInt(int(fd), syscall.IPPROTO_TCP, syscall.TCP_MAXSEG, 536),
				syscall.SetsockoptInt(int(fd), syscall.SOL_SOCKET, syscall.SO_RCVBUF, 2048),
			)
		})
		return errors.Join(ran, err)
	}}
	c, err := dialer.DialContext(ctx, "tcp", t.at)
	if err != nil {
		return nil, err
	}
	if err = req.Write(c); err == nil {
		err = c.SetReadDeadline(time.Now().Add(stallAgain))
	}
	if err == nil {
		_, err = io.ReadFull(c, make([]byte, len("HTTP/1.1 200 OK"))) // and not a word more
	}
	if err != nil {
		return nil, errors.Join(err, c.Close())
	}
	return c, nil
}

func (s *stalled) close() {
	s.leave()
	s.there.Wait()
	s.closeAll()
}
