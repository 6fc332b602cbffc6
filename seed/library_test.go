package seed

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models/pattern"
	"faceside/models/wood"
)

// demoPatternShop is the demo's shop as the patterns see it.
func demoPatternShop() pattern.Shop {
	s := pattern.Shop{
		Glues: Glues(), Finishes: Finishes(), Units: wood.Inches, Fraction: 16, TemperatureC: 20, HumidityPct: 45, Hands: 2,
	}
	for _, st := range demoStations() {
		s.Stations = append(s.Stations, pattern.Station{
			Key: st.Key, Name: st.Name, Kind: st.Kind,
			MaxWidth: st.MaxWidth, MaxThickness: st.MaxThickness, MinLength: st.MinLength, OpenEnded: st.OpenEnded,
		})
	}
	for _, c := range demoClamps() {
		s.Clamps = append(s.Clamps, pattern.ClampClass{Key: c.Key, Name: c.Name, Reach: c.Reach, Count: c.Count})
	}
	return s
}

func TestEveryPieceCanBeBuiltInTheDemoShop(t *testing.T) {
	l, err := Library()
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(l.Patterns()), 3)
	for _, p := range l.Patterns() {
		b, err := l.Build(pattern.Input{Pattern: p.Key}, demoPatternShop())
		require.NoError(t, err, p.Key)
		assert.NotEmpty(t, b.Steps)
	}
}

// Where a default glue sets before the last clamp is on, the default is wrong.
func TestDefaultsStayWithinTheOpenTimeOfTheirGlue(t *testing.T) {
	l, err := Library()
	require.NoError(t, err)
	open := map[string]int{}
	for _, g := range Glues() {
		open[g.Key] = g.OpenMin
	}
	for _, p := range l.Patterns() {
		b, err := l.Build(pattern.Input{Pattern: p.Key}, demoPatternShop())
		require.NoError(t, err, p.Key)
		for _, s := range b.Steps {
			if s.Glue != "" {
				assert.LessOrEqual(t, s.OpenTime, open[s.Glue], "%s: %s", p.Key, s.Name)
			}
		}
	}
}

// Every step at a machine, and every step with glue or finish, says what to mind.
func TestStepsThatCanHurtSayWhatToMind(t *testing.T) {
	l, err := Library()
	require.NoError(t, err)
	for _, p := range l.Patterns() {
		b, err := l.Build(pattern.Input{Pattern: p.Key}, demoPatternShop())
		require.NoError(t, err, p.Key)
		for _, s := range b.Steps {
			if s.Dusty || s.Glue != "" || s.Finish != "" {
				assert.NotEmpty(t, s.Cautions, "%s: %s", p.Key, s.Name)
			}
		}
	}
	assert.GreaterOrEqual(t, len(l.Catalogue().Kinds()), 40)
}

func TestGluesAndFinishesOfANewShop(t *testing.T) {
	var keys []string
	for _, g := range Glues() {
		keys = append(keys, g.Key)
		assert.Less(t, g.OpenMin, g.ClampMin+1)
		assert.LessOrEqual(t, g.ClampMin, g.CureMin)
		assert.NotEmpty(t, g.Caution)
	}
	for _, f := range Finishes() {
		keys = append(keys, f.Key)
		assert.LessOrEqual(t, f.DryMin, f.RecoatLeastMin)
		assert.NotEmpty(t, f.Caution)
	}
	assert.Equal(t, []string{
		"pva", "pva-slow", "polyurethane", "epoxy", "hide",
		"penetrating-oil", "wiping-varnish", "waterborne", "shellac",
	}, keys)
}
