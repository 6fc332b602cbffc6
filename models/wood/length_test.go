package wood

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestParseLengthAsMakersType(t *testing.T) {
	for _, c := range []struct {
		text, units string
		want        Length
	}{
		{"1 13/16", Inches, Inch + 13*Inch/16},
		{`1-13/16"`, Millimetres, Inch + 13*Inch/16},
		{"46mm", Inches, 46 * Millimetre},
		{"46", Millimetres, 46 * Millimetre},
		{"46", Inches, 46 * Inch},
		{`4' 2 1/2"`, Millimetres, 4*Foot + 2*Inch + Inch/2},
		{`4' 2 1/2`, Millimetres, 4*Foot + 2*Inch + Inch/2},
		{`4'2½"`, Inches, 4*Foot + 2*Inch + Inch/2},
		{"4 ft", Inches, 4 * Foot},
		{"3/4", Inches, 3 * Inch / 4},
		{".75", Inches, 3 * Inch / 4},
		{"20.6 mm", Inches, 20_600_000},
		{"4.6 cm", Inches, 46 * Millimetre},
		{"1.2m", Inches, 1200 * Millimetre},
		{"¾", Inches, 3 * Inch / 4},
		{"1⅞″", Millimetres, Inch + 7*Inch/8},
		{"1/64", Inches, 396_875},
		{"1/3 in", Inches, 8_466_667},
		{"0", Millimetres, 0},
		{"100 m", Millimetres, Greatest},
	} {
		got, err := ParseLength(c.text, c.units)
		require.NoError(t, err, c.text)
		assert.Equal(t, c.want, got, c.text)
	}
}

func TestParseLengthRefusesAndSaysWhy(t *testing.T) {
	for text, why := range map[string]string{
		"":          "nothing was typed",
		"  ":        "nothing was typed",
		"-3":        "a number is missing",
		"abc":       "a number is missing",
		"1,200":     "a comma may mean two things",
		"3 furlong": "furlong is not a unit",
		"1 17/16":   "must be less than 1",
		"1/0":       "1/0 is not a fraction",
		"1/":        "under the fraction's line is missing",
		"1.5 3/4":   "only a whole number may stand before a fraction",
		"1.2.3":     "1.2.3 is not a number",
		"3-":        "after the hyphen",
		"46 mm 3":   "only feet may be followed by inches",
		"2\" 3'":    "only feet may be followed by inches",
		"101 m":     "longer than 100 m",
		"3 €":       `the sign '€' has no place in it`,
		"1 2 mm":    "only feet may be followed by inches",
	} {
		_, err := ParseLength(text, Millimetres)
		require.Error(t, err, text)
		assert.ErrorContains(t, err, why, text)
		assert.ErrorContains(t, err, strconv.Quote(text))
	}
	_, err := ParseLength("3", "")
	assert.ErrorContains(t, err, "no unit")
}

func TestFormat(t *testing.T) {
	for _, c := range []struct {
		length   Length
		units    string
		fraction int
		want     string
	}{
		{45 * Millimetre, Millimetres, 0, "45 mm"},
		{20_637_500, Millimetres, 0, "20.6 mm"},
		{20_650_000, Millimetres, 0, "20.7 mm"},
		{Inch + 13*Inch/16, Inches, 16, `1 13/16"`},
		{Inch + 12*Inch/16, Inches, 64, `1 3/4"`},
		{13 * Inch / 16, Inches, 8, `7/8"`},
		{13 * Inch / 16, Inches, 7, `13/16"`},
		{63 * Inch / 64, Inches, 8, `1"`},
		{0, Inches, 16, `0"`},
		{-Inch / 2, Inches, 16, `-1/2"`},
		{-45 * Millimetre, Millimetres, 16, "-45 mm"},
	} {
		assert.Equal(t, c.want, c.length.Format(c.units, c.fraction))
	}
}

func TestWhatFormatWritesParseReads(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		fraction := rapid.SampledFrom([]int{1, 2, 4, 8, 16, 32, 64}).Draw(t, "fraction")
		other := rapid.SampledFrom([]string{Inches, Millimetres}).Draw(t, "typed in")
		n := rapid.Int64Range(0, 3900*int64(fraction)).Draw(t, "fractions")
		exact := Length(n) * (Inch / Length(fraction))
		got, err := ParseLength(exact.Format(Inches, fraction), other)
		require.NoError(t, err)
		require.Equal(t, exact, got)

		tenth := Length(rapid.Int64Range(0, 999_999).Draw(t, "tenths")) * (Millimetre / 10)
		got, err = ParseLength(tenth.Format(Millimetres, fraction), other)
		require.NoError(t, err)
		require.Equal(t, tenth, got)
	})
}

func TestFormatIsNearest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := Length(rapid.Int64Range(0, int64(Greatest)).Draw(t, "length"))
		fraction := rapid.SampledFrom([]int{8, 16, 32, 64}).Draw(t, "fraction")
		got, err := ParseLength(l.Format(Inches, fraction), Inches)
		if l <= Greatest-Inch {
			require.NoError(t, err)
			require.LessOrEqual(t, max(got-l, l-got), Inch/Length(2*fraction)+1)
		}
		got, err = ParseLength(l.Format(Millimetres, 0), Millimetres)
		require.NoError(t, err)
		require.LessOrEqual(t, max(got-l, l-got), Millimetre/20)
	})
}

func FuzzParseLength(f *testing.F) {
	for _, s := range []string{"1 13/16", `4' 2 1/2"`, "46mm", ".", "1/0", "½", "1e9", "'", "9999999999999999999m"} {
		f.Add(s, Inches)
	}
	f.Fuzz(func(t *testing.T, text, units string) {
		l, err := ParseLength(text, units)
		if err == nil && (l < 0 || l > Greatest) {
			t.Fatalf("%q gives %d", text, l)
		}
	})
}
