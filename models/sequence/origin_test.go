package sequence

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Nothing begins before the origin: a start that is given there leaves no plan, whichever
// search looks for one.
func TestAStartGivenBeforeTheOriginLeavesNoPlan(t *testing.T) {
	p := plain(3)
	p.Tasks[1].Start = new(-5)
	for _, o := range []Options{{Work: 300}, {Work: 300, WithoutExact: true}, {Work: 300, WithoutImprove: true}} {
		plan := solveWith(t, p, o)
		assert.Equal(t, Infeasible, plan.Status)
		assert.Equal(t, []string{"t1"}, plan.Conflict)
	}
	_, err := Dispatch(context.Background(), p, EarliestPromise)
	assert.ErrorIs(t, err, errNoPlace)
}

// A plan that people have seen may begin before the origin, which is now: what starts
// later than it did there counts as moved, unless that is within the tolerance.
func TestAPreviousStartBeforeTheOriginCounts(t *testing.T) {
	for tolerance, moved := range map[int]int64{0: 1, 4: 1, 5: 0, 100: 0} {
		p := plain(3)
		p.Objective.Moved = 1000
		p.Previous = &Previous{Tolerance: tolerance, Starts: []Start{{"t1", -5}}}
		for _, o := range []Options{{Work: 300}, {Work: 300, WithoutExact: true}, {Work: 300, WithoutImprove: true}} {
			plan := solveWith(t, p, o)
			require.Equal(t, Optimal, plan.Status, "within %d", tolerance)
			assert.Equal(t, moved, Measure(p, plan).Moved, "within %d", tolerance)
		}
		plan, err := Retime(context.Background(), p)
		require.NoError(t, err)
		require.NoError(t, Check(p, plan), "within %d", tolerance)
	}
}
