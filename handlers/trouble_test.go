package handlers

import (
	"context"
	"log/slog"
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
	"faceside/models/planner"
	"faceside/models/testrig"
	"faceside/models/wood"
)

// inHandAt has Ana take a step of the shelf in hand, those before it done.
func (r *rig) inHandAt(key string, done ...string) *browser {
	r.Helper()
	r.take("Hall shelf")
	ana := r.as("Ana")
	for _, k := range done {
		ana.tap(models.TapStart, r.step(k))
		ana.tap(models.TapFinish, r.step(k))
	}
	require.Equal(r, http.StatusOK, ana.tap(models.TapStart, r.step(key)).status)
	return ana
}

// ask is the first tap: Trouble on the card of the bench.
func (t *browser) ask() page {
	t.Helper()
	p := t.get("/")
	href, there := p.doc.Find("a.do-trouble").Attr("href")
	require.True(t, there, "no card offers trouble")
	return t.get(href)
}

// answer is the second: a button of one kind, by its value.
func (t *browser) answer(p page, value string) page {
	t.Helper()
	button := p.doc.Find(`button[name="trouble"]`).FilterFunction(func(_ int, b *goquery.Selection) bool { return b.AttrOr("value", "") == value }).First()
	require.Equal(t, 1, button.Length(), "no answer %s", value)
	return t.post("/tap", fieldsOf(button.Closest("form"), button))
}

func (r *rig) partNo(key string) string { return strconv.FormatInt(r.partID(key), 10) }

func TestSomethingSpoiledInTwoTaps(t *testing.T) {
	r := newRig(t)
	ana := r.inHandAt("glue-panel", "joint", "plane", "rip")
	_, err := r.planner.Plan(context.Background())
	require.NoError(t, err)
	p := ana.ask()
	assert.Equal(t, "Glue up the panel", p.text("h1"))
	assert.Contains(t, p.text(".trouble-spoiled"), "1 × Panel board")
	p = ana.answer(p, "spoiled:part:"+r.partNo("board"))
	assert.Equal(t, toldHref(r.step("glue-panel").ID), p.path)
	assert.Contains(t, p.text("#told"), "3 steps came back, and it waits for them.")
	assert.Contains(t, p.text("#told"), "Plane the boards (again)")
	assert.Contains(t, p.text("#told"), "1 × Panel board: no board on hand gives it. To buy: 5/4 Ash, at least 840 × 110 mm.")
	assert.NotContains(t, p.text("#told"), "Planning", "the plan followed within the request")
	assert.NotEmpty(t, p.texts(".told-promises li"))

	mm := wood.Millimetre
	board, err := r.store.SaveBoard(context.Background(), models.Board{Species: "ash", Quarter: "5/4", Length: 2400 * mm, Width: 200 * mm, Count: 1})
	require.NoError(t, err)
	p = ana.get(p.path)
	assert.Contains(t, p.text("#told"), "1 × Panel board: board "+strconv.FormatInt(board.ID, 10)+" gives it.")

	p = ana.press(p, "Take the trouble back")
	assert.Equal(t, models.InHand, r.step("glue-panel").State)
	for _, st := range r.snap().Steps {
		assert.Nil(t, st.AgainOf)
	}
	assert.Contains(t, ana.get(toldHref(r.step("glue-panel").ID)).text("#told"), "it was taken back")
}

func TestSeveralPartsAreSpoiled(t *testing.T) {
	r := newRig(t)
	ana := r.inHandAt("plane", "joint")
	p := ana.ask()
	form := fieldsOf(p.doc.Find(".trouble-form"), nil)
	form.Set("trouble", "spoiled")
	count := "count." + r.partNo("board")
	form.Set(count, "4")
	p = ana.post("/tap", form)
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text(".refusal"), "“Plane the boards” works on 3 of Panel board: 4 of them cannot be spoiled.")
	assert.Equal(t, "4", p.typed(count), "what was typed stays")
	form.Set(count, "two")
	assert.Contains(t, ana.post("/tap", form).text(".refusal"), `"two" is no number of spoiled parts`)
	form.Set(count, "2")
	p = ana.post("/tap", form)
	assert.Contains(t, p.text("#told"), "1 step came back")
	assert.Equal(t, 8, r.step("joint-again").Attended)
}

