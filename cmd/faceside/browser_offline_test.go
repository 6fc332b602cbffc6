package main

import (
	"context"
	"fmt"
	"net"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
)

const (
	notSent = "#not-sent .count"
	theMain = ".bench-main .tap-main button"
)

// awayFrom is what a page complains of while there is no server.
func (tb *tablet) awayFrom() {
	tb.forgive("net::ERR_")
	tb.forgive("Failed to fetch")
	tb.forgive("Failed to load resource")
	tb.forgive("from the Manifest")
	tb.forgive("when fetching the script") // of the service worker
}

// isAway waits until the tablet says that it is not connected.
func (tb *tablet) isAway() {
	tb.t.Helper()
	tb.until("it says that it is not connected", func() bool { return tb.count("#away:not([hidden])") == 1 })
}

// asksInVain waits until the Bench was asked for anew and did not come.
func (tb *tablet) asksInVain() {
	tb.t.Helper()
	promised[bool](tb, `new Promise((over) => {
		document.getElementById("bench").addEventListener("htmx:finally:request", () => over(true), { once: true });
		faceside.refresh();
	})`)
}

func (tb *tablet) isBack() {
	tb.t.Helper()
	tb.until("everything is sent", func() bool {
		return tb.count("#away:not([hidden])") == 0 && tb.count("#not-sent details:not([hidden])") == 0
	})
}

// knowsNext waits until the tablet knows the bench after the next taps.
func (tb *tablet) knowsNext() {
	tb.t.Helper()
	tb.until("the next steps are known", func() bool { return tb.count("#ahead template[data-step]") > 8 })
}

// isReady waits until the tablet could do without the server.
func (tb *tablet) isReady() {
	tb.t.Helper()
	tb.until("the service worker rules the page", func() bool { return evaluate[bool](tb, "navigator.serviceWorker.controller !== null") })
	tb.knowsNext()
	tb.until("what the bench needs is kept", func() bool {
		return promised[bool](tb, `caches.open("faceside").then(async (c) => {
			const known = async (path) => await (await c.match(path))?.text() ?? "";
			return (await c.keys()).length > 8 && (await known("/")).includes("bench-main") && (await known("/bench/ahead")).includes("step-card");
		})`)
	})
}

// tapOn taps the main action so many times and checks the count each time.
func (tb *tablet) tapOn(times, unsent int) {
	tb.t.Helper()
	for i := range times {
		before := tb.text(theState) + tb.text(theStep)
		tb.press(theMain)
		want := fmt.Sprintf("%d taps are not sent yet", unsent+i+1)
		if unsent+i == 0 {
			want = "1 tap is not sent yet"
		}
		tb.until(want, func() bool { return tb.text(notSent) == want })
		tb.until("the screen has moved on", func() bool { return tb.text(theState)+tb.text(theStep) != before })
	}
}

func (d *demoServer) journal(t *testing.T, after int64) []models.Tap {
	t.Helper()
	taps, err := d.store.Journal(context.Background(), models.JournalFilter{AfterSeq: after})
	require.NoError(t, err)
	return taps
}

// The server dies; twenty taps, a reload and a browser that was killed later it
// comes back: each tap is in the journal once, in order.
func TestBrowserTapsOutliveServerAndBrowser(t *testing.T) {
	t.Parallel()
	shop := startDemo(t, quickWork)
	last := shop.journal(t, 0)
	before := last[len(last)-1].Seq
	profile := t.TempDir()
	browser, kill := startBrowserIn(t, profile)
	tb := newTabletIn(t, browser, shop.address, nil)
	tb.awayFrom()
	tb.open("/")
	tb.says("Maren")
	tb.isReady()

	shop.goAway(t)
	tb.isAway()
	tb.tapOn(5, 0)
	tb.open("/")
	tb.isAway()
	tb.until("the taps are still there", func() bool { return tb.text(notSent) == "5 taps are not sent yet" })
	tb.tapOn(5, 5)
	kill()

	browser, _ = startBrowserIn(t, profile)
	tb = newTabletIn(t, browser, shop.address, nil)
	tb.awayFrom()
	tb.open("/")
	tb.isAway()
	tb.until("the taps outlived the browser", func() bool { return tb.text(notSent) == "10 taps are not sent yet" })
	tb.tapOn(10, 10)
	assert.Equal(t, 20, tb.count("#not-sent ol li"))
	assert.Empty(t, shop.journal(t, before))

	shop.comeBack(t)
	tb.isBack()
	rows := shop.journal(t, before)
	require.Len(t, rows, 20)
	for i, row := range rows {
		assert.Equal(t, int64(i+1), *row.TabletSeq)
		want := models.TapFinish // Maren begins with a step in hand
		if i%2 == 1 {
			want = models.TapStart
		}
		assert.Equal(t, want, row.Kind, "tap %d", i+1)
	}
	// A browser that was killed may have lost who was there; the taps said it themselves.
	tb.until("the bench is the server's again", func() bool { return tb.text(theState) == "in hand" || tb.count(".who") == 1 })
	assert.Equal(t, rows[0].PersonID, rows[19].PersonID)
}

