package main

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A step is renamed and given more time, its commission is kept as a pattern, and
// a commission that is taken from that has the step so.
func TestBrowserKeepsWhatWasChangedByHand(t *testing.T) {
	t.Parallel()
	shop := startDemo(t, quickWork)
	_, coat := sandAndCoat(t, shop)
	tb := newTablet(t, startBrowser(t), shop.address)
	commission := fmt.Sprintf("/commissions/%d", coat.CommissionID)
	tb.open(fmt.Sprintf("%s/edit/steps/%d", commission, coat.ID))
	tb.fill(`#change-form [name="name"]`, "Second coat, by the north window")
	tb.fill(`#change-form [name="attended"]`, "47")
	tb.press("#change-form button")
	tb.until("it is saved", func() bool { return tb.text("h1") == "Second coat, by the north window" })

	tb.open(commission)
	tb.pressThrough(fmt.Sprintf(`a[href="%s/keep"]`, commission))
	assert.Contains(t, tb.text(".kept-piece"), "1 step changed")
	tb.do(chromedp.Click(chromedp.CSS(".kept-piece summary")))
	assert.Contains(t, tb.text(".kept-piece li"), "name, was “"+coat.Name+"”")
	tb.fill(`[name="title"]`, "By the north window")
	tb.pressThrough("#keep button.primary")
	require.Contains(t, tb.text("section[aria-labelledby=own]"), "By the north window")

	tb.open("/commissions/new/by-the-north-window")
	tb.fill(`[name="name"]`, "One more of these")
	tb.pressThrough("form.draft button.main")
	tb.until("the commission is there", func() bool { return tb.text("h1") == "One more of these" })
	snap := shop.snap(t)
	last := snap.Commissions[len(snap.Commissions)-1]
	for _, s := range snap.StepsOf(last.ID) {
		if s.Key == coat.Key {
			assert.Equal(t, "Second coat, by the north window", s.Name)
			assert.Equal(t, 47, s.Attended)
			assert.Positive(t, strings.Count(tb.text("main"), s.Name), "its steps are on the page")
			return
		}
	}
	t.Fatal("the step is not in the new commission")
}
