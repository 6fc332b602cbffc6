package wood

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func mustSpecies(t require.TestingT, name string) Species {
	s, err := SpeciesOf(name)
	require.NoError(t, err)
	return s
}

// Wood Handbook, chapter 13, worked example: a white fir board of 232 mm (9.15 in),
// flat-sawn, from 8 to 11 %, widens by 1.7 mm (0.067 in) to 233.7 mm (9.217 in). The
// sizes were read; the start of 8 % and C_T .00245 are from memory and give them.
func TestMovementWorkedExampleOfTheHandbook(t *testing.T) {
	fir := Species{Key: "white-fir", Radial: 3.3, Tangential: 7.0, CR: .00112, CT: .00245}
	got, err := fir.Movement(232*Millimetre, FlatSawn, 8, 11)
	require.NoError(t, err)
	assert.InDelta(t, 1.7, got.Millimetres(), 0.05)
	assert.InDelta(t, 233.7, (232*Millimetre + got).Millimetres(), 0.05)
	got, err = fir.Movement(915*Inch/100, FlatSawn, 8, 11)
	require.NoError(t, err)
	assert.InDelta(t, 0.067, inches(got), 0.0005)
}

func TestMovement(t *testing.T) {
	for _, c := range []struct {
		width    Length
		species  string
		cut      Cut
		from, to float64
		inches   float64
		source   string
	}{
		{12 * Inch, "white-oak", FlatSawn, 7, 11, 0.1752, "worked out by hand, (13-2)"},
		{24 * Inch, "cherry", FlatSawn, 6, 9, 0.1786, "worked out by hand, (13-2)"},
		{24 * Inch, "cherry", QuarterSawn, 6, 9, 0.0907, "worked out by hand, (13-2)"},
		{24 * Inch, "cherry", Mixed, 6, 9, 0.1786, "mixed counts as flat-sawn"},
		{10 * Inch, "cherry", FlatSawn, 12, 5, -0.1730, "worked out by hand, (13-3)"},
		{10 * Inch, "cherry", FlatSawn, 30, 0, -0.7100, "the whole tabled shrinkage"},
		{10 * Inch, "cherry", QuarterSawn, 30, 0, -0.3700, "the whole tabled shrinkage"},
	} {
		got, err := mustSpecies(t, c.species).Movement(c.width, c.cut, c.from, c.to)
		require.NoError(t, err)
		assert.InDelta(t, c.inches, inches(got), 0.00005, "%+v", c)
	}
	// flooringartists.com prints: 5 in, C .00129, 6 to 9 % is .019 in; WOOD magazine,
	// September 2021: red alder, 8 in, C .0026, 6 % is .1248 in.
	got, err := Species{CT: .00129}.Movement(5*Inch, FlatSawn, 6, 9)
	require.NoError(t, err)
	assert.InDelta(t, .019, inches(got), 0.0005)
	got, err = Species{CT: .0026}.Movement(8*Inch, FlatSawn, 7, 13)
	require.NoError(t, err)
	assert.InDelta(t, .1248, inches(got), 0.00005)
}

// The American Hardwood Information Center (hardwoodinfo.com, "How much dimensional
// change should you expect?") prints the change of 12 in of plain-sawn lumber from 10 to
// 5 % in 64ths of an inch. It prints less than the Handbook's table gives, much less for
// hickory and oak: play worked out here is on the safe side of it, by a third at most
// save for those.
func TestMovementIsNotLessThanTheTradePrints(t *testing.T) {
	for name, printed := range map[string]float64{
		"white-ash": 10, "basswood": 10, "beech": 14, "butternut": 8, "cherry": 9, "hard-maple": 12, "mockernut-hickory": 11,
		"red-oak": 11, "white-oak": 11, "pecan": 11, "red-maple": 9, "walnut": 10, "yellow-birch": 12, "yellow-poplar": 9,
	} {
		got, err := mustSpecies(t, name).Movement(12*Inch, FlatSawn, 10, 5)
		require.NoError(t, err)
		sixtyfourths := -inches(got) * 64
		assert.Greater(t, sixtyfourths, printed-0.5, name)
		if name != "mockernut-hickory" && name != "red-oak" && name != "white-oak" {
			assert.Less(t, sixtyfourths, printed*4/3, name)
		}
	}
	// Quarter-sawn, oak of both kinds: 7/64, printed in whole 64ths.
	got, err := mustSpecies(t, "white-oak").Movement(12*Inch, QuarterSawn, 10, 5)
	require.NoError(t, err)
	assert.InDelta(t, 7, -inches(got)*64, 0.6)
}

func TestMovementProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(AllSpecies()).Draw(t, "species")
		width := Length(rapid.Int64Range(1, 2000).Draw(t, "mm")) * Millimetre
		// Within each of the two formulas: all inside 6 to 14 %, or from outside it.
		from, least, most := rapid.Float64Range(6, 14).Draw(t, "from"), 6.0, 14.0
		if rapid.Bool().Draw(t, "outside") {
			from, least, most = rapid.Float64Range(14.01, 30).Draw(t, "from outside"), 0.0, 30.0
		}
		a := rapid.Float64Range(least, most).Draw(t, "a")
		b := rapid.Float64Range(a, most).Draw(t, "b")
		move := func(cut Cut, to float64) Length {
			got, err := s.Movement(width, cut, from, to)
			require.NoError(t, err)
			return got
		}
		require.LessOrEqual(t, move(FlatSawn, a), move(FlatSawn, b), "wetter is not narrower")
		require.Zero(t, move(QuarterSawn, from))
		if a > from {
			require.LessOrEqual(t, move(QuarterSawn, a), move(FlatSawn, a), "radially less than tangentially")
		}
		require.Equal(t, move(FlatSawn, b), move(Mixed, b))
		require.Less(t, move(FlatSawn, most), width/5, "no wood moves by a fifth")
	})
}

// There and back again: (13-3) is exact, (13-2) to the square of the change.
func TestMovementReturns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(AllSpecies()).Draw(t, "species")
		from, to := rapid.Float64Range(0, 30).Draw(t, "from"), rapid.Float64Range(0, 30).Draw(t, "to")
		width := 500 * Millimetre
		there, err := s.Movement(width, FlatSawn, from, to)
		require.NoError(t, err)
		back, err := s.Movement(width+there, FlatSawn, to, from)
		require.NoError(t, err)
		allowed := 2.0 // nanometres
		if min(from, to) >= linearLeast && max(from, to) <= linearMost {
			allowed += float64(width) * math.Pow(s.CT*(to-from), 2)
		}
		require.InDelta(t, 0, float64(there+back), allowed)
	})
}

func TestMovementRefusesAndSaysWhy(t *testing.T) {
	oak := mustSpecies(t, "white-oak")
	for _, c := range []struct {
		width    Length
		cut      Cut
		from, to float64
		field    string
		says     string
	}{
		{Inch, FlatSawn, -1, 9, "moisture content", "The moisture content, -1 %, must lie between 0 % and 30 %."},
		{Inch, FlatSawn, 8, 31, "moisture content", "31 %"},
		{Inch, FlatSawn, 8, math.NaN(), "moisture content", "not a number"},
		{Inch, "diagonal", 8, 9, "cut", `The cut "diagonal" is none of`},
		{-Inch, FlatSawn, 8, 9, "width", "-25.4 mm"},
		{0, FlatSawn, 8, 9, "width", "must be more than 0"},
		{2 * Greatest, FlatSawn, 8, 9, "width", "at most 100 m"},
	} {
		_, err := oak.Movement(c.width, c.cut, c.from, c.to)
		var refused *Error
		require.True(t, errors.As(err, &refused), c.says)
		assert.Equal(t, c.field, refused.Field)
		assert.ErrorContains(t, err, c.says)
	}
	_, err := Species{Key: "unmeasured", CT: .002}.Movement(Inch, FlatSawn, 8, 20)
	assert.ErrorContains(t, err, `How "unmeasured" shrinks outside 6 to 14 % is not known.`)
}