func TestSomethingMissingIsShownUntilItIsThere(t *testing.T) {
	r := newRig(t)
	ana := r.inHandAt("joint")
	_, err := r.planner.Plan(context.Background())
	require.NoError(t, err)
	p := ana.ask()
	form := fieldsOf(p.doc.Find(".trouble-form"), nil)
	form.Set("trouble", "missing")
	form.Set("note", "push blocks")
	p = ana.post("/tap", form)
	assert.Contains(t, p.text("#told"), "The step is held and not planned until it is there")
	assert.Contains(t, p.text("#told"), "When “Hall shelf” is ready can be said once what is missing for “Joint a face and an edge” is there.")
	p = ana.get("/")
	assert.Contains(t, p.text(".bench-side"), "push blocks")
	assert.Contains(t, ana.get("/commissions").text(".commission"), "“Joint a face and an edge” is held: push blocks")
	p = ana.press(p, "It is there now Joint a face and an edge")
	assert.Equal(t, models.PutDown, r.step("joint").State)
	assert.NotContains(t, p.text(".bench-side"), "push blocks")

	form.Set("tap_id", uuid.NewString())
	form.Set("expected_day", "2026-02-01")
	p = ana.post("/tap", form)
	assert.Contains(t, p.text(".refusal"), "The day 2026-02-01, on which it is expected, is past.")
	form.Set("expected_day", "2026-03-04")
	p = ana.post("/tap", form)
	assert.Contains(t, p.text("#told"), "It is expected on Wed 4 Mar")
	assert.Contains(t, ana.get("/").text(".bench-side"), "push blocks; expected Wed 4 Mar")
}

func TestHelpIsToldToTheOthers(t *testing.T) {
	r := newRig(t)
	ana := r.inHandAt("joint")
	ben := r.as("Ben")
	p := ana.ask()
	assert.Equal(t, "It needs one more pair of hands", p.texts(".trouble-kind h2")[0], "that is wanted at once")
	assert.Equal(t, []string{"Ben , one more pair of hands", "Put it down until then , It needs one more pair of hands planned for when 2 are free"}, p.texts(".trouble-help button"))
	p = ana.answer(p, "help")
	assert.Contains(t, p.text("#told"), "It takes 2 people now, and is planned for")
	assert.Equal(t, 2, r.step("joint").Hands)
	assert.Contains(t, ben.get("/").text(".bench-side"), "Ana needs a second pair of hands for it")
	assert.Equal(t, []string{"Ben , one more pair of hands"}, ana.get(stepHref(r.step("plane").ID)+"/trouble").texts(".trouble-help button"), "what is not in hand cannot be put down")
	ana.tap(models.TapStart, r.step("joint"))
	assert.NotContains(t, ben.get("/").text(".bench-side"), "a second pair of hands", "they are at it together")
	assert.NotContains(t, ana.ask().body, "trouble-help", "nobody is left to help")
}

// Where a step takes two already it is said that a third is asked for, whether or not it
// was tapped who is the second.
func TestHelpSaysHowManyThereAreAlready(t *testing.T) {
	r := newRig(t)
	_, err := r.store.SavePerson(t.Context(), models.Person{Name: "Cleo", Active: true})
	require.NoError(t, err)
	ana := r.inHandAt("joint")
	const already = "It is planned for 2 people; this asks for one more than those."
	assert.NotContains(t, ana.ask().text(".trouble-help"), "It is planned for")
	ana.answer(ana.ask(), "help")
	ana.tap(models.TapStart, r.step("joint"))
	p := ana.ask()
	assert.Contains(t, p.text(".trouble-help"), already)
	assert.Contains(t, p.text(".trouble-help"), "planned for when 3 are free")
	assert.Contains(t, ana.get("/").text(".step-hands"), "Whose hands has it been given?")
	ana.press(ana.get("/"), readable(ana.get("/").doc.Find(".step-hands button").First()))
	require.Len(t, r.step("joint").Helpers, 1)
	assert.Contains(t, ana.ask().text(".trouble-help"), already, "the count is the same once it was tapped")
}

