package sequence

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// pinnedPlaner is a planer with a setup that five tasks want, the third of them
// at a given time, with work before it; and one pair of hands.
func pinnedPlaner(fixed int) *Problem {
	p := &Problem{Version: Version, Horizon: 2000, Objective: Weights{Makespan: 1, Flow: 1},
		Resources: []Resource{{ID: "hands", Capacity: 1}, {ID: "planer", Capacity: 1, Setups: &Setups{Default: 10}}},
		Previous:  &Previous{Tolerance: 5}}
	for i := range 5 {
		t := Task{ID: fmt.Sprint("plane-", i), Attended: 20, Setup: &SetupNeed{Resource: "planer", State: []string{"22", "45"}[i%2]},
			Uses: []Use{{Resource: "hands", Amount: 1, During: Attended}}}
		p.Tasks = append(p.Tasks, Task{ID: fmt.Sprint("joint-", i), Attended: 20, Uses: []Use{{Resource: "hands", Amount: 1, During: Attended}}}, t)
		p.Links = append(p.Links, Link{Before: fmt.Sprint("joint-", i), After: t.ID})
		p.Previous.Starts = append(p.Previous.Starts, Start{ID: t.ID, Start: 100 * i})
	}
	p.Tasks[5].Start = &fixed
	return p
}

// A given start late in the plan does not push what else its station has to do
// behind it, nor what comes before it to the front.
func TestGivenStartLeavesRoomBeforeIt(t *testing.T) {
	ctx := context.Background()
	fixed := 1000
	for name, plan := range map[string]func() (*Plan, error){
		"retimed":     func() (*Plan, error) { return Retime(ctx, pinnedPlaner(fixed)) },
		"by a rule":   func() (*Plan, error) { return Dispatch(ctx, pinnedPlaner(fixed), EarliestPromise) },
		"by a search": func() (*Plan, error) { return Solve(ctx, pinnedPlaner(fixed), Options{Work: 50, WithoutExact: true}) },
	} {
		t.Run(name, func(t *testing.T) {
			p, err := plan()
			require.NoError(t, err)
			require.NoError(t, Check(pinnedPlaner(fixed), p))
			for _, task := range p.Tasks {
				if task.ID == "plane-2" {
					assert.Equal(t, fixed, task.Start)
				} else {
					assert.Less(t, task.End, 300, "%s: five of 40 min and the setups have room before", task.ID)
				}
			}
		})
	}
}

// What comes before a given start is done by then, though other work is due first.
func TestWhatComesBeforeAGivenStartIsDoneByThen(t *testing.T) {
	for _, fixed := range []int{20, 45, 100} {
		p := pinnedPlaner(fixed)
		plan, err := Solve(context.Background(), p, Options{Work: 200, WithoutExact: true})
		require.NoError(t, err)
		require.Contains(t, []Status{Feasible, Optimal}, plan.Status)
		require.NoError(t, Check(p, plan))
	}
}