func TestSwingAndSeasonalMovement(t *testing.T) {
	cherry := mustSpecies(t, "cherry")
	dry, damp, err := HeatedHome.Moisture()
	require.NoError(t, err)
	assert.InDelta(t, 6.17, dry, 0.01)
	assert.InDelta(t, 10.97, damp, 0.01)
	s, err := cherry.Swing(400*Millimetre, FlatSawn, 8, HeatedHome)
	require.NoError(t, err)
	assert.InDelta(t, 400*.00248*(8-dry), s.Shrinks.Millimetres(), 0.001)
	assert.InDelta(t, 400*.00248*(damp-8), s.Swells.Millimetres(), 0.001)
	whole, err := SeasonalMovement(400*Millimetre, "cherry")
	require.NoError(t, err)
	assert.InDelta(t, float64(whole), float64(s.Whole()), 10)

	// Made wetter than the house ever is, it only shrinks; drier, it only swells.
	s, err = cherry.Swing(400*Millimetre, FlatSawn, 14, HeatedHome)
	require.NoError(t, err)
	assert.Zero(t, s.Swells)
	assert.Positive(t, s.Shrinks)
	s, err = cherry.Swing(400*Millimetre, FlatSawn, 4, HeatedHome)
	require.NoError(t, err)
	assert.Zero(t, s.Shrinks)
	assert.Positive(t, s.Swells)

	oak, err := SeasonalMovement(300*Millimetre, "oak")
	require.NoError(t, err)
	for _, kind := range groups["oak"] {
		one, err := SeasonalMovement(300*Millimetre, kind)
		require.NoError(t, err)
		assert.GreaterOrEqual(t, oak, one)
	}
	_, err = SeasonalMovement(300*Millimetre, "plywood")
	assert.ErrorContains(t, err, `"plywood"`)
	_, err = SeasonalMovement(0, "oak")
	assert.ErrorContains(t, err, "width")
	_, err = cherry.Swing(Inch, FlatSawn, 8, Climate{DryCelsius: 21, DryHumidityPct: -3, HumidCelsius: 21, HumidHumidityPct: 60})
	assert.ErrorContains(t, err, "humidity, -3 %")
	_, err = cherry.Swing(Inch, FlatSawn, 40, HeatedHome)
	assert.ErrorContains(t, err, "moisture content, 40 %")
	_, err = cherry.Swing(Inch, "odd", 8, HeatedHome)
	assert.ErrorContains(t, err, `cut "odd"`)
}

// A year that is drier and damper never asks for less play, across both equations, and
// Swing is never less than Movement.
func TestSwingGrowsWithTheYear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(AllSpecies()).Draw(t, "species")
		cut := rapid.SampledFrom([]Cut{FlatSawn, QuarterSawn, Mixed}).Draw(t, "cut")
		made := rapid.Float64Range(4, 16).Draw(t, "made at")
		year := Climate{DryCelsius: 21, DryHumidityPct: rapid.Float64Range(10, 50).Draw(t, "dry"), HumidCelsius: 21, HumidHumidityPct: rapid.Float64Range(50, 85).Draw(t, "damp")}
		harder := year
		harder.DryHumidityPct -= rapid.Float64Range(0, 10).Draw(t, "drier")
		harder.HumidHumidityPct += rapid.Float64Range(0, 10).Draw(t, "damper")
		a, err := s.Swing(Foot, cut, made, year)
		require.NoError(t, err)
		b, err := s.Swing(Foot, cut, made, harder)
		require.NoError(t, err)
		require.GreaterOrEqual(t, b.Shrinks, a.Shrinks)
		require.GreaterOrEqual(t, b.Swells, a.Swells)
		require.GreaterOrEqual(t, a.Shrinks, Length(0))
		require.GreaterOrEqual(t, a.Swells, Length(0))
		_, damp, err := year.Moisture()
		require.NoError(t, err)
		plain, err := s.Movement(Foot, cut, made, max(made, damp))
		require.NoError(t, err)
		require.GreaterOrEqual(t, a.Swells, plain)
	})
	red := mustSpecies(t, "red-oak")
	year := Climate{DryCelsius: 21, DryHumidityPct: 30, HumidCelsius: 21, HumidHumidityPct: 75}
	swing, err := red.Swing(Foot, FlatSawn, 8, year)
	require.NoError(t, err)
	assert.InDelta(t, 12*.00369*6, inches(swing.Swells), 1e-4, "8 to 14.4 %: what 8 to 14 % gives, not the less of (13-3)")
}
