package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	cdplog "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// findBrowser returns a Chromium: the one CHROMIUM names, else the first in
// PATH. Without one the test is skipped, or fails where FACESIDE_BROWSER is
// "required".
func findBrowser(t *testing.T) string {
	t.Helper()
	names := []string{"chromium", "chromium-browser", "google-chrome"}
	if named := os.Getenv("CHROMIUM"); named != "" {
		names = []string{named}
	}
	for _, name := range names {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	message := "no browser found: looked for " + strings.Join(names, ", ")
	if os.Getenv("FACESIDE_BROWSER") == "required" {
		t.Fatal(message)
	}
	t.Skip(message + "; this browser test did not run")
	return ""
}

// startBrowser starts one Chromium for a test and its tablets. One for all tests that
// run side by side was tried: now and then a click did not reach its page, and why was
// not found out.
func startBrowser(t *testing.T) context.Context {
	t.Helper()
	browser, _ := startBrowserIn(t, t.TempDir())
	return browser
}

// otherMachine is a name of this machine's that browsers take for another one.
const otherMachine = "shop.test"

// startBrowserIn starts a Chromium with its profile in a folder; stop kills it.
func startBrowserIn(t *testing.T, profile string) (browser context.Context, stop func()) {
	t.Helper()
	options := []chromedp.ExecAllocatorOption{
		chromedp.ExecPath(findBrowser(t)),
		chromedp.UserDataDir(profile),
		chromedp.NoFirstRun,
		chromedp.NoDefaultBrowserCheck,
		chromedp.DisableGPU,
		chromedp.Flag("headless", "new"),
		chromedp.Flag("disable-quic", true),
		chromedp.Flag("host-resolver-rules", "MAP "+otherMachine+" 127.0.0.1"),
		chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-sync", true),
		chromedp.Flag("disable-dev-shm-usage", true),
		chromedp.Flag("disable-renderer-backgrounding", true),
		chromedp.Flag("disable-backgrounding-occluded-windows", true),
		chromedp.Flag("force-color-profile", "srgb"),
		chromedp.Flag("lang", "en-GB"),
	}
	if os.Geteuid() == 0 {
		options = append(options, chromedp.NoSandbox) // Chromium's sandbox refuses root
	}
	allocator, stopAllocator := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(stopAllocator)
	browser, stopBrowser := chromedp.NewContext(allocator)
	t.Cleanup(stopBrowser)
	require.NoError(t, chromedp.Do(browser), "starting the browser")
	return browser, func() {
		stopBrowser()
		stopAllocator()
	}
}

// tablet is one browser with cookies of its own at the shop's server. What its
// pages' scripts or their content security policy complain of fails the test.
type tablet struct {
	t       *testing.T
	page    context.Context
	limit   *time.Timer // ends the page, lest a test waits for ever
	address string

	mu         sync.Mutex
	complaints []string
	forgiven   []string
}

// pageLimit is how long a tablet's page is there: longer than anything waits.
const pageLimit = 5 * time.Minute

// tabletOption is done to a tablet before it opens a page.
type tabletOption func(*tablet)

// sized gives a tablet a screen of so many CSS pixels.
func sized(width, height int64) tabletOption {
	return func(tb *tablet) { tb.do(chromedp.EmulateViewport(width, height)) }
}

// withoutScript has a tablet run no script of the pages'.
func withoutScript(tb *tablet) {
	_, err := chromedp.Call(tb.page, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	require.NoError(tb.t, err)
}

func newTablet(t *testing.T, browser context.Context, address string, options ...tabletOption) *tablet {
	t.Helper()
	return newTabletIn(t, browser, address, []chromedp.ContextOption{chromedp.WithNewBrowserContext()}, options...)
}

// newTabletIn opens the tablet's page as the context options say; without any it
// has what the browser's profile keeps.
func newTabletIn(t *testing.T, browser context.Context, address string, in []chromedp.ContextOption, options ...tabletOption) *tablet {
	t.Helper()
	page, leave := chromedp.NewContext(browser, in...)
	t.Cleanup(leave)
	page, stop := context.WithCancel(page)
	t.Cleanup(stop)
	tb := &tablet{t: t, page: page, limit: time.AfterFunc(pageLimit, stop), address: address}
	require.NoError(t, chromedp.Listen(page, tb.listen))
	t.Cleanup(tb.requireNoComplaints)
	for _, o := range append([]tabletOption{sized(1280, 800)}, options...) {
		o(tb)
	}
	return tb
}

// listen collects what a developer would see in red or yellow.
func (tb *tablet) listen(event any) {
	var complaint string
	switch e := event.(type) {
	case *runtime.EventExceptionThrown:
		complaint = fmt.Sprintf("%s %v at %s:%d", e.ExceptionDetails.Text, e.ExceptionDetails.Exception, e.ExceptionDetails.URL, e.ExceptionDetails.LineNumber)
	case *runtime.EventConsoleAPICalled:
		if !slices.Contains([]string{"error", "warning", "assert"}, string(e.Type)) {
			return
		}
		var said []string
		for _, a := range e.Args {
			said = append(said, strings.TrimSpace(string(a.Value)+" "+a.Description))
		}
		complaint = "console: " + strings.Join(said, " ")
	case *cdplog.EventEntryAdded:
		if e.Entry.Level != cdplog.EntryLevelError && e.Entry.Level != cdplog.EntryLevelWarning {
			return
		}
		complaint = fmt.Sprintf("%s: %s (%s)", e.Entry.Source, e.Entry.Text, e.Entry.URL)
	default:
		return
	}
	tb.mu.Lock()
	defer tb.mu.Unlock()
	tb.complaints = append(tb.complaints, complaint)
}

// forgive names part of a complaint that a test brings about on purpose.
func (tb *tablet) forgive(part string) { tb.forgiven = append(tb.forgiven, part) }

func (tb *tablet) requireNoComplaints() {
	tb.mu.Lock()
	defer tb.mu.Unlock()
	for _, complaint := range tb.complaints {
		if !slices.ContainsFunc(tb.forgiven, func(part string) bool { return strings.Contains(complaint, part) }) {
			tb.t.Errorf("the page complained: %s", complaint)
		}
	}
}

// do runs actions and fails the test when one does.
func (tb *tablet) do(actions ...chromedp.Action[chromedp.Void]) {
	tb.t.Helper()
	require.NoError(tb.t, chromedp.Do(tb.page, actions...))
}

// open goes to a page of the shop.
func (tb *tablet) open(path string) {
	tb.t.Helper()
	tb.do(chromedp.Navigate("http://" + tb.address + path))
}

// press taps the first element that a selector finds, once it is there.
func (tb *tablet) press(selector string) {
	tb.t.Helper()
	tb.until("there is "+selector, func() bool { return tb.count(selector) > 0 })
	tb.taken(func() { tb.do(chromedp.Click(chromedp.CSS(selector))) })
}

// taken taps once the screen has settled: right after the main action has changed the page
// drops taps, see static/app.js. It may change between the look and the tap; then somebody
// would tap again.
func (tb *tablet) taken(tap func()) {
	tb.t.Helper()
	tb.until("a tap is taken", func() bool {
		tb.until("the screen has settled", func() bool { return tb.count("html[data-settling]") == 0 })
		evaluate[bool](tb, `(addEventListener("click", e => { window.dropped = document.documentElement.hasAttribute("data-settling") && !!e.target.closest(".tap") }, { capture: true, once: true }), true)`)
		tap()
		return !evaluate[bool](tb, "window.dropped === true")
	})
}

// pressThrough taps what leads to another page, and waits for that page.
func (tb *tablet) pressThrough(selector string) {
	tb.t.Helper()
	tb.until("there is "+selector, func() bool { return tb.count(selector) > 0 })
	_, err := chromedp.RunResponse(tb.page, chromedp.Click(chromedp.CSS(selector)))
	require.NoError(tb.t, err, "pressing %s", selector)
}

// fill types into a field in place of what is there.
func (tb *tablet) fill(selector, text string) {
	tb.t.Helper()
	tb.do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf("document.querySelector(%q).select()", selector)))
	tb.do(chromedp.SendKeys(chromedp.CSS(selector), text))
}

