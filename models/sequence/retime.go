package sequence

import (
	"context"
	"fmt"
	"sync/atomic"
)

// Retime places the tasks in the order of their previous starts, each as early
// as everything allows now, and those that have none behind. It is what becomes
// of the previous plan when nobody looks for a better one: the plan that a new
// one must beat. An error says that greatest lags leave that order no place.
// One schedule, or a few where greatest lags ask for it.
func Retime(ctx context.Context, p *Problem) (*Plan, error) {
	if err := p.Validate(); err != nil {
		return nil, err
	}
	var stop atomic.Bool
	defer context.AfterFunc(ctx, func() { stop.Store(true) })()
	m := compile(p, &stop)
	if stop.Load() {
		return nil, fmt.Errorf("keeping the order: %w", ctx.Err())
	}
	if m.broken != nil {
		return nil, fmt.Errorf("keeping the order: %w", errNoPlace)
	}
	d := newDecoder(m)
	d.last = true
	list := m.keptOrder()
	if !d.decode(list) && !d.rescue(list, rescueTries, &stop) {
		return nil, fmt.Errorf("keeping the order: %w", errNoPlace)
	}
	plan := m.plan(d.answer())
	plan.Status, plan.Stats.Schedules = Feasible, d.count
	return plan, nil
}
