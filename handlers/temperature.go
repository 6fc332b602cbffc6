package handlers

import (
	"faceside/models/wood"
	"faceside/views"
)

// temperatureField asks for a temperature in the degrees that go with the shop's units.
func (w words) temperatureField(name, label string, celsius float64) views.Field {
	return views.Field{Name: name, Label: label, Kind: "text", Mode: "decimal", Value: wood.Degrees(celsius, w.shop.Units)}
}

func (w words) degrees(celsius float64) string { return wood.FormatTemperature(celsius, w.shop.Units) }

// The least and greatest temperature that a shop, a glue or a finish may be given;
// the store has the same.
const leastCelsius, greatestCelsius = -30, 60

// temperature reads a temperature in degrees Celsius. What was shown and not
// changed stays exactly what it was; nothing typed is 0.
func (r *reader) temperature(name string, was float64) float64 {
	text := r.text(name)
	if text == "" {
		return 0
	}
	if text == wood.Degrees(was, r.units) {
		return was
	}
	celsius, err := wood.ParseTemperature(text, r.units)
	if err != nil {
		r.refuse(name, "%q is not a temperature; write for example %s.", text, wood.FormatTemperature(20, r.units))
		return 0
	}
	if celsius < leastCelsius || celsius > greatestCelsius {
		r.refuse(name, "The temperature %q is not between %s and %s.", text, wood.FormatTemperature(leastCelsius, r.units), wood.FormatTemperature(greatestCelsius, r.units))
	}
	return celsius
}
