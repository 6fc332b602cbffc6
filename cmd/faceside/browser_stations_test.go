package main

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

// handsFree finishes what is in hand.
func (d *demoServer) handsFree(t *testing.T) {
	t.Helper()
	for _, st := range d.snap(t).Steps {
		if st.State == models.InHand {
			d.tapped(t, models.TapRequest{Kind: models.TapFinish, StepID: st.ID, PersonID: *st.PersonID})
		}
	}
}

// makeReady does everything before some steps.
func (d *demoServer) makeReady(t *testing.T, steps []models.ID) {
	t.Helper()
	snap := d.snap(t)
	made := map[models.ID]bool{}
	var before func(step models.ID)
	before = func(step models.ID) {
		for _, link := range snap.Before(step) {
			id := link.BeforeID
			if made[id] || snap.Step(id).State == models.Done {
				continue
			}
			before(id)
			made[id] = true
			d.tapped(t, models.TapRequest{Kind: models.TapStart, StepID: id, PersonID: 1})
			d.clock.Set(d.clock.Now().Add(time.Minute))
			d.tapped(t, models.TapRequest{Kind: models.TapFinish, StepID: id, PersonID: 1})
		}
	}
	for _, id := range steps {
		before(id)
	}
}

// startWithRun serves a demo shop in which nobody has anything in hand and three
// steps of one setup are ready at the planer.
func startWithRun(t *testing.T) (shop *demoServer, planer models.ID, steps []models.ID) {
	t.Helper()
	shop = openDemo(t)
	shop.handsFree(t)
	planer, steps = shop.wanting(t, "Planer", `thickness 3/4"`)
	require.GreaterOrEqual(t, len(steps), 3)
	steps = steps[:3]
	shop.makeReady(t, steps)
	shop.begin(t, quickWork)
	return shop, planer, steps
}

// states counts the states that some steps are in.
func (d *demoServer) states(t *testing.T, steps []models.ID) map[models.StepState]int {
	t.Helper()
	snap := d.snap(t)
	states := map[models.StepState]int{}
	for _, id := range steps {
		states[snap.Step(id).State]++
	}
	return states
}

// wanting lists the steps that want a setup of a station, by its name.
func (d *demoServer) wanting(t *testing.T, station, setup string) (at models.ID, steps []models.ID) {
	t.Helper()
	snap := d.snap(t)
	for _, s := range snap.Setups {
		if s.State != setup || snap.Station(s.StationID).Name != station {
			continue
		}
		for _, st := range snap.Steps {
			if st.SetupID != nil && *st.SetupID == s.ID && st.State == models.Todo {
				steps = append(steps, st.ID)
			}
		}
		return s.StationID, steps
	}
	require.Failf(t, "no such setup", "%s at %s", setup, station)
	return 0, nil
}

// mainOfRun finishes the step of a run that is next.
const mainOfRun = ".run-card > .actions .tap-main button"

// atHand fails where something to tap is not on the screen as it is, large enough for a
// thumb, and under nothing else.
func (tb *tablet) atHand(selector string) {
	tb.t.Helper()
	wrong := evaluate[string](tb, fmt.Sprintf(`(() => {
		window.scrollTo({ top: 0, behavior: "instant" });
		const e = document.querySelector(%q), r = e.getBoundingClientRect();
		if (r.height < 64 || r.width < 64) return "it is " + r.width + " by " + r.height;
		if (r.top < 0 || r.bottom > innerHeight) return "it reaches from " + r.top + " to " + r.bottom + " of " + innerHeight;
		const over = document.elementFromPoint(r.left + r.width / 2, r.top + r.height / 2);
		return e.contains(over) ? "" : "under " + over.outerHTML.slice(0, 80);
	})()`, selector))
	assert.Empty(tb.t, wrong, "%s at the beginning of %s", selector, evaluate[string](tb, "location.pathname"))
}

