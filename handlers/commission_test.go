package handlers

import (
	"net/http"
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

func TestCommissionsAreListedWithPromiseForecastAndProgress(t *testing.T) {
	r := newRig(t)
	tab := r.browser()
	assert.Contains(t, tab.get("/commissions").text("main"), "No commission is open")

	r.take("Hall shelf")
	assert.Equal(t, []string{"not planned yet"}, tab.get("/commissions").texts(".commission .state"))
	r.plan()
	p := tab.get("/commissions")
	card := p.text(".commission")
	for _, want := range []string{"Hall shelf", "A. Client", "Promised Fri 20 Mar", "in time", "To spare", "0 of 10 steps"} {
		assert.Contains(t, card, want)
	}
	assert.Equal(t, "10", p.doc.Find(".commission progress").AttrOr("max", ""))
}

func TestALateCommissionIsSaidToBeLate(t *testing.T) {
	r := newRig(t)
	testrig.Commission(t, r.store, "Hall shelf", "2026-03-02") // today; two coats take two days
	r.plan()
	card := r.browser().get("/commissions").text(".commission")
	assert.Contains(t, card, "late")
	assert.Contains(t, card, "Too late by")
}

func TestOneCommission(t *testing.T) {
	r := newRig(t)
	com := r.take("Hall shelf")
	ana := r.as("Ana")
	ana.tap(models.TapStart, r.step("joint"))
	r.plan()
	p := ana.get(commissionHref(com.ID))
	assert.Equal(t, "Hall shelf", p.text("h1"))
	assert.Equal(t, []string{"Milling", "Glue-up", "Shaping", "Sanding", "Finishing"}, p.texts("section[aria-labelledby=steps] .fold > summary > span"))
	assert.Contains(t, p.text("section[aria-labelledby=steps]"), "Joint a face and an edge")
	assert.Contains(t, p.text("section[aria-labelledby=gates]"), "holds up")
	assert.Equal(t, 10, p.doc.Find(".drawing svg [class~=og-step]").Length(), "every step is drawn")
	row := p.text("table tbody tr:first-child")
	assert.Contains(t, row, "3 × Panel board")
	assert.Contains(t, row, "800 × 100 × 22 mm")
	assert.Contains(t, row, "840 × 110 × 27 mm")

	ana.script = true
	f := ana.get(commissionHref(com.ID))
	assert.NotContains(t, f.body, "<form", "what is live holds no form that somebody may be typing in")
	assert.Equal(t, http.StatusNotFound, ana.get("/commissions/99").status)
}

func TestACommissionIsChanged(t *testing.T) {
	r := newRig(t)
	com := r.take("Hall shelf")
	tab := r.browser()
	p := tab.post(commissionHref(com.ID), url.Values{"name": {"Porch shelf"}, "client": {"B. Client"}, "promised_date": {"2026-04-01"}, "weight": {"7"}, "note": {"no rush"}})
	assert.Equal(t, http.StatusOK, p.status)
	assert.Equal(t, "Porch shelf", p.text("h1"))
	assert.Contains(t, p.text(".promise"), "Wed 1 Apr")
	assert.Equal(t, "7", p.typed("weight"))
}

func TestWhatIsWrongWithACommissionStandsBesideItsField(t *testing.T) {
	r := newRig(t)
	com := r.take("Hall shelf")
	tab := r.browser()
	good := url.Values{"name": {"Porch shelf"}, "client": {"B. Client"}, "promised_date": {"2026-04-01"}, "weight": {"7"}, "note": {"no rush"}}
	for field, c := range map[string]struct{ value, say string }{
		"name":          {"", "name"},
		"promised_date": {"2026-02-27", "The promised date 2026-02-27 is past: today is 2026-03-02."},
		"weight":        {"heavy", `"heavy" is not a whole number.`},
	} {
		t.Run(field, func(t *testing.T) {
			form := url.Values{}
			for k, v := range good {
				form[k] = v
			}
			form.Set(field, c.value)
			p := tab.post(commissionHref(com.ID), form)
			assert.Equal(t, http.StatusUnprocessableEntity, p.status)
			assert.Contains(t, p.text(`[data-said="`+field+`"] .wrong-why`), c.say)
			for name := range form {
				assert.Equal(t, form.Get(name), p.typed(name), "what was typed is kept")
			}
			assert.Equal(t, "Hall shelf", p.text("h1"), "and nothing was saved")
		})
	}
	p := tab.post(commissionHref(com.ID), url.Values{"name": {"x"}, "promised_date": {"2026-04-01"}, "weight": {"12"}})
	assert.Contains(t, p.text(`[data-said="weight"]`), "12")
}

func TestACommissionIsHeldResumedAndDropped(t *testing.T) {
	r := newRig(t)
	com := r.take("Hall shelf")
	ana := r.as("Ana")
	p := ana.press(ana.get(commissionHref(com.ID)), "Hold")
	assert.Contains(t, p.text(".promise .state"), "held")
	assert.Contains(t, ana.get("/").text(".idle"), "Nothing to pick up")

	ana.press(p, "Resume")
	ana.tap(models.TapStart, r.step("joint"))
	p = ana.press(ana.get(commissionHref(com.ID)), "Delivered")
	assert.Equal(t, http.StatusConflict, p.status)
	assert.Contains(t, p.text(".notice"), "cannot be delivered")
	p = ana.press(p, "Drop")
	assert.Equal(t, http.StatusConflict, p.status)
	assert.Contains(t, p.text(".notice"), "Ana has “Joint a face and an edge” in hand")

	ana.tap(models.TapPutDown, r.step("joint"))
	p = ana.press(ana.get(commissionHref(com.ID)), "Drop")
	assert.Equal(t, http.StatusOK, p.status)
	assert.Contains(t, p.text(".promise .state"), "dropped")
	require.Equal(t, []string{"dropped"}, ana.get("/commissions").texts(".closed .state"))

	p = ana.post(commissionHref(com.ID)+"/state", url.Values{"state": {"flying"}})
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text(".notice"), "flying")
}
