package sequence

import (
	"testing"

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
