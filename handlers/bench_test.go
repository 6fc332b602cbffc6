package handlers

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/testrig"
)

func TestBenchAsksWhoIsThere(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	tab := r.browser()
	first := tab.get("/")
	require.Equal(t, http.StatusOK, first.status)
	assert.Equal(t, "Who is at this tablet?", first.text("h1"))
	assert.Equal(t, []string{"Ana", "Ben"}, first.texts(".who-choice button"))

	then := tab.press(first, "Ben")
	assert.Equal(t, "/", then.path)
	assert.Equal(t, "Ben", then.text(".bench-who strong"))
	assert.Equal(t, "Ben", tab.get("/").text(".bench-who strong"), "the tablet remembers")
}

func TestBenchTellsTheNextStep(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	p := r.as("Ana").get("/")
	assert.Equal(t, "Joint a face and an edge", p.text(".step-name"))
	assert.Equal(t, "Hall shelf · Shelf · milling", p.text(".step-for"))
	assert.Equal(t, "Jointer", p.text(".setup-say"))
	assert.Contains(t, p.text(".facts"), "about 20 min")
	assert.Equal(t, []string{
		"3 × Panel board, ash 800 × 100 × 22 mm from 840 × 110 × 27 mm rough",
		"2 × Rail, ash 700 × 60 × 22 mm from 740 × 66 × 27 mm rough",
	}, p.texts(".parts li"))
	assert.Contains(t, p.text(".caution"), "see the machine's manual")
	assert.NotEmpty(t, p.text(".why"))
	assert.Equal(t, 1, p.doc.Find("button.main").Length(), "one main action")
	assert.Equal(t, "Start", p.text("button.main"))
	assert.Contains(t, p.text("section[aria-labelledby=gates]"), "Glue up the panel")
	assert.Contains(t, p.text("section[aria-labelledby=others]"), "Ben nothing in hand")
}

// The whole way through one step, as a browser without script goes it.
func TestPlainFormsStartPutDownFinishUndo(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	ana := r.as("Ana")

	p := ana.press(ana.get("/"), "Start")
	assert.Equal(t, "/", p.path)
	assert.Equal(t, "in hand", p.text(".step-head .state"))
	assert.Contains(t, p.text(".facts"), "0 min of about 20 min since 8:30")
	assert.Equal(t, "Finish", p.text("button.main"))

	r.clock.Step(12 * time.Minute)
	p = ana.press(ana.get("/"), "Put down")
	assert.Equal(t, models.PutDown, r.step("joint").State)
	assert.Contains(t, p.text(".facts"), "12 min of about 20 min")
	assert.Contains(t, ana.get(stationHref(r.step("joint").StationID)).text("section[aria-labelledby=queue]"), "Hall shelf · 8 min left", "a row counts what is left of it")

	p = ana.press(p, "Take up again")
	r.clock.Step(9 * time.Minute)
	p = ana.press(p, "Finish")
	assert.Equal(t, models.Done, r.step("joint").State)
	assert.Contains(t, p.text(".step-name"), "Plane the")

	p = ana.press(p, "Undo: finished Joint a face and an edge, 8:51")
	assert.Equal(t, models.InHand, r.step("joint").State)
	assert.Equal(t, "Joint a face and an edge", p.text(".step-name"))
}

func TestBenchShowsTheRunUnderOneSetup(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.take("Porch shelf")
	ana := r.as("Ana")
	for range 2 {
		p := ana.press(ana.get("/"), "Start")
		ana.press(p, "Finish")
	}
	r.plan()
	p := ana.get("/")
	require.Contains(t, p.text(".step-name"), "Plane the")
	assert.Equal(t, "Planer: set 22 mm", p.text(".setup-say"))
	run := p.texts("section[aria-labelledby=run] .row-name")
	assert.Len(t, run, 3, "three more steps of both commissions at 22 mm")
	assert.Contains(t, p.text("section[aria-labelledby=run] .lead"), "3 more steps at thickness 22 mm.")

	p = ana.press(p, "Start")
	assert.Contains(t, p.text(".setup"), "it stands so already", "the start tells how the planer stands")
}

