package sequence

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// drawForOne draws a problem in which all that is done needs the one pair of hands,
// setups too.
func drawForOne(t *rapid.T) *Problem {
	p := drawProblem(t)
	p.Resources[0].Capacity = 1
	if len(p.Jobs) == 0 {
		p.Jobs = append(p.Jobs, Job{ID: "only", Due: new(5), Weight: 1})
	}
	for i := range p.Resources {
		if s := p.Resources[i].Setups; s != nil {
			s.Hands, p.Resources[i].Calendar = &Amount{Resource: "hands", Amount: 1}, ""
		}
	}
	for i := range p.Tasks {
		w := &p.Tasks[i]
		uses := []Use{{"hands", 1, Attended}}
		for _, u := range w.Uses {
			if u.Resource == "clamps" {
				uses = append(uses, u)
			}
		}
		w.Uses = uses
		if w.Attended == 0 {
			w.Attended = 1
		}
		if w.Job == "" && rapid.Bool().Draw(t, "belongs") {
			w.Job = p.Jobs[0].ID
		}
	}
	return p
}

// finish lets a search of lines run until it has nothing left to do.
func (l *handLine) finish() {
	for !l.finished {
		l.run(&budget{work: never, stop: new(atomic.Bool)})
	}
}

// Lines find what brute force finds. Where greatest lags or a previous plan count, which
// they do not look at, their bound is none too high and their plans keep the rules; so
// it is where a round goes on with one line only.
func TestLinesEqualBruteForce(t *testing.T) {
	drawn, taken := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		p := drawForOne(t)
		drawn++
		m := compile(p, nil)
		if m.broken != nil {
			return
		}
		l := newHandLine(m)
		if l == nil {
			return
		}
		taken++
		best := bruteForce(p)
		text, err := json.Marshal(p)
		require.NoError(t, err)
		narrow := newHandLine(m)
		narrow.width, narrow.eye = 1, rapid.IntRange(0, len(lineEyes)-1).Draw(t, "eye")
		narrow.restart()
		for round := narrow.eye; round == narrow.eye && !narrow.finished; {
			narrow.run(&budget{work: 1, stop: new(atomic.Bool)})
			narrow.bounds.forget(0, narrow.now.states, narrow.next.states, narrow.then.states)
		}
		requireLine(t, p, narrow, best, string(text))
		c, cramped := newLineClimb(l), newLineClimb(l) // before anything is proved but what is at first
		l.finish()
		requireLine(t, p, l, best, string(text))
		cramped.room = rapid.IntRange(4, 100).Draw(t, "room")
		requireClimb(t, p, cramped, best, string(text))
		requireClimb(t, p, c, best, string(text))
		if m.maxLag || m.weights.Moved > 0 && m.previous() {
			return
		}
		if best == nil {
			require.True(t, l.closed, "%s", text)
			_, _, closed := c.found()
			require.True(t, closed, "%s", text)
			return
		}
		require.Equal(t, best.Objective, c.proved, "%s", text)
		require.Equal(t, best.Objective, c.l.best.value.cost, "%s", text)
		require.NotNil(t, l.best, "%s", text)
		require.Equal(t, best.Objective, l.best.value.cost, "%s", text)
		require.Equal(t, best.Objective, l.proved, "%s", text)
	})
	assert.Greater(t, taken, drawn/3, "of %d", drawn)
}

// finish lets a climb run until it has nothing left to do.
func (c *lineClimb) finish() {
	for !c.finished {
		c.run(&budget{work: never, stop: new(atomic.Bool)})
	}
}

// requireClimb climbs, and compares what is proved with the best there is, nil for none.
func requireClimb(t require.TestingT, p *Problem, c *lineClimb, best *Plan, text string) {
	c.finish()
	c.l.proved = c.proved
	_, _, c.l.closed = c.found()
	requireLine(t, p, c.l, best, text)
}

// requireLine compares what lines found with the best there is, nil for none.
func requireLine(t require.TestingT, p *Problem, l *handLine, best *Plan, text string) {
	if best == nil {
		require.Nil(t, l.best, "%s", text)
		return
	}
	require.False(t, l.closed, "%s", text)
	require.LessOrEqual(t, l.proved, best.Objective, "%s", text)
	if l.best != nil {
		plan := l.m.plan(l.best)
		plan.Status, plan.Bound = Feasible, l.proved
		require.NoError(t, Check(p, plan), "%s", text)
		require.GreaterOrEqual(t, plan.Objective, best.Objective, "%s", text)
	}
}

