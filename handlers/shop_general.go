package handlers

import (
	"strconv"

	"github.com/gin-gonic/gin"

	"faceside/models/wood"
	"faceside/views"
	"faceside/views/tongues"
)

func (w words) generalForm() views.Form {
	shop := w.shop
	warmth := w.temperatureField("temperature", w.say("Temperature, %s", wood.DegreesIn(shop.Units)), shop.TemperatureC)
	warmth.Help = w.say("Glue and finish take longer in the cold.")
	return views.Form{ID: "general-form", Action: "/shop", Save: w.say("Save"), Fields: []views.Field{
		{Name: "name", Label: w.say("Name"), Kind: "text", Value: w.shipped(shop.Name)},
		{Name: "time_zone", Label: w.say("Time zone"), Kind: "text", Value: shop.TimeZone, Help: w.say("For example Europe/Zurich.")},
		{Name: "units", Label: w.say("Lengths in"), Kind: "select", Value: shop.Units, Options: []views.Option{{Value: wood.Millimetres, Name: w.say("millimetres")}, {Value: wood.Inches, Name: w.say("inches")}}},
		{Name: "fraction", Label: w.say("Least fraction of an inch"), Kind: "select", Value: strconv.Itoa(shop.Fraction),
			Options: []views.Option{{Value: "8", Name: "1/8"}, {Value: "16", Name: "1/16"}, {Value: "32", Name: "1/32"}, {Value: "64", Name: "1/64"}}},
		{Name: "language", Label: w.say("Language of the screens"), Kind: "select", Value: shop.Language, Options: languages()},
		warmth,
		{Name: "humidity", Label: w.say("Humidity, %%"), Kind: "text", Mode: "decimal", Value: w.figure(strconv.FormatFloat(shop.HumidityPct, 'f', -1, 64))},
	}}
}

// languages are those the screens can be read in, each by its own name.
func languages() (all []views.Option) {
	for _, l := range tongues.Languages() {
		all = append(all, views.Option{Value: l.Code, Name: l.Name})
	}
	return all
}

// saveShop saves what holds for the whole shop.
func (s *server) saveShop(c *gin.Context) {
	snap, err := s.snapshot(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	in, err := s.reader(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	shop := snap.Shop
	shop.Name, shop.TimeZone, shop.Units = in.kept("name", shop.Name), in.text("time_zone"), in.text("units")
	shop.Language = in.text("language")
	shop.Fraction, shop.TemperatureC, shop.HumidityPct = in.whole("fraction"), in.temperature("temperature", snap.Shop.TemperatureC), in.number("humidity")
	in.need("temperature", "humidity")
	if err = in.err(); err == nil {
		err = s.store.SaveShop(c.Request.Context(), shop)
	}
	s.shopSaved(c, "general", "general-form", in.form, err)
}
