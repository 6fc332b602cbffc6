package sequence

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Two exact searches that tell each other what they learn, after every two units of
// work, come to what trying all gives.
func TestTwoExactSearchesAreNeverWrong(t *testing.T) {
	for _, c := range []struct {
		name string
		draw func(*rapid.T) *Problem
	}{{"all features", drawProblem}, {"projects", drawProject}} {
		t.Run(c.name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				p := c.draw(t)
				best := bruteForce(p)
				s := twoExacts(t, p)
				if s == nil {
					require.Nil(t, best)
					return
				}
				if best == nil {
					require.True(t, s.infeasible)
					return
				}
				require.Equal(t, best.Objective, s.best.value.cost)
				require.NoError(t, Check(p, s.plan()))
			})
		})
	}
}

// twoExacts lets two exact searches come to an end; nil where none is needed.
func twoExacts(t require.TestingT, p *Problem) *solver {
	s := &solver{}
	s.m = compile(p, &s.stop)
	if s.m.broken != nil {
		return nil
	}
	s.bound = s.m.lowerBound()
	for seed := range int64(2) {
		e := newExact(s.m, seed)
		require.NotNil(t, e)
		e.x.telling, e.search.noAims, e.search.noDives = true, seed == 1, true
		s.workers = append(s.workers, e)
	}
	for round := 0; !s.closed(); round++ {
		require.Less(t, round, 20_000)
		for _, w := range s.workers {
			w.meet(s.best, s.bound)
		}
		s.exchange()
		for _, w := range s.workers {
			w.run(&budget{work: 2, stop: &s.stop})
			s.collect(w)
		}
	}
	return s
}

// A second exact search is called where the proof is what is missing and there is a core
// for it. It shares that core with the search that makes the plans.
func TestASecondExactSearchIsCalled(t *testing.T) {
	project, week := instance(t, "j30/j3029_4.sm"), shopWeeks(shopSize{2, 8, 20, 1})
	setups := instance(t, "bt/t2-ps05.dat")
	for _, c := range []struct {
		name   string
		of     *Problem
		o      Options
		last   float64 // second of the best plan, of ten
		near   bool
		called bool
	}{
		{"the proof is missing", project, Options{Cores: 2}, 0.1, true, true},
		{"plans still come better", project, Options{Cores: 2}, 9, true, false},
		{"the bound is far away", project, Options{Cores: 2}, 0.1, false, false},
		{"one core", project, Options{Cores: 1}, 0.1, true, false},
		{"work that is to be the same again", project, Options{Cores: 2, Work: 1000}, 0.1, true, false},
		{"stations with setups", setups, Options{Cores: 2}, 0.1, true, false},
		{"no search of its own", week, Options{Cores: 2}, 0.1, true, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := &solver{o: c.o}
			s.m = compile(c.of, &s.stop)
			s.open()
			require.NotNil(t, s.best)
			s.began = time.Now().Add(-10 * time.Second)
			s.trace[len(s.trace)-1].Seconds = c.last
			if s.bound = s.best.value.cost - 1; !c.near {
				s.bound = s.best.value.cost / 2
			}
			before := len(s.workers)
			s.call()
			require.Equal(t, c.called, s.second != nil)
			if !c.called {
				require.Len(t, s.workers, before)
				return
			}
			require.Len(t, s.workers, before+1)
			require.Equal(t, 25*time.Millisecond, s.share(s.workers[0], 100*time.Millisecond), "plans")
			require.Equal(t, 100*time.Millisecond, s.share(s.workers[1], 100*time.Millisecond), "the first exact search")
			require.Equal(t, 75*time.Millisecond, s.share(s.second, 100*time.Millisecond), "the second")
			s.exchange()
			require.True(t, s.second.x.telling)
			s.workers = s.workers[:before] // the second gave itself up
			s.second.x.halted = true
			s.exchange()
			require.False(t, s.workers[1].(*exact).x.telling)
			require.Equal(t, 100*time.Millisecond, s.share(s.workers[0], 100*time.Millisecond))
		})
	}
}

// Where there are few tasks a second exact search is called once plans do not come better,
// whatever cores there are, and has most of what made the plans until they do again.
func TestASecondExactSearchIsCalledForFewTasks(t *testing.T) {
	for name, of := range map[string]struct {
		week   shopWeek
		few    bool
		people int
	}{"one person": {shopWeek{183, 60}, true, 1}, "three people": {shopWeek{14, 60}, true, 3}, "many tasks": {shopWeek{3, 100}, false, 1}} {
		t.Run(name, func(t *testing.T) {
			s := &solver{o: Options{Work: 1_000_000, Cores: 1}}
			s.m = compile(of.week.problem(), &s.stop)
			require.Equal(t, of.few, len(s.m.tasks) <= s.m.few())
			s.open()
			require.Equal(t, of.people == 1, s.m.onlyHands() >= 0)
			require.True(t, s.exacts()[0].search.near.wanted, "it looks near the best plan")
			s.spent, s.better = leastStale, leastStale*2/3+1
			s.call()
			require.Nil(t, s.second, "plans came better")
			fresh := shareOfPlans(s)
			s.better = leastStale/2 - 1
			s.call()
			require.Equal(t, of.few, s.second != nil)
			require.Equal(t, of.few, shareOfPlans(s) < fresh/2)
		})
	}
}

// Where a plan is mended fewer tasks are few.
func TestFewTasksWhereAPlanIsMended(t *testing.T) {
	p := shopWeek{9, 60}.problem()
	again := changedBy(p, solveWith(t, p, Options{Work: 50, Seed: 1}), repairs["a station is down"])
	for of, few := range map[*Problem]bool{p: true, again: false} {
		s := &solver{o: Options{Work: 1000}}
		s.m = compile(of, &s.stop)
		s.open()
		require.Equal(t, few, s.few)
	}
}

// shareOfPlans is what the searches get that are not exact.
func shareOfPlans(s *solver) (sum int64) {
	for _, w := range s.workers[:len(s.workers)-len(s.exacts())] {
		sum += s.twentieths(w)
	}
	return sum
}

// It makes no plan hang on the cores.
func TestASecondExactSearchIsTheSameOnAnyNumberOfCores(t *testing.T) {
	var plans []Plan
	for cores := 1; cores <= 2; cores++ {
		s := &solver{o: Options{Work: 15_000, Seed: 1, Cores: cores}}
		s.m = compile(shopWeek{183, 60}.problem(), &s.stop)
		s.bound = s.m.lowerBound()
		s.open()
		s.rounds()
		require.NotNil(t, s.second)
		plans = append(plans, withoutTimes(s.plan()))
	}
	require.Equal(t, plans[0], plans[1])
}
