package wood

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestPlayByHand(t *testing.T) {
	s := Swing{Shrinks: 2 * Millimetre, Swells: 3 * Millimetre}
	assert.Equal(t, PanelFit{Gap: 3 * Millimetre / 2, Tongue: 4 * Millimetre, Groove: 11 * Millimetre / 2}, s.PanelFit())
	slot, err := s.Slot(4 * Millimetre)
	require.NoError(t, err)
	assert.Equal(t, Slot{Length: 10 * Millimetre, FromOutside: 11 * Millimetre / 2}, slot)
	assert.Equal(t, 4*Millimetre, s.DrawerPlay())
}

// Whatever the week, the panel neither bottoms in its groove nor leaves it, the screw
// stays inside its slot, and the drawer runs.
func TestPlayHoldsAllYear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Swing{Shrinks: Length(rapid.Int64Range(0, 30_000_000).Draw(t, "shrinks")), Swells: Length(rapid.Int64Range(0, 30_000_000).Draw(t, "swells"))}
		now := Length(rapid.Int64Range(-int64(s.Shrinks), int64(s.Swells)).Draw(t, "now"))
		fit := s.PanelFit()
		require.Equal(t, fit.Groove, fit.Gap+fit.Tongue)
		require.GreaterOrEqual(t, 2*fit.Gap-now, Length(0), "it bottoms")
		require.GreaterOrEqual(t, 2*fit.Tongue+now, 2*leastHold-1, "its edge shows")

		screw := Length(rapid.Int64Range(1_000_000, 10_000_000).Draw(t, "screw"))
		slot, err := s.Slot(screw)
		require.NoError(t, err)
		outer := slot.FromOutside - now - screw/2
		inner := slot.Length - slot.FromOutside + now - screw/2
		require.GreaterOrEqual(t, outer, Length(0))
		require.GreaterOrEqual(t, inner, Length(0))

		require.Positive(t, s.DrawerPlay()-now)
	})
	_, err := Swing{}.Slot(0)
	assert.ErrorContains(t, err, "screw")
}