// A Bench that is opened without the server is as it was seen last, not as it was
// when it was opened last.
func TestBrowserTheBenchAsItWasSeenLast(t *testing.T) {
	t.Parallel()
	shop, tb := benchOf(t, "Tobias", (*tablet).awayFrom)
	tb.isReady()
	others := tb.text(theOthers)
	step := evaluate[int](tb, `Number(document.querySelector("#others ~ .rows a").pathname.split("/").pop())`)
	snap := shop.snap(t)
	shop.tapped(t, models.TapRequest{Kind: models.TapPutDown, StepID: models.ID(step), PersonID: *snap.Step(models.ID(step)).PersonID})
	tb.until("it shows what another one did", func() bool { return tb.text(theOthers) != others })
	seen := tb.text(theOthers)
	shop.goAway(t)
	tb.isAway()
	tb.open("/")
	tb.until("it is shown without the server, too", func() bool { return tb.text(theOthers) == seen })
	tb.tapOn(1, 0)
	assert.Equal(t, seen, tb.text(theOthers), "what is tapped is drawn on top of it")
}

// Over plain HTTP from another machine there is no service worker: an open page
// keeps taps all the same, and the Shop screen says what holds.
func TestBrowserPlainHTTPFromAnotherMachine(t *testing.T) {
	t.Parallel()
	shop := startDemo(t, quickWork)
	_, port, err := net.SplitHostPort(shop.address)
	require.NoError(t, err)
	tb := newTablet(t, startBrowser(t), net.JoinHostPort(otherMachine, port))
	tb.awayFrom()
	tb.open("/shop")
	tb.until("it says what holds", func() bool { return tb.count("[data-worker=plain]:not([hidden])") == 1 })
	assert.Contains(t, tb.text("[data-worker=plain]"), "plain HTTP")
	tb.open("/")
	tb.says("Maren")
	tb.knowsNext()
	before := len(shop.journal(t, 0))
	shop.goAway(t)
	tb.tapOn(3, 0)
	tb.do(chromedp.Click(chromedp.CSS(`.nav a[href="/week"]`)))
	tb.until("it says why it stays", func() bool { return tb.count("#stay:not([hidden])") == 1 })
	shop.comeBack(t)
	tb.isBack()
	assert.Len(t, shop.journal(t, 0), before+3)
}

// A tap that became impossible meanwhile is a question with both versions.
func TestBrowserATapThatCameTooLate(t *testing.T) {
	t.Parallel()
	shop, tb := benchOf(t, "Maren", (*tablet).awayFrom)
	tb.knowsNext()
	inHand := tb.text(theStep)
	step := evaluate[int](tb, `Number(document.querySelector(".bench-main .step-card").dataset.step)`)
	shop.goAway(t)
	tb.press(theMain)
	tb.until("it is kept", func() bool { return tb.text(notSent) == "1 tap is not sent yet" })
	assert.NotEqual(t, inHand, tb.text(theStep), "the bench goes on to the next step that is known")

	snap := shop.snap(t)
	shop.tapped(t, models.TapRequest{Kind: models.TapTrouble, StepID: models.ID(step), PersonID: *snap.Step(models.ID(step)).PersonID, Note: "A knot fell out"})
	shop.comeBack(t)
	tb.isBack()
	tb.until("it is asked about", func() bool { return tb.count(".question") == 1 })
	assert.Contains(t, tb.text(".question-said"), "Maren finished “"+inHand+"”")
	assert.Contains(t, tb.text(".question"), "is in trouble")
	tb.do(chromedp.EmulateViewport(390, 844))
	tb.largeEnough()
	tb.narrowAndWhole()
	tb.shot("question-390x844")
	tb.pressThrough(tb.bring(`.question [value="noted"]`))
	assert.Zero(t, tb.count(".question"))
	tb.open(fmt.Sprintf("/steps/%d", step))
	assert.Contains(t, tb.text(".note-text"), "Maren finished “"+inHand+"”")
}

