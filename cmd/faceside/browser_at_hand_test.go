package main

import (
	"fmt"
	"image"
	"image/jpeg"
	"net"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
)

const (
	thePieces = ".bench-main .tick-box"
	theTicked = thePieces + "[aria-pressed=true]"
)

// Pieces are tapped off on one tablet and seen on the other; those tapped while
// the server is away reach it afterwards, each once.
func TestBrowserPieces(t *testing.T) {
	t.Parallel()
	shop := startDemo(t, quickWork)
	browser := startBrowser(t)
	maren := newTablet(t, browser, shop.address)
	maren.awayFrom()
	maren.open("/")
	maren.says("Maren")
	pieces := maren.count(thePieces)
	require.GreaterOrEqual(t, pieces, 3, "what Maren has in hand at the beginning")
	step := evaluate[string](maren, `document.querySelector(".bench-main .step-card").dataset.step`)
	tobias := newTablet(t, browser, shop.address)
	tobias.awayFrom()
	ticked := func(tb *tablet) int { return tb.count(".tick-box[aria-pressed=true]") }

	tobias.open("/")
	tobias.says("Tobias")
	tobias.open("/steps/" + step)
	maren.isReady()
	promised[bool](maren, `fetch("/bench", { headers: { "HX-Request": "true" } }).then((a) => a.text()).then((text) => { window.asItWas = text; return true; })`)
	maren.press(thePieces)
	assert.Equal(t, 1, maren.count(theTicked), "it is pressed at once")
	tobias.until("the other tablet shows it", func() bool { return ticked(tobias) == 1 })
	assert.Zero(t, maren.count("#not-sent details:not([hidden])"), "it is no tap of the journal")

	shop.goAway(t)
	maren.isAway()
	promised[bool](maren, `caches.open("faceside").then((c) => c.put("/bench", new Response(asItWas))).then(() => true)`)
	maren.asksInVain()
	assert.Equal(t, 1, maren.count(theTicked), "a bench kept from before does not take back what was sent")
	maren.do(chromedp.Click(chromedp.CSS(thePieces + ":not([aria-pressed=true])")))
	assert.Equal(t, 2, maren.count(theTicked), "it goes on without the server")
	shop.comeBack(t)
	maren.isBack()
	tobias.until("the other tablet shows what was tapped meanwhile", func() bool { return ticked(tobias) == 2 })
	maren.open("/")
	assert.Equal(t, 2, maren.count(theTicked), "it is kept by the server")

	maren.press(theTicked)
	tobias.until("a second tap takes it back", func() bool { return ticked(tobias) == 1 })
	assert.Equal(t, 1, maren.count(theTicked))
}

// The timer goes on by itself, says it quietly when the estimate is over, and
// moves nothing on the screen.
func TestBrowserTimer(t *testing.T) {
	t.Parallel()
	_, tb := benchOf(t, "Maren")
	worked, against := tb.text(".timer-worked"), tb.text(".timer-against")
	require.NotEmpty(t, worked)
	require.Contains(t, against, "of about ")
	high := func() float64 {
		return evaluate[float64](tb, `document.querySelector(".bench-main .step-card").getBoundingClientRect().height`)
	}
	before := high()
	tb.do(chromedp.Evaluate[chromedp.Void](`{ const now = performance.now.bind(performance); performance.now = () => now() + 8 * 3600e3; }`))
	tb.until("eight hours more have passed", func() bool { return tb.text(".timer-worked") != worked })
	assert.Contains(t, tb.text(".timer-against"), "estimated ")
	assert.Equal(t, 1.0, evaluate[float64](tb, `document.querySelector(".timer-bar").position`), "the bar is full, and no fuller")
	assert.Equal(t, before, high())
}

// A photo is added from the bench, and one that is none is said to be so with
// what was written still there.
func TestBrowserPhoto(t *testing.T) {
	t.Parallel()
	good, bad := filepath.Join(t.TempDir(), "board.jpg"), filepath.Join(t.TempDir(), "board.txt")
	file, err := os.Create(good)
	require.NoError(t, err)
	require.NoError(t, jpeg.Encode(file, image.NewGray(image.Rect(0, 0, 1200, 900)), nil))
	require.NoError(t, file.Close())
	require.NoError(t, os.WriteFile(bad, []byte("a board\n"), 0o600))
	_, tb := benchOf(t, "Maren", sized(390, 844))
	tb.forgive("422")
	tb.pressThrough("a.add-note")
	tb.narrowAndWhole()
	tb.fill("textarea", "A knot")
	tb.do(chromedp.SetUploadFiles(chromedp.CSS("input[type=file]"), []string{bad}))
	tb.pressThrough(".note-form .main")
	assert.Contains(t, tb.text(".refusal"), "The file of 8 bytes is not a picture")
	assert.Equal(t, "A knot", tb.value("textarea"))

	tb.do(chromedp.SetUploadFiles(chromedp.CSS("input[type=file]"), []string{good}))
	tb.pressThrough(".note-form .main")
	assert.Equal(t, "A knot", tb.text(".note-text"))
	tb.do(chromedp.ScrollIntoView(chromedp.CSS(".note-row img")))
	tb.until("the photo is seen", func() bool {
		return evaluate[bool](tb, `document.querySelector(".note-row img").naturalWidth === 1200`)
	})
}

// A refusal on a step's own screen stays to be read.
func TestBrowserStepRefuses(t *testing.T) {
	t.Parallel()
	shop, tb := benchOf(t, "Maren")
	inHand := tb.text(theStep)
	snap := shop.snap(t)
	i := slices.IndexFunc(snap.Steps, func(st models.Step) bool { return snap.Standing(st.ID, shop.store.Now()) == models.StandsReady })
	require.GreaterOrEqual(t, i, 0)
	tb.open(fmt.Sprintf("/steps/%d", snap.Steps[i].ID))
	tb.press(".tap-start button")
	tb.until("it says why not", func() bool { return tb.text("#notice .refusal") != "" })
	assert.Contains(t, tb.text("#notice"), inHand)
}

// The screen is kept on where a browser allows it, and where not it is said why.
func TestBrowserScreenStaysOn(t *testing.T) {
	t.Parallel()
	shop := startDemo(t, quickWork)
	browser := startBrowser(t)
	here := newTablet(t, browser, shop.address)
	here.open("/")
	here.says("Maren")
	assert.Equal(t, "Keep this screen on", here.text("#wake button"))
	here.press("#wake button")
	here.until("it stays on", func() bool {
		return here.text("#wake button[aria-pressed=true]") == "This screen stays on. Let it sleep again"
	})
	here.open("/")
	here.until("it stays on after the next page, too", func() bool { return here.count("#wake button[aria-pressed=true]") == 1 })
	here.press("#wake button")
	here.until("it may sleep again", func() bool { return here.text("#wake button[aria-pressed=false]") == "Keep this screen on" })

	_, port, err := net.SplitHostPort(shop.address)
	require.NoError(t, err)
	there := newTablet(t, browser, net.JoinHostPort(otherMachine, port))
	there.open("/")
	there.says("Tobias")
	assert.Equal(t, 1, there.count("#wake:not([hidden]) .wake-plain:not([hidden])"), "over plain HTTP it is not allowed")
	assert.Equal(t, 1, there.count("#wake button[hidden]"))
}