// A maker takes a run from a station, taps off two of its steps, puts the rest
// down, and takes that back; the other tablet follows. What is to be tapped is at hand
// on a tablet and on a phone.
func TestBrowserRun(t *testing.T) {
	t.Parallel()
	for _, size := range sizes {
		t.Run(size.name, func(t *testing.T) { runOn(t, size.name, sized(size.width, size.height)) })
	}
}

func runOn(t *testing.T, size string, screen tabletOption) {
	shop, planer, steps := startWithRun(t)
	browser := startBrowser(t)
	other := newTablet(t, browser, shop.address)
	other.open("/")
	other.says("Maren")
	tb := newTablet(t, browser, shop.address, screen)
	looksWell := func(name string) {
		t.Helper()
		tb.shot(name + "-" + size)
		tb.narrowAndWhole()
	}
	tb.open("/")
	tb.says("Tobias")
	tb.open(fmt.Sprintf("/stations/%d", planer))
	looksWell("station-offer")
	assert.Equal(t, 3, tb.count(".offer .run-pick input:checked"))
	assert.Contains(t, tb.text(".offer .lead"), "of work")
	tb.pressThrough(tb.bring(".offer .run-take"))
	tb.until("the run is in hand", func() bool { return tb.count(runLeft) == 3 })
	looksWell("run")
	other.until("the other tablet shows the run", func() bool { return strings.Contains(other.text(theOthers), "in a run of 3 steps") })

	places := `[...document.querySelectorAll(".run-step .row-name")].map(e => e.getAttribute("href")).join()`
	order := evaluate[string](tb, places)
	for n := 2; n > 0; n-- {
		tb.atHand(mainOfRun)
		tb.press(mainOfRun)
		tb.until("one is tapped off", func() bool { return tb.count(runLeft) == n })
	}
	assert.Equal(t, order, evaluate[string](tb, places), "what is tapped off keeps its place")
	looksWell("run-tapped")
	tb.planned()
	tb.press(tb.bring(".run-card .tap-put-down-run button"))
	tb.until("the run is put down", func() bool { return tb.count(".run-card") == 0 })
	assert.Equal(t, map[models.StepState]int{models.Done: 2, models.PutDown: 1}, shop.states(t, steps))
	for _, back := range []string{"the last is in hand again", "the second is", "the first is"} {
		had := tb.count(runLeft)
		tb.planned()
		tb.press(tb.bring(".bench-who .tap-undo button"))
		tb.until(back, func() bool { return tb.count(runLeft) == had+1 })
	}
	tb.planned()
	tb.press(tb.bring(".bench-who .tap-undo button"))
	tb.until("the run is taken back", func() bool { return tb.count(".run-card") == 0 })
	assert.Equal(t, map[models.StepState]int{models.Todo: 3}, shop.states(t, steps))
}

// Beside a single step in hand what wants the same setup is taken along, on a phone and
// without the server too.
func TestBrowserTakenAlongWithASingleStep(t *testing.T) {
	t.Parallel()
	shop, _, steps := startWithRun(t)
	tobias := testrig.Person(t, shop.snap(t), "Tobias")
	shop.tapped(t, models.TapRequest{Kind: models.TapStart, StepID: steps[0], PersonID: tobias})
	tb := newTablet(t, startBrowser(t), shop.address, sized(390, 844))
	tb.awayFrom()
	tb.open("/")
	tb.says("Tobias")
	along := "section[aria-labelledby=run] .tap-join-run button"
	tb.until("it is offered", func() bool { return tb.count(along) == 2 })
	tb.narrowAndWhole()
	tb.largeEnough()
	tb.shot("single-along-390x844")
	tb.press(tb.bring(along))
	tb.until("both are a run", func() bool { return tb.count(runLeft) == 2 })
	tb.atHand(mainOfRun)
	tb.press(tb.bring(".bench-who .tap-undo button"))
	tb.until("it is a single step again", func() bool { return tb.count(".run-card") == 0 && tb.count(along) == 2 })

	tb.isReady()
	tb.knowsRun(steps)
	shop.goAway(t)
	tb.isAway()
	tb.press(tb.bring(along))
	tb.until("both are a run", func() bool { return tb.count(runLeft) == 2 })
	assert.Equal(t, "2 of 2 still in hand", tb.text(".run-left"))
	tb.press(tb.bring(".run-along .tap-join-run button"))
	tb.until("the last comes along, too", func() bool { return tb.count(runLeft) == 3 })
	tb.atHand(mainOfRun)
	tb.shot("single-along-offline-390x844")
	tb.press(mainOfRun)
	tb.until("one is tapped off", func() bool { return tb.count(runLeft) == 2 })
	tb.narrowAndWhole()
	shop.comeBack(t)
	tb.isBack()
	tb.until("the server says the same", func() bool { return shop.states(t, steps)[models.Done] == 1 && tb.count(runLeft) == 2 })
	assert.Len(t, shop.snap(t).RunInHand(tobias).Steps, 3)
}