func TestAGateOutsideThePlanHasNoTimeToCloseBy(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	gates := ana.get("/").doc.Find("section[aria-labelledby=gates]")
	require.NotZero(t, gates.Find(".row").Length())
	assert.NotContains(t, readable(gates), " by ", "there is no plan yet")
	r.plan()
	assert.Contains(t, ana.get("/").text("section[aria-labelledby=gates]"), " by ")
}

func TestBenchSaysWhatHadToGiveInThePlan(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	ana := r.as("Ana")
	assert.Empty(t, ana.get("/").text(".relaxed"))
	snap := testrig.Snapshot(t, r.store)
	plan := snap.Plan
	plan.Revision, plan.Note = snap.Shop.Revision, models.Notes{phrase.Name("The first was let go."), phrase.Name("The second was let go.")}
	require.NoError(t, r.store.SavePlan(t.Context(), plan))
	assert.Equal(t, []string{"The first was let go.", "The second was let go."}, ana.get("/").texts(".relaxed li"))
}

func TestRestsCountDownAndComeOut(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	for _, key := range []string{"joint", "plane", "rip", "glue-panel"} {
		require.Equal(t, http.StatusOK, ana.tap(models.TapStart, r.step(key)).status, key)
		require.Equal(t, http.StatusOK, ana.tap(models.TapFinish, r.step(key)).status, key)
	}
	r.clock.Step(25 * time.Minute)
	p := ana.get("/")
	rest := p.text(".rest")
	for _, want := range []string{"Glue up the panel", "in clamps", "until 9:30", "35 min left", "then: Trim the panel"} {
		assert.Contains(t, rest, want)
	}
	assert.Equal(t, "25", p.doc.Find(".rest progress").AttrOr("value", ""))

	r.clock.Step(40 * time.Minute)
	p = ana.get("/")
	assert.Contains(t, p.text(".rest"), "time is over")
	p = ana.press(p, "Out of clamps Glue up the panel")
	assert.Zero(t, p.doc.Find(".rest").Length())
	assert.Equal(t, models.Done, r.step("glue-panel").State)
}

func TestTroubleNoteIsKeptWhenRefused(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	p := r.browser().post("/tap", url.Values{"tap_id": {uuid.NewString()}, "kind": {"trouble"}, "from": {"trouble"},
		"step": {strconv.FormatInt(r.step("joint").ID, 10)}, "trouble": {"missing"}, "note": {"split at the end"}, "expected_day": {"2026-03-05"}})
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text(".refusal"), "Say first who is at this tablet")
	assert.Equal(t, "split at the end", p.typed("note"))
	assert.Equal(t, "2026-03-05", p.typed("expected_day"))
}

func TestTheSameTapTwiceIsOne(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	form := fieldsOf(ana.get("/").doc.Find("form.tap-start").First(), nil)
	for range 3 {
		p := ana.post("/tap", form)
		assert.Equal(t, http.StatusOK, p.status)
		assert.Equal(t, "Finish", p.text("button.main"))
	}
	assert.Len(t, r.journal(), 1)
}

func TestTwoTabletsStartTheSameStep(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana, ben := r.as("Ana"), r.as("Ben")
	anas, bens := ana.get("/"), ben.get("/")
	require.Equal(t, anas.text(".step-name"), bens.text(".step-name"))

	ana.press(anas, "Start")
	p := ben.press(bens, "Start")
	assert.Equal(t, http.StatusConflict, p.status)
	assert.Contains(t, p.text("#notice"), "Ana has “Joint a face and an edge” in hand since 8:30")
	assert.Contains(t, p.text("section[aria-labelledby=others]"), "Joint a face and an edge", "and the bench is shown as it is now")
	assert.Len(t, r.journal(), 1)

	row := r.journal()[0]
	assert.NotEmpty(t, row.Tablet)
}

