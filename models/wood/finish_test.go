package wood

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var varnish = Finish{Name: "Wiping varnish", Hardening: ByOxygen, DryMin: 240, RecoatLeastMin: 480, RecoatGreatestMin: 1440, CureMin: 43200, LeastTempC: 10}

// woodwiki.org: below 65 °F (18.3 °C) times double, below 55 °F (12.8 °C) a coat may stay
// tacky, above 70 % humidity an oil may stop curing.
func TestFinishInColdAndDamp(t *testing.T) {
	twice := varnish
	twice.DryMin, twice.RecoatLeastMin, twice.RecoatGreatestMin, twice.CureMin = 480, 960, 2880, 86400
	fourfold := varnish
	fourfold.DryMin, fourfold.RecoatLeastMin, fourfold.RecoatGreatestMin, fourfold.CureMin = 960, 1920, 5760, 172800
	for _, c := range []struct {
		celsius, humidity float64
		want              Finish
		doubts            []string
	}{
		{21, 50, varnish, nil},
		{celsius(65), 70, varnish, nil},
		{celsius(64.9), 50, twice, []string{"twice its time"}},
		{celsius(54.9), 50, twice, []string{"twice its time", "may stay tacky"}},
		{21, 70.1, twice, []string{"may stop curing"}},
		{15, 80, fourfold, []string{"twice its time", "may stop curing"}},
	} {
		got, err := varnish.At(c.celsius, c.humidity)
		doubts := varnish.Doubts(c.celsius, c.humidity, Millimetres)
		require.NoError(t, err)
		assert.Equal(t, c.want, got, "%g °C, %g %%", c.celsius, c.humidity)
		require.Len(t, doubts, len(c.doubts))
		for i, says := range c.doubts {
			assert.Contains(t, doubts[i], says)
		}
	}
	shellac := Finish{Name: "Shellac", Hardening: BySolvent, DryMin: 15, RecoatLeastMin: 120, CureMin: 10080}
	got, err := shellac.At(21, 85)
	doubts := shellac.Doubts(21, 85, Millimetres)
	require.NoError(t, err)
	assert.Equal(t, shellac, got, "solvent leaves in damp air as well")
	assert.Contains(t, doubts[0], "turn white")
	assert.Equal(t, []string{"Below 65 °F it takes about twice its time.", "Below 55 °F a coat may stay tacky."}, varnish.Doubts(12, 50, Inches))
	assert.Zero(t, got.RecoatGreatestMin, "no far edge stays none")
}

func TestFinishProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := Finish{Name: "Finish", Hardening: rapid.SampledFrom([]Hardening{ByOxygen, ByWater, BySolvent}).Draw(t, "by"),
			DryMin: rapid.IntRange(0, 2000).Draw(t, "dry"), RecoatLeastMin: rapid.IntRange(0, 2000).Draw(t, "least"), CureMin: rapid.IntRange(0, 50000).Draw(t, "cure")}
		if rapid.Bool().Draw(t, "window") {
			f.RecoatGreatestMin = f.RecoatLeastMin + rapid.IntRange(1, 5000).Draw(t, "window of")
		}
		cool, dry := rapid.Float64Range(0, 40).Draw(t, "cool"), rapid.Float64Range(0, 100).Draw(t, "dry air")
		warm, damp := rapid.Float64Range(cool, 40).Draw(t, "warm"), rapid.Float64Range(dry, 100).Draw(t, "damp air")
		slow, err := f.At(cool, damp)
		require.NoError(t, err)
		quick, err := f.At(warm, dry)
		require.NoError(t, err)
		require.GreaterOrEqual(t, slow.DryMin, quick.DryMin)
		require.GreaterOrEqual(t, slow.RecoatLeastMin, quick.RecoatLeastMin)
		require.GreaterOrEqual(t, slow.CureMin, quick.CureMin)
		require.GreaterOrEqual(t, quick.DryMin, f.DryMin)
		if f.RecoatGreatestMin == 0 {
			require.Zero(t, slow.RecoatGreatestMin)
		} else {
			require.Greater(t, slow.RecoatGreatestMin, slow.RecoatLeastMin, "the window never closes")
		}
	})
}

func TestFinishRefusesAndSaysWhy(t *testing.T) {
	upside := varnish
	upside.RecoatGreatestMin = 60
	odd := varnish
	odd.Hardening = "wishing"
	negative := varnish
	negative.DryMin = -4
	for _, c := range []struct {
		finish            Finish
		celsius, humidity float64
		field, says       string
	}{
		{varnish, 9, 50, "air's temperature", "Wiping varnish needs at least 10 °C; the air is at 9 °C."},
		{varnish, 21, -5, "humidity", "The humidity, -5 %, must lie between 0 % and 100 %."},
		{varnish, 300, 50, "air's temperature", "300 °C"},
		{upside, 21, 50, "greatest recoat time", "The greatest recoat time of Wiping varnish, 60 min, is shorter than its least, 480 min."},
		{odd, 21, 50, "hardening", `"wishing"`},
		{negative, 21, 50, "drying time", "-4 min"},
	} {
		_, err := c.finish.At(c.celsius, c.humidity)
		var refused *Error
		require.ErrorAs(t, err, &refused, c.says)
		assert.Equal(t, c.field, refused.Field)
		assert.ErrorContains(t, err, c.says)
	}
}

// The classes as printed in the sources they name, near 70 °F and 50 %; where two differ
// the line is from the one's least to the other's most.
func TestFinishClassesAsPrinted(t *testing.T) {
	for key, line := range map[string][3]string{
		"oil-polyurethane": {"3-6 h", "6-24 h", "3 wk-30 d"},
		"waterborne":       {"1-2 h", "2-6 h", "14-21 d"},
		"wiping-varnish":   {"1-4 h", "4-24 h", "14-30 d"},
		"penetrating-oil":  {"12-48 h", "24 h-7 d", "14-30 d"},
		"shellac":          {"5-15 min", "1-2 h", "1-7 d"},
		"nitro-lacquer":    {"5-30 min", "0.5-2 h", "7-21 d"},
	} {
		i := slices.IndexFunc(FinishClasses, func(c FinishClass) bool { return c.Key == key })
		require.GreaterOrEqual(t, i, 0, key)
		c := FinishClasses[i]
		assert.Equal(t, [3]Minutes{printed(t, line[0]), printed(t, line[1]), printed(t, line[2])}, [3]Minutes{c.Dry, c.Recoat, c.Cure}, key)
	}
}

func TestFinishWindowMayBeOneMoment(t *testing.T) {
	f := varnish
	f.RecoatGreatestMin = f.RecoatLeastMin
	got, err := f.At(21, 50)
	require.NoError(t, err)
	assert.Equal(t, f, got)
}

func TestFinishClassesAreWhole(t *testing.T) {
	for _, c := range FinishClasses {
		assert.LessOrEqual(t, c.Dry.Least, c.Dry.Most, c.Key)
		assert.LessOrEqual(t, c.Recoat.Least, c.Recoat.Most, c.Key)
		assert.LessOrEqual(t, c.Recoat.Most, c.Cure.Least, c.Key)
		assert.Equal(t, c.Hardening, HardeningOf(c.Key))
		assert.True(t, c.Mark == Memory || c.Source != "", c.Key)
	}
	assert.Equal(t, ByOxygen, HardeningOf("own mixture"))
}
