package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"syscall"

	"github.com/google/uuid"
)

// stalled are live streams that were opened and that nobody reads, as on a tablet
// that sleeps with its connection open, or is carried out of the network's reach.
type stalled []net.Conn

// stall opens so many. Little is let wait on the way to them, so that the server soon
// cannot write any more: small packets, and next to no room for what is not read.
func stall(ctx context.Context, address string, streams int) (stalled, error) {
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
	var all stalled
	for range streams {
		c, err := dialer.DialContext(ctx, "tcp", address)
		if err != nil {
			return nil, errors.Join(fmt.Errorf("opening a stream that is not read: %w", err), all.close())
		}
		all = append(all, c)
		_, err = fmt.Fprintf(c, "GET /live HTTP/1.1\r\nHost: %s\r\nCookie: faceside_tablet=%s\r\n\r\n", address, uuid.NewString())
		if err == nil {
			_, err = io.ReadFull(c, make([]byte, len("HTTP/1.1 200 OK"))) // and not a word more
		}
		if err != nil {
			return nil, errors.Join(fmt.Errorf("joining a stream that is not read: %w", err), all.close())
		}
	}
	return all, nil
}

func (s stalled) close() error {
	var all []error
	for _, c := range s {
		all = append(all, c.Close())
	}
	return errors.Join(all...)
}