// evaluate works out an expression on the page.
func evaluate[T any](tb *tablet, expression string) T {
	tb.t.Helper()
	value, err := chromedp.Run(tb.page, chromedp.Evaluate[T](expression))
	for again := 0; again < 20 && err != nil && strings.Contains(err.Error(), "navigated"); again++ {
		value, err = chromedp.Run(tb.page, chromedp.Evaluate[T](expression)) // the page was just left: ask the next one
	}
	require.NoError(tb.t, err, expression)
	return value
}

// count is how many elements of the page a selector finds.
func (tb *tablet) count(selector string) int {
	tb.t.Helper()
	return evaluate[int](tb, fmt.Sprintf("document.querySelectorAll(%q).length", selector))
}

// text is what the first element that a selector finds says, "" without one.
func (tb *tablet) text(selector string) string {
	tb.t.Helper()
	return evaluate[string](tb, fmt.Sprintf("(document.querySelector(%q)?.textContent ?? '').replace(/\\s+/g, ' ').trim()", selector))
}

// value is what the first field that a selector finds holds, "" without one.
func (tb *tablet) value(selector string) string {
	tb.t.Helper()
	return evaluate[string](tb, fmt.Sprintf("document.querySelector(%q)?.value ?? ''", selector))
}

// until waits for a condition to come true on the page.
func (tb *tablet) until(what string, condition func() bool) {
	tb.t.Helper()
	look := time.NewTicker(20 * time.Millisecond)
	defer look.Stop()
	for limit := time.Now().Add(patience); !condition(); <-look.C {
		if time.Now().After(limit) {
			require.Fail(tb.t, "it never came that "+what, "the page says: %s", evaluate[string](tb, "document.body.innerText.slice(0, 1500)"))
		}
	}
}

