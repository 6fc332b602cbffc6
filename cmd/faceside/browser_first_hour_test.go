package main

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

// seenAt is where the first thing to press stands whose words begin so, the main one
// before others, as they are seen on the screen: what is there only to be read aloud does not count. It is empty
// where there is none, or something covers it.
const seenAt = `((words) => {
	const seen = (e) => {
		const copy = e.cloneNode(true);
		for (const unseen of copy.querySelectorAll(".unseen, [hidden], small")) unseen.remove();
		return copy.textContent.replace(/\s+/g, " ").trim();
	};
	const all = [...document.querySelectorAll("button, a, summary")].filter((e) => e.checkVisibility() && !e.closest(".unseen, [aria-disabled=true], [inert]"));
	const found = all.find((e) => e.matches(".main") && seen(e) === words) ?? all.find((e) => seen(e) === words) ?? all.find((e) => seen(e).startsWith(words));
	if (!found) return [];
	found.scrollIntoView({ block: "center", behavior: "instant" });
	const box = found.getBoundingClientRect(), at = [box.x + box.width / 2, box.y + box.height / 2];
	return found.contains(document.elementFromPoint(...at)) ? at : [];
})(%q)`

// finds waits for something to press that bears these words, or others that do as
// well, and is covered by nothing; it returns where that is.
func (tb *tablet) finds(words ...string) (at []float64) {
	tb.t.Helper()
	tb.until("“"+strings.Join(words, "” or “")+"” is to be seen", func() bool {
		for _, w := range words {
			if at = evaluate[[]float64](tb, fmt.Sprintf(seenAt, w)); len(at) == 2 {
				return true
			}
		}
		return false
	})
	return at
}

// touch presses what bears these words, as somebody does who reads the screen.
func (tb *tablet) touch(words ...string) {
	tb.t.Helper()
	tb.planned()
	tb.taken(func() {
		at := tb.finds(words...)
		tb.do(chromedp.MouseClickXY(at[0], at[1]))
	})
}

// reads waits until the screen says something.
func (tb *tablet) reads(words string) {
	tb.t.Helper()
	tb.until("it says “"+words+"”", func() bool { return strings.Contains(tb.text("main"), words) })
}

// A new maker's first hour: somebody who has never seen the screens says who it is,
// works, thinks better of it, takes a run, has trouble twice, glues up and takes out
// of clamps; what to press is found by its words alone.
func TestBrowserFirstHour(t *testing.T) {
	t.Parallel()
	clock := testrig.Monday()
	store := testrig.Shop(t, clock)
	testrig.Commission(t, store, "Shelf", "2026-03-20")
	joint := testrig.Step(t, testrig.Snapshot(t, store), "joint")
	for _, kind := range []models.TapKind{models.TapStart, models.TapFinish} {
		_, err := store.Tap(t.Context(), models.TapRequest{ID: uuid.NewString(), Kind: kind, StepID: joint.ID, PersonID: testrig.Person(t, testrig.Snapshot(t, store), "Ben")})
		require.NoError(t, err)
		clock.Step(10 * time.Minute)
	}
	testrig.Commission(t, store, "Shelf for the hall", "2026-03-20")
	tb := newTablet(t, startBrowser(t), serveSmall(t, store), sized(800, 1280))
	tb.open("/")
	tb.reads("Who is at this tablet?")
	tb.shot("first-hour-who")
	tb.touch("Ana")
	tb.reads("At this tablet: Ana")

	firstStep(tb, clock)
	firstRun(tb, clock, store)
	firstTrouble(tb, clock)
	firstGlueUp(tb, clock)
}

