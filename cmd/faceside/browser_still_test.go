package main

import (
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
)

// Nothing on a screen moves by itself under a finger while the page comes and its
// parts are fetched.
func TestBrowserNothingShiftsWhilePagesLoad(t *testing.T) {
	t.Parallel()
	_, maren := benchOf(t, "Maren")
	for _, path := range []string{"/", "/week", "/gates", "/stations"} {
		maren.open(path)
		maren.do(chromedp.Evaluate[chromedp.Void](`(() => {
			window.shifted = 0;
			window.what = "";
			window.settledNow = false;
			new PerformanceObserver((list) => { 
				for (const e of list.getEntries()) {
					window.shifted += e.value;
					for (const s of e.sources) window.what += [" ", s.node?.nodeName, s.node?.className || s.node?.parentElement?.className, ...[s.previousRect, s.currentRect].map((r) => [r.x, r.y, r.width, r.height].join("/"))].join(" ") + ";";
				}
			}).observe({ type: "layout-shift", buffered: true });
		})()`))
		maren.until("its parts are there", func() bool {
			return evaluate[bool](maren, `document.readyState === "complete" && performance.getEntriesByType("resource").some((e) => e.name.includes("/gates/resting") && e.responseEnd > 0)`)
		})
		maren.do(chromedp.Evaluate[chromedp.Void](`requestAnimationFrame(() => requestAnimationFrame(() => { window.settledNow = true; })), undefined`))
		maren.until("it is drawn", func() bool { return evaluate[bool](maren, `window.settledNow`) })
		assert.Zero(t, evaluate[float64](maren, `window.shifted`), "%s:%s", path, evaluate[string](maren, `window.what + " now: " + [...document.querySelectorAll("body > *, #content > *")].filter((e) => getComputedStyle(e).display !== "none").map((e) => [e.nodeName, e.id, e.className, e.getBoundingClientRect().y, e.getBoundingClientRect().height].join(" ")).join("; ")`))

		maren.do(chromedp.Evaluate[chromedp.Void](`document.body.prepend(Object.assign(document.createElement("p"), { textContent: "A line that pushes all others down" })), undefined`))
		maren.until("a shift would have been seen", func() bool { return evaluate[bool](maren, `window.shifted > 0`) })
	}
}
