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

// The screen of a station leads to the plan as it would be, were it down.
func TestAStationAsksWhatIfItIsDown(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	tab := r.as("Ana")
	st := r.step("joint")
	link := tab.get(stationHref(st.StationID)).doc.Find("#down .jump a")
	href, _ := link.Attr("href")
	page := tab.get(href)
	assert.Equal(t, 1, page.doc.Find(".what-if-keep").Length(), "one tap keeps it")
}

// A run by plain forms: taken from the bench, tapped off, put down.
func TestARunByPlainForms(t *testing.T) {
	r, ana := planing(t)
	p := ana.takeRun(4)
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

// takeRun takes so many of the steps that the bench offers as a run.
func (t *browser) takeRun(n int) page {
	t.Helper()
	form := url.Values{"tap_id": {uuid.NewString()}, "kind": {"start-run"}}
	for _, field := range t.get("/").doc.Find(".run-offer input[name=steps]").EachIter() {
		if len(form["steps"]) < n {
			form.Add("steps", field.AttrOr("value", ""))
		}
	}
	p := t.post("/tap", form)
	require.Equal(t, http.StatusOK, p.status)
	return p
}

// planing is a shop with two shelves jointed, so that four steps want the planer at
// 22 mm, and Ana at a tablet.
func planing(t *testing.T) (*rig, *browser) {
	t.Helper()
	r := newRig(t)
	r.take("Hall shelf")
	r.take("Porch shelf")
	ana := r.as("Ana")
	for range 2 {
		ana.press(ana.press(ana.get("/"), "Start"), "Finish")
	}
	r.plan()
	return r, ana
}

// The pieces of each step of a run are tapped off one by one, and each has its photos
// and notes: the one that is next open, the others folded.
func TestAStepOfARunHasWhatASingleOneHas(t *testing.T) {
	_, ana := planing(t)
	p := ana.takeRun(3)
	first := p.doc.Find(".run-step").First()
	_, open := first.Find("details").Attr("open")
	assert.True(t, open)
	assert.Equal(t, 1, p.doc.Find(".run-step details[open]").Length())
	assert.Equal(t, 3, p.doc.Find(".run-step a.add-note").Length())
	box := first.Find(".tick-box").Eq(1)
	p = ana.press(p, readable(box))
	assert.Equal(t, "/", p.path)
	assert.Equal(t, 1, p.doc.Find(`.run-step .tick-box[aria-pressed=true]`).Length())
	assert.Contains(t, p.doc.Find(".run-step summary").First().Text(), "1 of ")
	p = ana.get(p.doc.Find(".run-step a.add-note").Eq(1).AttrOr("href", ""))
	p = ana.sendNote(p, "Knot on the left", nil)
	assert.Equal(t, "/", p.path)
	assert.Equal(t, "Knot on the left", readable(p.doc.Find(".run-step").Eq(1).Find(".note-text")))

	p = ana.press(p, readable(p.doc.Find(".run-step .tap-finish button").First()))
	assert.Zero(t, p.doc.Find(".run-step").First().Find("details, .tick-box").Length(), "it is tapped off")
	_, open = p.doc.Find(".run-step").Eq(1).Find("details").Attr("open")
	assert.True(t, open, "the next one is open")
}

func TestAStepIsTakenAlongInARun(t *testing.T) {
	r, ana := planing(t)
	p := ana.takeRun(2)
	assert.Equal(t, 2, p.doc.Find(".run-along .row").Length(), "the others that the setup fits")
	label := readable(p.doc.Find(".run-along button").First())
	assert.Contains(t, label, "Take along")
	p = ana.press(p, label)
	assert.Equal(t, 3, p.doc.Find(".run-step .tap-finish").Length())
	assert.Contains(t, p.text(".run-left"), "3 of 3")
	p = ana.press(p, readable(p.doc.Find(".tap-undo button")))
	assert.Equal(t, 2, p.doc.Find(".run-step .tap-finish").Length(), "that alone is taken back")

	planer := stationHref(testrig.Station(t, testrig.Snapshot(t, r.store), "planer").ID)
	assert.Zero(t, r.as("Ben").get(planer).doc.Find("section[aria-labelledby=along]").Length(), "it is Ana's run")
	p = ana.get(planer)
	ana.press(p, readable(p.doc.Find("section[aria-labelledby=along] button").First()))
	assert.Equal(t, 3, ana.get("/").doc.Find(".run-step .tap-finish").Length())
	p = r.as("Ben").post("/tap", url.Values{"tap_id": {uuid.NewString()}, "kind": {"join-run"}, "run": {"none"}, "step": {"2"}})
	assert.Equal(t, http.StatusConflict, p.status)
	assert.Contains(t, p.text("#notice"), "Nothing of that run is in hand any more.")
}

// Beside a single step in hand the bench and its station offer what wants the same
// setup; with it the step becomes a run.
func TestAStepIsTakenAlongWithASingleOne(t *testing.T) {
	r, ana := planing(t)
	p := ana.press(ana.get("/"), "Start")
	assert.Equal(t, "Plane the boards", p.text(".step-name"))
	assert.Equal(t, 3, p.doc.Find("section[aria-labelledby=run] .tap-join-run").Length())
	assert.Zero(t, p.doc.Find(".run-offer").Length())
	assert.NotContains(t, p.text("section[aria-labelledby=next]"), "Plane", "they are not listed twice")
	planer := ana.get(stationHref(testrig.Station(t, testrig.Snapshot(t, r.store), "planer").ID))
	assert.Equal(t, 3, planer.doc.Find("section[aria-labelledby=along] .tap-join-run").Length())
	ana.script = true
	known := ana.get("/bench/ahead").templates
	ana.script = false
	assert.Equal(t, 4, known.Find(".run-card .run-step").Length(), "without the server, too")
	assert.Equal(t, 3, known.Find(".run-card .tap-join-run").Length())

	r.clock.Step(10 * time.Minute)
	p = ana.press(p, readable(p.doc.Find("section[aria-labelledby=run] button").First()))
	assert.Equal(t, "/", p.path)
	assert.Equal(t, "2 of 2 still in hand", p.text(".run-left"))
	assert.Equal(t, "Finish Plane the boards", p.text(".run-card > .actions .tap-main"))
	assert.Equal(t, 2, p.doc.Find(".run-along .tap-join-run").Length(), "the others can join")
	undo := p.text(".bench-who .tap-undo")
	assert.Regexp(t, `^Undo: took Plane the \w+ along, 8:40$`, undo)
	assert.Contains(t, ana.get(stepHref(r.snap().RunInHand(1).Steps[0])).text(".history"), "Ana went on with it in a run")
	p = ana.press(p, undo)
	assert.Equal(t, "in hand", p.text(".step-card .state"))
	assert.Contains(t, p.text(".timer-worked"), "10 min")
	assert.Zero(t, p.doc.Find(".run-card").Length())
}

// The main button of a run finishes the step that is next, whichever were tapped off.
func TestTheMainButtonOfARunFinishesTheNext(t *testing.T) {
	_, ana := planing(t)
	p := ana.takeRun(3)
	for range 3 {
		first := p.doc.Find(".run-step:has(.tap)").First()
		main := p.doc.Find(".run-card > .actions .tap-main")
		assert.Equal(t, "Finish "+first.Find(".row-name").Text(), readable(main))
		assert.Equal(t, 1, p.doc.Find("button.main").Length())
		p = ana.post("/tap", fieldsOf(main, nil))
		require.Equal(t, http.StatusOK, p.status)
	}
	assert.Zero(t, p.doc.Find(".run-card").Length())
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

// Those stations stand first at which somebody is wanted: out of order, in hand, with
// something that can be begun. The others are told in a line.
func TestStationsThatMatterStandFirst(t *testing.T) {
	r, ana := planing(t)
	ana.press(ana.get("/"), "Start")
	testrig.Down(t, r.store, "table-saw")
	p := ana.get("/stations")
	assert.Equal(t, []string{"Table saw", "Planer"}, p.texts(".station .card-link"))
	assert.Regexp(t, `Benches \d+ steps wait, .* of work from \S+`, p.text("section[aria-labelledby=later]"))
	assert.Contains(t, p.text("section[aria-labelledby=idle]"), "Jointer")
}
