package planner

import (
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"
	_ "faceside/models/testrig/sameseed"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// weekday is a shop of the usual week, closed on 2 December 2026.
func weekday(t *testing.T) *models.Snapshot {
	t.Helper()
	snap := &models.Snapshot{Hours: testrig.Week(), DaysOff: []models.DayOff{{Date: "2026-12-02"}}}
	snap.Shop.TimeZone = testrig.Zone
	return snap
}

func TestOpenMinutes(t *testing.T) {
	snap := weekday(t)
	for _, tc := range []struct {
		from, to string
		minutes  int
	}{
		{"2026-12-01 08:00", "2026-12-01 17:00", 510},
		{"2026-12-01 11:30", "2026-12-01 13:00", 60},
		{"2026-12-01 12:00", "2026-12-01 12:30", 0},
		{"2026-12-01 16:00", "2026-12-03 09:00", 120},
		{"2026-12-04 16:00", "2026-12-07 08:30", 90},
		{"2026-12-03 09:00", "2026-12-01 16:00", -120},
		{"2026-12-01 09:00", "2026-12-01 09:00", 0},
	} {
		assert.Equal(t, tc.minutes, localCalendar(snap).minutes(local(t, tc.from), local(t, tc.to)), tc.from)
	}
}

func TestOpeningsThatTouchOrLieInTheHourThatIsSkipped(t *testing.T) {
	snap := weekday(t)
	snap.Hours = []models.Hours{{Weekday: time.Sunday, Opens: 60, Closes: 120}, {Weekday: time.Sunday, Opens: 120, Closes: 180}, {Weekday: time.Sunday, Opens: 600, Closes: 1440}}
	day := Openings(snap, local(t, "2026-12-06 12:00"))
	require.Len(t, day, 2)
	assert.True(t, day[0].To.Equal(local(t, "2026-12-06 03:00")))
	assert.True(t, day[1].To.Equal(local(t, "2026-12-07 00:00")))
	// on 28 March 2027 2:00 to 3:00 does not exist
	day = Openings(snap, local(t, "2027-03-28 12:00"))
	require.Len(t, day, 2)
	assert.Equal(t, time.Hour, day[0].To.Sub(day[0].From))
}

func TestUnknownTimeZone(t *testing.T) {
	snap := weekday(t)
	snap.Shop.TimeZone = "Mars/Olympus"
	_, err := pose(snap)
	require.ErrorContains(t, err, "the shop's time zone \"Mars/Olympus\"")
	from := time.Date(2026, 12, 1, 8, 0, 0, 0, time.UTC)
	assert.Equal(t, 60, localCalendar(snap).minutes(from, from.Add(time.Hour)), "read as UTC")
}

// The timeline counts minutes as the calendar does, whatever the day.
func TestTimelineAgreesWithTheCalendar(t *testing.T) {
	cal, err := newCalendar(weekday(t))
	require.NoError(t, err)
	rapid.Check(t, func(rt *rapid.T) {
		origin := local(t, "2026-10-20 00:00").Add(time.Duration(rapid.IntRange(0, 240*24*60).Draw(rt, "origin")) * time.Minute)
		line := cal.timeline(origin, 5000, 3)
		a, b := rapid.IntRange(0, 20000).Draw(rt, "a"), rapid.IntRange(0, 3000).Draw(rt, "b")
		worked := line.worked(a)
		if end := line.windows[len(line.windows)-1][1]; a < end {
			require.Equal(rt, cal.minutes(origin, line.time(a)), worked)
			if next, ok := cal.open(line.time(a)); ok && line.minute(next) < end {
				require.Equal(rt, line.minute(next), line.opens(a))
			}
		}
		to := line.forward(a, b)
		if to <= line.windows[len(line.windows)-1][1] {
			require.Equal(rt, worked+b, line.worked(to), "so much is worked")
			require.True(rt, b == 0 || line.worked(to-1) < worked+b, "and not earlier")
		}
		if from := line.back(a, b); from >= 0 {
			require.Equal(rt, worked-b, line.worked(from))
			require.True(rt, b == 0 || line.worked(from+1) > worked-b, "as late as can be")
		}
	})
}
