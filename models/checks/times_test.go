package checks

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models/pattern"
	"faceside/models/wood"
)

// What a plan is objected to for hangs on where its steps are done, and on
// whether anything can still be done about it.
func TestAPlanIsJudgedByItsAirAndByWhatIsStillToCome(t *testing.T) {
	zoned := func(zones map[string]string) func(*pattern.Shop) {
		return func(s *pattern.Shop) {
			for i := range s.Stations {
				s.Stations[i].Zone = zones[s.Stations[i].Kind]
			}
		}
	}
	over := func(times Times) Times { times.Worked = true; return times }
	wet := Times{Starts: 100, AttendedEnds: 120, Ends: 360}
	dusty := Times{Starts: 200, AttendedEnds: 215, Ends: 215}
	late := Times{Starts: 8 * 1440, AttendedEnds: 8*1440 + 20, Ends: 8*1440 + 20}
	for name, c := range map[string]struct {
		check string
		plan  Plan
		zones map[string]string
		found bool
	}{
		"one air":                        {check: "dust-while-wet", plan: Plan{"seat-finish.coat-1": wet, "rails.plane": dusty}, zones: map[string]string{"planer": "hall", "finish-room": "hall"}, found: true},
		"two airs":                       {check: "dust-while-wet", plan: Plan{"seat-finish.coat-1": wet, "rails.plane": dusty}, zones: map[string]string{"planer": "hall", "finish-room": "wet"}},
		"only the finish room is apart":  {check: "dust-while-wet", plan: Plan{"seat-finish.coat-1": wet, "rails.plane": dusty}, zones: map[string]string{"finish-room": "wet"}},
		"no zones":                       {check: "dust-while-wet", plan: Plan{"seat-finish.coat-1": wet, "rails.plane": dusty}, found: true},
		"the dust is in the past":        {check: "dust-while-wet", plan: Plan{"seat-finish.coat-1": wet, "rails.plane": over(dusty)}},
		"the coat is on, the dust comes": {check: "dust-while-wet", plan: Plan{"seat-finish.coat-1": over(wet), "rails.plane": dusty}, found: true},
		"milled, joints to come":         {check: "milled-long-ago", plan: Plan{"rails.plane": over(dusty), "rails.tenon": late}, found: true},
		"milled, joints cut":             {check: "milled-long-ago", plan: Plan{"rails.plane": over(dusty), "rails.tenon": over(late)}},
	} {
		t.Run(name, func(t *testing.T) {
			s := shop(t)
			zoned(c.zones)(&s)
			found := of(Run(build(t, pattern.Input{Pattern: "hall-bench"}), s, c.plan), c.check)
			assert.Equal(t, c.found, len(found) > 0, list(found))
		})
	}
}

// Temperatures are said in the degrees of the shop's units.
func TestTheColdIsSaidInTheShopsDegrees(t *testing.T) {
	for units, says := range map[string]string{wood.Millimetres: "the shop is at 5 °C", wood.Inches: "the shop is at 41 °F"} {
		s := shop(t)
		s.Units, s.TemperatureC = units, 5
		for _, check := range []string{"finish-cold", "glue-cold"} {
			found := of(Run(build(t, pattern.Input{Pattern: "hall-bench"}), s), check)
			require.NotEmpty(t, found, check)
			assert.Contains(t, found[0].Reason.String(), says)
		}
	}
}
