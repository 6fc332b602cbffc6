package main

import (
	"flag"
	"os"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// axeFile is axe-core, which `go generate ./static` fetches for the tests alone.
const axeFile = "../../static/node_modules/axe-core/axe.min.js"

// atTwice are the screens we look at under a zoom of 200 %: half as many CSS
// pixels. A phone's would be 195 wide; the least that WCAG 2.2 asks for (1.4.10,
// "Reflow") is 320.
var atTwice = []struct {
	name          string
	width, height int64
}{{"640x400", 640, 400}, {"400x640", 400, 640}, {"320x568", 320, 568}}

// Every screen in every state, at each size, light and dark: nothing that axe-core
// finds with all its rules on; nothing too small to press or too close to the
// next; no drawing too faint; nothing cut off, also at a zoom of 200 %; nothing
// moving for who asked for no motion; nothing that takes a mouse.
func TestBrowserScreens(t *testing.T) {
	t.Parallel()
	eyes(t)
	browser := startBrowser(t)
	for name, show := range plays {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			show(&play{t: t, browser: browser, look: func(tb *tablet, name string) {
				tb.t.Helper()
				for _, wrong := range examine(tb) {
					tb.t.Errorf("%s, %s", name, wrong)
				}
			}})
		})
	}
}

// eyes are the scripts that examine a page.
func eyes(t *testing.T) string {
	t.Helper()
	var all string
	for _, name := range []string{axeFile, "testdata/eyes.js", "testdata/eyes-drawn.js", "testdata/eyes-keys.js"} {
		source, err := os.ReadFile(name)
		if err != nil && os.Getenv("FACESIDE_BROWSER") != "required" && os.IsNotExist(err) {
			t.Skipf("%s is not there: `go generate ./static` fetches it; the screens were not examined", name)
		}
		require.NoError(t, err)
		all += string(source) + "\n"
	}
	return all
}

// examined loads the examining scripts into every page of a tablet.
func examined(scripts string) tabletOption {
	return func(tb *tablet) {
		tb.t.Helper()
		_, err := chromedp.Call(tb.page, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: scripts})
		require.NoError(tb.t, err)
	}
}

// still has a tablet ask for no motion, and prefer light or dark pages.
func (tb *tablet) still(scheme string) {
	tb.t.Helper()
	_, err := chromedp.Call(tb.page, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
		{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: "reduce"},
	}})
	require.NoError(tb.t, err)
}

// thorough has every screen examined in every way at every size. Without it axe-core
// goes over all at one size, light and dark, and over sizes on a phone; what is
// measured in the browser itself is measured at every size either way.
var thorough = flag.Bool("thorough", false, "examine every screen in every state at every size, light and dark, with all rules: takes twice as long")

// examine says what is wrong with what is on a tablet: where, and how it looked.
func examine(tb *tablet) []string {
	tb.t.Helper()
	var wrong []string
	said := map[string]bool{}
	ask := func(where, question string) {
		found, err := chromedp.Run(tb.page, chromedp.Evaluate[[]string](question, chromedp.EvalAwaitPromise))
		require.NoError(tb.t, err, question)
		for _, f := range found {
			if !said[f] { // the same at another size is told once
				said[f] = true
				wrong = append(wrong, where+": "+f)
			}
		}
	}
	tb.still("light")
	tb.do(chromedp.Evaluate[chromedp.Void]("eyes.unfold()"))
	ask("everywhere", "eyes.hovering()")
	ask("everywhere", "eyes.moving()")
	for i, size := range sizes {
		tb.do(chromedp.EmulateViewport(size.width, size.height))
		if *thorough || i != 1 {
			rules := []string{"all", "size", "size"}[i] // standing, the tablet shows the same as lying
			if *thorough && i == 2 {
				rules = "all"
			}
			ask(size.name, `eyes.axe("`+rules+`")`)
		}
		ask(size.name, "eyes.targets()")
		ask(size.name, "eyes.cut()")
		ask(size.name, "eyes.covered()")
		ask(size.name, "eyes.drawn()")
		if *thorough || i == 0 {
			tb.still("dark")
			ask(size.name+" dark", `eyes.axe("colours")`)
			ask(size.name+" dark", "eyes.drawn()")
			tb.still("light")
		}
	}
	for i, size := range atTwice {
		if !*thorough && i < len(atTwice)-1 {
			continue
		}
		tb.do(chromedp.EmulateViewport(size.width, size.height))
		ask(size.name, "eyes.targets()")
		ask(size.name, "eyes.cut()")
		ask(size.name, "eyes.covered()")
	}
	tb.do(chromedp.EmulateViewport(sizes[0].width, sizes[0].height))
	return wrong
}
