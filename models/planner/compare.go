package planner

import (
	"context"
	"fmt"
	"time"

	"faceside/models"
	"faceside/models/sequence"
)

// Outcome is what a way of ordering the shop's open work comes to.
type Outcome struct {
	Way             string
	SetupMin        int       // minutes of setting stations
	Setups          int       // how often
	LateDays        float64   // working days by which commissions are late, together
	WeightedLateMin int       // working minutes late, each commission's times its weight
	StandingMin     int       // minutes of shop hours, over all people there, in which they have nothing in hand though attended work is left
	Completion      time.Time // when the last commission is complete
}

// Compare orders the open work three ways under the same rules: as the planner
// does, searching for the limit; commission by commission in order of promised
// date; and always taking the step whose commission is promised first. The plan
// before plays no part.
func Compare(ctx context.Context, snap *models.Snapshot, limit time.Duration) ([]Outcome, error) {
	q, err := pose(snap)
	if err != nil {
		return nil, err
	}
	q.Previous = nil
	for {
		out, err := q.compare(ctx, limit)
		if err == nil || ctx.Err() != nil || !q.unpinAll() && !q.loosenAll() {
			return out, err
		}
	}
}

// compare is Compare under the greatest lags as they stand: a rule that does
// not look ahead may leave no place for a step that has one.
func (q *posed) compare(ctx context.Context, limit time.Duration) ([]Outcome, error) {
	ways := []struct {
		name string
		plan func() (*sequence.Plan, error)
	}{
		{"commission by commission", func() (*sequence.Plan, error) { return sequence.Dispatch(ctx, q.Problem, sequence.ByPromise) }},
		{"earliest promise first", func() (*sequence.Plan, error) { return sequence.Dispatch(ctx, q.Problem, sequence.EarliestPromise) }},
		{"Faceside", func() (*sequence.Plan, error) {
			return sequence.Solve(ctx, q.Problem, sequence.Options{Limit: limit, Seed: 1})
		}},
	}
	out := make([]Outcome, len(ways))
	for i, w := range ways {
		plan, err := w.plan()
		if err != nil {
			return nil, fmt.Errorf("%s: %w", w.name, err)
		}
		if plan.Status != sequence.Feasible && plan.Status != sequence.Optimal {
			return nil, fmt.Errorf("%s: no plan was found", w.name)
		}
		out[(i+1)%len(ways)] = q.outcome(w.name, plan) // ours first, made last
	}
	return out, nil
}

func (q *posed) outcome(way string, plan *sequence.Plan) Outcome {
	o := Outcome{Way: way, Setups: len(plan.Setups), Completion: q.line.origin}
	for _, s := range plan.Setups {
		o.SetupMin += s.Minutes
	}
	weight := map[string]int{}
	for _, j := range q.Jobs {
		weight[j.ID] = j.Weight
	}
	late := 0
	for _, j := range plan.Jobs {
		late += j.Tardiness
		o.WeightedLateMin += weight[j.ID] * j.Tardiness
		if end := q.line.time(j.End); end.After(o.Completion) {
			o.Completion = end
		}
	}
	o.LateDays = float64(late) / float64(max(1, q.cal.FullDay()))
	o.StandingMin = q.standing(plan)
	return o
}

// standing is the time of all people present until the last attended work is
// over, less what their hands do. Steps that a person's day off stands for count
// as nobody's time.
func (q *posed) standing(plan *sequence.Plan) int {
	last := 0
	for _, t := range plan.Tasks {
		if _, ok := stepOf(t.ID); ok {
			last = max(last, t.AttendedEnd)
		}
	}
	standing := q.hands * q.line.worked(last)
	at := map[string]sequence.PlanTask{}
	for _, t := range plan.Tasks {
		at[t.ID] = t
	}
	for i := range q.Tasks {
		t, p := &q.Tasks[i], at[q.Tasks[i].ID]
		for _, u := range t.Uses {
			if u.Resource == handsName {
				until := p.AttendedEnd
				if u.During == sequence.All {
					until = p.End
				}
				standing -= u.Amount * (q.line.worked(min(last, until)) - q.line.worked(min(last, p.Start)))
			}
		}
	}
	for _, s := range plan.Setups {
		standing -= s.Minutes
	}
	return max(0, standing)
}
