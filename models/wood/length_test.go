package wood

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
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
		{"1/64 in.", Millimetres, 396_875},
		{"4.6 cm", Millimetres, 46 * Millimetre},
		{`4'-2 1/2"`, Millimetres, 4*Foot + 2*Inch + Inch/2},
		{"4ft. 2in.", Millimetres, 4*Foot + 2*Inch},
		{"6'", Inches, 6 * Foot},
		{"6′", Inches, 6 * Foot},
		{"6.5 feet", Millimetres, 6*Foot + 6*Inch},
		{"0.03125", Inches, Inch / 32},
		{"0.333333 mm", Inches, 333_333},
		{"3/127 in", Inches, 600_000}, // 0.6 mm exactly
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
		"-3":        "less than nothing",
		"-":         "a number is missing",
		" -.5 mm":   "less than nothing",
		"abc":       "a number is missing",
		"1,200":     "a comma may mean two things",
		"3 furlong": "furlong is not a unit",
		"1 17/16":   "must be less than 1",
		"1/0":       "1/0 is not a fraction",
		"1/":        "under the fraction's line is missing",
		"1.5 3/4":   "only a whole number may stand before a fraction",
		"1.2.3":     "1.2.3 is not a number",
		"3-":        "after the hyphen",
		"3'-":       "a number is missing",
		"3'--2":     "a number is missing",
		"3 in..":    ". is not a number",
		`1/3"`:      `between two nanometres and cannot be kept exactly; write 21/64" or 8.467 mm`,
		`1/128"`:    `write 1/64" or 0.198 mm`,
		`4' 2 1/3"`: `write 50 21/64" or 1278.467 mm`,
		"1/3 mm":    "or 0.333 mm",
		"1e3":       "e is not a unit",
		"١ mm":      "the sign '١' has no place in it",
		"46 mm 3":   "only feet may be followed by inches",
		"2' 30 mm":  "only feet may be followed by inches",
		"2' 3'":     "only feet may be followed by inches",
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
	_, err := ParseLength(strings.Repeat("1", 65), Millimetres)
	assert.ErrorContains(t, err, "longer than 64 signs")
	_, err = ParseLength("1 1/0", Millimetres)
	assert.ErrorContains(t, err, "1/0 is not a fraction")
	_, err = ParseLength("3-1/2-", Inches)
	assert.ErrorContains(t, err, "a hyphen may only stand between")
	_, err = ParseLength("3", "")
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
		{5 * Inch / 4, Inches, 1, `1"`},
		{5 * Inch / 4, Inches, 0, `1 1/4"`},
		{5 * Inch / 4, Inches, 128, `1 1/4"`},
		{0, Inches, 16, `0"`},
		{-Inch / 2, Inches, 16, `-1/2"`},
		{-45 * Millimetre, Millimetres, 16, "-45 mm"},
		{Inch / 32, Inches, 16, `1/16"`}, // a half goes away from 0
		{-Inch / 32, Inches, 16, `-1/16"`},
	} {
		assert.Equal(t, c.want, c.length.Format(c.units, c.fraction))
	}
}

func TestInOtherUnits(t *testing.T) {
	assert.InDelta(t, 1219.2, (4 * Foot).Millimetres(), 1e-9)
	assert.InDelta(t, 1.2192, (4 * Foot).Metres(), 1e-12)
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

func TestExactlyIsReadBackExactly(t *testing.T) {
	for want, l := range map[string]Length{
		`1 13/16"`: Inch + 13*Inch/16, `1/64"`: Inch / 64, `0.3"`: 3 * Inch / 10, "46 mm": 46 * Millimetre, "0.000001 mm": 1,
	} {
		assert.Equal(t, want, l.Exactly(Inches))
	}
	assert.Equal(t, "46.0375 mm", (Inch + 13*Inch/16).Exactly(Millimetres))
	rapid.Check(t, func(t *rapid.T) {
		l := Length(rapid.Int64Range(0, int64(Greatest)).Draw(t, "length"))
		units := rapid.SampledFrom([]string{Inches, Millimetres}).Draw(t, "units")
		got, err := ParseLength(l.Exactly(units), units)
		require.NoError(t, err)
		require.Equal(t, l, got)
	})
}

// Showing a length, reading it back and showing it again, any number of times and
// in any shop, moves it at most once, to what was shown first.
func TestShownLengthsNeverDrift(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := Length(rapid.Int64Range(0, int64(Greatest-Inch)).Draw(t, "length"))
		units := rapid.SampledFrom([]string{Inches, Millimetres}).Draw(t, "units")
		fraction := rapid.SampledFrom([]int{1, 2, 4, 8, 16, 32, 64}).Draw(t, "fraction")
		first := l.Format(units, fraction)
		for range 3 {
			var err error
			l, err = ParseLength(l.Format(units, fraction), units)
			require.NoError(t, err)
			require.Equal(t, first, l.Format(units, fraction))
		}
	})
}

