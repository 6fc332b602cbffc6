package models_test

import (
	"context"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestStepFromStartToDone(t *testing.T) {
	b := newBench(t)
	start := b.clock.Now()

	r := b.tap(models.TapStart, "joint", b.ana)
	assert.Equal(t, models.InHand, r.Step.State)
	assert.Equal(t, start, *r.Step.StartedAt)
	b.clock.Step(12 * time.Minute)
	b.tap(models.TapPutDown, "joint", b.ana)
	b.clock.Step(time.Hour)
	b.tap(models.TapStart, "joint", b.ben)
	b.clock.Step(5 * time.Minute)
	b.tap(models.TapFinish, "joint", b.ana) // for Ben: the shop is small

	step := b.step("joint")
	assert.Equal(t, models.Done, step.State)
	assert.Equal(t, b.ben, *step.PersonID)
	assert.Equal(t, start, *step.StartedAt)
	assert.Nil(t, step.TakenAt)
	assert.Equal(t, 17*60, step.Worked)
	assert.Equal(t, b.clock.Now(), *step.FinishedAt)
	assert.Equal(t, b.clock.Now(), *step.DoneAt)

	taps, err := b.store.Journal(context.Background(), models.JournalFilter{StepID: step.ID})
	require.NoError(t, err)
	require.Len(t, taps, 4)
	assert.Equal(t, b.ana, taps[3].PersonID, "the row says who tapped")
}

func TestRestOfGlueUp(t *testing.T) {
	b := newBench(t)
	b.do("joint", "plane", "rip", "glue-panel")
	glued := b.step("glue-panel")
	assert.Equal(t, models.AtRest, glued.State)
	assert.Equal(t, b.clock.Now().Add(time.Hour), *glued.RestEndsAt)
	assert.Nil(t, glued.DoneAt)

	_, err := b.try(models.TapStart, "trim", b.ana)
	refused(t, err, models.Conflict, "“Trim the panel” is not ready. It waits until 10:30: “Glue up the panel” is in clamps.")

	b.clock.Step(time.Hour) // out of clamps by the clock, but the lag runs
	_, err = b.try(models.TapStart, "trim", b.ana)
	refused(t, err, models.Conflict, "“Trim the panel” is not ready. It waits until 10:30: “Glue up the panel” rested until 9:30.")

	b.clock.Step(time.Hour) // nobody tapped it out, and nobody has to
	b.tap(models.TapStart, "trim", b.ana)
	b.tap(models.TapOut, "glue-panel", b.ben)
	assert.Equal(t, models.Done, b.step("glue-panel").State)
	assert.Equal(t, b.clock.Now(), *b.step("glue-panel").DoneAt)
}

func TestTroubleAndSettled(t *testing.T) {
	b := newBench(t)
	step := b.step("joint")
	b.tap(models.TapStart, "joint", b.ana)
	b.clock.Step(10 * time.Minute)
	_, err := b.store.Tap(context.Background(), models.TapRequest{ID: b.id(), Kind: models.TapTrouble, StepID: step.ID, PersonID: b.ana, Note: "knot torn out"})
	require.NoError(t, err)
	got := b.step("joint")
	assert.Equal(t, models.InTrouble, got.State)
	assert.Equal(t, "knot torn out", got.Trouble)
	assert.Equal(t, 600, got.Worked)

	_, err = b.try(models.TapStart, "joint", b.ben)
	refused(t, err, models.Conflict, "“Joint a face and an edge” is in trouble (knot torn out): settle that first.")
	_, err = b.try(models.TapStart, "plane", b.ben)
	refused(t, err, models.Conflict, "“Plane the boards” is not ready. It waits for “Joint a face and an edge”, which is in trouble.")

	b.tap(models.TapSettled, "joint", b.ben)
	assert.Equal(t, models.PutDown, b.step("joint").State)
	assert.Empty(t, b.step("joint").Trouble)

	b.tap(models.TapTrouble, "sand", b.ana) // nobody has begun it
	b.tap(models.TapSettled, "sand", b.ana)
	assert.Equal(t, models.Todo, b.step("sand").State)
}

func TestStartSetsTheStation(t *testing.T) {
	b := newBench(t)
	b.do("joint")
	assert.Nil(t, testrig.Station(t, b.snap(), "planer").SetupID)
	start := b.tap(models.TapStart, "plane", b.ana)
	planer := testrig.Station(t, b.snap(), "planer")
	require.NotNil(t, planer.SetupID)
	assert.Equal(t, "thickness 22 mm", b.snap().Setup(*planer.SetupID).State)

	_, err := b.undo(start.Tap.Seq, b.ana)
	require.NoError(t, err)
	assert.Nil(t, testrig.Station(t, b.snap(), "planer").SetupID, "as unknown as before")
}

func TestSetTap(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	snap := b.snap()
	planer, saw := testrig.Station(t, snap, "planer"), testrig.Station(t, snap, "table-saw")
	var thickness, fence models.ID
	for _, s := range snap.Setups {
		if s.StationID == planer.ID {
			thickness = s.ID
		} else {
			fence = s.ID
		}
	}
	set := func(station, setup models.ID) (models.TapResult, error) {
		return b.store.Tap(ctx, models.TapRequest{ID: b.id(), Kind: models.TapSet, StationID: station, SetupID: setup, PersonID: b.ana})
	}
	first, err := set(planer.ID, thickness)
	require.NoError(t, err)
	assert.Nil(t, first.Step)
	assert.Equal(t, thickness, *testrig.Station(t, b.snap(), "planer").SetupID)

	second, err := set(planer.ID, 0) // somebody turned the wheel
	require.NoError(t, err)
	assert.Nil(t, testrig.Station(t, b.snap(), "planer").SetupID)

	_, err = b.undo(first.Tap.Seq, b.ana)
	refused(t, err, models.Conflict, "Planer was set again since, at 8:30.")
	_, err = b.undo(second.Tap.Seq, b.ana)
	require.NoError(t, err)
	assert.Equal(t, thickness, *testrig.Station(t, b.snap(), "planer").SetupID)
	_, err = b.undo(second.Tap.Seq, b.ana)
	refused(t, err, models.Conflict, "That tap for Planer was taken back already.")

	_, err = set(saw.ID, thickness)
	refused(t, err, models.Invalid, "“thickness 22 mm” is no setup of Table saw.")
	_, err = set(99, fence)
	refused(t, err, models.NotFound, "There is no station with number 99.")
	_, err = set(planer.ID, 99)
	refused(t, err, models.NotFound, "There is no setup with number 99.")
}

func TestSameIDIsOneTap(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	said := b.clock.Now().Add(-3 * time.Second).In(time.FixedZone("tablet", 3600))
	r := models.TapRequest{ID: "a2f6", Kind: models.TapStart, StepID: b.step("joint").ID, PersonID: b.ana, Tablet: "t9", SaidAt: &said}
	one, err := b.store.Tap(ctx, r)
	require.NoError(t, err)
	assert.False(t, one.Repeated)
	before := b.snap().Shop.Revision

	b.clock.Step(time.Minute)
	two, err := b.store.Tap(ctx, r)
	require.NoError(t, err)
	assert.True(t, two.Repeated)
	assert.Equal(t, one.Tap, two.Tap)
	assert.Equal(t, said.UTC(), *two.Tap.SaidAt)
	assert.Equal(t, models.InHand, two.Step.State)
	assert.Equal(t, before, b.snap().Shop.Revision, "nothing was changed")

	r.Kind = models.TapFinish
	_, err = b.store.Tap(ctx, r)
	refused(t, err, models.Conflict, `The tap id "a2f6" already stands for another tap.`)
}

func TestRefusedTaps(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	gone, err := b.store.SavePerson(ctx, models.Person{Name: "Cleo"})
	require.NoError(t, err)
	joint, plane := b.step("joint").ID, b.step("plane").ID
	long := make([]byte, 1001)
	for i := range long {
		long[i] = 'x'
	}
	for _, c := range []struct {
		name     string
		tap      models.TapRequest
		code     models.Code
		sentence string
	}{
		{"no id", models.TapRequest{Kind: models.TapStart, StepID: joint, PersonID: b.ana}, models.Invalid, `A tap needs an id of 1 to 64 characters, not "".`},
		{"no such kind", models.TapRequest{ID: "x", Kind: "begin", StepID: joint, PersonID: b.ana}, models.Invalid, `There is no tap of the kind "begin".`},
		{"no person", models.TapRequest{ID: "x", Kind: models.TapStart, StepID: joint}, models.Invalid, "Say who you are first: the tap names no person."},
		{"no step", models.TapRequest{ID: "x", Kind: models.TapStart, PersonID: b.ana}, models.Invalid, "The tap (start) names no step."},
		{"no station", models.TapRequest{ID: "x", Kind: models.TapSet, PersonID: b.ana}, models.Invalid, "The tap (set) names no station."},
		{"nothing to undo", models.TapRequest{ID: "x", Kind: models.TapUndo, PersonID: b.ana}, models.Invalid, "The undo names no tap to take back."},
		{"long note", models.TapRequest{ID: "x", Kind: models.TapTrouble, StepID: joint, PersonID: b.ana, Note: string(long)}, models.Invalid, "The note has 1001 characters; at most 1000 can be kept."},
		{"bytes for a note", models.TapRequest{ID: "x", Kind: models.TapTrouble, StepID: joint, PersonID: b.ana, Note: "\xff"}, models.Invalid, "The note is not text."},
		{"unknown person", models.TapRequest{ID: "x", Kind: models.TapStart, StepID: joint, PersonID: 99}, models.NotFound, "There is no person with number 99."},
		{"person left", models.TapRequest{ID: "x", Kind: models.TapStart, StepID: joint, PersonID: gone.ID}, models.Invalid, "Cleo is not among those who work here now."},
		{"unknown step", models.TapRequest{ID: "x", Kind: models.TapStart, StepID: 99, PersonID: b.ana}, models.NotFound, "There is no step with number 99."},
		{"unknown tap", models.TapRequest{ID: "x", Kind: models.TapUndo, Undoes: 99, PersonID: b.ana}, models.NotFound, "There is no tap with number 99."},
		{"waiting", models.TapRequest{ID: "x", Kind: models.TapStart, StepID: plane, PersonID: b.ana}, models.Conflict, "“Plane the boards” is not ready. It waits for “Joint a face and an edge”."},
		{"finish before start", models.TapRequest{ID: "x", Kind: models.TapFinish, StepID: joint, PersonID: b.ana}, models.Conflict, "“Joint a face and an edge” is not started: it cannot be finished."},
		{"out of no clamps", models.TapRequest{ID: "x", Kind: models.TapOut, StepID: joint, PersonID: b.ana}, models.Conflict, "“Joint a face and an edge” is not started: it cannot be taken out."},
		{"settled without trouble", models.TapRequest{ID: "x", Kind: models.TapSettled, StepID: joint, PersonID: b.ana}, models.Conflict, "“Joint a face and an edge” is not started: it cannot be settled."},
	} {
		t.Run(c.name, func(t *testing.T) {
			before := b.snap().Shop.Revision
			_, err := b.store.Tap(ctx, c.tap)
			refused(t, err, c.code, c.sentence)
			taps, err := b.store.Journal(ctx, models.JournalFilter{})
			require.NoError(t, err)
			assert.Empty(t, taps, "a refused tap writes nothing")
			assert.Equal(t, before, b.snap().Shop.Revision)
		})
	}
}

func TestWhoHasIt(t *testing.T) {
	b := newBench(t)
	b.tap(models.TapStart, "joint", b.ana)
	b.clock.Step(72 * time.Minute)
	_, err := b.try(models.TapStart, "joint", b.ben)
	refused(t, err, models.Conflict, "Ana has “Joint a face and an edge” in hand since 8:30.")
	b.clock.Step(24 * time.Hour)
	_, err = b.try(models.TapStart, "joint", b.ben)
	refused(t, err, models.Conflict, "Ana has “Joint a face and an edge” in hand since Mon 8:30.")
	b.tap(models.TapFinish, "joint", b.ana)
	_, err = b.try(models.TapStart, "joint", b.ben)
	refused(t, err, models.Conflict, "“Joint a face and an edge” is finished already.")

	b.tap(models.TapStart, "plane", b.ana)
	_, err = b.try(models.TapStart, "plane-rails", b.ana)
	refused(t, err, models.Conflict, "Ana has “Plane the boards” in hand: finish it or put it down first.")
	b.tap(models.TapStart, "plane-rails", b.ben) // two people, a step each
}

func TestHandsFreeWhileItRests(t *testing.T) {
	b := newBench(t)
	b.do("joint", "plane", "rip", "glue-panel") // in clamps now
	b.tap(models.TapStart, "plane-rails", b.ana)
	assert.Equal(t, models.StandsInClamps, b.snap().Standing(b.step("glue-panel").ID, b.clock.Now()))
}

func TestStationOutOfOrder(t *testing.T) {
	b := newBench(t)
	testrig.Down(t, b.store, "jointer")
	_, err := b.try(models.TapStart, "joint", b.ana)
	refused(t, err, models.Conflict, "Jointer is out of order: “Joint a face and an edge” cannot be started on it.")
}

func TestHeldCommission(t *testing.T) {
	b := newBench(t)
	b.tap(models.TapStart, "joint", b.ana)
	c := b.snap().Commissions[0]
	c.State = models.Held
	require.NoError(t, b.store.SaveCommission(context.Background(), c))
	b.tap(models.TapPutDown, "joint", b.ana) // what is in hand can be laid aside
	_, err := b.try(models.TapStart, "joint", b.ana)
	refused(t, err, models.Conflict, "The commission “Shelf for the hall” is held: no work is done on it.")
}

func TestClockSetBack(t *testing.T) {
	b := newBench(t)
	b.tap(models.TapStart, "joint", b.ana)
	b.clock.Step(-time.Hour)
	assert.Zero(t, b.tap(models.TapFinish, "joint", b.ana).Step.Worked)
}

func TestUndo(t *testing.T) {
	b := newBench(t)
	start := b.tap(models.TapStart, "joint", b.ana)
	b.clock.Step(10 * time.Minute)
	inHand := *b.step("joint")
	finish := b.tap(models.TapFinish, "joint", b.ana)

	_, err := b.undo(start.Tap.Seq, b.ben)
	refused(t, err, models.Conflict, "Something else was tapped for “Joint a face and an edge” since: take that back first.")

	b.clock.Step(time.Minute)
	back, err := b.undo(finish.Tap.Seq, b.ben) // anybody may
	require.NoError(t, err)
	assert.Equal(t, inHand, *back.Step, "exactly as it was: the time goes on from its start")
	assert.Equal(t, inHand, *b.step("joint"))

	_, err = b.undo(finish.Tap.Seq, b.ben)
	refused(t, err, models.Conflict, "That tap for “Joint a face and an edge” was taken back already.")
	_, err = b.undo(back.Tap.Seq, b.ben)
	refused(t, err, models.Invalid, "An undo is not taken back: tap again what was meant.")

	_, err = b.undo(start.Tap.Seq, b.ana)
	require.NoError(t, err)
	assert.Equal(t, models.Progress{State: models.Todo}, b.step("joint").Progress())
	taps, err := b.store.Journal(context.Background(), models.JournalFilter{})
	require.NoError(t, err)
	assert.Len(t, taps, 4, "all that was tapped stays")
	assert.Empty(t, b.snap().LastTaps, "but none of it counts")
}

func TestUndoAfterFollowingStepStarted(t *testing.T) {
	b := newBench(t)
	b.tap(models.TapStart, "joint", b.ana)
	finish := b.tap(models.TapFinish, "joint", b.ana)
	next := b.tap(models.TapStart, "plane", b.ben)
	_, err := b.undo(finish.Tap.Seq, b.ana)
	refused(t, err, models.Conflict, "“Plane the boards” follows “Joint a face and an edge” and was started since: take that back first.")
	_, err = b.undo(next.Tap.Seq, b.ana)
	require.NoError(t, err)
	_, err = b.undo(finish.Tap.Seq, b.ana)
	require.NoError(t, err)
}

func TestUndoIntoFullHands(t *testing.T) {
	b := newBench(t)
	b.do("joint")
	b.tap(models.TapStart, "plane", b.ana)
	down := b.tap(models.TapPutDown, "plane", b.ana)
	b.tap(models.TapStart, "plane-rails", b.ana)
	_, err := b.undo(down.Tap.Seq, b.ana)
	refused(t, err, models.Conflict, "Ana has “Plane the rails” in hand: finish it or put it down first.")
}

func TestUndoOfClosedCommission(t *testing.T) {
	b := newBench(t)
	start := b.tap(models.TapStart, "joint", b.ana)
	b.tap(models.TapPutDown, "joint", b.ana)
	c := b.snap().Commissions[0]
	c.State = models.Dropped
	require.NoError(t, b.store.SaveCommission(context.Background(), c))
	_, err := b.undo(start.Tap.Seq+1, b.ana)
	refused(t, err, models.Conflict, "The commission “Shelf for the hall” is dropped: no work is done on it.")
}
