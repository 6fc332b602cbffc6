package handlers

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/planner"
)

// foresee plays the weeks of the plan there is.
func (r *rig) foresee() {
	r.Helper()
	_, err := r.planner.Foresee(context.Background())
	require.NoError(r, err)
}

func TestCommissionsTellDatesThatCanBePromised(t *testing.T) {
	r := newRig(t)
	ana := r.as("Ana")
	com := r.take("Hall bench")
	r.plan()
	for _, path := range []string{"/commissions", commissionHref(com.ID)} {
		p := ana.get(path)
		assert.Zero(t, p.doc.Find(".foreseen").Length())
		assert.Contains(t, p.text("[data-promises]"), "comes in a moment")
	}
	r.foresee()
	for _, path := range []string{"/commissions", commissionHref(com.ID)} {
		p := ana.get(path)
		assert.Equal(t, []string{"50 % sure", "80 % sure", "95 % sure"}, p.texts(".foreseen dt"))
		for _, date := range p.texts(".foreseen dd") {
			assert.Regexp(t, `^(Mon|Tue|Wed|Thu|Fri) \d+ Mar$`, date, "a day on which the shop is open")
		}
		assert.Contains(t, p.text(".foreseen p"), "The promise holds in")
		assert.Contains(t, p.text("[data-promises]"), "2,000 weeks played from the plan of")
	}
	week := ana.get("/week")
	assert.Contains(t, week.text(".week-promises"), "The promise holds in")
	assert.Contains(t, week.text(".week-promises"), "weeks played")
}

func TestHowSafeAPromiseIsInWords(t *testing.T) {
	for part, want := range map[float64][2]int{
		0: {0, 100}, 0.004: {0, 100}, 0.006: {1, 100}, 0.04: {4, 100}, 0.06: {1, 10}, 0.5: {5, 10}, 0.84: {8, 10}, 0.949: {9, 10},
		0.96: {96, 100}, 0.9949: {99, 100}, 0.996: {100, 100}, 1: {100, 100},
	} {
		n, of := outOf(part)
		assert.Equal(t, want, [2]int{n, of}, fmt.Sprint(part))
	}
}

func TestANewCommissionTellsTheEarliestDate(t *testing.T) {
	r := newRig(t)
	r.moreClamps()
	ana := r.as("Ana")
	r.take("Hall bench")
	r.plan()
	r.foresee()
	const path = "/commissions/new/wall-shelf-unit"
	p := ana.get(path)
	assert.Contains(t, p.text("#preview .promised"), "It can be promised for")
	assert.Contains(t, p.text("#preview .promised"), "80 % sure")
	assert.Contains(t, p.text("#preview .promised"), "It cannot be complete before")
	assert.Contains(t, p.text("#preview .promised"), "Of 200 weeks played.", "the first answer")
	assert.Equal(t, path+"/preview", p.doc.Find(".promised").AttrOr("hx-post", ""), "with script the better one is fetched")
	assert.Contains(t, p.text("#preview .rows"), "Hall bench")
	assert.Contains(t, p.text("#preview .rows"), "safe in")

	form := fieldsOf(p.doc.Find("form.draft"), nil)
	form.Set("sure", "95")
	plain := ana.post(path+"/preview", form)
	assert.Contains(t, plain.text("#preview .promised"), "95 % sure")
	assert.Contains(t, plain.text("#preview .promised"), "Of 2,000 weeks played.", "who pressed a button waits for the better one")
	assert.Zero(t, plain.doc.Find(".promised[hx-post]").Length())

	ana.script = true
	form.Set("answer", "better")
	better := ana.post(path+"/preview", form)
	assert.Contains(t, readable(better.doc.Selection), "Of 2,000 weeks played.")
	assert.Zero(t, better.doc.Find("#preview,input").Length(), "only what is told of the promise")
	ana.script = false

	form.Set("sure", "maybe")
	wrong := ana.post(path, form)
	assert.Equal(t, http.StatusUnprocessableEntity, wrong.status)
	assert.Contains(t, wrong.text(`[data-said="sure"] .wrong-why`), `"maybe" is none of 50, 80 and 95.`)
}

func TestAPromiseEarlierThanCanBeIsRefusedUntilTheMakerKnows(t *testing.T) {
	r := newRig(t)
	r.moreClamps()
	ana := r.as("Ana")
	const path = "/commissions/new/wall-shelf-unit"
	form := fieldsOf(ana.get(path).doc.Find("form.draft"), nil)
	today := r.clock.Now().Format("2006-01-02")
	form.Set("promised_date", today)
	p := ana.post(path, form)
	assert.Equal(t, http.StatusConflict, p.status)
	why := p.text(`[data-said="promised_date"] .wrong-why`)
	assert.Contains(t, why, "is earlier than can be: it is not complete before")
	assert.Regexp(t, `From “.+” to “.+”, .+ of work and .+ in clamps and drying follow one another\.`, why)
	assert.Empty(t, commissionsOf(r), "nothing is saved")
	assert.Equal(t, today, p.doc.Find(`button[name="early"]`).AttrOr("value", ""))

	form.Set("early", today)
	assert.Equal(t, http.StatusOK, ana.post(path, form).status)
	assert.Len(t, commissionsOf(r), 1)
}

