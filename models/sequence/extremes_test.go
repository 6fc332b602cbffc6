package sequence

import (
	"context"
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Whatever numbers the file contract allows, no search is wrong, and none of what reads a
// plan breaks down: setups and lags longer than the horizon, amounts above every capacity,
// times before the origin, weights near the greatest objective.
func TestNoNumberOfTheContractIsTooMuch(t *testing.T) {
	draws := map[string]func(*rapid.T) *Problem{"any shop": drawProblem, "one person": drawForOne}
	for name, draw := range draws {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				p := draw(t)
				stretchNumbers(t, p)
				if p.Validate() != nil {
					return // the objective could overflow
				}
				text, err := json.Marshal(p)
				require.NoError(t, err)
				t.Logf("%s", text)
				best := bruteForce(p)
				for _, o := range []Options{{WithoutExact: true, Work: 60}, {WithoutImprove: true, Work: 60}, {Work: 100_000}} {
					plan, err := Solve(context.Background(), p, o)
					require.NoError(t, err)
					requireRight(t, p, plan, best)
					if plan.Status == Optimal || plan.Status == Feasible {
						requireReadable(t, p, plan)
					}
				}
			})
		})
	}
}

// requireReadable reads off a plan all that can be.
func requireReadable(t require.TestingT, p *Problem, plan *Plan) {
	_, err := Explain(p, plan)
	require.NoError(t, err)
	_, err = Floats(p, plan)
	require.NoError(t, err)
	var starts []Start
	turns := make([]Turn, len(p.Tasks))
	for i, w := range plan.Tasks {
		starts = append(starts, Start{w.ID, w.Start})
		turns[i] = Turn{Attended: p.Tasks[i].Attended, Unattended: p.Tasks[i].Unattended}
	}
	pl, err := NewPlayer(p, starts)
	require.NoError(t, err)
	if pl.Play(turns) {
		pl.Delayed(30, make([]int, len(turns)))
	}
	pl.Pressing(0.5).Play(turns)
}

// stretchNumbers puts numbers into a problem that are at the ends of what it may have.
func stretchNumbers(t *rapid.T, p *Problem) {
	numbers := map[string][]int{
		"minutes": {mostMinutes, mostMinutes - 1, 1 << 20, p.Horizon, p.Horizon + 1}, "amount": {2, 3, mostMinutes},
		"start": {-mostMinutes, -5, -1, p.Horizon, mostMinutes}, "lag": {-mostMinutes, -p.Horizon, -40, mostMinutes}, "due": {-50, 100, mostMinutes},
	}
	change := func(value *int, kind string, in int) {
		if rapid.IntRange(0, in-1).Draw(t, "change") == in-1 {
			*value = rapid.SampledFrom(numbers[kind]).Draw(t, kind)
		}
	}
	for i := range p.Resources {
		if s := p.Resources[i].Setups; s != nil {
			change(&s.Default, "minutes", 3)
			for k := range s.Pairs {
				change(&s.Pairs[k].Minutes, "minutes", 6)
			}
			if s.Hands != nil {
				change(&s.Hands.Amount, "amount", 8)
			}
		}
	}
	for i := range p.Tasks {
		w := &p.Tasks[i]
		change(&w.Attended, "minutes", 40)
		change(&w.Unattended, "minutes", 40)
		change(&w.Release, "start", 30)
		for _, at := range []**int{&w.Start, &w.Deadline} {
			value := never
			if change(&value, "start", 30); value != never && *at == nil {
				*at = &value
			}
		}
	}
	for i := range p.Links {
		change(&p.Links[i].Min, "lag", 8)
		if p.Links[i].Max != nil {
			change(p.Links[i].Max, "lag", 8)
		}
	}
	for i := range p.Jobs {
		if p.Jobs[i].Due != nil {
			change(p.Jobs[i].Due, "due", 6)
		}
	}
	if p.Previous != nil {
		for k := range p.Previous.Starts {
			change(&p.Previous.Starts[k].Start, "start", 6)
		}
	}
	if rapid.IntRange(0, 11).Draw(t, "heavy") == 11 {
		p.Objective.Tardiness = rapid.SampledFrom([]int64{1 << 40, 1 << 52, 1 << 59}).Draw(t, "weight")
	}
}
