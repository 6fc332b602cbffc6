package sequence

import (
	"context"
	"sync/atomic"
)

// Retime places the tasks in the order of their previous starts, each as early
// as everything allows now, and those that have none behind. It is what becomes
// of the previous plan when nobody looks for a better one: the plan that a new
// one must beat. An error says that greatest lags leave that order no place.
// One schedule, or a few where greatest lags ask for it.
func Retime(ctx context.Context, p *Problem) (*Plan, error) {
	d, err := placed(ctx, p, "keeping the order", func(d *decoder, stop *atomic.Bool) (bool, error) {
		d.last = true
		list := d.m.keptOrder()
		return d.decode(list) || d.rescue(list, rescueTries, stop), nil
	})
	if err != nil {
		return nil, err
	}
	plan := d.m.plan(d.answer())
	plan.Status, plan.Stats.Schedules = Feasible, d.count
	return plan, nil
}
