package handlers

import (
	"faceside/models"
	"faceside/models/wood"
	"faceside/views"
)

// temperatureField asks for a temperature in the degrees that go with the shop's units.
func (w words) temperatureField(name, label string, celsius float64) views.Field {
	return views.Field{Name: name, Label: label, Kind: "text", Mode: "decimal", Value: w.figure(wood.Degrees(celsius, w.shop.Units))}
}

func (w words) degrees(celsius float64) string {
	return w.figure(wood.FormatTemperature(celsius, w.shop.Units))
}

// temperature reads a temperature in degrees Celsius. What was shown and not
// changed stays exactly what it was; nothing typed is 0.
func (r *reader) temperature(name string, was float64) float64 {
	text := r.text(name)
	if text == "" {
		return 0
	}
	if text == r.say.figure(wood.Degrees(was, r.say.shop.Units)) {
		return was
	}
	celsius, err := wood.ParseTemperature(text, r.say.shop.Units)
	if err != nil {
		r.refuse(name, "%q is not a temperature; write for example %s.", text, r.say.degrees(20))
		return 0
	}
	if celsius < models.LeastCelsius || celsius > models.GreatestCelsius {
		r.refuse(name, "The temperature %q is not between %s and %s.", text, r.say.degrees(models.LeastCelsius), r.say.degrees(models.GreatestCelsius))
	}
	return celsius
}
