package main

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

// ask is the first tap of trouble, on the card of the bench.
func (tb *tablet) ask() {
	tb.t.Helper()
	tb.pressThrough(tb.bring(".bench-main a.do-trouble"))
	tb.until("the question is there", func() bool { return tb.count(".trouble-form") == 1 })
	tb.narrowAndWhole()
}

// answer is the second; what came of it is told.
func (tb *tablet) answer(selector string) string {
	tb.t.Helper()
	tb.press(tb.bring(selector))
	tb.until("what came of it is told", func() bool { return tb.count("#told .told-does") == 1 })
	tb.until("the plan has followed", func() bool { return tb.count(".told-promises li") > 0 })
	tb.narrowAndWhole()
	return tb.text("#told")
}

// takeBack takes the trouble back from where it is told.
func (tb *tablet) takeBack() {
	tb.t.Helper()
	tb.press(tb.bring("#told .tap-undo button"))
	tb.until("the step is there again", func() bool { return tb.count("#step") == 1 })
	tb.open("/")
}

// Each kind of trouble from the bench of a phone, in two taps, and back.
func TestBrowserTrouble(t *testing.T) {
	t.Parallel()
	address, _ := startGlueUp(t)
	browser := startBrowser(t)
	ana := newTablet(t, browser, address, sized(390, 844))
	ben := newTablet(t, browser, address, sized(390, 844))
	ben.open("/")
	ben.says("Ben")
	ana.open("/")
	ana.says("Ana")
	ana.press(ana.bring(".bench-main .tap-start button"))
	inHand := func() bool { return ana.text(theState) == "in hand" }
	ana.until("it is in hand", inHand)
	require.Equal(t, "Glue up the panel", ana.text(theStep))

	ana.ask()
	ana.shot("trouble-390")
	ana.largeEnough()
	said := ana.answer(`.trouble-spoiled button[value^="spoiled:part:"]`)
	for _, want := range []string{"3 steps came back", "Rip the boards (again)", "no board on hand gives it"} {
		assert.Contains(t, said, want)
	}
	ana.shot("trouble-told-390")
	ana.largeEnough()
	ana.open("/")
	ana.until("the bench begins with what came back", func() bool { return ana.text(theStep) == "Joint a face and an edge (again)" })
	ana.open("/steps/5/trouble/told")
	ana.takeBack()
	ana.until("it is in hand again", inHand)
	assert.Equal(t, "Glue up the panel", ana.text(theStep))

	ana.ask()
	said = ana.answer(`.trouble-missing button[value="missing"]`)
	assert.Contains(t, said, "not planned until it is there")
	ana.open("/")
	assert.Contains(t, ana.text(".bench-side"), "something is missing")
	ana.shot("bench-missing-390")
	ben.until("the other tablet shows it", func() bool { return strings.Contains(ben.text(".bench-side"), "something is missing") })
	ana.press(ana.bring(`.bench-side .tap-settled button`))
	ana.until("it is there", func() bool { return !strings.Contains(ana.text(".bench-side"), "something is missing") })
	ana.press(ana.bring(".bench-main .tap-start button"))
	ana.until("it is taken up again", inHand)

	ana.ask()
	said = ana.answer(`.trouble-help button[value="help"]`)
	assert.Contains(t, said, "It takes 2 people now")
	ben.until("who is asked is told", func() bool {
		return strings.Contains(ben.text(".bench-side"), "Ana needs a second pair of hands for it")
	})
	ben.shot("bench-help-390")
	ana.takeBack()
	ana.until("it is in hand again", inHand)
	ben.until("and told that it is over", func() bool { return !strings.Contains(ben.text("main"), "a second pair of hands") })

	ana.ask()
	ana.press(ana.bring(`.trouble-help button[value^="hand"]`)) // the second tap, and the last
	ana.until("the bench is back, the step in hand", func() bool { return ana.text(theStep) == "Glue up the panel" && inHand() })
	assert.Contains(t, ana.text(".step-hands"), "A hand was called.")
	ana.shot("bench-called-390")
	ana.narrowAndWhole()
	ben.until("who is called sees it first", func() bool { return strings.Contains(ben.text(".call"), "Ana calls for a hand") })
	ben.atHand(".call button")
	ben.shot("bench-call-390")
	ben.largeEnough()
	ana.press(ana.bring(".bench-who .tap-undo button"))
	ben.until("the call is taken back", func() bool { return ben.count(".call") == 0 })
	ana.until("it is in hand still", inHand)

	ana.ask()
	said = ana.answer(`.trouble-estimate button[value^="estimate:"]`)
	assert.Contains(t, said, "It was estimated at 30 min, and is at 45 min now.")
	ana.takeBack()
	ana.until("it is in hand still", inHand)

	ana.ask()
	first := ana.text(`.trouble-order button span`)
	said = ana.answer(`.trouble-order button`)
	assert.Contains(t, said, "comes first now")
	ana.open("/")
	assert.NotEqual(t, "Glue up the panel", ana.text(theStep), "%s comes first", first)
	ana.open("/steps/5/trouble/told")
	ana.takeBack()
	ana.until("it is in hand again", inHand)
}

