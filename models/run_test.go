package models_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// newRunBench has two shelves jointed, so that four steps of 15, 10, 15 and 10
// minutes want the planer at 22 mm.
func newRunBench(t testing.TB) *bench {
	t.Helper()
	b := newBench(t)
	testrig.Commission(t, b.store, "Shelf for the porch", "2026-03-18")
	for _, st := range b.snap().Steps {
		if st.Key == "joint" {
			for _, kind := range []models.TapKind{models.TapStart, models.TapFinish} {
				_, err := b.give(models.TapRequest{Kind: kind, StepID: st.ID, PersonID: b.ana})
				require.NoError(t, err)
			}
		}
	}
	return b
}

// give taps with an id of its own.
func (b *bench) give(r models.TapRequest) (models.TapResult, error) {
	r.ID = b.id()
	return b.store.Tap(context.Background(), r)
}

// planed lists the steps at the planer, in order of their numbers.
func (b *bench) planed() []models.ID {
	var ids []models.ID
	for _, st := range b.snap().Steps {
		if st.Key == "plane" || st.Key == "plane-rails" {
			ids = append(ids, st.ID)
		}
	}
	return ids
}

// take takes the steps as a run and returns it.
func (b *bench) take(who models.ID, steps ...models.ID) models.TapResult {
	b.t.Helper()
	r, err := b.give(models.TapRequest{Kind: models.TapStartRun, Steps: steps, PersonID: who})
	require.NoError(b.t, err)
	return r
}

func (b *bench) on(kind models.TapKind, step models.ID, who models.ID) models.TapResult {
	b.t.Helper()
	r, err := b.give(models.TapRequest{Kind: kind, StepID: step, PersonID: who})
	require.NoError(b.t, err)
	return r
}

// worked lists the minutes of attended time of steps.
func (b *bench) worked(steps ...models.ID) []float64 {
	var all []float64
	snap := b.snap()
	for _, id := range steps {
		all = append(all, float64(snap.Step(id).Worked)/60)
	}
	return all
}

func TestARunsTimeIsSharedByTheEstimates(t *testing.T) {
	b := newRunBench(t)
	ids := b.planed()
	b.take(b.ana, ids...)
	snap := b.snap()
	run := snap.RunInHand(b.ana)
	require.NotNil(t, run)
	assert.Equal(t, ids, run.Steps)
	assert.Equal(t, testrig.Station(t, snap, "planer").ID, run.StationID)
	assert.Equal(t, run.SetupID, *testrig.Station(t, snap, "planer").SetupID, "the run says how the planer is set")

	b.clock.Step(10 * time.Minute) // of 15, 10, 15 and 10
	b.on(models.TapFinish, ids[0], b.ana)
	assert.Equal(t, []float64{3, 2, 3, 2}, b.worked(ids...))
	b.clock.Step(7 * time.Minute) // of 10, 15 and 10
	b.on(models.TapFinish, ids[2], b.ben)
	assert.Equal(t, []float64{3, 4, 6, 4}, b.worked(ids...), "anybody may tap one off")
	b.clock.Step(4 * time.Minute)
	assert.Equal(t, 6*60, b.snap().WorkedBy(b.snap().Step(ids[1]), b.clock.Now()), "half of the four minutes since, on top")
	b.on(models.TapTrouble, ids[1], b.ana)
	snap = b.snap()
	assert.Equal(t, models.InTrouble, snap.Step(ids[1]).State)
	assert.Equal(t, models.InHand, snap.Step(ids[3]).State, "the rest stays in hand")
	b.clock.Step(5 * time.Minute)
	_, err := b.give(models.TapRequest{Kind: models.TapPutDownRun, Run: run.ID, PersonID: b.ana})
	require.NoError(t, err)
	assert.Equal(t, []float64{3, 6, 6, 11}, b.worked(ids...), "26 minutes in all")
	assert.Nil(t, b.snap().RunInHand(b.ana))
	assert.Equal(t, models.PutDown, b.snap().Step(ids[3]).State)
	assertReplays(t, b.store, b.snap())
}

