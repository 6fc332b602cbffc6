package sequence

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Where all decisions go with a plan, nothing that is concluded on the way rules it
// out: not its starts, setups, ends or cost. Weeks of one to three people.
func TestConclusionsLeaveAPlanOfAWeek(t *testing.T) {
	for number := 1; number <= 6; number++ {
		w := shopWeek{Number: number, Steps: 40}
		p := w.problem()
		plan := solveWith(t, p, Options{Work: 200, Seed: 1, WithoutExact: true})
		e := newExact(compile(p, nil), 1)
		require.True(t, e.propagate(), "week %v", w)
		require.True(t, e.x.set(le(e.cost, plan.Objective)), "week %v", w)
		require.True(t, e.propagate(), "week %v", w)
		e.shave()
		require.False(t, e.dead, "week %v", w)
		for seed := range uint64(4) {
			e.x.back(0)
			requireFollows(t, e, plan, rand.New(rand.NewPCG(seed, 5)))
		}
	}
}

func requireFollows(t *testing.T, e *exact, plan *Plan, rng *rand.Rand) {
	for {
		requireOpen(t, e, plan)
		var open []int
		for task, v := range e.start {
			if !e.x.fixed(v) {
				open = append(open, task)
			}
		}
		if len(open) == 0 {
			return
		}
		task := open[rng.IntN(len(open))]
		v, start := e.start[task], int64(plan.Tasks[task].Start)
		step := e.x.hi(v) - start
		if step > 0 {
			e.x.decide(le(v, start+rng.Int64N(step)))
		} else {
			e.x.decide(ge(v, start-rng.Int64N(start-e.x.lo(v))))
		}
		require.True(t, e.propagate())
	}
}

// requireOpen requires that bounds have room for a plan.
func requireOpen(t *testing.T, e *exact, plan *Plan) {
	for task, v := range e.start {
		start := int64(plan.Tasks[task].Start)
		require.LessOrEqual(t, e.x.lo(v), start, plan.Tasks[task].ID)
		require.GreaterOrEqual(t, e.x.hi(v), start, plan.Tasks[task].ID)
	}
	minutes := map[string]int{}
	for _, s := range plan.Setups {
		minutes[s.Resource] += s.Minutes
	}
	for k := range e.orders {
		o := &e.orders[k]
		require.LessOrEqual(t, e.x.lo(o.sum.total), int64(minutes[e.m.resources[o.res].id]))
	}
	for j, v := range e.ends {
		require.LessOrEqual(t, e.x.lo(v), int64(plan.Jobs[j].End))
	}
	require.LessOrEqual(t, e.x.lo(e.cost), plan.Objective)
}

// What one pair of hands has to do before a commission can be over is known before any
// search: a bound by links alone is less than a third of it.
func TestWorkloadBoundsAWeekOfOnePerson(t *testing.T) {
	m := compile(shopWeek{Number: 9, Steps: 60}.problem(), nil)
	e := newExact(m, 1)
	require.True(t, e.propagate())
	e.shave()
	require.False(t, e.dead)
	assert.Greater(t, e.x.lo(e.cost), 3*m.lowerBound())
}

// Shortest trips through sets of states, by hand: 0 to 1 is long, by way of 2 it is not.
func TestShortestTrips(t *testing.T) {
	c := &changes{initial: 0, names: []string{"a", "b", "c"}, minutes: [][]int{{0, 20, 3}, {5, 0, 20}, {20, 4, 0}}, amount: 1}
	r := newTrip(c, 0)
	for _, x := range []struct{ set, first, free int }{
		{0b001, 0, 0}, {0b010, 7, 0}, {0b100, 3, 0},
		{0b011, 7, 5}, {0b110, 7, 4}, {0b111, 7, 7},
	} {
		assert.Equal(t, x.first, r.fromIn[x.set], "set %b", x.set)
		assert.Equal(t, x.free, r.free[x.set], "set %b", x.set)
	}
}
