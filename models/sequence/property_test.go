package sequence

import (
	"context"
	"maps"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Either search alone may stop early, but it is never wrong: no plan that breaks
// a rule or beats the optimum, no bound above it, no false proof.
func TestEachSearchAloneIsNeverWrong(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		best := bruteForce(p)
		work := rapid.Int64Range(1, 400).Draw(t, "work")
		for _, o := range []Options{{WithoutExact: true}, {WithoutImprove: true}, {}} {
			o.Work, o.Seed = work, 1
			plan, err := Solve(context.Background(), p, o)
			require.NoError(t, err)
			requireRight(t, p, plan, best)
		}
	})
}

// requireRight compares a plan with the best there is, nil for none.
func requireRight(t require.TestingT, p *Problem, plan, best *Plan) {
	if plan.Status == Unknown {
		return
	}
	require.NoError(t, Check(p, plan))
	if best == nil {
		require.Equal(t, Infeasible, plan.Status)
		return
	}
	require.NotEqual(t, Infeasible, plan.Status)
	require.LessOrEqual(t, plan.Bound, best.Objective)
	require.GreaterOrEqual(t, plan.Objective, best.Objective)
}

// Every plan that a search shows on its way keeps the rules and is better than
// the one before; the last is the one it returns.
func TestPlansOnTheWayKeepTheRules(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		var shown []*Plan
		plan, err := Solve(context.Background(), p, Options{Work: 500, Seed: 1, OnPlan: func(plan *Plan) { shown = append(shown, plan) }})
		require.NoError(t, err)
		for i, s := range shown {
			require.NoError(t, Check(p, s))
			if i > 0 {
				require.Less(t, s.Objective, shown[i-1].Objective)
			}
		}
		if plan.Status == Optimal || plan.Status == Feasible {
			require.NotEmpty(t, shown)
			require.Equal(t, plan.Tasks, shown[len(shown)-1].Tasks)
		}
	})
}

// A dispatching rule keeps the rules of the contract too, where it finds a plan.
func TestDispatchedPlansKeepTheRules(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		best := bruteForce(p)
		for _, rule := range []Rule{ByPromise, EarliestPromise, NearestSetup, LeastSlack} {
			if plan, err := Dispatch(context.Background(), p, rule); err == nil {
				requireRight(t, p, plan, best)
			}
		}
	})
}

// anyProblem is a tiny one with every feature of the contract, or weeks of a shop, up to
// 300 steps, as they are or after a change, with a plan that people have seen then.
func anyProblem(t *rapid.T) *Problem {
	if rapid.IntRange(0, 3).Draw(t, "tiny") > 0 {
		return drawProblem(t)
	}
	w := shopWeek{Number: rapid.IntRange(1, 200).Draw(t, "week"), Steps: rapid.IntRange(10, 290).Draw(t, "steps")}
	p := w.problem()
	change := rapid.SampledFrom(append([]string{""}, slices.Sorted(maps.Keys(repairs))...)).Draw(t, "change")
	if change == "" {
		return p
	}
	plan, err := Dispatch(context.Background(), p, EarliestPromise)
	require.NoError(t, err)
	return changedBy(p, plan, repairs[change])
}

// With work alone the plan hangs on the seed and neither on the cores nor on the run.
func TestWorkAloneIsRepeatable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyProblem(t)
		o := Options{Work: rapid.Int64Range(1, 300).Draw(t, "work"), Seed: rapid.Int64().Draw(t, "seed"), Cores: 1}
		one := solveWith(t, p, o)
		o.Cores = 2
		require.Equal(t, withoutTimes(one), withoutTimes(solveWith(t, p, o)))
	})
}

func TestMoreWorkIsNeverWorse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, seed := anyProblem(t), rapid.Int64().Draw(t, "seed")
		last, bound := int64(-1), int64(0)
		for _, work := range []int64{1, 3, 10, 100, 1100} {
			plan := solveWith(t, p, Options{Work: work, Seed: seed})
			if last >= 0 {
				require.LessOrEqual(t, plan.Objective, last, "with work %d", work)
			}
			if plan.Status == Infeasible {
				require.Negative(t, last, "a plan, and the proof that there is none")
				return
			}
			if plan.Status != Unknown {
				last = plan.Objective
			}
			require.GreaterOrEqual(t, plan.Bound, bound, "with work %d", work)
			bound = plan.Bound
		}
	})
}

// Names in another order say nothing about the work: the optimum stays.
func TestOrderOfTheFileDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		q := *p
		q.Tasks = rapid.Permutation(p.Tasks).Draw(t, "tasks")
		q.Resources = rapid.Permutation(p.Resources).Draw(t, "resources")
		q.Links = rapid.Permutation(p.Links).Draw(t, "links")
		one, two := solveWith(t, p, Options{Work: 200000, Seed: 1}), solveWith(t, &q, Options{Work: 200000, Seed: 1})
		require.Equal(t, one.Status, two.Status)
		require.Equal(t, one.Objective, two.Objective)
	})
}