// The same by plain forms.
func TestBrowserTroubleWithoutScript(t *testing.T) {
	t.Parallel()
	address, _ := startGlueUp(t)
	tb := newTablet(t, startBrowser(t), address, withoutScript, sized(390, 844))
	tb.open("/")
	tb.says("Ana")
	tb.pressThrough(tb.bring(".bench-main .tap-start button"))
	tb.pressThrough(tb.bring(".bench-main a.do-trouble"))
	tb.pressThrough(tb.bring(`.trouble-spoiled button[value^="spoiled:part:"]`))
	assert.Contains(t, tb.text("#told"), "3 steps came back")
	assert.Positive(t, tb.count(".told-promises li"), "the plan followed at once")
	tb.pressThrough(tb.bring("#told .tap-undo button"))
	tb.open("/")
	assert.Equal(t, "in hand", tb.text(theState))
}

// trouble shows what is asked of each kind, and what is told of it.
func (p *play) trouble() {
	st := rigStage(p.t)
	tb := p.open(st, "/")
	tb.says("Ana")
	for _, key := range []string{"joint", "plane", "rip"} {
		st.make("Ana", key)
	}
	snap := st.snapshot()
	glue := testrig.Step(p.t, snap, "glue-panel").ID
	ana := testrig.Person(p.t, snap, "Ana")
	st.tap(models.TapStart, glue, "Ana")
	told := fmt.Sprintf("/steps/%d/trouble/told", glue)
	p.shows(tb, fmt.Sprintf("/steps/%d/trouble", glue), "what is wrong")
	tb.do(chromedp.Evaluate[chromedp.Void](`document.querySelectorAll(".trouble-kind details").forEach(d => { d.open = true })`))
	p.look(tb, "what is wrong, all unfolded")
	for _, tr := range []models.Trouble{
		{Kind: models.TroubleEstimate, Left: 90},
		{Kind: models.TroubleSpoiled, Assemblies: []models.ID{*testrig.Step(p.t, snap, "glue-panel").MakesID}},
		{Kind: models.TroubleHelp},
		{Kind: models.TroubleOrder, FirstID: testrig.Step(p.t, snap, "plane-rails").ID},
		{Kind: models.TroubleMissing},
	} {
		_, err := st.store.Tap(p.t.Context(), models.TapRequest{ID: "trouble-" + string(tr.Kind), Kind: models.TapTrouble, StepID: glue, PersonID: ana, Trouble: &tr})
		require.NoError(p.t, err)
		st.plan()
		p.shows(tb, told, string(tr.Kind))
	}
	p.shows(tb, "/", "a step that waits for what is missing")
	p.shows(tb, "/commissions", "a commission held up")
}

// hands gives a step a second pair of hands.
func (p *play) hands() {
	st := rigStage(p.t)
	snap := st.snapshot()
	joint, ana, ben := testrig.Step(p.t, snap, "joint").ID, testrig.Person(p.t, snap, "Ana"), testrig.Person(p.t, snap, "Ben")
	give := func(r models.TapRequest) {
		r.ID, r.StepID, r.PersonID = "hands-"+string(r.Kind), joint, ana
		_, err := st.store.Tap(p.t.Context(), r)
		require.NoError(p.t, err)
	}
	st.tap(models.TapStart, joint, "Ana")
	give(models.TapRequest{Kind: models.TapTrouble, Trouble: &models.Trouble{Kind: models.TroubleHand}})
	st.plan()
	tb, other := p.open(st, "/"), p.open(st, "/")
	tb.says("Ana")
	other.says("Ben")
	p.shows(tb, "/", "hands are wanted")
	p.shows(other, "/", "hands could be given")
	give(models.TapRequest{Kind: models.TapHelp, HelperID: ben})
	p.shows(tb, "/", "hands are given")
	p.shows(other, "/", "who helps")
	require.Equal(p.t, 1, other.count("button.do-manage.main"))
	st.wait(20 * time.Minute)
	st.tap(models.TapFinish, joint, "Ana")
	p.shows(tb, "/times", "the hours of both")
}
