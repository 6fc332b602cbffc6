package seed

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models/wood"
)

func within(t *testing.T, what string, minutes int, r wood.Minutes) {
	t.Helper()
	assert.GreaterOrEqual(t, minutes, r.Least, what)
	assert.LessOrEqual(t, minutes, r.Most, what)
}

// The one time a shop starts with lies in the range that is printed for its class.
func TestGluesLieInThePrintedRanges(t *testing.T) {
	for _, g := range Glues() {
		i := slices.IndexFunc(wood.GlueClasses, func(c wood.GlueClass) bool { return c.Key == g.Key })
		require.GreaterOrEqual(t, i, 0, g.Key)
		c := wood.GlueClasses[i]
		within(t, g.Key+" open", g.OpenMin, c.Open)
		within(t, g.Key+" clamp", g.ClampMin, c.Clamp)
		within(t, g.Key+" cure", g.CureMin, c.Cure)
		assert.GreaterOrEqual(t, g.LeastTempC, c.LeastTempC, g.Key)
		for _, d := range []wood.Density{wood.Light, wood.Medium, wood.Dense} {
			_, err := wood.PressureFor(g.Key, d)
			assert.NoError(t, err)
		}
	}
}

func TestFinishesLieInThePrintedRanges(t *testing.T) {
	for _, f := range Finishes() {
		i := slices.IndexFunc(wood.FinishClasses, func(c wood.FinishClass) bool { return c.Key == f.Key })
		require.GreaterOrEqual(t, i, 0, f.Key)
		c := wood.FinishClasses[i]
		within(t, f.Key+" dry", f.DryMin, c.Dry)
		within(t, f.Key+" least recoat", f.RecoatLeastMin, c.Recoat)
		if f.RecoatGreatestMin != 0 {
			within(t, f.Key+" greatest recoat", f.RecoatGreatestMin, c.Recoat)
		}
		within(t, f.Key+" cure", f.CureMin, c.Cure)
	}
}

// Every solid wood that is offered moves as the tables of woods say.
func TestSolidSpeciesAreInTheTables(t *testing.T) {
	l, err := Library()
	require.NoError(t, err)
	for _, s := range l.Species() {
		_, err := wood.SafeSpeciesOf(s.Key)
		if s.Key == "plywood" {
			assert.Error(t, err)
			continue
		}
		assert.NoError(t, err, s.Key)
	}
}
