package wood

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Temperatures are kept in degrees Celsius, and said and typed in degrees
// Fahrenheit where lengths are in inches. 32 °F is 0 °C and 9 °F are 5 °C, by
// definition (NIST Special Publication 811, 2008, B.8, from memory).

// DegreesIn is the unit of temperature that goes with a unit of length.
func DegreesIn(units string) string {
	if units == Inches {
		return "°F"
	}
	return "°C"
}

// Degrees is a temperature as a number of the degrees that go with a unit of
// length, to a tenth: "69.8" for 21 °C in an inch shop.
func Degrees(celsius float64, units string) string {
	if units == Inches {
		celsius = celsius*9/5 + 32
	}
	return strconv.FormatFloat(math.Round(celsius*10)/10+0, 'f', -1, 64) // + 0: no minus before a zero
}

// FormatTemperature says a temperature with its unit: "69.8 °F".
func FormatTemperature(celsius float64, units string) string {
	return Degrees(celsius, units) + " " + DegreesIn(units)
}

// ParseTemperature reads a temperature in degrees Celsius. A number without a
// unit is of the degrees that go with the unit of length; "20 °C", "68F" say
// their own.
func ParseTemperature(text, units string) (celsius float64, err error) {
	number := strings.TrimSpace(text)
	fahrenheit := units == Inches
	switch last := strings.ToUpper(number); {
	case strings.HasSuffix(last, "F"):
		number, fahrenheit = number[:len(number)-1], true
	case strings.HasSuffix(last, "C"):
		number, fahrenheit = number[:len(number)-1], false
	}
	number = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(number), "°"))
	if !strings.Contains(number, ".") {
		number = strings.Replace(number, ",", ".", 1) // a decimal comma
	}
	x, err := strconv.ParseFloat(number, 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, fmt.Errorf("%q is not a temperature; write for example %s", text, FormatTemperature(20, units))
	}
	if fahrenheit {
		x = (x - 32) * 5 / 9
	}
	return x, nil
}
