package main

import (
	"context"
	"io"
	"log/slog"
	"net"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/planner"
	"faceside/models/testrig"
)

// startGlueUp serves a small shop on a clock that stands, whose next step is to glue
// up a panel.
func startGlueUp(t *testing.T) (address string, clock *testrig.Clock) {
	t.Helper()
	clock = testrig.Monday()
	store := testrig.Shop(t, clock)
	testrig.Commission(t, store, "Shelf", "2026-03-20")
	ana := testrig.Person(t, testrig.Snapshot(t, store), "Ana")
	for _, key := range []string{"joint", "plane", "plane-rails", "rip"} {
		st := testrig.Step(t, testrig.Snapshot(t, store), key)
		for _, kind := range []models.TapKind{models.TapStart, models.TapFinish} {
			_, err := store.Tap(t.Context(), models.TapRequest{ID: uuid.NewString(), Kind: kind, StepID: st.ID, PersonID: ana})
			require.NoError(t, err)
			clock.Step(10 * time.Minute)
		}
	}
	return serveSmall(t, store), clock
}

// serveSmall serves a small shop until the test is over; its plan is there before
// the first page is.
func serveSmall(t *testing.T, store *models.Store) (address string) {
	t.Helper()
	log := slog.New(slog.NewTextHandler(t.Output(), nil))
	budget := planner.Options{Work: quickWork, Seed: 1}
	_, err := planner.New(store, log, budget).Plan(context.Background())
	require.NoError(t, err)
	address, stop := startProgram(t, func(ctx context.Context, stdout io.Writer) error {
		listener, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			return err
		}
		return serveStore(ctx, served{store: store, listener: listener, out: stdout, notes: io.Discard, planner: budget, log: log})
	})
	t.Cleanup(func() { require.NoError(t, stop()) })
	return address
}

// A glue-up closed on the Bench is on Gates, counts down and has its clamps off the
// rack; when its time is over every tablet says so once; out of its clamps, the rack
// is whole again.
func TestBrowserGates(t *testing.T) {
	t.Parallel()
	address, clock := startGlueUp(t)
	browser := startBrowser(t)
	gates := newTablet(t, browser, address, sized(800, 1280))
	gates.open("/gates")
	gates.until("the gate is there", func() bool { return gates.count(".gate") > 0 })
	assert.Equal(t, "Glue up the panel", gates.text(".gate-name"))
	assert.Equal(t, "10 of 10 hang free", gates.text(".rack-free"))

	ana := newTablet(t, browser, address)
	ana.open("/")
	ana.says("Ana")
	require.Equal(t, "Glue up the panel", ana.text(theStep))
	ana.press(".bench-main .tap-start button")
	ana.until("it is in hand", func() bool { return ana.text(theState) == "in hand" })
	gates.until("its clamps are off the rack", func() bool { return gates.text(".rack-free") == "5 of 10 hang free" })
	clock.Step(30 * time.Minute)
	ana.press(".bench-main .tap-finish button")

	gates.until("it is in clamps, and its hour runs", func() bool { return gates.text(".rest .countdown") == "1 h left" })
	assert.Equal(t, 5, gates.count(".rack-class:first-of-type .rk-out"))
	wide := evaluate[float64](gates, `document.querySelector(".rest .countdown").getBoundingClientRect().width`)
	gates.do(chromedp.Evaluate[chromedp.Void]("Date.now = (now => () => now() + 60500)(Date.now)"))
	gates.until("it ticks", func() bool { return gates.text(".rest .countdown") == "59 min left" })
	assert.InDelta(t, wide, evaluate[float64](gates, `document.querySelector(".rest .countdown").getBoundingClientRect().width`), 0.5, "nothing moves")
	assert.Zero(t, gates.count("#rest-said:not([hidden])"))

	clock.Step(61 * time.Minute)
	gates.open("/gates")
	gates.until("its time is over", func() bool { return gates.count(".rest.over") == 1 })
	gates.until("the tablet says so", func() bool {
		return gates.text("#rest-said:not([hidden]) li") == "Can come out of clamps: Glue up the panel Shelf"
	})
	assert.Equal(t, "5 of 10 hang free", gates.text(".rack-free"), "nobody took them off")
	gates.press("#rest-said button")
	gates.until("it is seen", func() bool { return gates.count("#rest-said[hidden]") == 1 })
	gates.open("/gates")
	gates.until("what is at rest is known again", func() bool { return gates.count("#resting li") == 1 })
	assert.Zero(t, gates.count("#rest-said:not([hidden])"), "once is enough")
	other := newTablet(t, browser, address)
	other.open("/week")
	other.until("another tablet says it, wherever it is", func() bool { return other.count("#rest-said:not([hidden]) li") == 1 })

	gates.open("/")
	gates.says("Ben")
	gates.open("/gates")
	gates.press(".rest .tap-out button")
	gates.until("the rack is whole", func() bool { return gates.text(".rack-free") == "10 of 10 hang free" })
	gates.until("nothing is at rest", func() bool { return gates.count(".rest") == 0 })
}

