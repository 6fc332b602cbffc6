package planner

import (
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Three commissions of one step on the planer: A and C want one setup, B the
// other. By promise it is set three times, looking ahead twice.
func TestCompareCountsWhatARunSaves(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	planer := testrig.Station(t, r.snap(), "planer")
	for _, c := range []struct{ name, state, promised string }{{"A", "22 mm", "2026-12-02"}, {"B", "45 mm", "2026-12-03"}, {"C", "22 mm", "2026-12-04"}} {
		st := job("a", 60)
		st.StationID, st.Setup = planer.ID, &models.Setup{StationID: planer.ID, Family: "thickness", State: c.state}
		r.lone(c.name, c.promised, st)
	}
	out, err := Compare(ctx, r.snap(), 300*time.Millisecond)
	require.NoError(t, err)
	require.Len(t, out, 3)
	assert.Equal(t, []string{"Faceside", "commission by commission", "earliest promise first"}, []string{out[0].Way, out[1].Way, out[2].Way})
	assert.Equal(t, []int{1, 2, 2}, []int{out[0].Setups, out[1].Setups, out[2].Setups}, "the first is free: nobody has said how the planer stands")
	assert.Equal(t, []int{planer.ResetMinutes, 2 * planer.ResetMinutes, 2 * planer.ResetMinutes}, []int{out[0].SetupMin, out[1].SetupMin, out[2].SetupMin})
	for _, o := range out {
		assert.Zero(t, o.LateDays)
		assert.Equal(t, local(t, "2026-12-01 11:00").Add(time.Duration(o.SetupMin)*time.Minute).UTC(), o.Completion.UTC())
		assert.Equal(t, 180+o.SetupMin, o.StandingMin, "the other person has nothing to do")
	}
}

func TestCompareCountsLateness(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.lone("Late", "2026-12-01", job("x", 510+255)) // a day and a half
	out, err := Compare(ctx, r.snap(), 300*time.Millisecond)
	require.NoError(t, err)
	for _, o := range out {
		assert.InDelta(t, 0.5, o.LateDays, 1e-9)
		assert.Equal(t, 255*c.Weight, o.WeightedLateMin)
	}
}

func TestCompareLeavesOutDaysOff(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	r.lone("One", "2026-12-01", job("x", 60))
	ben := testrig.Person(t, r.snap(), "Ben")
	_, err := r.store.SaveDayOff(ctx, models.DayOff{Date: "2026-12-01", PersonID: &ben, Reason: "ill"})
	require.NoError(t, err)
	out, err := Compare(ctx, r.snap(), 300*time.Millisecond)
	require.NoError(t, err)
	for _, o := range out {
		assert.Zero(t, o.StandingMin)
	}
}
