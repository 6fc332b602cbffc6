package planner

import (
	"context"
	"fmt"
	"time"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/sequence"
)

// options say how to search, and whom to tell of each better plan.
type options struct {
	sequence.Options
	onPlan func(*posed, *sequence.Plan)
}

// solve poses the problem of a snapshot and searches for a plan. The plan that
// people have seen, timed anew, is where it starts from: a new one is taken only
// where it is better by more than the steps it moves. Where greatest lags leave
// no plan they are made longer, one by one, until there is one; the notes say
// which the plan does not keep. A search that ends without an answer is given
// more of its limit, up to a second, before all greatest lags are loosened. Pins
// that cannot be kept are loosened first. The
// error of a search that was broken off before its first plan is ctx's.
func solve(ctx context.Context, snap *models.Snapshot, o options) (*posed, *sequence.Plan, error) {
	q, err := pose(snap)
	if err != nil {
		return nil, nil, err
	}
	q.keepOrder(ctx)
	if o.onPlan != nil {
		o.OnPlan = func(p *sequence.Plan) { o.onPlan(q, p) }
	}
	for {
		plan, err := sequence.Solve(ctx, q.Problem, o.Options)
		if err != nil {
			return nil, nil, fmt.Errorf("the planner wrote a problem that the engine refuses: %w", err)
		}
		switch {
		case plan.Status == sequence.Feasible || plan.Status == sequence.Optimal:
			return q, plan, nil
		case ctx.Err() != nil:
			return nil, nil, ctx.Err()
		case plan.Status == sequence.Infeasible && (q.unpin(plan.Conflict) || q.loosen(plan.Conflict) || q.unpinAll()):
		case plan.Status == sequence.Unknown && o.grow(): // nothing says that there is none
		case plan.Status == sequence.Unknown && (q.unpinAll() || q.loosenAll()):
		default:
			return nil, nil, q.noPlan(plan)
		}
	}
}

// grow gives a search more, and tells whether that is worth while: not where it
// has had a second without finding anything.
func (o *options) grow() bool {
	const most, mostWork = time.Second, 20_000
	if o.Limit >= most || o.Work >= mostWork {
		o.Limit, o.Work = min(o.Limit, most), min(o.Work, mostWork)
		return false
	}
	o.Limit, o.Work = min(4*o.Limit, most), min(4*o.Work, mostWork)
	return true
}

// noOrder is the refusal of a problem that has no plan.
func noOrder(sentence phrase.Phrase) error {
	return &models.Error{Code: models.Conflict, Field: "plan", Sentence: sentence}
}

// loosenAll lengthens every greatest lag that there is; false if there is none.
func (q *posed) loosenAll() bool {
	any := false
	for _, g := range q.lags {
		if q.Links[g.index].Max != nil {
			q.lengthen(g)
			any = true
		}
	}
	return any
}

// keepOrder times the plan before anew, and makes that what a new plan is
// compared with: a step has moved where its place in the order changed, not
// where the whole day has slipped.
func (q *posed) keepOrder(ctx context.Context) {
	if len(q.Previous.Starts) == 0 {
		q.Previous = nil
		return
	}
	kept, err := sequence.Retime(ctx, q.Problem)
	if err != nil {
		return // the old order has no place any more: compare with what people saw
	}
	at := map[string]int{}
	for _, t := range kept.Tasks {
		at[t.ID] = t.Start
	}
	for i := range q.Previous.Starts {
		q.Previous.Starts[i].Start = at[q.Previous.Starts[i].ID]
	}
}