func TestANewEstimateOfWhatIsLeft(t *testing.T) {
	r := newRig(t)
	ana := r.inHandAt("joint")
	r.clock.Step(15 * time.Minute)
	p := ana.ask()
	assert.Contains(t, p.text(".trouble-estimate"), "By the estimate, 20 min, there are 5 min left.")
	ana.answer(p, "estimate:35")
	assert.Equal(t, models.InHand, r.step("joint").State)
	assert.Equal(t, 50, r.step("joint").Attended)
	form := fieldsOf(p.doc.Find(".trouble-form"), nil)
	form.Set("tap_id", uuid.NewString())
	form.Set("trouble", "estimate")
	form.Set("left", "soon")
	p = ana.post("/tap", form)
	assert.Contains(t, p.text(".refusal"), `"soon" is no span of time`)
	assert.Equal(t, "soon", p.typed("left"))
	form.Set("left", "1 h 30")
	ana.post("/tap", form)
	assert.Equal(t, 105, r.step("joint").Attended)
	ana.tap(models.TapFinish, r.step("joint"))
	assert.Contains(t, ana.get("/times").text(".time-table"), "20 min later 1 h 45", "the first estimate stays beside it")
}

func TestAnotherStepComesFirst(t *testing.T) {
	r := newRig(t)
	ana := r.inHandAt("glue-panel", "joint", "plane", "rip")
	p := ana.ask()
	rails := r.step("plane-rails").ID
	p = ana.answer(p, "order:"+strconv.FormatInt(rails, 10))
	assert.Contains(t, p.text("#told"), "“Plane the rails” comes first now.")
	assert.Equal(t, editHref(r.step("joint").CommissionID), p.doc.Find("#told .told a.button").AttrOr("href", ""))
	assert.Equal(t, models.PutDown, r.step("glue-panel").State)
	p = ana.post("/tap", url.Values{"tap_id": {uuid.NewString()}, "kind": {"trouble"}, "from": {"trouble"}, "trouble": {"order:" + strconv.FormatInt(rails, 10)},
		"step": {strconv.FormatInt(r.step("glue-panel").ID, 10)}})
	assert.Contains(t, p.text(".refusal"), "“Plane the rails” comes before “Glue up the panel” already.")
}

func TestTroubleWithoutAnAnswerIsAsked(t *testing.T) {
	r := newRig(t)
	ana := r.inHandAt("joint")
	form := fieldsOf(ana.ask().doc.Find(".trouble-form"), nil)
	p := ana.post("/tap", form)
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text(".refusal"), "Say what is wrong: tap one of the answers.")
	form.Set("trouble", "other")
	form.Set("note", "drawing unclear")
	p = ana.post("/tap", form)
	assert.Equal(t, models.InTrouble, r.step("joint").State)
	assert.Contains(t, p.text("#told"), "drawing unclear")
	p = ana.press(p, "Trouble is over")
	assert.Equal(t, models.PutDown, r.step("joint").State)
}

func TestTroubleInGerman(t *testing.T) {
	r := newRig(t)
	r.german()
	ana := r.inHandAt("glue-panel", "joint", "plane", "rip")
	p := ana.ask()
	assert.Contains(t, p.text(".trouble-spoiled"), "Etwas ist verdorben")
	p = ana.answer(p, "spoiled:part:"+r.partNo("board"))
	said := p.text("#told")
	for _, want := range []string{"3 Schritte kamen zurück", "(noch einmal)", "Kein Brett im Lager gibt es her"} {
		assert.Contains(t, said, want)
	}
	assert.NotContains(t, said, "again")
}