// A countdown that comes to its end fetches the screen anew.
func TestBrowserCountdownEnds(t *testing.T) {
	t.Parallel()
	address, clock := startGlueUp(t)
	tb := newTablet(t, startBrowser(t), address)
	tb.open("/")
	tb.says("Ana")
	tb.press(".bench-main .tap-start button")
	tb.until("it is in hand", func() bool { return tb.text(theState) == "in hand" })
	tb.press(".bench-main .tap-finish button")
	tb.until("it is in clamps", func() bool { return tb.count(".rest .countdown") == 1 })
	clock.Step(time.Hour - 2*time.Second)
	tb.open("/")
	tb.until("the last seconds are counted", func() bool {
		return tb.text(".rest .countdown") == "0:01 left" || tb.text(".rest .countdown") == "0:02 left"
	})
	clock.Step(5 * time.Second)
	tb.until("its time is over without anybody's doing", func() bool { return tb.count(".rest.over") == 1 })
	tb.until("the tablet says so", func() bool { return tb.count("#rest-said:not([hidden]) li") == 1 })
}

// The chime is a person's to allow, on each tablet; allowed, it is remembered.
func TestBrowserChime(t *testing.T) {
	t.Parallel()
	address, _ := startGlueUp(t)
	tb := newTablet(t, startBrowser(t), address)
	tb.open("/gates")
	tb.until("it can be allowed", func() bool { return tb.text("#chime [data-chime=off]:not([hidden])") != "" })
	assert.Zero(t, evaluate[int](tb, `window.tones = 0, AudioContext.prototype.createOscillator = (old => function () { window.tones++; return old.call(this) })(AudioContext.prototype.createOscillator), window.tones`))
	tb.press("#chime [data-chime-set=on]")
	tb.until("it sounds as an example", func() bool { return evaluate[int](tb, "window.tones") == 2 })
	tb.open("/gates")
	tb.until("it is remembered", func() bool { return tb.text("#chime [data-chime=on]:not([hidden])") != "" })
	tb.press("#chime [data-chime-set=off]")
	tb.until("it can be taken back", func() bool { return tb.text("#chime [data-chime=off]:not([hidden])") != "" })
	assert.Equal(t, "off", evaluate[string](tb, `localStorage.getItem("faceside-chime")`))
}

// Without script the time of the end and what is left stand there all the same, and
// taps are plain forms.
func TestBrowserGatesWithoutScript(t *testing.T) {
	t.Parallel()
	address, _ := startGlueUp(t)
	tb := newTablet(t, startBrowser(t), address, withoutScript, sized(390, 844))
	tb.open("/")
	tb.says("Ana")
	tb.open("/gates")
	tb.pressThrough(".gate .tap-start button")
	assert.Equal(t, "5 of 10 hang free", tb.text(".rack-free"))
	tb.open("/")
	tb.pressThrough(".bench-main .tap-finish button")
	tb.open("/gates")
	assert.Contains(t, tb.text(".rest"), "until ")
	assert.Equal(t, "1 h left", tb.text(".rest .countdown"))
	assert.Zero(t, tb.count("#chime:not([hidden])"), "no sound without script")
	tb.narrowAndWhole()
}