// The server dies while the page is still loading its scripts, before the stream
// was ever open: that is said, too, and the tablet follows once it is back.
func TestBrowserAServerThatDiesAtOnce(t *testing.T) {
	t.Parallel()
	shop := startDemo(t, quickWork)
	browser := startBrowser(t)
	tb := newTablet(t, browser, shop.address)
	tb.awayFrom()
	tb.open("/commissions")
	shop.goAway(t)
	tb.isAway()
	tb.do(chromedp.Click(chromedp.CSS(`.nav a[href="/week"]`)))
	tb.until("it says why it stays", func() bool {
		return tb.count("#stay:not([hidden])") == 1 || tb.text("h1") != "" && tb.count("#bench") == 1
	})
	shop.comeBack(t)
	tb.until("it is connected again", func() bool { return tb.count("#away:not([hidden])") == 0 })
	tb.until("it says that it was away", func() bool { return strings.Contains(tb.text("#was-away:not([hidden])"), "was not connected from") })
	tb.do(chromedp.Click(chromedp.CSS("#was-away button")))
	assert.Zero(t, tb.count("#was-away:not([hidden])"))
}

// Undo works on what was not sent yet, too.
func TestBrowserUndoOfATapNotSentYet(t *testing.T) {
	t.Parallel()
	shop, tb := benchOf(t, "Maren", (*tablet).awayFrom)
	tb.knowsNext()
	inHand := tb.text(theStep)
	shop.goAway(t)
	tb.press(theMain)
	tb.until("the next step is shown", func() bool { return tb.text(theStep) != inHand })
	tb.press(".bench-who .tap-undo button")
	tb.until("what was finished is in hand again", func() bool { return tb.text(theStep) == inHand && tb.text(theState) == "in hand" })
	shop.comeBack(t)
	tb.isBack()
	tb.until("the server says the same", func() bool { return tb.text(theStep) == inHand && tb.text(theState) == "in hand" })
}

// Two pages of one tablet share its stream, and both follow.
func TestBrowserTwoPagesOfOneTablet(t *testing.T) {
	t.Parallel()
	shop := startDemo(t, quickWork)
	browser := startBrowser(t)
	first := newTablet(t, browser, shop.address)
	first.open("/")
	first.says("Maren")
	second := newTabletIn(t, first.page, shop.address, nil)
	second.open("/")
	second.until("Maren is there, too", func() bool { return second.text(".bench-who strong") == "Maren" })
	other := newTablet(t, browser, shop.address)
	other.open("/")
	other.says("Tobias")
	inHand := other.text(theStep)
	for _, tb := range []*tablet{first, second} {
		require.Contains(t, tb.text(theOthers), inHand)
	}
	other.press(theMain)
	for _, tb := range []*tablet{first, second} {
		tb.until("it follows", func() bool { return !strings.Contains(tb.text(theOthers), inHand) })
		assert.Zero(t, tb.count("#away:not([hidden])"))
	}
}

// promised is what a promise of the page comes to.
func promised[T any](tb *tablet, promise string) T {
	tb.t.Helper()
	value, err := chromedp.Run(tb.page, chromedp.Evaluate[T](promise, chromedp.EvalAwaitPromise))
	require.NoError(tb.t, err, promise)
	return value
}

// What other tablets did while this one was away is on its screen when it is back.
func TestBrowserATabletCatchesUp(t *testing.T) {
	t.Parallel()
	shop, tb := benchOf(t, "Tobias", (*tablet).awayFrom)
	others := tb.text(theOthers)
	step := evaluate[int](tb, `Number(document.querySelector("#others ~ .rows a").pathname.split("/").pop())`)
	shop.goAway(t)
	tb.isAway()
	snap := shop.snap(t)
	shop.tapped(t, models.TapRequest{Kind: models.TapPutDown, StepID: models.ID(step), PersonID: *snap.Step(models.ID(step)).PersonID})
	shop.comeBack(t)
	tb.until("it shows what was done meanwhile", func() bool {
		return tb.text(theOthers) != others && strings.Contains(tb.text(theOthers), "nothing in hand")
	})
}
