package handlers

import (
	"net/http"
	"net/url"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

// A run by plain forms: taken from the bench, tapped off, put down.
func TestARunByPlainForms(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.take("Porch shelf")
	ana := r.as("Ana")
	for range 2 {
		ana.press(ana.press(ana.get("/"), "Start"), "Finish")
	}
	r.plan()
	form := url.Values{"tap_id": {uuid.NewString()}, "kind": {"start-run"}}
	for _, field := range ana.get("/").doc.Find(".run-offer input[name=steps]").EachIter() {
		form.Add("steps", field.AttrOr("value", ""))
	}
	p := ana.post("/tap", form)
	assert.Equal(t, http.StatusOK, p.status)
	assert.Equal(t, 4, p.doc.Find(".run-step .tap-finish").Length())
	r.clock.Step(10 * time.Minute)
	p = ana.press(ana.press(ana.get("/"), "Finish Plane the boards"), "Put the run down")
	assert.Zero(t, p.doc.Find(".run-card").Length())
	count := map[models.StepState]int{}
	for _, st := range testrig.Snapshot(t, r.store).Steps {
		count[st.State]++
	}
	assert.Equal(t, 3, count[models.PutDown])
	assert.Contains(t, ana.get("/times").text(".time-table"), "Plane 1 1 15 min 3 min 20 %")
}

func TestAStationsTapThatIsRefusedStandsOnItsScreen(t *testing.T) {
	r := newRig(t)
	ana := r.as("Ana")
	testrig.Down(t, r.store, "planer")
	p := ana.post("/tap", url.Values{"tap_id": {uuid.NewString()}, "kind": {"down"}, "station": {"2"}, "back": {"/stations/2"}, "note": {"motor"}})
	assert.Equal(t, http.StatusConflict, p.status)
	assert.Contains(t, p.text(".notice"), "Planer is out of order already.")
	assert.Equal(t, "Planer", p.text("h1"))
	require.Equal(t, http.StatusNotFound, ana.get("/stations/99").status)
}