// firstStep takes a step, finishes it, takes that back, and finishes it after all.
func firstStep(tb *tablet, clock *testrig.Clock) {
	tb.t.Helper()
	tb.reads("Joint a face and an edge")
	tb.shot("first-hour-bench")
	tb.touch("Start")
	tb.until("it is in hand", func() bool { return tb.text(theState) == "in hand" })
	clock.Step(5 * time.Minute)
	tb.touch("Finish")
	tb.finds("Start", "Take up again")
	tb.touch("Undo: finished Joint a face and an edge")
	tb.finds("Put down")
	assert.Equal(tb.t, "Joint a face and an edge", tb.text(theStep), "taken back, it is in hand again")
	tb.touch("Finish")
	tb.finds("Start")
	tb.until("there is another step", func() bool { return tb.text(theStep) != "Joint a face and an edge" })
}

// firstRun takes what the planer is set for as one run, taps off two of it and puts
// the rest down.
func firstRun(tb *tablet, clock *testrig.Clock, store *models.Store) {
	tb.t.Helper()
	tb.reads("While it is set like this")
	tb.shot("first-hour-run-offer")
	tb.touch("Take as one run")
	tb.reads("4 of 4 still in hand")
	for _, left := range []string{"3 of 4 still in hand", "2 of 4 still in hand"} {
		clock.Step(5 * time.Minute)
		tb.touch("Finish")
		tb.reads(left)
	}
	tb.shot("first-hour-run")
	tb.touch("Put the run down")
	tb.finds("Take up again")
	states := map[models.StepState]int{}
	for _, st := range testrig.Snapshot(tb.t, store).Steps {
		if st.Key == "plane" || st.Key == "plane-rails" {
			states[st.State]++
		}
	}
	assert.Equal(tb.t, map[models.StepState]int{models.Done: 2, models.PutDown: 2}, states)
}

// firstTrouble says that a step takes longer, then that something is missing for it;
// each takes two taps.
func firstTrouble(tb *tablet, clock *testrig.Clock) {
	tb.t.Helper()
	tb.touch("Take up again")
	tb.finds("Finish")
	name := tb.text(theStep)
	tb.touch("Trouble")
	tb.reads("Trouble with")
	tb.reads(name)
	tb.shot("first-hour-trouble")
	tb.touch("+15 min")
	tb.reads("What it does to the promises")
	tb.touch("Back to the bench")
	tb.finds("Finish")
	require.Equal(tb.t, name, tb.text(theStep), "it is in hand still")

	tb.touch("Trouble")
	tb.reads("Hardware or stock is missing")
	tb.touch("Hold this step")
	tb.reads("not planned until it is there")
	tb.shot("first-hour-told")
	tb.touch("Back to the bench")
	tb.reads("something is missing")
	clock.Step(10 * time.Minute)
	tb.touch("It is there now")
	tb.until("it is held no more", func() bool { return !strings.Contains(tb.text("main"), "something is missing") })
}

// firstGlueUp does what comes next until a glue-up is closed, sees it count down on
// Gates, and takes it out when its time is over.
func firstGlueUp(tb *tablet, clock *testrig.Clock) {
	tb.t.Helper()
	for name := ""; name != "Glue up the panel"; {
		if tb.text(theState) != "in hand" {
			tb.touch("Start", "Take up again")
			tb.until("it is in hand", func() bool { return tb.text(theState) == "in hand" })
		}
		name = tb.text(theStep)
		clock.Step(5 * time.Minute)
		tb.touch("Finish")
		tb.until("there is another step", func() bool { return tb.text(theState) != "in hand" })
	}
	tb.reads("In clamps or drying")
	tb.touch("Gates")
	tb.reads("1 h left")
	tb.shot("first-hour-gates")
	clock.Step(61 * time.Minute)
	tb.touch("Gates")
	tb.reads("time is over")
	tb.until("the tablet says so", func() bool {
		return strings.Contains(tb.text("#rest-said:not([hidden])"), "Can come out of clamps: Glue up the panel")
	})
	tb.shot("first-hour-out")
	tb.touch("Seen")
	tb.touch("Out of clamps")
	tb.reads("Nothing is in clamps, drying or resting.")
	tb.touch("Bench")
	tb.reads("Undo: took out Glue up the panel")
}
