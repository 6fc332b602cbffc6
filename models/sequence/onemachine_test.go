package sequence

import (
	"fmt"
	"slices"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// drawOneMachine draws a problem of one station with setups and nothing else. Mostly all
// orders end within the horizon, else only some.
func drawOneMachine(t *rapid.T, most int) *Problem {
	d := &drawer{t: t, p: &Problem{Version: Version}}
	s := d.setups()
	s.Hands = nil
	d.p.Resources = []Resource{{ID: "station", Capacity: 1, Setups: s}}
	d.objective()
	d.p.Objective.Moved, d.p.Previous = 0, nil
	n, longest := d.number(3, most, "tasks"), 0
	for i := range n {
		task := Task{ID: fmt.Sprint("t", i), Attended: d.number(1, 4, "attended"), Setup: &SetupNeed{"station", rapid.SampledFrom(states).Draw(t, "state")}}
		longest += task.Attended + 4
		if d.often(7, "in a job") {
			job := Job{ID: fmt.Sprint("j", i), Weight: d.number(0, 3, "weight")}
			if d.often(6, "due") {
				job.Due = new(d.number(-2, 5*n, "due at"))
			}
			task.Job = job.ID
			d.p.Jobs = append(d.p.Jobs, job)
		}
		d.p.Tasks = append(d.p.Tasks, task)
	}
	if d.p.Horizon = longest; d.often(2, "little time") {
		d.p.Horizon = d.number(longest/3, longest, "horizon")
	}
	return d.p
}

// machineOf is a search of a problem; nil where it is none for it, or no plan is found at
// first.
func machineOf(p *Problem) *oneMachine {
	var stop atomic.Bool
	m := compile(p, &stop)
	if m.broken != nil {
		return nil
	}
	first := newImprover(m, 1)
	first.begin(&stop, func() bool { return true })
	return newOneMachine(m, first.best, 1)
}

// Breeding alone finds what brute force finds.
func TestOneMachineEqualsBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawOneMachine(t, 4)
		o := machineOf(p)
		if o == nil {
			t.Skip("no plan at first")
		}
		var stop atomic.Bool
		o.run(&budget{work: 3000, stop: &stop})
		want := bruteForce(p)
		require.NotNil(t, want)
		assert.Equal(t, want.Objective, o.best.value.cost)
		plan := o.m.plan(o.best)
		plan.Status = Feasible
		require.NoError(t, Check(p, plan))
	})
}

// measured is what an order costs, task by task.
func (o *oneMachine) measured(seq []int32) int64 {
	c := o.m.resources[0].setups
	state, now, sum := c.initial, 0, int64(0)
	for _, t := range seq {
		w := &o.m.tasks[t]
		minutes := setupFrom(c, state, w.state)
		now, state = now+minutes+w.att, w.state
		sum += o.m.weights.Setup * int64(minutes)
		if w.job >= 0 {
			sum += o.m.jobCost(&o.m.jobs[w.job], now)
		}
	}
	return sum + o.m.weights.Makespan*int64(now) + o.beyond*int64(max(0, now-o.m.horizon))
}

// The move that is made is the best one of those that begin where it does, and the order
// costs with it what it costs task by task.
func TestAMoveIsTheBestOfItsFront(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := machineOf(drawOneMachine(t, 12))
		if o == nil {
			t.Skip("no plan at first")
		}
		for k, task := range rapid.Permutation(o.seq).Draw(t, "order") {
			o.seq[k] = task
		}
		o.begin()
		for range o.n {
			i, least := o.front, o.measured(o.seq)
			for j := i + 1; j < o.n; j++ {
				swap := slices.Clone(o.seq)
				swap[i], swap[j] = swap[j], swap[i]
				least = min(least, o.measured(swap))
				for k := j + 1; k <= o.n; k++ {
					least = min(least, o.measured(slices.Concat(o.seq[:i], o.seq[j:k], o.seq[i:j], o.seq[k:])))
				}
			}
			o.look()
			require.Equal(t, least, o.cost+o.fixed)
			require.Equal(t, least, o.measured(o.seq))
		}
	})
}