func TestARunIsTakenBackAsOne(t *testing.T) {
	b := newRunBench(t)
	ids := b.planed()
	before := b.snap()
	taken := b.take(b.ana, ids...)
	_, err := b.undo(taken.Tap.Seq+2, b.ana) // any of its rows
	require.NoError(t, err)
	for i, st := range b.snap().Steps {
		assert.Equal(t, before.Steps[i], st, st.Name)
	}
	assert.Equal(t, testrig.Station(t, before, "planer").SetupID, testrig.Station(t, b.snap(), "planer").SetupID)
	_, err = b.undo(taken.Tap.Seq, b.ana)
	refused(t, err, models.Conflict, "That tap for “Plane the boards” was taken back already.")
	assertReplays(t, b.store, b.snap())
}

func TestATapOffIsTakenBackAlone(t *testing.T) {
	b := newRunBench(t)
	ids := b.planed()
	taken := b.take(b.ana, ids...)
	b.clock.Step(10 * time.Minute)
	off := b.on(models.TapFinish, ids[0], b.ana)
	b.clock.Step(5 * time.Minute)
	_, err := b.undo(taken.Tap.Seq, b.ana)
	refused(t, err, models.Conflict, "Something else was tapped for “Plane the boards” since: take that back first.")
	_, err = b.undo(off.Tap.Seq, b.ana)
	require.NoError(t, err)
	st := b.snap().Step(ids[0])
	assert.Equal(t, models.InHand, st.State)
	assert.Equal(t, b.snap().RunInHand(b.ana).ID, st.Run, "it is back in its run")
	assert.Equal(t, []float64{0, 0, 0, 0}, b.worked(ids...), "nothing was tapped off: the time is shared again later")
	assertReplays(t, b.store, b.snap())
}

func TestATapOffIsNotTakenBackIntoFullHands(t *testing.T) {
	b := newRunBench(t)
	ids := b.planed()
	b.take(b.ana, ids[0], ids[1])
	off := b.on(models.TapFinish, ids[0], b.ana)
	b.on(models.TapFinish, ids[1], b.ana)
	b.on(models.TapStart, ids[2], b.ana)
	_, err := b.undo(off.Tap.Seq, b.ana)
	refused(t, err, models.Conflict, "Ana has “Plane the boards” in hand: finish it or put it down first.")
}

func TestPuttingARunDownIsTakenBackAsOne(t *testing.T) {
	b := newRunBench(t)
	ids := b.planed()
	run := b.take(b.ana, ids...).Tap.Act
	b.clock.Step(10 * time.Minute)
	b.on(models.TapFinish, ids[0], b.ana)
	inHand := b.snap()
	down, err := b.give(models.TapRequest{Kind: models.TapPutDownRun, Run: run, PersonID: b.ana})
	require.NoError(t, err)
	_, err = b.undo(down.Tap.Seq, b.ana)
	require.NoError(t, err)
	for i, st := range b.snap().Steps {
		assert.Equal(t, inHand.Steps[i], st, st.Name)
	}
}

func TestTheSameRunTwiceIsOneRun(t *testing.T) {
	b := newRunBench(t)
	ids := b.planed()
	r := models.TapRequest{ID: "one", Kind: models.TapStartRun, Steps: ids, PersonID: b.ana}
	_, err := b.store.Tap(context.Background(), r)
	require.NoError(t, err)
	again, err := b.store.Tap(context.Background(), r)
	require.NoError(t, err)
	assert.True(t, again.Repeated)
	r.Steps = ids[1:]
	_, err = b.store.Tap(context.Background(), r)
	refused(t, err, models.Conflict, `The tap id "one" already stands for another tap.`)
	taps, err := b.store.Journal(context.Background(), models.JournalFilter{StationID: testrig.Station(t, b.snap(), "planer").ID})
	require.NoError(t, err)
	assert.Len(t, taps, 4)
}