// A station goes out of order: the plan follows, and the promises are told; it
// comes back, and that is taken back.
func TestBrowserStationOutOfOrder(t *testing.T) {
	t.Parallel()
	shop := startDemo(t, quickWork)
	planer, steps := shop.wanting(t, "Planer", `thickness 3/4"`)
	browser := startBrowser(t)
	list := newTablet(t, browser, shop.address, sized(390, 844))
	list.open("/stations")
	list.shot("stations-390x844")
	tb := newTablet(t, browser, shop.address)
	tb.open("/stations")
	tb.shot("stations-1280x800")
	tb.open("/")
	tb.says("Maren")
	tb.open(fmt.Sprintf("/stations/%d", planer))
	tb.press(".to-down")
	tb.until("the trouble of a station is asked about, from the top of its screen", func() bool { return evaluate[bool](tb, `document.querySelector("#down").open`) })
	tb.fill("#down textarea", "since the walnut")
	tb.press("#down .do-down")
	tb.until("it says why", func() bool {
		return strings.Contains(tb.text(".station-down"), "says Maren: Blade dull: since the walnut.")
	})
	assert.False(t, evaluate[bool](tb, `document.querySelector("#down").checkVisibility()`), "it is not asked again")
	assert.False(t, evaluate[bool](tb, `document.querySelector(".to-down").checkVisibility()`), "nor led to")
	list.until("the list follows", func() bool { return strings.Contains(list.text("#stations"), "Blade dull: since the walnut") })
	tb.until("what became of the promises is told", func() bool {
		return tb.count("#promises-moved") == 1 && !strings.Contains(tb.text("section[aria-labelledby=promises-moved]"), "being made anew")
	})
	tb.shot("station-down-1280x800")
	snap := shop.snap(t)
	tomorrow := shop.start.Add(12 * time.Hour)
	for _, id := range steps {
		assert.True(t, snap.Planned(id).Start.After(tomorrow), "the plan has followed: nothing is planned there today")
	}
	tb.press("#station .tap-up button")
	tb.until("it is in order again", func() bool { return tb.count(".station-down") == 0 })
	list.until("the list follows that", func() bool { return list.count(".station-down") == 0 })
	tb.press("#station .tap-undo button")
	tb.until("it is out of order after all", func() bool { return strings.Contains(tb.text(".station-down"), "Blade dull") })
	tb.press("#station .tap-undo button")
	tb.until("it was never out of order", func() bool { return tb.count(".station-down") == 0 })

	tb.press(".set-buttons .tap-set button")
	tb.until("it is tapped how it stands", func() bool { return strings.Contains(tb.text(".station-set"), "tapped by Maren") })
	assert.Equal(t, 1, tb.count(".set-current"))
	tb.shot("station-1280x800")
	tb.open("/times")
	tb.shot("times-1280x800")
	assert.Positive(t, tb.count(".time-table tbody tr"))
}
