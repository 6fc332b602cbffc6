package sequence

import (
	"cmp"
	"encoding/json"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Lines for two pairs of hands make plans that keep the rules, prove nothing, and mostly
// find what brute force finds.
func TestLinesOfTwoPeopleBesideBruteForce(t *testing.T) {
	taken, best := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		p := drawForOne(t)
		p.Resources[0].Capacity = 2
		for i := range p.Tasks {
			p.Tasks[i].Uses[0].Amount = rapid.IntRange(1, 2).Draw(t, "hands")
		}
		m := compile(p, nil)
		if m.broken != nil || m.onlyHands() >= 0 {
			return
		}
		l := newHandLines(m)
		if l == nil {
			return
		}
		l.finish()
		text, err := json.Marshal(p)
		require.NoError(t, err)
		require.False(t, l.closed)
		require.Zero(t, l.proved)
		least := bruteForce(p)
		requireLine(t, p, l, least, string(text))
		if least == nil || m.maxLag || m.weights.Moved > 0 && m.previous() {
			return
		}
		if taken++; l.best != nil && l.best.value.cost == least.Objective {
			best++
		}
	})
	assert.Positive(t, taken)
	assert.GreaterOrEqual(t, best*20, taken*19, "%d of %d", best, taken)
}

// The line in which a plan begins its tasks starts none of them later than the plan does and
// comes to no more than it.
func TestALineIsNoWorseThanItsPlan(t *testing.T) {
	for _, w := range []shopWeek{{1, 60}, {2, 60}, {4, 60}, {10, 60}, {5, 100}} {
		p := w.problem()
		plan := solveWith(t, p, Options{Work: 300, Seed: 1})
		m := compile(p, nil)
		l := newHandLines(m)
		require.NotNil(t, l, "week %v", w)
		number := map[string]int{}
		for k := range m.tasks {
			number[m.tasks[k].id] = k
		}
		slices.SortStableFunc(plan.Tasks, func(a, b PlanTask) int {
			return cmp.Or(cmp.Compare(begun(a), begun(b)), cmp.Compare(a.Start, b.Start))
		})
		var layer lineLayer
		s := l.empty(&layer)
		for _, task := range plan.Tasks {
			next := number[task.ID]
			at, _, ok := l.place(&s, layer.waitsOf(&s), next)
			require.True(t, ok)
			require.LessOrEqual(t, at, task.Start, "week %v, %s", w, task.ID)
			s, ok = l.follow(&s, layer.waitsOf(&s), next, &layer)
			require.True(t, ok)
		}
		require.LessOrEqual(t, s.cost, plan.Objective, "week %v", w)
	}
}

// begun is when hands are first on a task.
func begun(w PlanTask) int {
	if w.SetupStart < w.Start {
		return w.SetupStart
	}
	return w.Start
}

// Lines for several pairs of hands are called where plans do not come better any more, and
// what is found then is the same on one core and on two.
func TestLinesAreCalledWhereTheSearchIsStuck(t *testing.T) {
	p := shopWeek{10, 60}.problem()
	var plans []*Plan
	for _, cores := range []int{1, 2} {
		s := &solver{o: Options{Seed: 1, Cores: cores, Searches: 1}, done: func() bool { return false }}
		s.m = s.compile(p)
		s.open()
		s.callLines()
		require.False(t, s.lined, "too soon")
		s.spent = linesAfter/int64(len(s.m.tasks)) + 1
		s.better = s.spent / 2
		s.callLines()
		require.False(t, s.lined, "plans still come better")
		s.better = s.spent / stuckFor
		before := len(s.workers)
		s.callLines()
		s.callLines()
		require.Len(t, s.workers, before+2)
		require.IsType(t, &exact{}, s.workers[before+1])
		s.o.Work = s.spent + 6000
		s.rounds()
		plan := s.plan()
		require.NoError(t, Check(p, plan))
		plans = append(plans, plan)
	}
	require.Equal(t, plans[0].Objective, plans[1].Objective)
	require.Equal(t, plans[0].Tasks, plans[1].Tasks)
}

// A pair of hands that is there for setups or for tasks only in part makes no lines.
func TestLinesOfSeveralPeopleNeedAllHands(t *testing.T) {
	p := shopWeek{1, 20}.problem()
	require.NotNil(t, newHandLines(compile(p, nil)))
	p.Tasks[4].Uses = nil
	assert.Nil(t, newHandLines(compile(p, nil)), "a task without hands")
	assert.Nil(t, newHandLines(compile(shopWeek{3, 20}.problem(), nil)), "one pair only")
	p = shopWeek{1, 20}.problem()
	for i := range p.Resources {
		if c := p.Resources[i].Setups; c != nil {
			c.Hands = nil
		}
	}
	assert.Nil(t, newHandLines(compile(p, nil)), "setups without hands")
}
