package sequence

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// Where work goes by hours the exact search asks for as good a plan until there is one, or
// none is left; without hours every other time, and for what is a quarter of the way then.
func TestWhatTheExactSearchAimsAt(t *testing.T) {
	aims := func(p *Problem) (*exact, func(restarts int, lo, hi int64) int64) {
		s := &solver{}
		s.m = compile(p, &s.stop)
		e := newExact(s.m, 1)
		return e, func(restarts int, lo, hi int64) int64 {
			e.x.ub[2*e.cost], e.x.ub[2*e.cost+1], e.search.restarts = hi, -lo, restarts
			if !e.takeAim() {
				return -1
			}
			return e.search.aimed
		}
	}
	_, aim := aims(shopWeek{4, 20}.problem())
	require.EqualValues(t, -1, aim(1, 100, unlimited), "no plan is known")
	require.EqualValues(t, 200, aim(1, 100, 500))
	require.EqualValues(t, 200, aim(2, 150, 400), "still open")
	require.EqualValues(t, 225, aim(3, 201, 300), "there is none")
	require.EqualValues(t, 205, aim(4, 201, 220), "there is one")
	require.EqualValues(t, -1, aim(5, 220, 220))
	e, aim := aims(instance(t, "j30/j3029_4.sm"))
	require.EqualValues(t, -1, aim(2, 100, 500))
	require.EqualValues(t, 200, aim(1, 100, 500))
	require.EqualValues(t, 212, aim(3, 150, 400))
	e.search.noAims = true
	require.EqualValues(t, -1, aim(1, 100, 500))
}
