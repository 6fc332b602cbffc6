package handlers

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strconv"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
)

// queue is a tablet's script: it numbers its taps.
type queue struct {
	*browser
	id     string
	number int
}

func (t *browser) queue() *queue { return &queue{browser: t, id: uuid.NewString()} }

// next is the form of the queue's next tap.
func (q *queue) next(kind models.TapKind, step *models.Step, more ...string) url.Values {
	q.number++
	form := url.Values{"queue": {q.id}, "number": {strconv.Itoa(q.number)}, "tap_id": {uuid.NewString()}, "kind": {string(kind)}, "step": {strconv.FormatInt(step.ID, 10)}, "person": {"1"}}
	for i := 0; i+1 < len(more); i += 2 {
		form.Set(more[i], more[i+1])
	}
	return form
}

func (q *queue) send(form url.Values) tapAnswer {
	q.Helper()
	p := q.post("/tap", form)
	require.Equal(q, http.StatusOK, p.status, p.body)
	var a tapAnswer
	require.NoError(q, json.Unmarshal([]byte(p.body), &a), p.body)
	return a
}

func TestATabletsQueueIsAnswered(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	q := r.browser().queue() // the person goes with the tap, not with the cookie
	start := q.next(models.TapStart, r.step("joint"))
	finish := q.next(models.TapFinish, r.step("joint"), "late", "on", "waited", "0")
	early := q.send(finish)
	assert.Equal(t, "send", early.State)
	assert.Equal(t, int64(1), early.From)
	assert.Equal(t, "written", q.send(start).State)
	assert.Equal(t, "written", q.send(start).State, "twice is once")
	assert.Equal(t, "written", q.send(finish).State)
	assert.Len(t, r.journal(), 2)
	assert.Equal(t, r.clock.Now(), q.send(start).Now.UTC())

	again := q.next(models.TapStart, r.step("joint"))
	told := q.send(again)
	assert.Equal(t, "refused", told.State)
	assert.Equal(t, "“Joint a face and an edge” is finished already.", told.Why)
	again.Set("late", "on")
	assert.Equal(t, "asked", q.send(again).State, "its answer was not heard")

	for name, form := range map[string]url.Values{
		"no number":      {"number": {"x"}},
		"a wrong wait":   {"waited": {"-5"}},
		"no such step":   {"step": {"x"}},
		"number 0":       {"number": {"0"}},
		"no id":          {"tap_id": {"x"}},
		"a long silence": {"waited": {"99999999999999999"}},
	} {
		bad := q.next(models.TapStart, r.step("plane"))
		q.number--
		for k, v := range form {
			bad[k] = v
		}
		a := q.send(bad)
		assert.Equal(t, "refused", a.State, name)
		assert.NotEmpty(t, a.Why, name)
	}
	assert.Len(t, r.journal(), 2)
}

func TestALateTapIsDatedAndTheClockIsCompared(t *testing.T) {
	r := newRig(t, func(c *Config) {
		c.WallClock = func() time.Time { return time.Date(2026, 11, 28, 3, 0, 0, 0, time.UTC) }
	})
	r.take("Hall shelf")
	ana := r.as("Ana")
	q := ana.queue()
	q.send(q.next(models.TapStart, r.step("joint"), "late", "on", "waited", "720000", "said_at", "2026-11-29T02:48:00Z", "sent_at", "2026-11-29T03:00:00Z"))
	row := r.journal()[0]
	assert.Equal(t, r.clock.Now().Add(-12*time.Minute), row.At)
	assert.Equal(t, r.clock.Now(), *row.CameAt)
	assert.Equal(t, time.Date(2026, 11, 29, 2, 48, 0, 0, time.UTC), row.SaidAt.UTC(), "as it was said")
	assert.Contains(t, ana.get("/shop").text("#tablet"), "its clock was 24 h ahead of the server's")
}

func TestATapThatCameTooLateIsAsked(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	q := ana.queue()
	start := q.next(models.TapStart, r.step("joint"), "late", "on", "waited", "600000")
	finish := q.next(models.TapFinish, r.step("joint"), "late", "on", "waited", "300000")
	r.as("Ben").tap(models.TapStart, r.step("joint"))
	assert.Equal(t, "asked", q.send(start).State)
	assert.Equal(t, "written", q.send(finish).State, "it was possible: the shop is small")

	p := ana.get("/")
	assert.Contains(t, p.text(".question"), "Ana started “Joint a face and an edge” at 8:20; it reached the server at 8:30.")
	assert.Contains(t, p.text(".question"), "Ben has “Joint a face and an edge” in hand since 8:30.")
	assert.Contains(t, r.as("Ben").get("/shop").text("#tablet .question"), "Ana started", "whoever sees to it")
	assert.Zero(t, r.as("Ben").get("/").doc.Find(".question").Length(), "but not on another tablet's bench")

	step := stepHref(r.step("joint").ID)
	assert.Contains(t, ana.get(step).text("#too-late"), "Nobody has answered it yet.")

	p = ana.press(p, "Let it be")
	assert.Contains(t, ana.get(step).text("#too-late"), "Ana started “Joint a face and an edge” at 8:20; it reached the server at 8:30. The records said: Ben has “Joint a face and an edge” in hand since 8:30. Ana let it be.")
	assert.Equal(t, "/", p.path)
	assert.Zero(t, p.doc.Find(".question").Length())
	again := ana.post("/taps/"+start.Get("tap_id"), url.Values{"answer": {"left"}})
	assert.Equal(t, http.StatusConflict, again.status)
	assert.Contains(t, again.text("#notice"), "answered already")

	late := q.next(models.TapFinish, r.step("plane"), "late", "on", "waited", "1000")
	assert.Equal(t, "asked", q.send(late).State)
	p = ana.get("/")
	require.Contains(t, p.texts(".question button"), "Start", "what is possible now is offered")
	form := fieldsOf(p.doc.Find(".question form"), nil)
	form.Set("answer", "start")
	ana.post("/taps/"+late.Get("tap_id"), form)
	assert.Equal(t, models.InHand, r.step("plane").State)
	assert.Equal(t, http.StatusConflict, ana.post("/taps/nobody", url.Values{"answer": {"start"}}).status)
	assert.Equal(t, http.StatusNotFound, ana.post("/taps/nobody", url.Values{"answer": {"left"}}).status)
}

