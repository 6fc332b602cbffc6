package handlers

import (
	"fmt"
	"net/http"
	"net/url"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
)

// Pinned and let go again, as a browser without script does it.
func TestPinAndLetGo(t *testing.T) {
	r := newRig(t) // a Monday, half past eight
	com := r.take("Hall shelf")
	r.plan()
	ana := r.as("Ana")
	href := stepHref(r.step("glue-panel").ID)

	p := ana.get(href)
	require.Equal(t, http.StatusOK, p.status)
	assert.Equal(t, "2026-03-02", p.typed("date"), "where the plan has it")
	assert.NotContains(t, p.texts("button"), "Let it move again")
	form := p.doc.Find("#pin-form")
	values := fieldsOf(form, nil)
	values.Set("date", "2026-03-05")
	values.Set("time", "13:00")
	p = ana.post(form.AttrOr("action", ""), values)
	require.Equal(t, http.StatusOK, p.status)
	assert.Equal(t, href, p.path)
	assert.Contains(t, p.texts(".facts dd"), "Thu 13:00")
	assert.Equal(t, "2026-03-05", p.typed("date"))
	assert.Equal(t, "13:00", p.typed("time"))
	at, pinned := r.step("glue-panel").Pinned()
	require.True(t, pinned)
	assert.Equal(t, time.Date(2026, 3, 5, 12, 0, 0, 0, time.UTC), at)

	r.plan()
	p = ana.get(commissionHref(com.ID))
	assert.Contains(t, p.texts(".row-when"), "waiting pinned Thu 13:00")
	assert.Equal(t, 1, p.doc.Find(".order-graph .pin-head").Length())
	assert.Contains(t, p.texts(".order-graph .og-time"), "pinned Thu 13:00")
	p = ana.get("/week?from=2026-03-02")
	assert.GreaterOrEqual(t, p.doc.Find(".week-chart .pin-head").Length(), 1)
	assert.Contains(t, p.text(".week-chart"), "Pinned there.")
	var marked []string
	for _, line := range p.texts(".week-items li") {
		if len(line) > 0 && line[:2] == "13" {
			marked = append(marked, line)
		}
	}
	assert.Contains(t, fmt.Sprint(marked), "Hall shelf pinned Glue up the panel")

	p = ana.press(ana.get(href), "Let it move again")
	assert.Equal(t, href, p.path)
	assert.Nil(t, r.step("glue-panel").PinnedAt)
	assert.NotContains(t, p.texts("button"), "Let it move again")
}

func TestPinsThatAreRefusedKeepWhatWasTyped(t *testing.T) {
	for name, c := range map[string]struct {
		date, time, says string
	}{
		"closed":     {"2026-03-05", "12:10", "the shop is closed then; that day it is open 08:00–12:00 and 12:30–17:00"},
		"past":       {"2026-03-01", "09:00", "that is past"},
		"too early":  {"2026-03-02", "08:45", "it can begin 9:15 at the earliest, after “Rip the boards”"},
		"no day":     {"next week", "09:00", "\"next week\" is no day"},
		"nothing":    {"", "", "Choose a time"},
		"no time":    {"2026-03-05", "", "Choose a time"},
		"wrong time": {"2026-03-05", "nine", "\"nine\" is no time of day"},
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t)
			r.take("Hall shelf")
			ana := r.as("Ana")
			p := ana.post(stepHref(r.step("glue-panel").ID)+"/pin", url.Values{"date": {c.date}, "time": {c.time}})
			assert.Equal(t, http.StatusUnprocessableEntity, p.status)
			assert.Contains(t, p.text("#pin-form"), c.says)
			assert.Contains(t, p.text(".notice"), "“Glue up the panel” was not pinned: see what is marked below.")
			assert.Equal(t, c.date, p.typed("date"))
			assert.Equal(t, c.time, p.typed("time"))
			assert.Nil(t, r.step("glue-panel").PinnedAt)
		})
	}
}

func TestBegunStepCannotBePinned(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	href := stepHref(r.step("joint").ID)
	ana.tap(models.TapStart, r.step("joint"))
	assert.Zero(t, ana.get(href).doc.Find("#pin-form").Length())
	p := ana.post(href+"/pin", url.Values{"date": {"2026-03-05"}, "time": {"09:00"}})
	assert.Equal(t, http.StatusConflict, p.status)
	assert.Contains(t, p.text(".notice"), "“Joint a face and an edge” is in hand: only a step that is not begun can be pinned.")
	assert.Equal(t, http.StatusNotFound, ana.post("/steps/9999/pin", url.Values{"date": {"2026-03-05"}, "time": {"09:00"}}).status)
	assert.Equal(t, http.StatusNotFound, ana.post("/steps/9999/unpin", nil).status)
}