func TestWhatNoRunCanBe(t *testing.T) {
	b := newRunBench(t)
	ids := b.planed()
	b.on(models.TapStart, ids[0], b.ben)
	b.on(models.TapFinish, ids[0], b.ben)
	rip := b.step("rip")
	for sentence, steps := range map[string][]models.ID{
		"A run is of 1 to 50 steps, not 0.":                                                                            {},
		fmt.Sprintf("The run has step %d twice.", ids[1]):                                                              {ids[1], ids[1]},
		"“Joint a face and an edge” needs no setup: it is taken by itself, not in a run.":                              {ids[1], b.step("joint").ID},
		"A run is of one setup: “Plane the rails” wants “thickness 22 mm”, and “Rip the boards” wants “fence 100 mm”.": {ids[1], rip.ID},
		"“Plane the boards” is finished already.":                                                                      {ids[1], ids[0]},
	} {
		_, err := b.give(models.TapRequest{Kind: models.TapStartRun, Steps: steps, PersonID: b.ana})
		require.Error(t, err, sentence)
		assert.Equal(t, sentence, err.Error())
	}
	b.take(b.ana, ids[1], ids[2])
	_, err := b.give(models.TapRequest{Kind: models.TapStart, StepID: ids[3], PersonID: b.ana})
	refused(t, err, models.Conflict, "Ana has “Plane the rails” in hand: finish it or put it down first.")
	_, err = b.give(models.TapRequest{Kind: models.TapPutDownRun, Run: "another", PersonID: b.ana})
	refused(t, err, models.Conflict, "Nothing of that run is in hand any more.")
	assert.Len(t, b.snap().Runs, 1)
}

func TestARunOfOneStepIsThatStep(t *testing.T) {
	b := newRunBench(t)
	ids := b.planed()
	b.take(b.ana, ids[0])
	assert.Empty(t, b.snap().Step(ids[0]).Run)
	assert.Empty(t, b.snap().Runs)
}

// Whatever is tapped in a run, and however the clock goes, the attended time of
// its steps is the time that something of it was in hand.
func TestTheSharesOfARunAddUp(t *testing.T) {
	fresh := t.TempDir() + "/fresh"
	require.NoError(t, newRunBench(t).store.Backup(context.Background(), fresh))
	rapid.Check(t, func(rt *rapid.T) {
		b := copiedBench(t, fresh)
		snap := b.snap()
		b.ana, b.ben = testrig.Person(t, snap, "Ana"), testrig.Person(t, snap, "Ben")
		ids := rapid.Permutation(b.planed()).Draw(rt, "order")
		started := b.clock.Now()
		b.taps = 1000 // apart from those of the file
		along := ids[rapid.IntRange(2, len(ids)).Draw(rt, "taken at first"):]
		run := b.take(b.ana, ids[:len(ids)-len(along)]...).Tap.Act
		for _, id := range along {
			b.clock.Step(time.Duration(rapid.IntRange(0, 5_000_000).Draw(rt, "ms")) * time.Millisecond)
			_, err := b.joins(run, id, b.ana)
			require.NoError(rt, err)
		}
		left, ended := len(ids), started
		for _, id := range rapid.Permutation(ids).Draw(rt, "off") {
			b.clock.Step(time.Duration(rapid.IntRange(0, 5_000_000).Draw(rt, "ms")) * time.Millisecond)
			kind := rapid.SampledFrom([]models.TapKind{models.TapFinish, models.TapPutDown, models.TapTrouble}).Draw(rt, "kind")
			b.on(kind, id, rapid.SampledFrom([]models.ID{b.ana, b.ben}).Draw(rt, "who"))
			left--
			ended = b.clock.Now()
			sum := 0
			for _, st := range b.snap().Steps {
				if st.Key != "joint" {
					sum += st.Worked
				}
			}
			require.Equal(rt, int(ended.Sub(started)/time.Second), sum, "%d left", left)
		}
		require.NoError(rt, b.store.Close())
	})
}

// joins taps that a step is taken along into a run.
func (b *bench) joins(run string, step, who models.ID) (models.TapResult, error) {
	return b.give(models.TapRequest{Kind: models.TapJoinRun, Run: run, StepID: step, PersonID: who})
}

