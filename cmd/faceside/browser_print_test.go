package main

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// paperWidth is how many CSS pixels letter paper is wide between its margins.
const paperWidth = 725

// printed has a tablet show its pages as they would be on paper.
func printed(tb *tablet) {
	_, err := chromedp.Call(tb.page, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
	require.NoError(tb.t, err)
}

// seen lists what of a selector takes up room on the page.
func (tb *tablet) seen(selector string) []string {
	tb.t.Helper()
	return evaluate[[]string](tb, fmt.Sprintf(`[...document.querySelectorAll(%q)].filter(e => e.checkVisibility() && e.getClientRects().length > 0).map(e => e.outerHTML.slice(0, 80))`, selector))
}

var pdfPage = regexp.MustCompile(`/Type\s*/Page[^s]`)

// pages prints the page and counts the sheets.
func (tb *tablet) pages() int {
	tb.t.Helper()
	paper, err := chromedp.Call(tb.page, page.PrintToPDF, page.PrintToPDFParams{})
	require.NoError(tb.t, err)
	return len(pdfPage.FindAll(paper.Data, -1))
}

// sheets are those that people print on.
var sheets = map[string]page.PrintToPDFParams{
	"A4":     {PreferCSSPageSize: new(true), PaperWidth: 8.27, PaperHeight: 11.69},
	"letter": {PreferCSSPageSize: new(true), PaperWidth: 8.5, PaperHeight: 11},
}

// The week, the day and the month each print on one sheet, broadside, names and chart
// as one drawing within its margins, in letters that can be read; what there is no room
// for is said.
func TestBrowserPrintsTheWeekOnOneSheet(t *testing.T) {
	t.Parallel()
	shop := startDemo(t, quickWork)
	browser := startBrowser(t)
	tb := newTablet(t, browser, shop.address, sized(1280, 800))
	for name, paper := range sheets {
		for _, days := range []string{"1", "5", "20"} {
			t.Run(name+", "+days+" days", func(t *testing.T) {
				tb.open("/week?days=" + days)
				drawn, err := chromedp.Call(tb.page, page.PrintToPDF, paper)
				require.NoError(t, err)
				assert.Len(t, pdfPage.FindAll(drawn.Data, -1), 1)
				box := pdfBox.FindSubmatch(drawn.Data)
				require.NotNil(t, box)
				width, err := strconv.ParseFloat(string(box[1]), 64)
				require.NoError(t, err)
				assert.InDelta(t, paper.PaperHeight*72, width, 2, "broadside, the chart on %d of the page that says: %s", tb.count(".week-paper"), tb.text("main"))
			})
		}
	}
	tb.open("/week")
	require.NotEmpty(t, tb.text(".week-left"), "this week is taller than a sheet")
	rows, stations := evaluate[[]string](tb, `[...document.querySelectorAll("svg.week-paper .wk-row > title")].map(e => e.textContent)`), 0
	for _, st := range shop.snap(t).Stations {
		if slices.Contains(rows, st.Name) {
			stations++
		}
	}
	assert.GreaterOrEqual(t, stations, 8, "of eleven: a full sheet is set closer")
	printed(tb)
	for name, sheet := range map[string]float64{"A4": 297, "letter": 279.4} {
		least := fmt.Sprintf(`(() => {
			const paper = document.querySelector("svg.week-paper"), box = paper.viewBox.baseVal;
			const high = parseFloat(getComputedStyle(paper).height) / 96 * 25.4;
			const scale = Math.min((%f - 16) / box.width, high / box.height); // mm a pixel
			return Math.min(...[...paper.querySelectorAll("text")].map(e => parseFloat(getComputedStyle(e).fontSize))) * scale / 25.4 * 72;
		})()`, sheet)
		assert.GreaterOrEqual(t, evaluate[float64](tb, least), 8.0, "%s: no letter of the chart is below 8 points", name)
	}
	assert.GreaterOrEqual(t, evaluate[float64](tb, `Math.min(...[...document.querySelectorAll(".week-left, .week-key li")].map(e => parseFloat(getComputedStyle(e).fontSize)))`), 10.6, "8 points")
	assert.NotEmpty(t, tb.seen("svg.week-paper svg, .week-left"))
	assert.Empty(t, tb.seen(".week-drawing, .week-list, .week-promises, .week-since, .button"))
}

// German says a day in longer sentences: its week is one sheet, too.
func TestBrowserPrintsTheGermanWeekOnOneSheet(t *testing.T) {
	t.Parallel()
	shop := startDemo(t, quickWork)
	snap := shop.snap(t)
	snap.Shop.Language = "de"
	require.NoError(t, shop.store.SaveShop(context.Background(), snap.Shop))
	tb := newTablet(t, startBrowser(t), shop.address, sized(1280, 800))
	tb.open("/week")
	assert.Contains(t, tb.text(".week-left"), "Auf diesem Blatt")
	for name, paper := range sheets {
		drawn, err := chromedp.Call(tb.page, page.PrintToPDF, paper)
		require.NoError(t, err)
		assert.Len(t, pdfPage.FindAll(drawn.Data, -1), 1, name)
	}
}

// pdfBox finds the width of a sheet, in points.
var pdfBox = regexp.MustCompile(`/MediaBox\s*\[\s*0\s+0\s+([\d.]+)`)

// On paper stands what is worth carrying to the machine: nothing to press, every
// drawing whole, what is folded on the screen told in full.
func TestBrowserPrints(t *testing.T) {
	t.Parallel()
	shop := startDemo(t, quickWork)
	browser := startBrowser(t)
	for name, c := range map[string]struct {
		path             string
		least, most      int // sheets
		shows            string
		drawings, strips bool
	}{
		"commission": {path: "/commissions/3", least: 4, most: 16, shows: ".fold .row", drawings: true, strips: true},
		"cut list":   {path: "/commissions/3/cut-list", least: 1, most: 2, shows: ".cut-table tr"},
		"traveller":  {path: "/commissions/3/traveller", least: 2, most: 10, shows: ".sheet-again"},
		"sheets":     {path: "/sheets", least: 4, most: 20, shows: ".sheet-again"},
		"week":       {path: "/week?as=list", least: 3, most: 10, shows: ".week-day:not([open]) .week-items li"},
	} {
		t.Run(name, func(t *testing.T) {
			tb := newTablet(t, browser, shop.address, sized(paperWidth, 950))
			tb.open(c.path)
			require.NotEmpty(t, tb.seen(".nav a"), "on the screen there is a way on")
			printed(tb)
			assert.Empty(t, tb.seen(".sign, .nav, button, .button, form, input, select, textarea"), "nothing to press or fill in")
			assert.NotEmpty(t, tb.seen(c.shows))
			assert.LessOrEqual(t, evaluate[int](tb, "document.documentElement.scrollWidth"), paperWidth, "nothing reaches beyond the paper")
			assert.Equal(t, "rgb(255, 255, 255)", evaluate[string](tb, "getComputedStyle(document.body).backgroundColor"))
			assert.GreaterOrEqual(t, evaluate[float64](tb, `Math.min(...[...document.querySelectorAll('main *')].filter(e => !e.closest('svg') && e.checkVisibility()).map(e => parseFloat(getComputedStyle(e).fontSize)))`), 10.0, "no text below 7.5 points")
			if c.drawings {
				assert.NotEmpty(t, tb.seen("svg.piece-drawing"))
				assert.Empty(t, evaluate[[]string](tb, fmt.Sprintf(`[...document.querySelectorAll('main svg')].filter(e => e.checkVisibility() && e.getBoundingClientRect().right > %d).map(e => e.getAttribute('class'))`, paperWidth)), "every drawing is as wide as the paper at most")
			}
			if c.strips {
				assert.NotEmpty(t, tb.seen("svg.order-strip"), "the order of work is cut for paper")
				assert.Empty(t, tb.seen("svg.order-graph, svg.order-map"), "and not also drawn as on the screen")
			}
			sheets := tb.pages()
			assert.GreaterOrEqual(t, sheets, c.least)
			assert.LessOrEqual(t, sheets, c.most)
		})
	}
}