// An order that ends behind the horizon is none, whatever it would save, and however far
// behind it ends.
func TestNoOrderEndsBehindTheHorizon(t *testing.T) {
	draw := func(minutes int, tardiness int64) *Problem {
		return &Problem{Version: Version, Horizon: 10, Objective: Weights{Tardiness: tardiness}, Jobs: []Job{{ID: "urgent", Weight: 1, Due: new(0)}},
			Resources: []Resource{{ID: "station", Capacity: 1, Setups: &Setups{Pairs: []Pair{{"x", "y", minutes}}}}},
			Tasks: []Task{
				{ID: "a", Job: "urgent", Attended: 1, Setup: &SetupNeed{"station", "x"}},
				{ID: "b", Attended: 1, Setup: &SetupNeed{"station", "y"}},
				{ID: "c", Attended: 1, Setup: &SetupNeed{"station", "y"}},
			}}
	}
	for _, p := range []*Problem{draw(10, 1<<42), draw(1<<24, 1)} {
		require.NoError(t, p.Validate())
		o := machineOf(p)
		require.NotNil(t, o)
		var stop atomic.Bool
		o.run(&budget{work: 1000, stop: &stop})
		assert.Equal(t, 3*p.Objective.Tardiness, o.best.value.cost)
		plan := o.m.plan(o.best)
		plan.Status = Feasible
		assert.NoError(t, Check(p, plan))
	}
	beyond := draw(1<<24, 1<<42)
	require.NoError(t, beyond.Validate())
	assert.Nil(t, machineOf(beyond), "what such an order costs cannot be counted")
}

// A child has every task once, the stretch of one parent where it was, and the others in
// the order of the other.
func TestAChildTakesAfterBoth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 20).Draw(t, "tasks")
		o := &oneMachine{n: n, seq: make([]int32, n), kept: make([]bool, n)}
		for k := range o.seq {
			o.seq[k] = int32(k)
		}
		one := rapid.Permutation(slices.Clone(o.seq)).Draw(t, "one")
		other := rapid.Permutation(slices.Clone(o.seq)).Draw(t, "other")
		from := rapid.IntRange(0, n).Draw(t, "from")
		length := rapid.IntRange(0, min(n-from, n-1)).Draw(t, "length")
		o.cross(one, other, from, length)
		assert.Equal(t, one[from:from+length], o.seq[from:from+length])
		rest := slices.DeleteFunc(slices.Clone(other), func(t int32) bool { return slices.Contains(one[from:from+length], t) })
		assert.Equal(t, rest, slices.Concat(o.seq[:from], o.seq[from+length:]))
	})
}

// A problem that something else binds, or that is too large, is none for this search.
func TestWhatIsNoSingleMachine(t *testing.T) {
	draw := func() *Problem {
		p := &Problem{Version: Version, Horizon: 100, Resources: []Resource{{ID: "station", Capacity: 1, Setups: &Setups{Default: 1}}}, Objective: Weights{Makespan: 1}}
		for i := range 4 {
			p.Tasks = append(p.Tasks, Task{ID: fmt.Sprint("t", i), Job: fmt.Sprint("j", i), Attended: 2, Setup: &SetupNeed{"station", states[i%2]}})
			p.Jobs = append(p.Jobs, Job{ID: fmt.Sprint("j", i), Weight: 1, Due: new(3)})
		}
		return p
	}
	require.NotNil(t, machineOf(draw()))
	for name, bind := range map[string]func(*Problem){
		"a link":                func(p *Problem) { p.Links = []Link{{Before: "t0", After: "t1"}} },
		"another resource":      func(p *Problem) { p.Resources = append(p.Resources, Resource{ID: "hands", Capacity: 1}) },
		"hours":                 func(p *Problem) { p.Calendars, p.Resources[0].Calendar = map[string][]Window{"day": {{0, 90}}}, "day" },
		"hours of a job":        func(p *Problem) { p.Calendars, p.Jobs[0].Calendar = map[string][]Window{"day": {{0, 90}}}, "day" },
		"unattended time":       func(p *Problem) { p.Tasks[0].Unattended = 5 },
		"a release":             func(p *Problem) { p.Tasks[0].Release = 2 },
		"a deadline":            func(p *Problem) { p.Tasks[0].Deadline = new(50) },
		"a start":               func(p *Problem) { p.Tasks[0].Start = new(0) },
		"two tasks of one job":  func(p *Problem) { p.Tasks[0].Job = "j1" },
		"a plan that was shown": func(p *Problem) { p.Objective.Moved, p.Previous = 1, &Previous{Starts: []Start{{"t0", 0}}} },
		"too many tasks": func(p *Problem) {
			p.Horizon = 10000
			for i := 4; i <= mostBred; i++ {
				p.Tasks = append(p.Tasks, Task{ID: fmt.Sprint("t", i), Attended: 2, Setup: &SetupNeed{"station", "x"}})
			}
		},
	} {
		p := draw()
		bind(p)
		assert.Nil(t, machineOf(p), name)
	}
}
