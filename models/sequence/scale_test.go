package sequence

import (
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Every time of a problem multiplied by k multiplies its optimum by k (with the
// weight of moved tasks multiplied too): for a given order all constraints are
// differences of times, so some optimum lies on multiples of k. Only a task that
// may be cut can do better on the finer scale, for it may start in the last
// minute of a window. The oracle answers the small problem; the search has to
// stay right on the large one, as far as its work goes.
func TestSolveKeepsToScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		best := bruteForce(p)
		k := rapid.SampledFrom([]int{2, 15, 60, 1440, 1_000_000}).Draw(t, "scale")
		large := scaled(p, k)
		require.NoError(t, large.Validate())
		plan, err := Solve(context.Background(), large, Options{Work: 2000, Seed: 1})
		require.NoError(t, err)
		if plan.Status != Unknown {
			require.NoError(t, Check(large, plan))
		}
		exact := !slices.ContainsFunc(p.Tasks, func(t Task) bool { return t.Interruptible })
		switch {
		case best == nil && exact:
			require.Contains(t, []Status{Infeasible, Unknown}, plan.Status)
		case best != nil:
			want := int64(k) * best.Objective
			require.NotEqual(t, Infeasible, plan.Status)
			require.LessOrEqual(t, plan.Bound, want, "a bound above the optimum")
			if exact && plan.Status != Unknown {
				require.GreaterOrEqual(t, plan.Objective, want, "better than the optimum")
			}
		}
	})
}

// scaled returns the problem with all times multiplied by k.
func scaled(p *Problem, k int) *Problem {
	s := *p
	s.Horizon *= k
	s.Objective.Moved *= int64(k)
	s.Calendars = map[string][]Window{}
	for name, windows := range p.Calendars {
		for _, w := range windows {
			s.Calendars[name] = append(s.Calendars[name], Window{w[0] * k, w[1] * k})
		}
		if len(windows) == 0 {
			s.Calendars[name] = nil
		}
	}
	times := func(v *int) *int {
		if v == nil {
			return nil
		}
		return new(*v * k)
	}
	s.Resources, s.Jobs, s.Tasks, s.Links = nil, nil, nil, nil
	for _, r := range p.Resources {
		if r.Setups != nil {
			setups := *r.Setups
			setups.Default *= k
			setups.Pairs = nil
			for _, pair := range r.Setups.Pairs {
				setups.Pairs = append(setups.Pairs, Pair{pair.From, pair.To, pair.Minutes * k})
			}
			r.Setups = &setups
		}
		s.Resources = append(s.Resources, r)
	}
	for _, j := range p.Jobs {
		j.Due = times(j.Due)
		s.Jobs = append(s.Jobs, j)
	}
	for _, t := range p.Tasks {
		t.Attended, t.Unattended, t.Release = t.Attended*k, t.Unattended*k, t.Release*k
		t.Deadline, t.Start = times(t.Deadline), times(t.Start)
		s.Tasks = append(s.Tasks, t)
	}
	for _, l := range p.Links {
		l.Min, l.Max = l.Min*k, times(l.Max)
		s.Links = append(s.Links, l)
	}
	if p.Previous != nil {
		s.Previous = &Previous{Tolerance: p.Previous.Tolerance * k}
		for _, start := range p.Previous.Starts {
			s.Previous.Starts = append(s.Previous.Starts, Start{start.ID, start.Start * k})
		}
	}
	return &s
}