func TestTapsThatCannotBe(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	id := uuid.NewString()
	for name, c := range map[string]struct {
		form   url.Values
		status int
		say    string
	}{
		"no id":          {url.Values{"kind": {"start"}, "step": {"1"}}, 422, "has no id of its own"},
		"no kind":        {url.Values{"tap_id": {id}, "step": {"1"}}, 422, `no tap called ""`},
		"unknown kind":   {url.Values{"tap_id": {id}, "kind": {"dance"}, "step": {"1"}}, 422, `no tap called "dance"`},
		"no number":      {url.Values{"tap_id": {id}, "kind": {"start"}, "step": {"x1"}}, 422, `no number "x1"`},
		"no such step":   {url.Values{"tap_id": {id}, "kind": {"start"}, "step": {"999"}}, 404, "999"},
		"not ready":      {url.Values{"tap_id": {id}, "kind": {"start"}, "step": {"5"}}, 409, "“Glue up the panel” is not ready."},
		"not in hand":    {url.Values{"tap_id": {id}, "kind": {"finish"}, "step": {"1"}}, 409, "Joint a face and an edge"},
		"nothing undone": {url.Values{"tap_id": {id}, "kind": {"undo"}, "undoes": {"77"}}, 404, "77"},
	} {
		t.Run(name, func(t *testing.T) {
			p := ana.post("/tap", c.form)
			assert.Equal(t, c.status, p.status)
			assert.Contains(t, p.text("#notice"), c.say)
			assert.Equal(t, "Joint a face and an edge", p.text(".step-name"), "the bench is shown as it is")
		})
	}
	assert.Empty(t, r.journal())
}

func TestStepScreen(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	p := ana.get(stepHref(r.step("trim").ID))
	assert.Equal(t, "Trim the panel", p.text("h1"))
	assert.Contains(t, p.text(".waits"), "Glue up the panel")
	assert.Zero(t, p.doc.Find("button.main").Length())

	p = ana.post("/tap", url.Values{"tap_id": {uuid.NewString()}, "kind": {"start"}, "step": {"5"}, "back": {stepHref(5)}})
	assert.Equal(t, http.StatusConflict, p.status)
	assert.Contains(t, p.text(".notice"), "not ready")
	assert.Equal(t, "Glue up the panel", p.text("h1"))

	p = ana.press(ana.get(stepHref(r.step("joint").ID)), "Start")
	assert.Equal(t, stepHref(r.step("joint").ID), p.path, "a tap comes back to where it was made")
	assert.Contains(t, p.text(".history"), "Ana started it")

	assert.Equal(t, http.StatusNotFound, ana.get("/steps/999").status)
	assert.Equal(t, http.StatusNotFound, ana.get("/steps/x").status)
}

func TestTapsNeverLeadElsewhere(t *testing.T) {
	for path, want := range map[string]string{
		"/steps/4": "/steps/4", "": "/", "//evil.example": "/", "https://evil.example": "/", `/\evil.example`: "/", "/a\r\nb": "/",
	} {
		assert.Equal(t, want, localPath(path))
	}
}

func TestHostileTextIsEscaped(t *testing.T) {
	r := newRig(t)
	evil := `<script>alert("x")</script><img src=x onerror=alert(1)>`
	com := r.take(evil)
	ana := r.as("Ana")
	ana.tap(models.TapStart, r.step("joint"))
	ana.post("/tap", url.Values{"tap_id": {uuid.NewString()}, "kind": {"trouble"}, "step": {"1"}, "note": {evil}})
	for _, path := range []string{"/", "/steps/1", "/steps/1/trouble", "/commissions", commissionHref(com.ID), "/week", "/shop"} {
		p := ana.get(path)
		assert.Equal(t, http.StatusOK, p.status, path)
		assert.NotContains(t, p.body, "<script>alert", path)
		assert.Zero(t, p.doc.Find("img,[onerror]").Length(), path)
		assert.Zero(t, strings.Count(p.body, " style="), path)
	}
}

func TestWhereNothingIsReadyTheBenchSaysWhatIsWaitedFor(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	ana.tap(models.TapStart, r.step("joint"))
	p := r.as("Ben").get("/")
	assert.Contains(t, p.text(".bench-lead"), "Nothing can be taken up right now")
	assert.Contains(t, p.text(".waits"), "Joint a face and an edge")
	assert.Zero(t, p.doc.Find("button.main").Length())
	assert.Equal(t, "The others Ana Joint a face and an edge Hall shelf · Jointer · since 8:30", p.text("section[aria-labelledby=others]"))
}

func TestATapOfNoRecordIsRefusedInTheShopsLanguage(t *testing.T) {
	r := newRig(t)
	r.german()
	p := r.as("Ana").post("/tap", url.Values{"tap_id": {uuid.NewString()}, "kind": {"start"}, "step": {"first"}})
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text("main"), `Schritt: Die Nummer "first" gibt es nicht.`)
}
