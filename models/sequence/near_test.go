package sequence

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// What looks near a plan find, and what they leave, is what trying all gives: here they
// come after each conflict.
func TestLooksNearAPlanAreNeverWrong(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		best := bruteForce(p)
		s := &solver{}
		if s.m = compile(p, &s.stop); s.m.broken != nil {
			require.Nil(t, best)
			return
		}
		s.bound = s.m.lowerBound()
		e := newExact(s.m, 1)
		require.NotNil(t, e)
		e.search.near.wanted, e.search.near.size = true, rapid.IntRange(1, 4).Draw(t, "open")
		for !e.dead {
			e.search.until = 0
			e.run(&budget{work: 2, stop: &s.stop})
		}
		s.collect(e)
		require.Equal(t, best == nil, s.infeasible)
		if best != nil {
			require.Equal(t, best.Objective, s.best.value.cost)
			require.NoError(t, Check(p, s.plan()))
		}
	})
}

// A look keeps the orders of the best plan, and none of an open task; when it has come to
// its end all orders are open again.
func TestALookNearAPlanKeepsItsOrders(t *testing.T) {
	for _, week := range []shopWeek{{4, 60}, {7, 60}, {100, 100}} {
		s := &solver{}
		s.m = compile(week.problem(), &s.stop)
		s.open()
		e := s.exacts()[0]
		require.True(t, e.search.near.wanted)
		require.False(t, e.lookNear(), "no plan is known yet")
		e.meet(s.best, s.bound)
		seen := map[int]bool{}
		for range 40 {
			require.True(t, e.lookNear())
			for _, l := range e.search.near.kept {
				of := e.pairOf[l.side/2]
				before, after := of[0], of[1]
				if l != ge(l.side/2, 1) {
					before, after = after, before
				}
				require.LessOrEqual(t, s.best.start[before], s.best.start[after])
				seen[int(before)], seen[int(after)] = true, true
			}
			require.NotEmpty(t, e.search.near.kept)
			require.False(t, e.lookNear())
			require.Empty(t, e.search.near.kept)
		}
		require.Greater(t, len(seen), len(e.start)/2)
	}
}

// Looks that come to their end are followed by wider ones, the others by narrower ones.
func TestLooksNearAPlanFindTheirSize(t *testing.T) {
	n := near{size: openAtFirst}
	for range 100 {
		n.empty = true
		n.resize(40)
	}
	require.Equal(t, 30, n.size)
	for range 100 {
		n.empty = false
		n.resize(40)
	}
	require.Equal(t, openAtLeast, n.size)
}
