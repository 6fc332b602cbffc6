package sequence

import (
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Two glue-ups that come late and cure long cannot both be closed at once: the bound
// sees it, though neither the longest chain nor the work of the station does.
func TestBoundOfWhatGoesOneAfterTheOther(t *testing.T) {
	use := []Use{{Resource: "press", Amount: 1, During: Attended}}
	p := &Problem{Version: Version, Horizon: 100, Objective: Weights{Makespan: 1}, Resources: []Resource{{ID: "press", Capacity: 1}},
		Tasks: []Task{
			{ID: "early", Attended: 2, Uses: use},
			{ID: "left", Attended: 4, Unattended: 9, Release: 5, Uses: use},
			{ID: "right", Attended: 4, Unattended: 9, Release: 5, Uses: use},
		}}
	assert.EqualValues(t, 22, compile(p, nil).lowerBound())
	plan := solveWith(t, p, Options{Work: 100, Seed: 1})
	assert.Equal(t, Optimal, plan.Status)
	assert.EqualValues(t, 22, plan.Objective)
}

func TestBoundIsNeverAboveTheOptimum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProject(t)
		for i := range p.Tasks {
			p.Tasks[i].Release = rapid.IntRange(0, 3).Draw(t, "release")
			p.Horizon += 3
		}
		require.LessOrEqual(t, compile(p, nil).lowerBound(), bruteForce(p).Objective)
	})
}

// Who stops the search does not wait until the bound of many tasks is known, and what is
// told of it by then is no more than the bound.
func TestTheBoundOfManyTasksIsBrokenOff(t *testing.T) {
	p := plain(2000)
	p.Resources = []Resource{{ID: "r", Capacity: 1}}
	for k := range p.Tasks {
		p.Tasks[k].Uses = []Use{{Resource: "r", Amount: 1, During: Attended}}
	}
	var stop atomic.Bool
	m := compile(p, &stop)
	tails := m.tailsWithin(false)
	whole := m.lineEnd(0, tails)
	stop.Store(true)
	require.Less(t, m.lineEnd(0, tails), whole)
}