// What a state promises is never more than what a plan costs that begins so: along the
// lines of random plans of weeks.
func TestNoLinePromisesTooLittle(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	for _, w := range []shopWeek{{3, 60}, {6, 60}, {9, 60}, {12, 60}, {15, 20}, {18, 30}} {
		m := compile(w.problem(), nil)
		l := newHandLine(m)
		require.NotNil(t, l, "week %v", w)
		for range 20 {
			var layer lineLayer
			s := l.empty(&layer)
			bounds := []int64{s.bound}
			for range m.tasks {
				l.bounds.regard(&s)
				s = l.anyNext(t, rng, s, &layer)
				told := s
				l.bounds.measure(&told, layer.waitsOf(&s), int(s.task), lineEye{stretch: unstretched}, noCost)
				l.bounds.promise(&s, layer.waitsOf(&s), noCost)
				require.Equal(t, s.bound, told.bound, "of the line before, week %v", w)
				bounds = append(bounds, s.bound)
			}
			for k, b := range bounds {
				require.LessOrEqual(t, b, s.cost, "week %v after %d tasks", w, k)
			}
		}
	}
}

// A round that takes what is left to last longer hopes for no less, nor where that is
// more than there is time for.
func TestLinesThatLastLongerPromiseNoLess(t *testing.T) {
	p := shopWeek{6, 60}.problem()
	plan := solveWith(t, p, Options{Work: 300, Seed: 1})
	p.Horizon = 0
	for _, w := range plan.Tasks {
		p.Horizon = max(p.Horizon, w.End)
	}
	l := newHandLine(compile(p, nil))
	require.NotNil(t, l)
	s := l.now.states[0]
	l.bounds.regard(&s)
	for _, mean := range []bool{false, true} {
		last := int64(0)
		for stretch := 101; stretch < 200; stretch++ {
			l.bounds.measure(&s, l.now.waitsOf(&s), -1, lineEye{mean, stretch}, noCost)
			require.LessOrEqual(t, last, s.hope, "by the mean: %v, %d percent", mean, stretch)
			last = s.hope
		}
		require.Greater(t, last, l.proved*1000, "it does not fit")
	}
}

// anyNext puts one of the tasks that may follow behind a line.
func (l *handLine) anyNext(t *testing.T, rng *rand.Rand, s lineState, y *lineLayer) lineState {
	for _, k := range rng.Perm(len(l.m.tasks)) {
		if !s.done.has(k) && l.before[k].within(&s.done) {
			next, ok := l.follow(&s, y.waitsOf(&s), k, y)
			require.True(t, ok)
			return next
		}
	}
	require.Fail(t, "nothing can follow")
	return s
}

// The fewest minutes of setup, and of what is done in between, are those of the best order.
func TestFewestSetupsOfALine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		states := rapid.IntRange(1, 4).Draw(t, "states")
		u := &lineSetups{states: states, fewest: map[uint16][]int32{}}
		for range states {
			u.minutes = append(u.minutes, rapid.SliceOfN(rapid.Int32Range(0, 20), states, states).Draw(t, "minutes"))
		}
		u.state = rapid.SliceOfN(rapid.IntRange(0, states-1), 1, 6).Draw(t, "state")
		u.att = rapid.SliceOfN(rapid.Int32Range(0, 15), len(u.state), len(u.state)).Draw(t, "attended")
		u.tasks, u.full = make([]int, len(u.state)), 1<<len(u.state)-1
		for i := range u.state {
			before := uint16(0)
			for k := range i {
				if rapid.Bool().Draw(t, "before") {
					before |= 1<<k | u.before[k]
				}
			}
			u.before = append(u.before, before)
		}
		asked := uint16(rapid.IntRange(0, int(u.full)).Draw(t, "asked"))
		set := rapid.IntRange(0, states).Draw(t, "set")
		require.Equal(t, u.byTrying(asked, 0, set), u.table(asked)[set])
	})
}

func (u *lineSetups) byTrying(asked, done uint16, set int) int32 {
	if asked&^done == 0 {
		return 0
	}
	least := int32(math.MaxInt32)
	for i, state := range u.state {
		if done>>i&1 != 0 || u.before[i]&^done != 0 {
			continue
		}
		minutes := u.byTrying(asked, done|1<<i, state)
		if set < u.states {
			minutes += u.minutes[set][state]
		}
		if asked>>i&1 == 0 {
			minutes += u.att[i]
		}
		least = min(least, minutes)
	}
	return least
}