// A sum of typed fractions is the fraction of the sum: 64ths, mm and feet mix
// without an error in the last place.
func TestTypedLengthsAddUpExactly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var sum Length
		var sixtyfourths, micrometres int64
		for _, n := range rapid.SliceOfN(rapid.Int64Range(0, 6400), 1, 40).Draw(t, "64ths") {
			l, err := ParseLength(strconv.FormatInt(n, 10)+"/64", Inches)
			require.NoError(t, err)
			sum, sixtyfourths = sum+l, sixtyfourths+n
		}
		for _, n := range rapid.SliceOfN(rapid.Int64Range(0, 999), 1, 40).Draw(t, "micrometres") {
			l, err := ParseLength(fmt.Sprintf("1.%03d mm", n), Inches)
			require.NoError(t, err)
			sum, micrometres = sum+l, micrometres+1000+n
		}
		require.Equal(t, Length(sixtyfourths)*Inch/64+Length(micrometres)*Millimetre/1000, sum)
	})
}

func FuzzParseLength(f *testing.F) {
	for _, s := range []string{"1 13/16", `4' 2 1/2"`, "46mm", ".", "1/0", "½", "4'-2 1/2 in.", "1/3", "1½/2", "--", "1 1 1/2", "1e9", "'", "9999999999999999999m"} {
		f.Add(s, Inches)
	}
	f.Fuzz(func(t *testing.T, text, units string) {
		l, err := ParseLength(text, units)
		if err != nil {
			var refused *Error
			if !errors.As(err, &refused) || refused.Value != text {
				t.Fatalf("%q gives the error %v", text, err)
			}
			return
		}
		if l < 0 || l > Greatest {
			t.Fatalf("%q gives %d", text, l)
		}
		if again, err := ParseLength(l.Exactly(units), units); err != nil || again != l {
			t.Fatalf("%q gives %d, written %s, read as %d, %v", text, l, l.Exactly(units), again, err)
		}
	})
}

func TestLimitsAreNarrowedToWhatCanBeShown(t *testing.T) {
	for _, c := range []struct {
		least, greatest         Length
		units                   string
		fraction                int
		wantLeast, wantGreatest string
	}{
		{45 * Millimetre, 100 * Millimetre, Inches, 16, `1 13/16"`, `3 7/8"`},
		{45 * Millimetre, 100 * Millimetre, Inches, 64, `1 25/32"`, `3 59/64"`},
		{45 * Millimetre, 100 * Millimetre, Millimetres, 0, "45 mm", "100 mm"},
		{2 * Inch, 4 * Inch, Inches, 8, `2"`, `4"`},
		{2 * Inch, 4 * Inch, Millimetres, 0, "50.8 mm", "101.6 mm"},
		{Millimetre, 2 * Millimetre, Inches, 8, `0"`, `1/8"`}, // no eighth lies between
	} {
		low, high := Within(c.least, c.greatest, c.units, c.fraction)
		assert.Equal(t, c.wantLeast, low.Format(c.units, c.fraction))
		assert.Equal(t, c.wantGreatest, high.Format(c.units, c.fraction))
	}
}
