package handlers

import (
	"net/http"
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/wood"
)

// In an inch shop temperatures are typed and shown in °F, and come back as they
// were typed; they are kept in °C.
func TestAnInchShopSpeaksOfFahrenheit(t *testing.T) {
	r := newRig(t)
	tab := r.browser()
	general := func(p page) url.Values { return fieldsOf(p.doc.Find("#general-form"), nil) }
	form := general(tab.get("/shop"))
	require.Equal(t, "20", form.Get("temperature"))
	form.Set("units", wood.Inches)
	p := tab.post("/shop", form)
	require.Equal(t, http.StatusOK, p.status)
	assert.Equal(t, 20.0, r.snap().Shop.TemperatureC, "what stood in the form was meant in °C")
	assert.Contains(t, p.text("#general-form"), "Temperature, °F")
	assert.Equal(t, "68", general(p).Get("temperature"))
	assert.Contains(t, p.text("#glues"), "Times near 70 °F")
	assert.Contains(t, p.text("#glues"), "not below 50 °F")
	assert.NotContains(t, p.text("main"), "°C")

	for _, typed := range []string{"61", "68.5", "-4", "70"} {
		form = general(p)
		form.Set("temperature", typed)
		p = tab.post("/shop", form)
		assert.Equal(t, typed, general(p).Get("temperature"))
		before := r.snap().Shop.TemperatureC
		p = tab.post("/shop", general(p))
		assert.Equal(t, before, r.snap().Shop.TemperatureC, "sent as it stands it changes nothing")
	}
	assert.InDelta(t, 21.11, r.snap().Shop.TemperatureC, 0.01)

	for typed, says := range map[string]string{"900": `The temperature "900" is not between -22 °F and 140 °F.`, "warm": `"warm" is not a temperature; write for example 68 °F.`} {
		form.Set("temperature", typed)
		p = tab.post("/shop", form)
		assert.Equal(t, http.StatusUnprocessableEntity, p.status)
		assert.Contains(t, p.text(`#general-form [data-said="temperature"] .wrong-why`), says)
		assert.Equal(t, typed, general(p).Get("temperature"))
	}
}

func TestTheLeastTemperatureOfAGlueIsTypedInTheShopsDegrees(t *testing.T) {
	r := newRig(t)
	tab := r.browser()
	form := fieldsOf(tab.get("/shop").doc.Find("#general-form"), nil)
	form.Set("units", wood.Inches)
	p := tab.post("/shop", form)
	least := func() float64 { return r.snap().Glue(models.ID(1)).LeastTempC }
	glue := fieldsOf(p.doc.Find("#glues-1"), nil)
	require.Equal(t, "50", glue.Get("least_temperature"))
	require.Equal(t, http.StatusOK, tab.post("/shop/glues/1", glue).status)
	assert.Equal(t, 10.0, least())
	glue.Set("least_temperature", "55")
	p = tab.post("/shop/glues/1", glue)
	assert.InDelta(t, 12.78, least(), 0.01)
	assert.Equal(t, "55", fieldsOf(p.doc.Find("#glues-1"), nil).Get("least_temperature"))
	glue.Set("least_temperature", "13 °C")
	tab.post("/shop/glues/1", glue)
	assert.Equal(t, 13.0, least(), "a unit that is typed counts")
}
