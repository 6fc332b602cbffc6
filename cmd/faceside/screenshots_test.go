package main

import (
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

var (
	shotsFolder = flag.String("shots", "", "`FOLDER` for pictures of every screen in every state, at every size, light and dark")
	shotReadme  = flag.Bool("readme", false, "take the README's picture anew")
)

// readmePicture is the README's picture, of the bench.
const readmePicture = "../../static/readme/bench.png"

// greatestPicture is how large the README's picture may be, in bytes.
const greatestPicture = 200 << 10

// pictureWork is a planner's budget that gives a plan worth looking at.
const pictureWork = 20_000

// TestScreenshots takes pictures, and only when it is asked to:
//
//	go test ./cmd/faceside -run TestScreenshots -shots /tmp/shots
//	go test ./cmd/faceside -run TestScreenshots -readme
func TestScreenshots(t *testing.T) {
	if *shotsFolder == "" && !*shotReadme {
		t.Skip("takes pictures with -shots FOLDER, or the README's with -readme")
	}
	shop := startDemo(t, pictureWork)
	browser := startBrowser(t)
	if *shotReadme {
		tb := newTablet(t, browser, shop.address)
		tb.open("/")
		tb.says("Tobias")
		tb.picture(readmePicture)
		info, err := os.Stat(readmePicture)
		require.NoError(t, err)
		require.Less(t, info.Size(), int64(greatestPicture), "the picture is too large for the README")
	}
	if *shotsFolder == "" {
		return
	}
	require.NoError(t, os.MkdirAll(*shotsFolder, 0o755))
	for name, show := range plays {
		t.Run(name, func(t *testing.T) { show(&play{t: t, browser: browser, look: pictures}) })
	}
}

// pictures takes what is on a tablet at every size, light and dark.
func pictures(tb *tablet, name string) {
	tb.t.Helper()
	tb.everySize(func(size string) {
		for _, scheme := range []string{"light", "dark"} {
			tb.still(scheme)
			tb.picture(filepath.Join(*shotsFolder, safe(name)+"-"+size+"-"+scheme+".png"))
		}
	})
}

// picture saves what is on the screen.
func (tb *tablet) picture(file string) {
	tb.t.Helper()
	tb.until("the fonts are there", func() bool { return evaluate[string](tb, "document.fonts.status") == "loaded" })
	data, err := chromedp.Run(tb.page, chromedp.CaptureScreenshot())
	require.NoError(tb.t, err)
	require.NoError(tb.t, os.MkdirAll(filepath.Dir(file), 0o755))
	require.NoError(tb.t, os.WriteFile(file, data, 0o644))
}
