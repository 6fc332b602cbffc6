package main

import (
	"context"
	"fmt"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// German words are longer: no screen scrolls sideways for them, nor has its bar a
// second row, and each says it is German, so that it is read aloud as that. No line is
// broken between a number and its fraction or unit, and undo has no row of its own.
func TestBrowserGermanFitsANarrowScreen(t *testing.T) {
	t.Parallel()
	shop := startDemo(t, quickWork)
	snap := shop.snap(t)
	changed := snap.Shop
	changed.Language = "de"
	require.NoError(t, shop.store.SaveShop(context.Background(), changed))
	com := snap.Commissions[0].ID

	tb := newTablet(t, startBrowser(t), shop.address, sized(390, 844))
	tb.open("/")
	require.Equal(t, "Wer ist an diesem Tablet?", tb.text("main h1"))
	tb.pressThrough(".who-choice button")
	tb.until("the bench says a step in German", func() bool { return tb.count(".step-card") > 0 })
	for path, head := range map[string]string{
		"/": "", "/week": "", "/commissions": "Aufträge", fmt.Sprintf("/commissions/%d", com): "", "/commissions/new/table": "Tisch",
		fmt.Sprintf("/commissions/%d/edit", com): "Schritte ändern", "/shop": "Werkstatt", "/stock": "Holzlager", "/stock/cuts": "Zuschnittplan", "/week?as=list": "",
	} {
		tb.open(path)
		assert.Equal(t, "de", evaluate[string](tb, "document.documentElement.lang"), path)
		if head != "" {
			assert.Equal(t, head, tb.text("main h1"), path)
		}
		assert.Equal(t, 1, tb.navRows(), path)
		tb.narrowAndWhole()
		assert.Empty(t, evaluate[[]string](tb, `document.querySelector("main").innerText.match(/\d (\d+\/\d|(mm|min|m³)\b|[%°]).{0,20}/g) ?? []`), path)
		assert.Empty(t, evaluate[[]string](tb, `[...document.querySelectorAll(".week-of b")].filter(e => e.offsetHeight > 30).map(e => e.textContent)`), "a word of the list is broken")
	}
	for _, width := range []int64{1280, 800} {
		tb.do(chromedp.EmulateViewport(width, 900))
		tb.open("/")
		assert.True(t, evaluate[bool](tb, `(() => {
			const [who, undo] = [".who-switch", ".bench-who .do-undo"].map(s => document.querySelector(s).getBoundingClientRect());
			return undo.top < who.bottom && who.top < undo.bottom && undo.left > who.right &&
				[...document.querySelectorAll(".who-switch span")].every(e => e.getClientRects().length === 1);
		})()`), width)
		assert.Less(t, evaluate[float64](tb, `document.querySelector(".bench-who .do-undo").getBoundingClientRect().height`), 80.0, "and is no higher than the main action")
	}
}