// What was tapped too late can be kept as a note of its step; both happen, or neither.
func TestATapThatCameTooLateIsKeptAsANote(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	q := ana.queue()
	late := q.next(models.TapTrouble, r.step("plane"), "late", "on", "waited", "600000", "note", "A knot fell out")
	ben := r.as("Ben")
	for _, key := range []string{"joint", "plane"} {
		ben.tap(models.TapStart, r.step(key))
		ben.tap(models.TapFinish, r.step(key))
	}
	require.Equal(t, "asked", q.send(late).State)

	href := "/taps/" + late.Get("tap_id")
	form := fieldsOf(ana.get("/").doc.Find(".question form"), nil)
	form.Set("answer", "noted")
	form.Set("tap_id", "x")
	assert.Equal(t, http.StatusUnprocessableEntity, ana.post(href, form).status)
	p := ana.get("/")
	require.Equal(t, 1, p.doc.Find(".question").Length(), "it is asked still")

	p = ana.press(p, "Keep it as a note")
	assert.Zero(t, p.doc.Find(".question").Length())
	step := ana.get(stepHref(r.step("plane").ID))
	assert.Equal(t, 1, step.doc.Find(".note-row").Length())
	for _, want := range []string{"Ana reported trouble with “Plane the boards” at 8:20", "“A knot fell out”", "The records said:", "is done: it cannot be reported"} {
		assert.Contains(t, step.text(".note-text"), want)
	}
	assert.Contains(t, step.text("#too-late"), "Ana let it be.")
	assert.Equal(t, http.StatusConflict, ana.post(href, form).status, "once")
}

func TestTheTabletsOwnPart(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana, other := r.browser(), r.browser()
	p := ana.get("/shop")
	form := fieldsOf(p.doc.Find("#tablet-form"), nil)
	form.Set("name", "By the bench")
	form.Set("person", "1")
	p = ana.post("/tablet", form)
	assert.Equal(t, "/shop", p.path)
	assert.Contains(t, p.text("#tablet"), "By the bench · this one")
	assert.Equal(t, "Ana", ana.get("/").text(".bench-who strong"), "the bench opens for whose tablet it is")

	other.get("/")
	p = other.post("/tablet", form)
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text("#tablet-form .wrong-why"), "Another tablet is called “By the bench” already")
	assert.Equal(t, "By the bench", fieldsOf(p.doc.Find("#tablet-form"), nil).Get("name"), "what was typed is there")

	form.Set("name", "At the saw")
	form.Del("person")
	form.Set("station", strconv.FormatInt(r.step("rip").StationID, 10))
	other.post("/tablet", form)
	other.post("/who", url.Values{"person": {"2"}})
	assert.Contains(t, other.get("/").text(".bench-top"), "what is done there comes first")
}

// What the script keeps for the time without a connection is what the bench
// would show, one after the other.
func TestTheNextStepsAreKnownAhead(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	ana := r.as("Ana")
	ana.script = true
	var known []string
	ana.get("/bench/ahead").templates.Find(".step-name").Each(func(_ int, s *goquery.Selection) { known = append(known, readable(s)) })
	ana.script = false
	var met []string
	for len(met) < 3 {
		p := ana.get("/")
		met = append(met, p.text(".bench-main .step-name"))
		ana.press(p, p.text("button.main"))
		p = ana.get("/")
		ana.press(p, "Finish")
	}
	require.GreaterOrEqual(t, len(known), 3)
	assert.Equal(t, known[:3], met)
}

// A run that can be taken is known as it looks in hand, and of each step what can be
// said of trouble; all of it in the shop's language.
func TestRunsAndTroubleAreKnownAhead(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	ana.tap(models.TapStart, r.step("joint"))
	ana.tap(models.TapFinish, r.step("joint"))
	r.plan()
	ana.script = true
	known := ana.get("/bench/ahead").templates
	run := known.Find(".run-card")
	require.Equal(t, 1, run.Length())
	assert.Equal(t, "2 of 2 still in hand", readable(run.Find(".run-left")))
	for _, key := range []string{"plane", "plane-rails"} {
		id := strconv.FormatInt(r.step(key).ID, 10)
		assert.Equal(t, 1, run.Find("#run-step-"+id+" .tap-finish [name=step][value='"+id+"']").Length(), key)
		assert.Equal(t, 1, known.Find(".trouble-form [name=step][value='"+id+"']").Length(), key)
		assert.Equal(t, models.Todo, r.step(key).State, "only what the tablet knows is played through")
	}
	assert.Equal(t, 1, run.Find(".tap-put-down-run [name=run]").Length(), "the script says there which run it is")

	var a aheads
	for _, language := range []string{"en", "de", "en"} {
		out, err := a.once(aheadKey{language: language}, func() ([]byte, error) { return []byte(language), nil })
		require.NoError(t, err)
		assert.Equal(t, language, string(out), "each language has its own")
	}
}
