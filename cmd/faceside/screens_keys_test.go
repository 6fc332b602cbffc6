package main

import (
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
)

// key presses a key.
func (tb *tablet) key(keys string) {
	tb.t.Helper()
	tb.do(chromedp.KeyEvent(keys))
}

// stop is where the focus is: the how-manieth that a keyboard must come by.
type stop struct {
	Stop  int      `json:"stop"`
	Name  string   `json:"name"`
	Wrong []string `json:"wrong"`
}

// screens are the pages somebody looks at, by a short name.
var screens = map[string]string{
	"bench": "/", "gates": "/gates", "stations": "/stations", "station": "/stations/2", "times": "/times", "week": "/week", "commissions": "/commissions", "commission": "/commissions/5",
	"new": "/commissions/new", "draft": "/commissions/new/hall-bench", "step": "/steps/300", "trouble": "/steps/300/trouble", "note": "/steps/300/note", "shop": "/shop",
}

// The tabulator comes by everything that can be pressed or filled in, in the order
// of the page, and each time shows where it is, with nothing over it.
func TestBrowserTabulator(t *testing.T) {
	t.Parallel()
	st := demoStage(t)
	tb := newTablet(t, startBrowser(t), st.address, patient, examined(eyes(t)))
	tb.open("/")
	tb.says("Maren")
	walk := func(t *testing.T, path string) {
		tb.open(path)
		stops := evaluate[int](tb, "eyes.keys.gather()")
		require.Positive(t, stops)
		last := -1
		for range stops {
			at := tb.tabOn(last)
			for _, wrong := range at.Wrong {
				t.Error(wrong)
			}
			if !assert.Equal(t, last+1, at.Stop, "the focus went to %s", at.Name) {
				break
			}
			last = at.Stop
		}
	}
	for name, path := range screens {
		t.Run(name, func(t *testing.T) { walk(t, path) })
	}
	tb.do(chromedp.EmulateViewport(390, 844))
	for _, path := range []string{"/", "/gates"} {
		t.Run("phone "+path, func(t *testing.T) { walk(t, path) })
	}
}

// tabOn tabs to the next stop; a date or a time has several fields in one.
func (tb *tablet) tabOn(from int) stop {
	tb.t.Helper()
	for range 3 {
		tb.key(kb.Tab)
		at := evaluate[stop](tb, "eyes.keys.here()")
		if at.Stop != from || from < 0 {
			return at
		}
	}
	tb.key(kb.Tab)
	return evaluate[stop](tb, "eyes.keys.here()")
}

// reach tabs on until something that matches a selector has the focus.
func (tb *tablet) reach(selector string) {
	tb.t.Helper()
	for range 40 {
		if tb.hasFocus(selector) {
			return
		}
		tb.key(kb.Tab)
	}
	require.Fail(tb.t, "the tabulator does not come to "+selector)
}

func (tb *tablet) hasFocus(selector string) bool {
	tb.t.Helper()
	return evaluate[bool](tb, "document.activeElement.matches(`"+selector+"`)")
}

// A day's main path by keyboard alone. The focus stays where it is when the screen
// is drawn anew, by a tap of this tablet or of another.
func TestBrowserBenchByKeyboard(t *testing.T) {
	t.Parallel()
	shop := startDemo(t, quickWork)
	tb := newTablet(t, startBrowser(t), shop.address)
	tb.open("/")
	tb.until("it asks who is there", func() bool { return tb.count(".who-choice button") == 2 })
	tb.reach(".who-choice button")
	_, err := chromedp.RunResponse(tb.page, chromedp.KeyEvent(kb.Enter))
	require.NoError(t, err)

	tb.reach(theMain)
	for range 2 { // Finish by Enter, Start by the space bar
		inHand := tb.text(theStep)
		require.Equal(t, "in hand", tb.text(theState))
		tb.taken(func() { tb.key(kb.Enter) })
		tb.until("the next step is there", func() bool { return tb.text(theStep) != inHand && tb.text(theState) == "ready" })
		tb.until("the screen has settled", func() bool { return tb.count("html[data-settling]") == 0 })
		assert.True(t, tb.hasFocus(theMain), "the focus is on the main action")
		tb.taken(func() { tb.key(" ") })
		tb.until("it is in hand", func() bool { return tb.text(theState) == "in hand" })
		tb.until("the screen has settled", func() bool { return tb.count("html[data-settling]") == 0 })
		assert.True(t, tb.hasFocus(theMain), "the focus is on the main action")
	}

	tb.reach(".bench-main .do-trouble")
	others := tb.text(theOthers)
	snap := shop.snap(t)
	for _, s := range snap.Steps { // Tobias puts his step down on another tablet
		if s.State == models.InHand && snap.Person(*s.PersonID).Name == "Tobias" {
			shop.tapped(t, models.TapRequest{Kind: models.TapPutDown, StepID: s.ID, PersonID: *s.PersonID})
		}
	}
	tb.until("the screen follows", func() bool { return tb.text(theOthers) != others })
	tb.until("the focus is where it was", func() bool { return tb.hasFocus(".bench-main .do-trouble") })
}
