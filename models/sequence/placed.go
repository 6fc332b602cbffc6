package sequence

import (
	"context"
	"errors"
	"fmt"
	"sync/atomic"
)

var errNoPlace = errors.New("not every task found a place")

// placed has one schedule made of a problem, without search, by what place does; false
// from it means that not every task found a place. What takes long belongs into place: when
// ctx is done it is told to stop.
func placed(ctx context.Context, p *Problem, doing string, place func(*decoder, *atomic.Bool) (bool, error)) (*decoder, error) {
	if err := p.Validate(); err != nil {
		return nil, err
	}
	var stop atomic.Bool
	defer context.AfterFunc(ctx, func() { stop.Store(true) })()
	m := compile(p, &stop)
	if stop.Load() {
		return nil, fmt.Errorf("%s: %w", doing, ctx.Err())
	}
	if m.broken != nil {
		return nil, fmt.Errorf("%s: %w", doing, errNoPlace)
	}
	d := newDecoder(m)
	switch ok, err := place(d, &stop); {
	case err != nil:
		return nil, err
	case !ok && ctx.Err() != nil:
		return nil, fmt.Errorf("%s: %w", doing, ctx.Err())
	case !ok:
		return nil, fmt.Errorf("%s: %w", doing, errNoPlace)
	}
	return d, nil
}
