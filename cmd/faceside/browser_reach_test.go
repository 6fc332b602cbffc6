package main

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/handlers"
	"faceside/models"
	"faceside/models/planner"
	"faceside/models/testrig"
	"faceside/seed"
	"faceside/static"
)

// beside serves pages of a test's own; at is what a browser calls the machine.
func beside(t *testing.T, at string, handler http.HandlerFunc) string {
	t.Helper()
	s := httptest.NewServer(handler)
	t.Cleanup(s.Close)
	return strings.Replace(s.URL, "127.0.0.1", at, 1)
}

// What the content security policy forbids does not run, and is complained of: the other
// tests in a browser rely on that.
func TestBrowserComplainsOfInlineScript(t *testing.T) {
	t.Parallel()
	shop := startDemo(t, quickWork)
	answer, err := http.Get("http://" + shop.address + "/healthz")
	require.NoError(t, err)
	answer.Body.Close()
	double := beside(t, "127.0.0.1", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Security-Policy", answer.Header.Get("Content-Security-Policy"))
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = io.WriteString(w, `<!doctype html><title>double</title><link rel="icon" href="data:,"><p id="styled" style="color: rgb(255, 0, 0)" onclick="window.ran = 1">x</p>
			<script>window.ran = 1</script><a id="link" href="javascript:void(window.ran = 1)">y</a><iframe src="https://evil.example/"></iframe><script src="https://evil.example/x.js"></script>`)
	})
	tb := newTablet(t, startBrowser(t), strings.TrimPrefix(double, "http://"))
	tb.forgive("Content Security Policy")
	tb.open("/")
	tb.do(chromedp.Evaluate[chromedp.Void](`document.getElementById("styled").click(); document.getElementById("link").click()`))
	for _, what := range []string{"inline script", "inline style", "inline event handler", "https://evil.example/x.js", "Framing"} {
		tb.until("it complains of "+what, func() bool {
			tb.mu.Lock()
			defer tb.mu.Unlock()
			return slices.ContainsFunc(tb.complaints, func(c string) bool {
				return strings.Contains(c, "Content Security Policy") && strings.Contains(c, what)
			})
		})
	}
	assert.True(t, evaluate[bool](tb, `window.ran === undefined`), "and runs none of it")
	assert.NotEqual(t, "rgb(255, 0, 0)", evaluate[string](tb, `getComputedStyle(document.getElementById("styled")).color`))
}

// A link of another site, such as a calendar's on the web, opens its step, and the tablet
// is still the one it was.
func TestBrowserArrivesFromAnotherSite(t *testing.T) {
	t.Parallel()
	shop, tb := benchOf(t, "Maren")
	step := "/steps/" + evaluate[string](tb, `document.querySelector(".bench-main .step-card").dataset.step`) + "?from=calendar"
	elsewhere := beside(t, "localhost", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = fmt.Fprintf(w, `<!doctype html><title>calendar</title><link rel="icon" href="data:,"><a id="entry" href="http://%s%s">Step</a>`, shop.address, step)
	})
	tb.do(chromedp.Navigate(elsewhere))
	tb.until("the other site is there", func() bool { return tb.count("#entry") == 1 })
	tb.do(chromedp.Evaluate[chromedp.Void](`document.getElementById("entry").click()`))
	tb.until("the step is there", func() bool { return tb.count("main .step-card") > 0 })
	assert.Equal(t, step, evaluate[string](tb, `location.pathname + location.search`))
	tb.open("/")
	assert.Equal(t, "Maren", tb.text(".bench-who strong"), "and it is still Maren's")
}

