package sequence

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestEarliestEndAndItsChain(t *testing.T) {
	p := &Problem{Version: Version, Horizon: 10000, Calendars: map[string][]Window{"shop": {{480, 720}, {1920, 2160}}},
		Resources: []Resource{{ID: "hands", Capacity: 1, Calendar: "shop"}}, Jobs: []Job{{ID: "tray"}, {ID: "empty"}}}
	hands := []Use{{Resource: "hands", Amount: 1, During: Attended}}
	p.Tasks = []Task{
		{ID: "plane", Job: "tray", Attended: 60, Interruptible: true, Uses: hands},
		{ID: "saw", Job: "tray", Attended: 90, Interruptible: true, Uses: hands},
		{ID: "glue", Job: "tray", Attended: 30, Unattended: 200, Uses: hands},
		{ID: "sand", Job: "tray", Attended: 40, Interruptible: true, Uses: hands},
	}
	p.Links = []Link{{Before: "plane", After: "glue"}, {Before: "saw", After: "glue"}, {Before: "glue", After: "sand"}}
	end, chain, err := Earliest(p, "tray")
	require.NoError(t, err)
	assert.Equal(t, 1960, end, "the clamps come off after closing time")
	assert.Equal(t, []string{"saw", "glue", "sand"}, chain)

	// The first coat must not lie long before the sanded tray is ready for what follows.
	p.Tasks = append(p.Tasks, Task{ID: "coat", Job: "tray", Attended: 10, Interruptible: true, Uses: hands}, Task{ID: "fit", Job: "tray", Attended: 10, Interruptible: true, Uses: hands})
	p.Links = append(p.Links, Link{Before: "coat", After: "fit", Max: new(100)}, Link{Before: "sand", After: "fit"})
	end, chain, err = Earliest(p, "tray")
	require.NoError(t, err)
	assert.Equal(t, 1970, end)
	assert.Equal(t, []string{"saw", "glue", "sand", "fit"}, chain)
	_, _, err = Earliest(p, "empty")
	require.ErrorContains(t, err, `"empty"`)
}

// No plan ends a job earlier, and along the chain nothing could start earlier either.
func TestNothingEndsBeforeTheEarliest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		best := bruteForce(p)
		for _, job := range p.Jobs {
			end, chain, err := Earliest(p, job.ID)
			if err != nil {
				continue
			}
			require.NotEmpty(t, chain)
			if best == nil {
				continue
			}
			for _, j := range best.Jobs {
				if j.ID == job.ID {
					require.GreaterOrEqual(t, j.End, end)
				}
			}
		}
	})
}
