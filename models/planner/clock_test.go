package planner

import (
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Over the nights on which the clocks change, and over a leap day, a plan keeps to the
// hours on the shop's wall, and a rest takes as long as it takes.
func TestPlansThroughChangesOfTheClock(t *testing.T) {
	for name, at := range map[string]string{
		"spring":     "2026-03-27 14:00", // the clocks change in the night to Sunday
		"autumn":     "2026-10-23 14:00",
		"a leap day": "2028-02-28 14:00", // a Monday
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t, at)
			require.NoError(t, r.store.SaveHours(t.Context(), append(testrig.Week(),
				models.Hours{Weekday: time.Saturday, Opens: 22 * 60, Closes: 24 * 60}, models.Hours{Weekday: time.Sunday, Opens: 0, Closes: 5 * 60})))
			testrig.Commission(t, r.store, "Hall shelf", local(t, at).AddDate(0, 0, 10).Format(time.DateOnly))
			plan := r.plan()
			snap := r.snap()
			cal, err := newCalendar(snap)
			require.NoError(t, err)
			require.Len(t, plan.Steps, 10)
			ends := map[models.ID]time.Time{}
			for _, ps := range plan.Steps {
				st := snap.Step(ps.StepID)
				assert.Equal(t, time.Duration(st.Unattended)*time.Minute, ps.End.Sub(ps.AttendedEnd), "the rest of %s", st.Key)
				assert.Equal(t, st.Attended, cal.minutes(ps.Start, ps.AttendedEnd), "%s within the shop's hours", st.Key)
				ends[st.ID] = ps.End
			}
			for _, l := range snap.Links {
				if l.From == models.FromEnd {
					assert.False(t, snap.Planned(l.AfterID).Start.Before(ends[l.BeforeID].Add(time.Duration(l.MinLag)*time.Minute)))
				}
			}
		})
	}
}

// The machine wakes with a date of long ago: plans go on from the newest tap.
func TestPlansWhileTheClockStandsWrong(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	testrig.Commission(t, r.store, "Hall shelf", "2026-12-18")
	before := r.plan()
	st := testrig.Step(t, r.snap(), "joint")
	_, err := r.store.Tap(t.Context(), models.TapRequest{ID: "one", Kind: models.TapStart, StepID: st.ID, PersonID: 1})
	require.NoError(t, err)
	r.clock.Set(time.Unix(40, 0))
	plan := r.plan()
	assert.False(t, plan.Origin.Before(before.Origin))
	assert.False(t, plan.MadeAt.Before(before.MadeAt))
	for _, ps := range plan.Steps {
		assert.False(t, ps.Start.Before(local(t, "2026-12-01 08:00")))
	}
}