func TestAStepJoinsARunInHand(t *testing.T) {
	b := newRunBench(t)
	ids := b.planed()
	run := b.take(b.ana, ids[0], ids[1]).Tap.Act
	b.clock.Step(5*time.Minute + 300*time.Millisecond) // of 15 and 10
	joined, err := b.joins(run, ids[2], b.ana)
	require.NoError(t, err)
	assert.Equal(t, []float64{3, 2, 0}, b.worked(ids[:3]...), "the time before is not its own")
	snap := b.snap()
	assert.Equal(t, ids[:3], snap.RunInHand(b.ana).Steps)
	assert.Len(t, snap.Runs, 1)
	b.clock.Step(8 * time.Minute) // of 15, 10 and 15
	off := b.on(models.TapFinish, ids[0], b.ana)
	assert.Equal(t, []float64{6, 4, 3}, b.worked(ids[:3]...))

	_, err = b.undo(joined.Tap.Seq, b.ben)
	require.NoError(t, err)
	assert.Equal(t, models.Todo, b.snap().Step(ids[2]).State)
	assert.Equal(t, ids[:2], b.snap().RunInHand(b.ana).Steps, "it is in no run any more")
	assert.Equal(t, 13*60, int(60*(b.worked(ids...)[0]+b.worked(ids...)[1])), "and has no part of the time")
	assertReplays(t, b.store, b.snap())

	_, err = b.joins(run, ids[2], b.ana)
	require.NoError(t, err, "it can join again")
	b.on(models.TapPutDown, ids[2], b.ana)
	_, err = b.joins(run, ids[2], b.ana)
	require.NoError(t, err, "and again after it was laid aside")
	assert.Equal(t, ids[:3], b.snap().RunInHand(b.ana).Steps)
	_, err = b.undo(off.Tap.Seq, b.ana)
	require.NoError(t, err)
	assertReplays(t, b.store, b.snap())
}

// What is taken along beside a single step makes a run of both, and is taken back
// without the one that was in hand before.
func TestAStepIsTakenAlongWithASingleOne(t *testing.T) {
	b := newRunBench(t)
	ids := b.planed()
	b.on(models.TapStart, ids[0], b.ana)
	b.clock.Step(4 * time.Minute)
	r := models.TapRequest{ID: "along", Kind: models.TapJoinRun, StepID: ids[1], PersonID: b.ana}
	for range 2 {
		_, err := b.store.Tap(context.Background(), r)
		require.NoError(t, err, "the same tap twice is one")
	}
	run := b.snap().RunInHand(b.ana)
	require.NotNil(t, run)
	assert.Equal(t, ids[:2], run.Steps)
	assert.Equal(t, testrig.Station(t, b.snap(), "planer").ID, run.StationID)
	assert.NotZero(t, run.SetupID)
	b.clock.Step(5 * time.Minute) // of 15 and 10
	_, err := b.give(models.TapRequest{Kind: models.TapJoinRun, StepID: ids[2], PersonID: b.ana})
	require.NoError(t, err, "the next one joins that run, though the tap does not name it")
	assert.Equal(t, []float64{7, 2, 0}, b.worked(ids[:3]...), "what went before is the first one's alone")
	assert.Equal(t, ids[:3], b.snap().RunInHand(b.ana).Steps)
	assertReplays(t, b.store, b.snap())

	_, err = b.undo(b.snap().LastTaps[1].Seq, b.ana)
	refused(t, err, models.Conflict, "“Plane the boards” was taken along in this run since: take that back first.")
	for range 2 {
		_, err := b.undo(b.snap().LastTaps[0].Seq, b.ana)
		require.NoError(t, err)
	}
	snap := b.snap()
	assert.Nil(t, snap.RunInHand(b.ana))
	assert.Equal(t, models.InHand, snap.Step(ids[0]).State)
	assert.Equal(t, 9*60, snap.WorkedBy(snap.Step(ids[0]), b.clock.Now()), "all of the time is its own again")
	assert.Equal(t, models.Todo, snap.Step(ids[1]).State)
	assertReplays(t, b.store, snap)
	_, err = b.store.Tap(context.Background(), models.TapRequest{ID: "along", Kind: models.TapStart, StepID: ids[1], PersonID: b.ana})
	refused(t, err, models.Conflict, `The tap id "along" already stands for another tap.`)
}

