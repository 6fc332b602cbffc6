package main

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

// runLeft is how many steps of the run on the bench can still be tapped off.
const runLeft = ".bench-main .run-card .run-step .tap-finish"

// unsent waits until so many taps, more than one, are said not to be sent yet.
func (tb *tablet) unsent(n int) {
	tb.t.Helper()
	want := fmt.Sprintf("%d taps are not sent yet", n)
	tb.until(want, func() bool { return tb.text(notSent) == want })
}

// knowsRun waits until the tablet could take the run of such steps by itself, and
// keeps that.
func (tb *tablet) knowsRun(steps []models.ID) {
	tb.t.Helper()
	known := fmt.Sprintf(`run-step-%d"`, steps[0])
	tb.until("the run is known", func() bool {
		return promised[bool](tb, fmt.Sprintf(`caches.open("faceside").then(async (c) => (await (await c.match("/bench/ahead"))?.text() ?? "").includes(%q))`, known))
	})
}

// Without the server a run is taken at a station, two of its steps are tapped off,
// the rest is put down, and that is taken back; the journal has it so afterwards.
func TestBrowserRunNotSentYet(t *testing.T) {
	t.Parallel()
	shop, planer, steps := startWithRun(t)
	last := shop.journal(t, 0)
	before := last[len(last)-1].Seq
	tb := newTablet(t, startBrowser(t), shop.address, sized(390, 844))
	tb.awayFrom()
	tb.open("/")
	tb.says("Tobias")
	tb.isReady()
	tb.knowsRun(steps)
	tb.open(fmt.Sprintf("/stations/%d", planer))

	shop.goAway(t)
	tb.isAway()
	tb.press(tb.bring(".offer .run-take"))
	tb.until("the run is on the bench", func() bool { return tb.count(runLeft) == 3 })
	for left := 2; left > 0; left-- {
		tb.atHand(mainOfRun)
		tb.press(mainOfRun)
		tb.until("one is tapped off", func() bool { return tb.count(runLeft) == left })
		assert.Equal(t, fmt.Sprintf("%d of 3 still in hand", left), tb.text(".run-left"))
	}
	assert.Equal(t, 2, tb.count(".run-card .run-step .state-done"))
	next := ".run-step:has(.tap) "
	assert.Equal(t, 1, tb.count(next+".run-more[open]"), "what is next stands open")
	tb.press(tb.bring(next + ".tick-box"))
	assert.Equal(t, 1, tb.count(next+".tick-box[aria-pressed=true]"), "its pieces are tapped off, too")
	assert.Zero(t, tb.count("#stay:not([hidden])"), "that needs no server now")
	tb.shot("offline-run-390x844")
	tb.narrowAndWhole()
	tb.press(tb.bring(".run-card .tap-put-down-run button"))
	tb.until("the run is off the bench", func() bool { return tb.count(".run-card") == 0 })
	tb.unsent(4)
	for _, id := range steps {
		assert.NotEqual(t, fmt.Sprint(id), evaluate[string](tb, `document.querySelector(".bench-main .step-card")?.dataset.step ?? ""`))
	}
	tb.press(tb.bring(".bench-who .tap-undo button"))
	tb.until("one is in hand again", func() bool { return tb.count(runLeft) == 1 })
	assert.Equal(t, 1, tb.count(next+".tick-box[aria-pressed=true]"), "what was tapped off stays so")
	tb.byTheShopsClock(shop)
	assert.Empty(t, shop.journal(t, before))

	shop.comeBack(t)
	tb.isBack()
	tb.until("the server says the same", func() bool { return tb.count(runLeft) == 1 && tb.count(".run-card .state-done") == 2 })
	tb.until("the piece is ticked off", func() bool {
		ticked, err := shop.store.Ticked(t.Context(), steps...)
		require.NoError(t, err)
		return len(ticked) == 1
	})
	kinds := map[models.TapKind]int{}
	for _, row := range shop.journal(t, before) {
		kinds[row.Kind]++
	}
	assert.Equal(t, map[models.TapKind]int{models.TapStart: 3, models.TapFinish: 2, models.TapPutDown: 1, models.TapUndo: 1}, kinds)
}

// byTheShopsClock checks that what is not sent yet is listed by the shop's clock,
// which stands while the tablet's own goes on, and that this is said.
func (tb *tablet) byTheShopsClock(shop *demoServer) {
	tb.t.Helper()
	zone, err := shop.snap(tb.t).Shop.Location()
	require.NoError(tb.t, err)
	var times []string
	for _, later := range []time.Duration{0, time.Minute, 2 * time.Minute} {
		times = append(times, shop.clock.Now().In(zone).Add(later).Format("15:04"))
	}
	assert.Contains(tb.t, times, tb.text("#not-sent .when"))
	assert.Contains(tb.t, tb.text("#not-sent .clocks:not([hidden])"), "By the shop's clock; this tablet's own is ")
}

// A step is taken along in a run in hand while the server is away.
func TestBrowserTakenAlongNotSentYet(t *testing.T) {
	t.Parallel()
	shop, _, steps := startWithRun(t)
	tobias := testrig.Person(t, shop.snap(t), "Tobias")
	shop.tapped(t, models.TapRequest{Kind: models.TapStartRun, Steps: steps[:2], PersonID: tobias})
	tb := newTablet(t, startBrowser(t), shop.address, sized(390, 844))
	tb.awayFrom()
	tb.open("/")
	tb.says("Tobias")
	tb.until("it can be taken along", func() bool { return tb.count(".run-along .tap-join-run") == 1 })
	tb.shot("run-along-390x844")
	tb.isReady()
	shop.goAway(t)
	tb.isAway()
	tb.press(tb.bring(".run-along .tap-join-run button"))
	tb.until("it is in the run", func() bool { return tb.count(runLeft) == 3 })
	assert.Equal(t, "3 of 3 still in hand", tb.text(".run-left"))
	tb.press(tb.bring(fmt.Sprintf("#run-step-%d .tap-finish button", steps[2])))
	tb.until("and tapped off", func() bool { return tb.count(runLeft) == 2 })
	tb.narrowAndWhole()
	shop.comeBack(t)
	tb.isBack()
	tb.until("the server says the same", func() bool { return shop.states(t, steps)[models.Done] == 1 && tb.count(runLeft) == 2 })
	assert.Equal(t, steps, shop.snap(t).RunInHand(tobias).Steps)
}
