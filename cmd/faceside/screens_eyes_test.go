package main

import (
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
)

// The examination finds what is wrong on a page that was spoiled on purpose.
func TestBrowserEyesSee(t *testing.T) {
	t.Parallel()
	st := demoStage(t)
	tb := newTablet(t, startBrowser(t), st.address, patient, examined(eyes(t)))
	tb.open("/")
	tb.says("Maren")
	tb.still("light")
	assert.Empty(t, promised[[]string](tb, `eyes.axe("all")`))
	for _, spoil := range []struct{ by, asked, found string }{
		{`document.querySelector(".why").style.color = "#888"`, `eyes.axe("all")`, "axe: color-contrast-enhanced"},
		{`document.querySelector(".do-trouble").style.cssText = "min-height: 0; height: 30px"`, `eyes.targets()`, "30.0 px, not 64"},
		{`document.querySelector(".actions").style.gap = "2px"`, `eyes.targets()`, "only 2.0 px between"},
		{`document.querySelector(".step-name").style.cssText = "overflow: hidden; width: 3rem; white-space: nowrap"`, `eyes.cut()`, "text is cut off"},
		{`document.querySelector(".button").style.transition = "color 1s"`, `eyes.moving()`, "it would move"},
		{`document.querySelector(".why").title = "more"`, `eyes.hovering()`, "needs a mouse"},
		{`document.querySelector(".actions").style.cssText = "position: fixed; inset: 20% 0 0"`, `eyes.covered()`, "what does not scroll takes"},
		{`document.querySelector("svg .pd-name").style.fill = "#999"`, `eyes.drawn()`, "drawn text of contrast"},
	} {
		tb.do(chromedp.Evaluate[chromedp.Void](spoil.by))
		var all string
		for _, found := range promised[[]string](tb, "Promise.resolve("+spoil.asked+")") {
			all += found + "\n"
		}
		assert.Contains(t, all, spoil.found, spoil.by)
	}
}