// A week of one person that is not too long is proved by its lines alone.
func TestLinesProveAShortWeek(t *testing.T) {
	for _, w := range []shopWeek{{3, 10}, {6, 15}, {12, 15}} {
		p := w.problem()
		l := newHandLine(compile(p, nil))
		require.NotNil(t, l)
		c := newLineClimb(l)
		l.finish()
		require.NotNil(t, l.best)
		c.finish()
		assert.Equal(t, l.best.value.cost, c.proved, "by climbing, week %v", w)
		assert.Equal(t, l.best.value.cost, l.proved, "week %v", w)
		plan := l.m.plan(l.best)
		plan.Status, plan.Bound = Optimal, l.proved
		assert.NoError(t, Check(p, plan))
	}
}

// Where somebody else has hands, or something is done without any, lines do not apply.
func TestLinesAreForOnePerson(t *testing.T) {
	assert.Nil(t, newHandLine(compile(shopWeek{1, 20}.problem(), nil)))
	p := shopWeek{3, 20}.problem()
	require.NotNil(t, newHandLine(compile(p, nil)))
	p.Tasks[4].Uses = nil
	assert.Nil(t, newHandLine(compile(p, nil)))
}

// sawOfOne is a saw that one person sets up: a task for each of its states, of three jobs.
func sawOfOne(c Setups, states ...string) *Problem {
	c.Hands = cmp.Or(c.Hands, &Amount{"hands", 1})
	p := &Problem{Version: Version, Horizon: 1000, Objective: Weights{Tardiness: 1, Setup: 1},
		Resources: []Resource{{ID: "hands", Capacity: 1}, {ID: "saw", Capacity: 1, Setups: &c}}}
	for k := range 3 {
		p.Jobs = append(p.Jobs, Job{ID: fmt.Sprint("j", k), Due: new(0), Weight: 1})
	}
	for k, s := range states {
		p.Tasks = append(p.Tasks, Task{ID: s, Job: p.Jobs[k%3].ID, Attended: 10, Uses: []Use{{"hands", 1, Attended}}, Setup: &SetupNeed{"saw", s}})
	}
	return p
}

// Who forbids a setup gives it a length that no plan has room for. Sums of such lengths are
// no less.
func TestLinesCountSetupsThatCannotBe(t *testing.T) {
	p := sawOfOne(Setups{Default: mostMinutes, Pairs: []Pair{{"a", "b", 5}, {"b", "c", 5}}}, "c", "b", "a")
	p.Horizon = 60 // brute force tries every minute
	l := newHandLine(compile(p, nil))
	require.NotNil(t, l)
	l.finish()
	require.NotNil(t, l.best)
	assert.Equal(t, bruteForce(p).Objective, l.best.value.cost)
	assert.Equal(t, l.best.value.cost, l.proved)
}

// Where a station has more tasks than are counted any state may be passed through.
func TestLinesPassThroughSetupsThatCannotBe(t *testing.T) {
	states := strings.Split("abcdefghijklm", "")
	require.Greater(t, len(states), mostCounted)
	c := Setups{Default: mostMinutes}
	for k := range states[1:] {
		c.Pairs = append(c.Pairs, Pair{states[k], states[k+1], 5})
	}
	p := sawOfOne(c, states...)
	l := newHandLine(compile(p, nil))
	require.NotNil(t, l)
	l.finish()
	require.NotNil(t, l.best)
	plan := l.m.plan(l.best)
	plan.Status, plan.Bound = Feasible, l.proved
	require.NoError(t, Check(p, plan))
	assert.EqualValues(t, 5*(len(states)-1), Measure(p, plan).Setup)
}

// Setups that want more hands than there are make no lines, as no line could have one.
func TestNoLinesWhereASetupWantsMoreHandsThanThereAre(t *testing.T) {
	p := sawOfOne(Setups{Initial: new("b"), Default: 5, Hands: &Amount{"hands", 2}}, "a", "b")
	assert.Nil(t, newHandLine(compile(p, nil)))
	assert.Equal(t, Infeasible, solveWith(t, p, Options{Work: 20000}).Status)
}