func TestWhatCannotBeTakenAlongWithASingleStep(t *testing.T) {
	b := newRunBench(t)
	ids := b.planed()
	b.on(models.TapStart, ids[0], b.ana)
	b.on(models.TapStart, ids[1], b.ben)
	step := func(key string) models.ID { return testrig.Step(t, b.snap(), key).ID }
	for sentence, id := range map[string]models.ID{
		"Ben has “Plane the rails” in hand since 8:30.":                                                                 ids[1],
		"Ana has “Plane the boards” in hand since 8:30.":                                                                ids[0],
		"A run is of one setup: “Plane the boards” wants “thickness 22 mm”, and “Rip the boards” wants “fence 100 mm”.": step("rip"),
		"“Glue up the panel” needs no setup: it is taken by itself, not in a run.":                                      step("glue-panel"),
	} {
		_, err := b.give(models.TapRequest{Kind: models.TapJoinRun, StepID: id, PersonID: b.ana})
		require.Error(t, err, sentence)
		assert.Equal(t, sentence, err.Error())
	}
	_, err := b.give(models.TapRequest{Kind: models.TapGather, StepID: ids[0], PersonID: b.ana})
	refused(t, err, models.Invalid, `There is no tap of the kind "gather".`)
	assert.Empty(t, b.snap().Runs)
	assertReplays(t, b.store, b.snap())
}

// A tap that waited on its tablet does not begin a run before what it is taken along
// with was in hand.
func TestTakenAlongByALateTap(t *testing.T) {
	b := newRunBench(t)
	ids := b.planed()
	b.clock.Step(time.Hour)
	b.on(models.TapStart, ids[0], b.ana)
	b.clock.Step(time.Minute)
	b.sent(late(models.TapRequest{ID: "along", Kind: models.TapJoinRun, StepID: ids[1], PersonID: b.ana, Tablet: "t", Queued: &models.Queued{Queue: "q", Number: 1}}, 30*time.Minute))
	snap := b.snap()
	assert.Equal(t, snap.Step(ids[0]).TakenAt, snap.Step(ids[1]).TakenAt)
	assertReplays(t, b.store, snap)
}

func TestARunThatWasJoinedIsNotTakenBack(t *testing.T) {
	b := newRunBench(t)
	ids := b.planed()
	taken := b.take(b.ana, ids[0], ids[1])
	r := models.TapRequest{ID: "along", Kind: models.TapJoinRun, Run: taken.Tap.Act, StepID: ids[2], PersonID: b.ana}
	for range 2 {
		_, err := b.store.Tap(context.Background(), r)
		require.NoError(t, err, "the same tap twice is one")
	}
	_, err := b.undo(taken.Tap.Seq, b.ana)
	refused(t, err, models.Conflict, "“Plane the boards” was taken along in this run since: take that back first.")
	_, err = b.undo(b.snap().LastTaps[0].Seq, b.ana)
	require.NoError(t, err)
	_, err = b.undo(taken.Tap.Seq, b.ana)
	require.NoError(t, err)
	assert.Empty(t, b.snap().Runs)
	assertReplays(t, b.store, b.snap())
}

func TestWhatCannotJoinARun(t *testing.T) {
	b := newRunBench(t)
	ids := b.planed()
	run := b.take(b.ana, ids[0], ids[1]).Tap.Act
	for sentence, r := range map[string]models.TapRequest{
		"Nothing of that run is in hand any more.":                             {Run: "another", StepID: ids[2], PersonID: b.ana},
		"Ben has nothing in hand any more with which it could be taken along.": {StepID: ids[2], PersonID: b.ben},
		"The tap (join-run) names no step.":                                    {Run: run, PersonID: b.ana},
		"Ana has “Plane the boards” in hand since 8:30.":                       {Run: run, StepID: ids[2], PersonID: b.ben},
		"Ana has “Plane the rails” in hand since 8:30.":                        {Run: run, StepID: ids[1], PersonID: b.ana},
	} {
		r.Kind = models.TapJoinRun
		_, err := b.give(r)
		require.Error(t, err, sentence)
		assert.Equal(t, sentence, err.Error())
	}
	assert.Equal(t, ids[:2], b.snap().RunInHand(b.ana).Steps)
}

