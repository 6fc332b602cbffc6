package wood

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestTemperaturesAreSaidInTheUnitsOfTheShop(t *testing.T) {
	for _, c := range []struct {
		celsius float64
		units   string
		says    string
	}{
		{20, Millimetres, "20 °C"}, {20, Inches, "68 °F"}, {21, Inches, "69.8 °F"}, {0, Inches, "32 °F"}, {-40, Inches, "-40 °F"},
		{100, Inches, "212 °F"}, {12.5, Millimetres, "12.5 °C"}, {-0.01, Millimetres, "0 °C"}, {(55.0 - 32) * 5 / 9, Inches, "55 °F"},
	} {
		assert.Equal(t, c.says, FormatTemperature(c.celsius, c.units))
	}
}

func TestTemperaturesAreRead(t *testing.T) {
	for _, c := range []struct {
		text, units string
		celsius     float64
	}{
		{"20", Millimetres, 20}, {"68", Inches, 20}, {"68 °F", Millimetres, 20}, {"20 °C", Inches, 20}, {"68F", Millimetres, 20}, {" 20c ", Inches, 20}, {"20,5", Millimetres, 20.5},
		{"-40", Inches, -40}, {"32 ° F", Millimetres, 0},
	} {
		got, err := ParseTemperature(c.text, c.units)
		require.NoError(t, err, c.text)
		assert.InDelta(t, c.celsius, got, 1e-9, c.text)
	}
	for _, text := range []string{"", "warm", "°F", "F", "NaN", "inf", "20 K", "6 8"} {
		_, err := ParseTemperature(text, Inches)
		assert.ErrorContains(t, err, "write for example 68 °F", text)
	}
}

// What is typed to a tenth of a degree is shown as it was typed.
func TestATemperatureIsShownAsItWasTyped(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		units := rapid.SampledFrom([]string{Inches, Millimetres}).Draw(t, "units")
		tenths := rapid.IntRange(-400, 1400).Draw(t, "tenths")
		typed := strconv.FormatFloat(float64(tenths)/10, 'f', -1, 64)
		celsius, err := ParseTemperature(typed, units)
		require.NoError(t, err)
		require.Equal(t, typed, Degrees(celsius, units))
	})
}

func FuzzParseTemperature(f *testing.F) {
	for _, text := range []string{"20", "68 °F", "1e9", "-0", "°", "CF"} {
		f.Add(text, true)
	}
	f.Fuzz(func(t *testing.T, text string, inch bool) {
		units := Millimetres
		if inch {
			units = Inches
		}
		if celsius, err := ParseTemperature(text, units); err == nil && math.IsNaN(celsius) {
			t.Fatalf("%q is read as %v", text, celsius)
		}
	})
}
