package main

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
)

// sandAndCoat are a sanding and a later coat of one commission of the demo,
// neither of them begun.
func sandAndCoat(t *testing.T, shop *demoServer) (sand, coat models.Step) {
	t.Helper()
	snap := shop.snap(t)
	for _, s := range snap.Steps {
		if s.StartedAt != nil {
			continue
		}
		switch {
		case sand.ID == 0 && strings.HasSuffix(s.Key, ".sand-fine"):
			sand = s
		case sand.ID != 0 && s.CommissionID == sand.CommissionID && strings.HasSuffix(s.Key, ".coat-2"):
			return sand, s
		}
	}
	t.Fatal("the demo has no sanding with a coat after it that are both to come")
	return sand, coat
}

// A sanding is put behind a coat: the checks object on the spot, it is kept all
// the same, and one tap of the remedy puts it right.
func TestBrowserEditsAnOrderOfWork(t *testing.T) {
	t.Parallel()
	for name, options := range map[string][]tabletOption{"with script": nil, "without": {withoutScript}} {
		t.Run(name, func(t *testing.T) {
			shop := startDemo(t, quickWork)
			sand, coat := sandAndCoat(t, shop)
			tb := newTablet(t, startBrowser(t), shop.address, options...)
			tb.forgive("409") // the edit that is objected to
			list := fmt.Sprintf("/commissions/%d/edit", sand.CommissionID)
			press := tb.pressThrough
			if options == nil {
				press = tb.press
			}
			tb.open(list)
			tb.pressThrough(fmt.Sprintf("#step-%d a", sand.ID))
			require.Equal(t, sand.Name, tb.text("h1"))

			other := `#move-form [name="other"]`
			tb.do(chromedp.SetValue(chromedp.CSS(other), fmt.Sprint(coat.ID)))
			press("#move-form button")
			tb.until("the checks object", func() bool { return strings.Contains(tb.text("#move-form .objections"), "Sanding through finish") })
			assert.Equal(t, fmt.Sprint(coat.ID), tb.value(other), "what was chosen is kept")
			tb.press(`#move-form input[name="keep"]`)
			tb.pressThrough("#move-form button")
			tb.until("it is saved", func() bool { return tb.count(".objections") == 0 && tb.count(".finding-stops") > 0 })

			tb.open(list)
			require.Contains(t, tb.text(".finding-stops"), "Sanding through finish")
			tb.pressThrough(".finding-stops .remedy button")
			tb.until("it is mended", func() bool { return tb.text("h1") == "Change the steps" && tb.count(".finding-stops") == 0 })
		})
	}
}
