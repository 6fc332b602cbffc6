package pattern

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"faceside/models/wood"
)

func TestOnlySheetGoodsAreStill(t *testing.T) {
	v := values{"w": fromWood(300 * wood.Millimetre), "none": length{}, moisture: 8.0}
	reach := names{"w": isLength, "none": isLength, moisture: isNumber}
	for source, says := range map[string]string{
		`movement(w, "granite")`:                                   "granite",
		`movement(none, "oak")`:                                    "width",
		`panel_groove(w, "granite", moisture)`:                     "granite",
		`panel_gap(none, "oak", moisture)`:                         "width",
		`drawer_play(w, "oak", moisture + 100)`:                    "moisture",
		`screw_slot(w, "granite", mm(4), moisture)`:                "granite",
		`screw_slot(w, "oak", none, moisture)`:                     "screw",
		`movement(w, "plywood")`:                                   "",
		`movement(none, "plywood")`:                                "",
		`panel_gap(w, "plywood", moisture)`:                        "",
		`screw_slot(w, "plywood", mm(4), moisture)`:                "",
		`panel_groove(w, "oak", moisture)`:                         "",
		`drawer_play(w, "oak", moisture) + movement(w, "hickory")`: "",
	} {
		f, err := compile(source, isLength, reach)
		require.NoError(t, err, source)
		_, err = f.length(v)
		if says == "" {
			assert.NoError(t, err, source)
			continue
		}
		assert.ErrorContains(t, err, says, source)
	}
	f, err := compile(`movement(w, "plywood") + panel_gap(w, "plywood", moisture)`, isLength, reach)
	require.NoError(t, err)
	still, err := f.length(v)
	require.NoError(t, err)
	assert.Zero(t, still)
}

// Whatever the shop's air and the width: a panel made there neither fills its
// grooves in the dampest weeks of a heated house nor leaves them in the driest.
func TestPanelsStayInTheirGroovesAllYear(t *testing.T) {
	l := library(t)
	rapid.Check(t, func(t *rapid.T) {
		shop := l.GenerousShop()
		shop.HumidityPct = rapid.Float64Range(30, 70).Draw(t, "humidity")
		species := rapid.SampledFrom([]string{"oak", "ash", "beech", "walnut"}).Draw(t, "species")
		b, err := l.Build(Input{
			Pattern:  "cupboard",
			Measures: map[string]string{"width": rapid.SampledFrom([]string{"600", "700", "800", "900"}).Draw(t, "width")},
			Choices:  map[string]string{"species": species, "panel": "solid"},
		}, shop)
		require.NoError(t, err)
		var trim, groove *Step
		for i := range b.Steps {
			switch b.Steps[i].Key {
			case "left-door.frame.panel.trim":
				trim = &b.Steps[i]
			case "left-door.frame.groove":
				groove = &b.Steps[i]
			}
		}
		made, depth := stepLength(t, trim, "width"), stepLength(t, groove, "depth")
		opening := wood.Length(0)
		for _, a := range b.Assemblies {
			if a.Key == "left-door.frame.frame" {
				opening = a.Size.Width
			}
		}
		for _, p := range b.Parts {
			if p.Key == "left-door.frame.stile" {
				opening -= 2 * p.Finished.Width
			}
		}
		pct, err := wood.Equilibrium(shop.TemperatureC, shop.HumidityPct)
		require.NoError(t, err)
		s, err := wood.SafeSpeciesOf(species)
		require.NoError(t, err)
		year, err := s.Swing(made, wood.FlatSawn, pct, wood.HeatedHome)
		require.NoError(t, err)
		require.LessOrEqual(t, made+year.Swells, opening+2*depth, "room at the dampest")
		require.GreaterOrEqual(t, (made-year.Shrinks-opening)/2, 3*wood.Millimetre, "hold at the driest, on each side")
	})
}

// stepLength is a length that a step's kind was given.
func stepLength(t require.TestingT, s *Step, key string) wood.Length {
	require.NotNil(t, s)
	for _, m := range s.With {
		if m.Key == key {
			return m.Length
		}
	}
	require.Fail(t, "no such value", "%s of %s", key, s.Key)
	return 0
}

// A screw's slot grows with the distance from what is fixed, and reaches the steps
// as a length of its setup.
func TestSlotsAreLongEnoughForTheYear(t *testing.T) {
	clip := map[string]string{"fastener": "clip", "species": "beech"}
	narrow := built(t, Input{Pattern: "hall-bench", Choices: clip, Measures: map[string]string{"depth": "300"}})
	wide := built(t, Input{Pattern: "hall-bench", Choices: clip, Measures: map[string]string{"depth": "420"}})
	one, two := orderOf(t, narrow).step("slots"), orderOf(t, wide).step("slots")
	play, err := wood.SeasonalMovement(210*wood.Millimetre, "beech")
	require.NoError(t, err)
	assert.Less(t, stepLength(t, one, "length"), stepLength(t, two, "length"))
	assert.GreaterOrEqual(t, stepLength(t, two, "length"), 4*wood.Millimetre+play)
	assert.NotEqual(t, one.Setup.State, two.Setup.State)
}
