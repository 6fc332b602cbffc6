package main

import (
	"context"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Selectors of what the tests press and read.
const (
	theStep   = ".bench-main .step-name"
	theState  = ".bench-main .state"
	theOthers = "#others ~ .rows"
)

// says who is at a tablet whose bench is open.
func (tb *tablet) says(person string) {
	tb.t.Helper()
	tb.until("it asks who is there", func() bool { return tb.text(".who h1") == "Who is at this tablet?" })
	tb.pressThrough(tb.choice(person))
	tb.until(person+" is at the tablet", func() bool { return tb.text(".bench-who strong") == person })
}

// choice is the button of a person among those asked for. It is found by its place: the
// page may be drawn anew until it is pressed.
func (tb *tablet) choice(person string) (selector string) {
	tb.t.Helper()
	n := evaluate[int](tb, `[...document.querySelectorAll(".who-choice form")].findIndex(f => f.querySelector("button span").textContent.trim() === "`+person+`")`)
	require.GreaterOrEqual(tb.t, n, 0, "%s is not asked for", person)
	return fmt.Sprintf(".who-choice form:nth-of-type(%d) button", n+1)
}

// benchOf has somebody at the bench of a demo shop, on a tablet and in a browser of
// their own.
func benchOf(t *testing.T, person string, options ...tabletOption) (*demoServer, *tablet) {
	t.Helper()
	shop := startDemo(t, quickWork)
	tb := newTablet(t, startBrowser(t), shop.address, options...)
	tb.open("/")
	tb.says(person)
	return shop, tb
}

// A maker finishes what is in hand, takes the next step, thinks better of it;
// the other maker's tablet follows each time.
func TestBrowserBench(t *testing.T) {
	t.Parallel()
	shop := startDemo(t, quickWork)
	browser := startBrowser(t)
	maren := newTablet(t, browser, shop.address)
	maren.open("/")
	maren.says("Maren")
	tobias := newTablet(t, browser, shop.address, sized(800, 1280))
	tobias.open("/")
	tobias.says("Tobias")

	inHand := maren.text(theStep)
	require.Equal(t, "in hand", maren.text(theState))
	require.Contains(t, tobias.text(theOthers), inHand)

	maren.press(".bench-main .tap-finish button")
	maren.until("the next step is there to be taken", func() bool { return maren.count(".bench-main .tap-start button") == 1 })
	assert.NotEqual(t, inHand, maren.text(theStep))
	tobias.until("the other tablet shows that it is finished", func() bool { return !strings.Contains(tobias.text(theOthers), inHand) })

	maren.press(".bench-main .tap-start button")
	maren.until("the next step is in hand", func() bool { return maren.text(theState) == "in hand" })
	next := maren.text(theStep) // read only now: until it was taken, planning anew could change it
	assert.NotEqual(t, inHand, next)
	tobias.until("the other tablet shows who has it", func() bool { return strings.Contains(tobias.text(theOthers), next) })

	maren.press(".bench-who .tap-undo button")
	maren.until("it is no longer in hand", func() bool { return maren.count(".bench-main .tap-start button") == 1 })
	tobias.until("the other tablet shows that, too", func() bool { return !strings.Contains(tobias.text(theOthers), next) })

	maren.press(".bench-who .tap-undo button")
	maren.until("what was finished is in hand again", func() bool { return maren.text(theStep) == inHand && maren.text(theState) == "in hand" })
	tobias.until("the other tablet shows it again", func() bool { return strings.Contains(tobias.text(theOthers), inHand) })
}

// The same by plain forms, on a tablet that runs no script.
func TestBrowserBenchWithoutScript(t *testing.T) {
	t.Parallel()
	_, tb := benchOf(t, "Tobias", withoutScript)
	inHand := tb.text(theStep)
	require.Equal(t, "in hand", tb.text(theState))

	tb.pressThrough(".bench-main .tap-put-down button")
	tb.pressThrough(".bench-main .tap-start button")
	again := tb.text(theStep)
	require.Equal(t, "in hand", tb.text(theState))
	tb.pressThrough(".bench-main .tap-finish button")
	assert.NotEqual(t, again, tb.text(theStep))
	tb.pressThrough(".bench-who .tap-undo button")
	assert.Equal(t, again, tb.text(theStep))
	assert.Equal(t, "in hand", tb.text(theState))
	assert.NotEmpty(t, inHand)
}

// A double tap is one tap: the page sends one id.
func TestBrowserDoubleTap(t *testing.T) {
	t.Parallel()
	_, tb := benchOf(t, "Maren")
	inHand := tb.text(theStep)
	tb.do(chromedp.DoubleClick(chromedp.CSS(".bench-main .tap-finish button")))
	tb.until("the next step is there", func() bool { return tb.count(".bench-main .tap-start button") == 1 })
	assert.NotEqual(t, inHand, tb.text(theStep))
	assert.Empty(t, tb.text("#notice"), "the second tap was refused")
	tb.press(".bench-who .tap-undo button")
	tb.until("one undo takes it back", func() bool { return tb.text(theStep) == inHand })
}

// A new commission: what it comes to is there before it is saved, and on every
// tablet's list afterwards.
func TestBrowserNewCommission(t *testing.T) {
	t.Parallel()
	shop := startDemo(t, quickWork)
	browser := startBrowser(t)
	other := newTablet(t, browser, shop.address)
	other.open("/commissions")
	tb := newTablet(t, browser, shop.address)
	tb.forgive("422") // the measure that is out of limits below
	tb.open("/commissions/new")
	tb.pressThrough(`a[href="/commissions/new/wall-shelf-unit"]`)
	tb.until("a preview is there", func() bool { return tb.count("#preview table tbody tr") > 0 })
	before := tb.text("#preview table")
	better := func() bool { return strings.Contains(tb.text("#preview .promised"), "Of 2,000 weeks played.") }
	tb.until("a better answer takes the place of the first", better)

	tb.fill(`[name="measure.width"]`, "900")
	tb.until("the limit is named beside the field", func() bool {
		return strings.Contains(tb.text(`[data-said="measure.width"]`), "900")
	})
	assert.Equal(t, "900", tb.value(`[name="measure.width"]`))
	tb.fill(`[name="measure.width"]`, "29 1/2")
	tb.until("the preview is of the new width", func() bool {
		table := tb.text("#preview table")
		return table != "" && table != before && !strings.Contains(tb.text(`[data-said="measure.width"]`), "900")
	})
	tb.until("and the better answer too", better)

	tb.fill(`[name="name"]`, "Shelf by the stairs")
	tb.fill(`[name="client"]`, "Piet Halloran")
	tb.pressThrough("form.draft button.main")
	tb.until("the commission is there", func() bool { return tb.text("h1") == "Shelf by the stairs" })
	assert.Positive(t, tb.count("main svg"), "its order of work is drawn")
	other.until("the other tablet lists it", func() bool { return strings.Contains(other.text("#commissions"), "Shelf by the stairs") })
}

// Without script a measure out of its limits comes back beside its field, with
// everything that was typed.
func TestBrowserKeepsWhatWasTyped(t *testing.T) {
	t.Parallel()
	shop := startDemo(t, quickWork)
	tb := newTablet(t, startBrowser(t), shop.address, withoutScript)
	tb.forgive("422")
	tb.open("/commissions/new/wall-shelf-unit")
	tb.fill(`[name="name"]`, "Too wide by far")
	tb.fill(`[name="measure.width"]`, "900")
	tb.fill(`[name="measure.height"]`, "thirty")
	tb.pressThrough("form.draft button.main")
	assert.Contains(t, tb.text(`[data-said="measure.width"]`), "900")
	assert.Contains(t, tb.text(`[data-said="measure.height"]`), "thirty")
	assert.Equal(t, "Too wide by far", tb.value(`[name="name"]`))
	assert.Equal(t, "900", tb.value(`[name="measure.width"]`))
	assert.Equal(t, "thirty", tb.value(`[name="measure.height"]`))
	tb.open("/commissions")
	assert.NotContains(t, tb.text("main"), "Too wide by far", "nothing was saved")
}

// A new shop asks for its people and is usable once it has one.
func TestBrowserNewShop(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	address, stop := startProgram(t, func(ctx context.Context, stdout io.Writer) error {
		return serve(ctx, loopback(dir), stdout, io.Discard)
	})
	t.Cleanup(func() { require.NoError(t, stop()) })
	tb := newTablet(t, startBrowser(t), address)
	tb.open("/")
	tb.pressThrough(`.who a[href="/shop#people"]`)
	form := `form[action="/shop/people"]`
	tb.do(chromedp.Evaluate[chromedp.Void](`document.querySelector('` + form + `').closest("details")?.setAttribute("open", "")`))
	tb.fill(form+` [name="name"]`, "Edda")
	tb.pressThrough(form + " button")
	tb.open("/")
	tb.says("Edda")
	assert.Contains(t, tb.text(".bench-main"), "Nothing to pick up")
}

func TestBrowserWeek(t *testing.T) {
	t.Parallel()
	shop := startDemo(t, quickWork)
	browser := startBrowser(t)
	wide := newTablet(t, browser, shop.address)
	wide.open("/week")
	assert.Positive(t, wide.count(".week-drawing svg a"), "what is planned is drawn, and leads to its step")
	for _, person := range []string{"Maren", "Tobias"} {
		assert.Contains(t, wide.text("main"), person)
	}
	several := `.week-drawing a[href^="#at-"]`
	require.Positive(t, wide.count(several), "what is too short to be read is drawn together")
	at := evaluate[string](wide, fmt.Sprintf(`document.querySelector('%s').getAttribute("href")`, several))
	require.Empty(t, wide.seen(at), "its day is folded")
	wide.press(several)
	wide.until("the list shows the first of them", func() bool {
		return evaluate[bool](wide, fmt.Sprintf(`(() => { const r = document.querySelector(%q).getBoundingClientRect(); return r.height > 0 && r.top >= 0 && r.bottom <= innerHeight })()`, at))
	})
	visible := `(() => { const r = document.querySelector(".week-drawing").getBoundingClientRect(); return r.width > 0 && r.height > 0 })()`
	assert.True(t, evaluate[bool](wide, visible))

	narrow := newTablet(t, browser, shop.address, sized(390, 844))
	narrow.open("/week")
	assert.Positive(t, narrow.count("#week-list .week-items li"), "the same as a list")
	assert.Contains(t, narrow.text("#week-list"), "today")
}

// navRows is how many rows the names of the screens take.
func (tb *tablet) navRows() int {
	tb.t.Helper()
	return evaluate[int](tb, `new Set([...document.querySelectorAll(".nav a, .nav summary")].filter(e => e.checkVisibility()).map(e => Math.round(e.getBoundingClientRect().top))).size`)
}

// On a phone the screens of a working day stand in one row, and the others behind
// "More"; where there is room all stand side by side.
func TestBrowserMoreScreens(t *testing.T) {
	t.Parallel()
	shop := startDemo(t, quickWork)
	browser := startBrowser(t)
	others := func(tb *tablet) int { return len(tb.seen(".nav-more a")) }
	for name, options := range map[string][]tabletOption{"with script": nil, "without": {withoutScript}} {
		t.Run(name, func(t *testing.T) {
			tb := newTablet(t, browser, shop.address, append(options, sized(390, 844))...)
			tb.open("/week")
			assert.Equal(t, 1, tb.navRows())
			assert.Zero(t, others(tb))
			tb.press(".nav-more summary")
			assert.Equal(t, 2, others(tb))
			tb.pressThrough(`.nav-more a[href="/commissions"]`)
			assert.Equal(t, "Commissions", tb.text("h1"))
			assert.Zero(t, others(tb), "folded again")
			assert.NotEqual(t, evaluate[string](tb, `getComputedStyle(document.querySelector(".nav a")).backgroundColor`),
				evaluate[string](tb, `getComputedStyle(document.querySelector(".nav-more summary")).backgroundColor`), "it is lit for what is behind it")
			tb.do(chromedp.EmulateViewport(800, 1280))
			assert.Equal(t, 2, others(tb))
			assert.Empty(t, tb.seen(".nav-more summary"))
			assert.Equal(t, 1, tb.navRows())
		})
	}
	tb := newTablet(t, browser, shop.address, sized(390, 844))
	tb.open("/week")
	tb.press(".nav-more summary")
	tb.press("h1")
	assert.Zero(t, others(tb), "a tap elsewhere folds them")
}

// sizes are the screens we look at: a tablet lying, a tablet standing, a phone.
var sizes = []struct {
	name          string
	width, height int64
}{{"1280x800", 1280, 800}, {"800x1280", 800, 1280}, {"390x844", 390, 844}}

// A browser shows days and times as its own language has them; beside the field stands
// how the shop says what was typed.
func TestBrowserSaysWhatADayIsUnderstoodAs(t *testing.T) {
	t.Parallel()
	shop := startDemo(t, quickWork)
	tb := newTablet(t, startBrowser(t), shop.address)
	tb.open("/shop")
	typed := func(field, value string) string {
		return evaluate[string](tb, fmt.Sprintf(`(() => {
			const e = document.querySelector(%q);
			e.value = %q;
			e.dispatchEvent(new Event("input", { bubbles: true }));
			return e.closest(".field").querySelector(".understood").textContent;
		})()`, field, value))
	}
	assert.Equal(t, "8:00", tb.text("#hours .field:has([name=monday_0]) .understood"), "before anything was typed")
	assert.Equal(t, "7:05", typed("[name=monday_0]", "07:05"))
	assert.Equal(t, "17:30", typed("[name=monday_0]", "17:30"))
	assert.Empty(t, typed("[name=monday_0]", ""))
	assert.Equal(t, "Thu 3 Dec 2026", typed("#days-off [name=date]", "2026-12-03"))
	assert.Equal(t, "Sun 3 May 2026", typed("#days-off [name=date]", "2026-05-03"))
	t.Run("and copies a calendar's address", func(t *testing.T) { copiesACalendarsAddress(t, tb) })
}

// copiesACalendarsAddress presses the button beside the address, also where scripts have
// no clipboard, as over plain HTTP, and pastes what it copied into another field.
func copiesACalendarsAddress(t *testing.T, tb *tablet) {
	tb.pressThrough(`#calendars form[action="/shop/calendars"] button`)
	address := tb.value(".feed-address input")
	require.Regexp(t, `^http://127\.0\.0\.1:\d+/`, address)
	inName := func(key, command string) { // on all that the field has
		tb.do(chromedp.Evaluate[chromedp.Void](`document.querySelector("#general [name=name]").select()`))
		_, err := chromedp.Call(tb.page, input.DispatchKeyEvent, input.DispatchKeyEventParams{Type: "keyDown", Key: key, Commands: []string{command}})
		require.NoError(t, err)
	}
	for name, without := range map[string]string{"with a clipboard": "", "without": `Object.defineProperty(navigator, "clipboard", { value: undefined })`} {
		tb.open("/shop")
		tb.do(chromedp.Evaluate[chromedp.Void](without))
		inName("c", "copy") // what was copied before is gone
		require.Equal(t, "Copy", tb.text(".feed-address [role=status]"))
		tb.press(".feed-address .copy")
		tb.until("it says that it is copied", func() bool { return tb.text(".feed-address [role=status]") == "Copied" })
		inName("v", "paste")
		assert.Equal(t, address, tb.value("#general [name=name]"), name)
	}
}