func TestAStationGoesOutOfOrderAndBack(t *testing.T) {
	b := newBench(t)
	planer := testrig.Station(t, b.snap(), "planer").ID
	tap := func(kind models.TapKind, note string) (models.TapResult, error) {
		return b.give(models.TapRequest{Kind: kind, StationID: planer, PersonID: b.ana, Note: note})
	}
	_, err := tap(models.TapUp, "")
	refused(t, err, models.Conflict, "Planer is in order already.")
	down, err := tap(models.TapDown, "Blade dull")
	require.NoError(t, err)
	assert.True(t, b.snap().Station(planer).Down)
	_, err = tap(models.TapDown, "Motor out")
	refused(t, err, models.Conflict, "Planer is out of order already.")
	taps, err := b.store.StationTaps(context.Background())
	require.NoError(t, err)
	assert.Equal(t, "Blade dull", taps[planer].Order.Note)
	assert.Nil(t, taps[planer].Set)

	changed := *b.snap().Station(planer)
	changed.Name, changed.Down = "Old planer", false
	_, err = b.store.SaveStation(context.Background(), changed)
	require.NoError(t, err)
	assert.True(t, b.snap().Station(planer).Down, "the journal says it")

	up, err := tap(models.TapUp, "")
	require.NoError(t, err)
	_, err = b.undo(down.Tap.Seq, b.ana)
	refused(t, err, models.Conflict, "Something else was tapped for Old planer since: take that back first.")
	_, err = b.undo(up.Tap.Seq, b.ben)
	require.NoError(t, err)
	assert.True(t, b.snap().Station(planer).Down)
	_, err = b.undo(down.Tap.Seq, b.ana)
	require.NoError(t, err)
	assert.False(t, b.snap().Station(planer).Down)
	_, err = b.undo(down.Tap.Seq, b.ana)
	refused(t, err, models.Conflict, "That tap for Old planer was taken back already.")
	assertReplays(t, b.store, b.snap())
}

// What has moved since a station went down is told against the plan before: it
// stays when plans that old go.
func TestThePlanBeforeAStationWentDownStays(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	before := planOf(b.snap())
	require.NoError(t, b.store.SavePlan(ctx, before))
	testrig.Down(t, b.store, "planer")
	for range 25 {
		require.NoError(t, b.store.SavePlan(ctx, planOf(b.snap())))
	}
	taps, err := b.store.StationTaps(ctx)
	require.NoError(t, err)
	kept, err := b.store.Plan(ctx, *taps[testrig.Station(t, b.snap(), "planer").ID].Order.PlanID)
	require.NoError(t, err)
	assert.Equal(t, before.Steps, kept.Steps)
	_, err = b.store.Plan(ctx, before.ID+1)
	assert.Equal(t, models.NotFound, models.CodeOf(err))
}

// A run may be tapped while the server cannot be reached: the tablet numbers the
// tap, and its rows are of the time it was tapped.
func TestARunFromATabletsQueue(t *testing.T) {
	b := newRunBench(t)
	ids := b.planed()
	b.clock.Step(30 * time.Minute)
	r := late(models.TapRequest{ID: "run", Kind: models.TapStartRun, Steps: ids, PersonID: b.ana, Tablet: "t",
		Queued: &models.Queued{Queue: "q", Number: 1}}, 20*time.Minute)
	b.sent(r)
	assert.True(t, b.sent(r).Repeated)
	off := late(models.TapRequest{ID: "off", Kind: models.TapFinish, StepID: ids[0], PersonID: b.ana, Tablet: "t",
		Queued: &models.Queued{Queue: "q", Number: 2}}, 10*time.Minute)
	b.sent(off)
	assert.Equal(t, []float64{3, 2, 3, 2}, b.worked(ids...), "ten minutes by the tablet's count")
	assertReplays(t, b.store, b.snap())
}
