package sequence

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// When all is drawn no arc has anything left to say: those between tasks that are kept
// apart were asked wherever they had to be.
func TestNoArcIsForgotten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		if rapid.Bool().Draw(t, "a shop week") {
			p = shopWeek{rapid.IntRange(1, 60).Draw(t, "number"), rapid.IntRange(5, 30).Draw(t, "steps")}.problem()
		}
		s := &solver{}
		if s.m = compile(p, &s.stop); s.m.broken != nil {
			return
		}
		e := newExact(s.m, 1)
		require.NotNil(t, e)
		for !e.dead && e.propagate() && !e.x.halted {
			known := len(e.x.trail)
			for k := range e.arcs {
				require.True(t, e.arcs[k].propagate(e))
				require.Len(t, e.x.trail, known, "arc %d", k)
			}
			v := rapid.Int32Range(0, int32(len(e.x.ub)/2-1)).Draw(t, "variable")
			if lo, hi := e.x.lo(v), e.x.hi(v); lo < hi {
				at := rapid.Int64Range(lo, hi-1).Draw(t, "value")
				e.x.decide([]lit{le(v, at), ge(v, at+1)}[rapid.IntRange(0, 1).Draw(t, "half")])
			} else if rapid.IntRange(0, 9).Draw(t, "enough") == 0 {
				return
			}
		}
	})
}