// A tablet whose taps are refused for coming too fast keeps them, and sends each once
// when it may.
func TestBrowserKeepsTapsThatComeTooFast(t *testing.T) {
	t.Parallel()
	d := openDemo(t)
	log := slog.New(slog.NewTextHandler(t.Output(), nil))
	plans := planner.New(d.store, log, planner.Options{Work: quickWork, Seed: 1})
	_, err := plans.Plan(context.Background())
	require.NoError(t, err)
	library, err := seed.Library()
	require.NoError(t, err)
	serving := func(limits handlers.Limits) http.Handler {
		h, err := handlers.New(handlers.Config{Store: d.store, Planner: plans, Library: library, Static: static.Files(), Log: log, Limits: limits})
		require.NoError(t, err)
		return h
	}
	free, strict := serving(handlers.Limits{}), serving(handlers.Limits{Own: handlers.Allowance{PerSecond: 1e-3, AtOnce: 1}})
	var tooFast atomic.Bool
	var refused atomic.Int64
	front := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/tap" && tooFast.Load() {
			refused.Add(1)
			strict.ServeHTTP(w, r)
			return
		}
		free.ServeHTTP(w, r)
	}))
	t.Cleanup(front.CloseClientConnections)
	burnt, err := http.Get(front.URL + "/healthz")
	require.NoError(t, err)
	burnt.Body.Close()
	strict.ServeHTTP(httptest.NewRecorder(), func() *http.Request { // the one request that it lets through
		r := httptest.NewRequest(http.MethodGet, "/healthz", nil)
		r.Host, r.RemoteAddr = "localhost", "127.0.0.1:1"
		return r
	}())

	tb := newTablet(t, startBrowser(t), strings.TrimPrefix(front.URL, "http://"))
	tb.forgive("429")
	tb.open("/")
	tb.says("Maren")
	tb.knowsNext()
	before := journal(t, d.store)
	tooFast.Store(true)
	inHand := tb.text(theStep)
	tb.press(".bench-main .tap-finish button")
	tb.until("the tap is kept", func() bool { return tb.count("#not-sent details:not([hidden])") == 1 })
	tb.until("it was tried again", func() bool { return refused.Load() >= 2 })
	assert.Len(t, journal(t, d.store), len(before), "and none was written")
	tooFast.Store(false)
	tb.until("it is sent", func() bool { return tb.count("#not-sent details:not([hidden])") == 0 })
	after := journal(t, d.store)
	require.Len(t, after, len(before)+1, "once")
	assert.Equal(t, models.TapFinish, after[len(after)-1].Kind)
	tb.until("the next step is there", func() bool { return tb.text(theStep) != inHand })
}

func journal(t *testing.T, store *models.Store) []models.Tap {
	t.Helper()
	taps, err := store.Journal(context.Background(), models.JournalFilter{})
	require.NoError(t, err)
	return taps
}

// No text that people typed runs, whatever it says, on any screen.
func TestBrowserRunsNoText(t *testing.T) {
	t.Parallel()
	clock := testrig.Monday()
	store := testrig.Shop(t, clock)
	texts := testrig.HostileTexts()
	testrig.Written(t, store, texts)
	st := openStage(t, store, clock, clock.Now)
	tb := newTablet(t, startBrowser(t), st.address)
	snap := st.snapshot()
	com, step := snap.Commissions[0].ID, snap.Steps[0].ID
	paths := []string{"/", "/stations", "/gates", "/week", "/week?list=on", "/commissions", "/shop", "/stock", "/times", "/steered", "/patterns", "/sheets",
		fmt.Sprintf("/commissions/%d", com), fmt.Sprintf("/commissions/%d/edit", com), fmt.Sprintf("/commissions/%d/traveller", com), fmt.Sprintf("/commissions/%d/cut-list", com),
		fmt.Sprintf("/steps/%d", step), fmt.Sprintf("/steps/%d/note", step), fmt.Sprintf("/steps/%d/trouble", step), "/stock/boards/1", "/stock/cuts", "/stock/buy"}
	for _, path := range paths {
		tb.open(path)
		require.True(t, evaluate[bool](tb, `window.hostile === undefined && document.querySelector("hostile-element, main iframe, main img[onerror], main svg[onload]") === null`), path)
		require.True(t, evaluate[bool](tb, `location.host === "`+st.address+`"`), path)
		tb.do(chromedp.Evaluate[chromedp.Void](`for (const e of document.querySelectorAll("main *")) { e.dispatchEvent(new MouseEvent("mouseover", { bubbles: true })); e.focus?.(); }`))
		require.True(t, evaluate[bool](tb, `window.hostile === undefined`), "%s, pointed at and focused", path)
	}
}

// The page where a tablet learns to trust the server fits every screen, in both languages.
func TestBrowserPageAboutTrusting(t *testing.T) {
	t.Parallel()
	d := openDemo(t)
	library, err := seed.Library()
	require.NoError(t, err)
	log := slog.New(slog.NewTextHandler(t.Output(), nil))
	handler, err := handlers.New(handlers.Config{Store: d.store, Planner: planner.New(d.store, log, planner.Options{Work: 1}), Library: library, Static: static.Files(), Log: log,
		Trust: &handlers.Trust{Name: "Faceside on bench", Fingerprint: strings.TrimSuffix(strings.Repeat("AB:", 32), ":"), Names: []string{"bench.local", "192.0.2.20"}, Ends: d.start, Port: "8321"}})
	require.NoError(t, err)
	door := httptest.NewServer(handler)
	t.Cleanup(door.Close)
	tb := newTablet(t, startBrowser(t), strings.TrimPrefix(door.URL, "http://"))
	for _, language := range []string{"en", "de"} {
		snap := testrig.Snapshot(t, d.store)
		snap.Shop.Language = language
		require.NoError(t, d.store.SaveShop(context.Background(), snap.Shop))
		tb.everySize(func(size string) {
			tb.open("/trust")
			assert.Equal(t, language, evaluate[string](tb, "document.documentElement.lang"))
			tb.narrowAndWhole()
			tb.largeEnough()
			tb.shot("trust-" + language + "-" + size)
		})
	}
}