// What comes back for spoiled parts is an order of work that the checks have
// nothing graver against than before, however far the piece is.
func TestWhatComesBackIsSoundWork(t *testing.T) {
	for _, pattern := range []string{"bedside-cabinet", "hall-bench"} {
		r := newRig(t)
		r.wholeShop()
		com := r.as("Ana").takePattern(pattern)
		ana, spoilt := testrig.Person(t, r.snap(), "Ana"), 0
		tap := func(req models.TapRequest) models.TapResult {
			req.ID, req.PersonID = uuid.NewString(), ana
			result, err := r.store.Tap(context.Background(), req)
			require.NoError(t, err)
			return result
		}
		for n := 0; ; n++ {
			snap := r.snap()
			next := ready(snap, com.ID)
			if next == nil {
				break
			}
			if tr := spoilable(snap, next); n%6 == 5 && tr != nil {
				before, err := findingsOf(snap)
				require.NoError(t, err)
				result := tap(models.TapRequest{Kind: models.TapTrouble, StepID: next.ID, Trouble: tr})
				now := r.snap()
				after, err := findingsOf(now)
				require.NoError(t, err)
				for _, f := range newStops(before, after) {
					assert.Fail(t, "the checks would stop", "%s, %s: %v", pattern, next.Name, f)
				}
				_, err = planner.New(r.store, slog.New(slog.DiscardHandler), planner.Options{Work: 50, Seed: 1}).Plan(context.Background())
				require.NoError(t, err)
				tap(models.TapRequest{Kind: models.TapUndo, Undoes: result.Tap.Seq})
				require.Len(t, r.snap().Steps, len(snap.Steps))
				spoilt++
			}
			tap(models.TapRequest{Kind: models.TapStart, StepID: next.ID})
			tap(models.TapRequest{Kind: models.TapFinish, StepID: next.ID})
			r.clock.Step(time.Duration(next.Unattended+24*60) * time.Minute)
		}
		assert.Greater(t, spoilt, 3, "a test that never met the case shows nothing")
	}
}

// ready is the first step of a commission that can be taken, nil where all are done.
func ready(snap *models.Snapshot, commission models.ID) *models.Step {
	for _, st := range snap.StepsOf(commission) {
		if snap.Standing(st.ID, snap.At) == models.StandsReady {
			return st
		}
	}
	return nil
}

// spoilable is what can be spoiled in a step, nil for nothing.
func spoilable(snap *models.Snapshot, st *models.Step) *models.Trouble {
	tr := &models.Trouble{Kind: models.TroubleSpoiled}
	if all := snap.AssembliesOf(st.ID); len(all) > 0 {
		tr.Assemblies = []models.ID{all[0].AssemblyID}
		return tr
	}
	if all := snap.PartsOf(st.ID); len(all) > 0 {
		tr.Parts = map[models.ID]int{all[0].PartID: 1}
		return tr
	}
	return nil
}

// What became of a promise is said as it is: better, worse, or kept all the same.
func TestAPromiseThatMovedIsToldAsItIs(t *testing.T) {
	at := func(hour int) time.Time { return time.Date(2026, 3, 3, hour, 0, 0, 0, time.UTC) }
	w, err := wordsOf(models.Shop{TimeZone: "UTC"}, at(8), speaker(t, "en"))
	require.NoError(t, err)
	for name, c := range map[string]struct {
		from, to int
		want     string
	}{
		"kept":         {14, 15, "“Shelf” is ready 15:00 instead of 14:00, still within its promise."},
		"now late":     {16, 18, "“Shelf” is ready 18:00 instead of 16:00, after its promise, 17:00."},
		"later still":  {18, 19, "“Shelf” is ready 19:00 instead of 18:00, later still than promised."},
		"less late":    {19, 18, "“Shelf” is ready 18:00 instead of 19:00, less late than before."},
		"kept again":   {19, 16, "“Shelf” is ready 16:00 instead of 19:00, within its promise again."},
		"at the bound": {19, 17, "“Shelf” is ready 17:00 instead of 19:00, within its promise again."},
	} {
		slip := planner.Slip{Name: "Shelf", From: at(c.from), To: at(c.to), PromisedBy: at(17)}
		assert.Equal(t, c.want, (&room{say: w}).slip(slip), name)
	}
}