// everySize looks at what is on the tablet at every size.
func (tb *tablet) everySize(look func(size string)) {
	tb.t.Helper()
	for _, size := range sizes {
		tb.do(chromedp.EmulateViewport(size.width, size.height))
		look(size.name)
	}
	tb.do(chromedp.EmulateViewport(sizes[0].width, sizes[0].height))
}

// narrowAndWhole fails where a page scrolls sideways.
func (tb *tablet) narrowAndWhole() {
	tb.t.Helper()
	over := evaluate[int](tb, "document.documentElement.scrollWidth - document.documentElement.clientWidth")
	assert.LessOrEqual(tb.t, over, 0, "%s is %d px wider than the screen: %s", evaluate[string](tb, "location.pathname"), over, evaluate[string](tb, stickingOut))
}

// largeEnough fails where a target of the page's own is smaller than a finger.
func (tb *tablet) largeEnough() {
	tb.t.Helper()
	small := evaluate[string](tb, `[...document.querySelectorAll("main button, main a.button, main summary, main input, main select, main textarea")]
		.filter(e => !e.closest(".unseen") && e.getClientRects().length > 0 && e.type !== "hidden")
		.filter(e => { const r = e.getBoundingClientRect(); return r.width < 48 || r.height < 48 })
		.map(e => e.outerHTML.slice(0, 80)).join("; ")`)
	assert.Empty(tb.t, small)
}

// bring brings what is to be tapped from under the screens' bar, as a thumb does.
func (tb *tablet) bring(selector string) string {
	tb.t.Helper()
	tb.until("there is "+selector, func() bool { return tb.count(selector) > 0 })
	tb.do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf("document.querySelector(%q).scrollIntoView({ block: 'center', behavior: 'instant' })", selector)))
	return selector
}

// planned waits until the plan has followed the last tap: while it may still put
// another step on the bench, the page may drop a tap, see static/app.js.
func (tb *tablet) planned() {
	tb.t.Helper()
	tb.until("the plan has followed", func() bool { return tb.count(".plan-note") == 0 })
}

// shot saves a picture where -shots asks for pictures.
func (tb *tablet) shot(name string) {
	if *shotsFolder != "" {
		tb.picture(filepath.Join(*shotsFolder, name+".png"))
	}
}

// stickingOut names what reaches over the right edge of the screen and is in no
// box that scrolls by itself, outermost first.
const stickingOut = `(() => {
	const edge = document.documentElement.clientWidth;
	const scrolls = e => e && e !== document.body && (getComputedStyle(e).overflowX !== "visible" || scrolls(e.parentElement));
	return [...document.body.querySelectorAll("*")]
		.filter(e => e.getBoundingClientRect().right > edge && !scrolls(e.parentElement))
		.slice(0, 8).map(e => e.tagName.toLowerCase() + "." + (e.getAttribute("class") ?? "") + " to " + Math.round(e.getBoundingClientRect().right) + ": " + e.textContent.slice(0, 40)).join("; ");
})()`