func TestTheVerdictFollowsTheWeeksPlayed(t *testing.T) {
	r := newRig(t)
	com := r.take("Hall bench")
	r.plan()
	r.foresee()
	promise := r.planner.Promises().Of(com.ID)
	half, _ := promise.By(50)
	nearlyAll, _ := promise.By(95)
	for want, f := range map[string]planner.Forecast{
		"late":      {PromisedBy: nearlyAll, Late: true},
		"in danger": {PromisedBy: half.AddDate(0, 0, -7), SlackMin: 1000},
		"in time":   {PromisedBy: nearlyAll, SlackMin: 10},
	} {
		word, _ := verdict(f, promise)
		assert.Equal(t, want, string(word))
	}
}

// A promise that the plan keeps and few of the weeks played do: every screen that tells of
// its slack says how both can be.
func TestADangerThatThePlanDoesNotShowIsExplained(t *testing.T) {
	const explained = "it fits the plan only if every step takes what is planned, and in this shop some take longer."
	r := newRig(t)
	ana := r.as("Ana")
	r.take("Porch shelf")
	for _, key := range []string{"joint", "plane", "plane-rails", "rip"} {
		require.Equal(t, http.StatusOK, ana.tap(models.TapStart, r.step(key)).status)
		r.clock.Step(time.Hour) // much more than is planned
		require.Equal(t, http.StatusOK, ana.tap(models.TapFinish, r.step(key)).status)
	}
	r.clock.Step(4 * time.Hour) // to the afternoon: the day that is left is short
	com := r.take("Hall bench")
	forecast := func() planner.Forecast { return forecastsByID(planner.Forecasts(r.snap()))[com.ID] }
	for days := range 10 { // until the first day that the plan keeps
		com.PromisedOn = r.snap().At.AddDate(0, 0, days).Format("2006-01-02")
		require.NoError(t, r.store.SaveCommission(context.Background(), *com))
		if r.plan(); !forecast().Late {
			break
		}
	}
	snap := r.snap()
	step := stepHref(snap.Steps[slices.IndexFunc(snap.Steps, func(st models.Step) bool { return st.CommissionID == com.ID })].ID)
	assert.NotContains(t, ana.get(step).text("#why-then"), explained, "nothing was played yet")
	r.foresee()
	promise := r.planner.Promises().Of(com.ID)
	require.True(t, onlyByPlan(forecast(), promise), "it holds in %v of the weeks", promise.Holds(forecast().PromisedBy))
	for path, where := range map[string]string{"/commissions": ".foreseen p", commissionHref(com.ID): ".foreseen p", "/week": ".row-holds", step: "#why-then"} {
		assert.Contains(t, ana.get(path).text(where), explained, path)
	}
	assert.Regexp(t, `in danger: fits only the plan; holds in`, ana.get("/week").text(".week-chart"))

	late := forecast()
	late.Late = true
	assert.NotContains(t, words{speaker: speaker(t, "en")}.holds(late, promise), explained, "then the plan says it")
}

// A step's screen, the API and the week tell in how many of the weeks played an hour more
// on it moves a promise, and of which.
func TestTheStepsThatMatterMost(t *testing.T) {
	r := newRig(t)
	com := r.take("Hall bench")
	com.PromisedOn = r.snap().At.Format("2006-01-02") // it cannot be done today
	require.NoError(t, r.store.SaveCommission(context.Background(), *com))
	r.plan()
	ana := r.as("Ana")
	assert.Zero(t, ana.get("/week").doc.Find(".week-heavy").Length(), "nothing was played yet")
	r.foresee()

	heaviest := r.planner.Promises().Heaviest(heavyLeast)
	require.NotEmpty(t, heaviest)
	require.Greater(t, heaviest[0].Moves, 0.95, "it is late in all weeks, and something must come first")
	assert.Equal(t, com.ID, heaviest[0].Most)
	st := r.snap().Step(heaviest[0].StepID)
	assert.Regexp(t, `^In (all the weeks|9. of 100 weeks) played an hour more on it moves a promise, most often that of “Hall bench”\.$`, ana.get(stepHref(st.ID)).text(".weighs"))

	week := ana.get("/week")
	assert.Contains(t, week.texts(".week-heavy li a")[0], st.Name)
	assert.LessOrEqual(t, len(week.texts(".week-heavy li")), heaviestShown)
	assert.NotZero(t, week.doc.Find(".week-chart .wk-heavy").Length(), "they are marked in the chart")
	assert.Contains(t, week.text("#week-list"), "matters most")
	var told apiStep
	res, err := http.Get(fmt.Sprintf("%s/api/v1/steps/%d", r.server.URL, st.ID))
	require.NoError(t, err)
	require.NoError(t, json.NewDecoder(res.Body).Decode(&told))
	require.NoError(t, res.Body.Close())
	require.NotNil(t, told.HourMoves)
	assert.Equal(t, heaviest[0].Moves, *told.HourMoves)
}
