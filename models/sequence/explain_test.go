package sequence

import (
	"context"
	"encoding/json"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// requireExplained takes the reasons of each task away and moves it: the independent
// checker must then like what it does not like while one of them is left.
func requireExplained(t require.TestingT, p *Problem, plan *Plan) (kinds map[ReasonKind]int) {
	kinds = map[ReasonKind]int{}
	all, err := Explain(p, plan)
	require.NoError(t, err)
	require.Len(t, all, len(p.Tasks))
	problem, err := json.Marshal(p)
	require.NoError(t, err)
	said, err := json.Marshal(plan.Tasks)
	require.NoError(t, err)
	for _, why := range all {
		if why.Start > 0 {
			require.NotEmpty(t, why.Holds, "task %s", why.Task)
		}
		for _, h := range why.Holds {
			text, err := json.Marshal(h)
			require.NoError(t, err)
			q, moved := lifted(p, plan, why.Task, h)
			require.NoError(t, q.Validate())
			require.NoError(t, Check(q, moved), "task %s at %d: %s\n%s\n%s", why.Task, why.Start, text, problem, said)
			for i, r := range h.Reasons {
				kinds[r.Kind]++
				require.Greater(t, r.Earliest, h.Earlier, "task %s: %s\n%s\n%s", why.Task, text, problem, said)
				require.LessOrEqual(t, r.Earliest, why.Start, "task %s: %s", why.Task, text)
				less := Hold{h.Earlier, slices.Delete(slices.Clone(h.Reasons), i, i+1)}
				q, moved := lifted(p, plan, why.Task, less)
				require.NoError(t, q.Validate())
				if stepsOver(p, plan, q, moved, why.Task) {
					continue // without a minute on its station it may go before the one before it
				}
				require.Error(t, Check(q, moved), "task %s at %d does not need %s: %s\n%s\n%s", why.Task, why.Start, r.Kind, text, problem, said)
			}
		}
	}
	return kinds
}

// stepsOver tells whether a moved task has another place in the order of its station.
func stepsOver(p *Problem, plan *Plan, q *Problem, moved *Plan, id string) bool {
	c, now := newChecker(p, plan), newChecker(q, moved)
	need := c.tasks[id].Setup
	if need == nil {
		return false
	}
	order := c.inOrder(c.resources[need.Resource])
	i := slices.IndexFunc(order, func(v visit) bool { return v.id == id })
	if i > 0 && order[i-1].from == order[i-1].to {
		return true // nor need it wait for one that is there for no time
	}
	if *now.tasks[id].Setup != *need {
		return false
	}
	return i != slices.IndexFunc(now.inOrder(now.resources[need.Resource]), func(v visit) bool { return v.id == id })
}

func TestReasonsHoldWhatTheySay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		plan := solveWith(t, p, Options{Work: 60, Seed: 1, WithoutExact: rapid.Bool().Draw(t, "first plan")})
		if plan.Status == Unknown || plan.Status == Infeasible {
			return
		}
		requireExplained(t, p, plan)
	})
}

// In weeks of a shop every kind of reason that it can have is met.
func TestReasonsInShopWeeks(t *testing.T) {
	met := map[ReasonKind]int{}
	for seed := uint64(1); seed <= 3; seed++ {
		p := shopWeeks(shopSize{people: 1 + int(seed)%2, stations: 7, steps: 70, seed: seed})
		plan, err := Dispatch(context.Background(), p, EarliestPromise)
		require.NoError(t, err)
		for kind, n := range requireExplained(t, p, plan) {
			met[kind] += n
		}
	}
	for _, kind := range []ReasonKind{ByLink, ByResource, ByStation, BySetup, ByCalendar, ByZone} {
		assert.NotZero(t, met[kind], "%s", kind)
	}
}
