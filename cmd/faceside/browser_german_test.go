package main

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// German words are longer: no screen scrolls sideways for them, nor has its bar a
// second row, and each says it is German, so that it is read aloud as that.
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
		fmt.Sprintf("/commissions/%d/edit", com): "Schritte ändern", "/shop": "Werkstatt", "/stock": "Holzlager",
	} {
		tb.open(path)
		assert.Equal(t, "de", evaluate[string](tb, "document.documentElement.lang"), path)
		if head != "" {
			assert.Equal(t, head, tb.text("main h1"), path)
		}
		assert.Equal(t, 1, tb.navRows(), path)
		tb.narrowAndWhole()
	}
}
