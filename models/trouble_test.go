package models_test

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// report says what is wrong with a step.
func (b *bench) report(key string, who models.ID, tr models.Trouble) (models.TapResult, error) {
	return b.store.Tap(context.Background(), models.TapRequest{ID: b.id(), Kind: models.TapTrouble, StepID: b.step(key).ID, PersonID: who, Trouble: &tr})
}

// troubled says what is wrong, and must succeed.
func (b *bench) troubled(key string, tr models.Trouble) models.TapResult {
	b.t.Helper()
	r, err := b.report(key, b.ana, tr)
	require.NoError(b.t, err)
	return r
}

func (b *bench) partRow(key string) models.Part {
	b.t.Helper()
	for _, p := range b.snap().Parts {
		if p.Key == key {
			return p
		}
	}
	require.Fail(b.t, "no such part", key)
	return models.Part{}
}

func (b *bench) part(key string) models.ID { return b.partRow(key).ID }

func (b *bench) assembly(key string) models.ID {
	b.t.Helper()
	for _, a := range b.snap().Assemblies {
		if a.Key == key {
			return a.ID
		}
	}
	require.Fail(b.t, "no such assembly", key)
	return 0
}

// takes lists the steps that came back: key, name, minutes, parts.
func takes(snap *models.Snapshot) []string {
	var all []string
	for _, s := range snap.Steps {
		if s.AgainOf == nil {
			continue
		}
		text := fmt.Sprintf("%s “%s” %d min", s.Key, s.Name, s.Attended)
		for _, u := range snap.PartsOf(s.ID) {
			text += fmt.Sprintf(", %d %s", u.Quantity, snap.Part(u.PartID).Key)
		}
		for _, u := range snap.AssembliesOf(s.ID) {
			text += ", " + snap.Assembly(u.AssemblyID).Key
		}
		all = append(all, text)
	}
	return all
}

func TestASpoiledPartIsMadeAgain(t *testing.T) {
	b := newBench(t)
	b.do("joint", "plane", "rip")
	b.tap(models.TapStart, "glue-panel", b.ana)
	b.clock.Step(10 * time.Minute)
	was := waits(b.snap())
	r := b.troubled("glue-panel", models.Trouble{Kind: models.TroubleSpoiled, Parts: map[models.ID]int{b.part("board"): 1}})
	snap := b.snap()
	assert.Equal(t, []string{
		"joint-again “Joint a face and an edge (again)” 5 min, 1 board",
		"plane-again “Plane the boards (again)” 5 min, 1 board",
		"rip-again “Rip the boards (again)” 5 min, 1 board",
	}, takes(snap))
	assert.ElementsMatch(t, append(was, "joint → joint-again", "joint-again → plane-again", "plane-again → rip-again", "rip-again → glue-panel"), waits(snap))
	glue := b.step("glue-panel")
	assert.Equal(t, models.PutDown, glue.State)
	assert.Equal(t, 600, glue.Worked, "what was worked stays in the time book")
	assert.Equal(t, models.Done, b.step("rip").State)
	assert.Equal(t, 30, glue.Attended, "a glue-up begins anew anyway")
	again := testrig.Step(t, snap, "plane-again")
	assert.Equal(t, b.step("plane").SetupID, again.SetupID)
	assert.Equal(t, b.step("plane").ID, *again.AgainOf)

	_, err := b.try(models.TapStart, "glue-panel", b.ana)
	refused(t, err, models.Conflict, "“Glue up the panel” is not ready. It waits for “Rip the boards (again)”.")
	b.do("joint-again", "plane-again")
	_, err = b.undo(r.Tap.Seq, b.ana)
	refused(t, err, models.Conflict, "“Joint a face and an edge (again)” came back for what was spoiled and is begun: the trouble cannot be taken back any more.")
	b.do("rip-again")
	b.tap(models.TapStart, "glue-panel", b.ana)

	b.troubled("glue-panel", models.Trouble{Kind: models.TroubleSpoiled, Parts: map[models.ID]int{b.part("board"): 2}})
	assert.Len(t, takes(b.snap()), 6)
	assert.Contains(t, takes(b.snap()), "joint-again#2 “Joint a face and an edge (again, 2)” 8 min, 2 board")
	assertReplays(t, b.store, b.snap())
}

// Spoiled while it is made again: what came before that comes back once more, and
// what is still to be made again does not.
func TestSpoiledOnceMore(t *testing.T) {
	b := newBench(t)
	b.do("joint", "plane", "rip")
	spoilt := models.Trouble{Kind: models.TroubleSpoiled, Parts: map[models.ID]int{b.part("board"): 1}}
	b.troubled("glue-panel", spoilt)
	b.do("joint-again")
	b.tap(models.TapStart, "plane-again", b.ana)
	b.clock.Step(3 * time.Minute)
	b.troubled("plane-again", spoilt)
	snap := b.snap()
	assert.Len(t, takes(snap), 4)
	assert.Contains(t, takes(snap), "joint-again#2 “Joint a face and an edge (again, 2)” 5 min, 1 board")
	assert.Contains(t, waits(snap), "joint-again#2 → plane-again")
	assert.Equal(t, models.PutDown, b.step("plane-again").State)
	assert.Equal(t, 8, b.step("plane-again").Attended, "three minutes are lost")
}

func TestASpoiledAssemblyIsMadeAgain(t *testing.T) {
	b := newBench(t)
	b.do("joint", "plane", "rip", "plane-rails", "glue-panel")
	b.tap(models.TapOut, "glue-panel", b.ana)
	b.clock.Step(2 * time.Hour)
	b.tap(models.TapStart, "trim", b.ana)
	b.clock.Step(6 * time.Minute)
	b.troubled("trim", models.Trouble{Kind: models.TroubleSpoiled, Assemblies: []models.ID{b.assembly("panel")}})
	snap := b.snap()
	assert.Equal(t, []string{
		"joint-again “Joint a face and an edge (again)” 12 min, 3 board",
		"plane-again “Plane the boards (again)” 15 min, 3 board",
		"rip-again “Rip the boards (again)” 10 min, 3 board",
		"glue-panel-again “Glue up the panel (again)” 30 min, 3 board",
	}, takes(snap))
	assert.Subset(t, waits(snap), []string{"joint-again → plane-again", "plane-again → rip-again", "rip-again → glue-panel-again", "glue-panel-again → trim 60"})
	again := testrig.Step(t, snap, "glue-panel-again")
	assert.Nil(t, again.MakesID, "the panel is counted once")
	assert.Equal(t, 5, snap.ClampsOf(again.ID)[0].Count)
	trim := b.step("trim")
	assert.Equal(t, 18, trim.Attended, "6 minutes are lost")
	assert.Equal(t, 12, trim.FirstAttended)
}

func TestAGlueUpInClampsIsSpoiled(t *testing.T) {
	b := newBench(t)
	b.do("joint", "plane", "rip", "glue-panel")
	b.troubled("glue-panel", models.Trouble{Kind: models.TroubleSpoiled, Assemblies: []models.ID{b.assembly("panel")}})
	snap := b.snap()
	assert.Len(t, takes(snap), 3)
	assert.Equal(t, models.PutDown, b.step("glue-panel").State, "it is glued up once more")
	assert.Nil(t, b.step("glue-panel").FinishedAt)
	assert.Contains(t, waits(snap), "rip-again → glue-panel")
}

func TestWhatIsStillToBeDoneIsNotAddedTwice(t *testing.T) {
	b := newBench(t)
	b.do("joint", "plane")
	b.troubled("glue-panel", models.Trouble{Kind: models.TroubleSpoiled, Parts: map[models.ID]int{b.part("board"): 1}})
	snap := b.snap()
	assert.Len(t, takes(snap), 2, "ripping is still to come for all")
	assert.Subset(t, waits(snap), []string{"joint-again → plane-again", "plane-again → rip"})
	assert.NotContains(t, waits(snap), "plane-again → glue-panel", "rip leads there")
	assert.Equal(t, models.Todo, b.step("glue-panel").State)
}

func TestAnotherStepComesFirst(t *testing.T) {
	b := newBench(t)
	b.do("joint", "plane", "rip")
	rails := b.step("plane-rails").ID
	b.tap(models.TapStart, "glue-panel", b.ana)
	b.troubled("glue-panel", models.Trouble{Kind: models.TroubleOrder, FirstID: rails})
	assert.Contains(t, waits(b.snap()), "plane-rails → glue-panel")
	assert.Equal(t, models.PutDown, b.step("glue-panel").State)
	_, err := b.report("glue-panel", b.ana, models.Trouble{Kind: models.TroubleOrder, FirstID: rails})
	refused(t, err, models.Conflict, "“Plane the rails” comes before “Glue up the panel” already.")

	sand := b.step("sand").ID
	b.troubled("trim", models.Trouble{Kind: models.TroubleOrder, FirstID: sand})
	all := waits(b.snap())
	assert.Subset(t, all, []string{"glue-panel → sand 60", "sand → trim", "glue-frame → coat-1"}, "the one that followed is put before it")
	assert.NotContains(t, all, "glue-frame → sand")
	_, err = b.report("trim", b.ana, models.Trouble{Kind: models.TroubleOrder, FirstID: b.step("joint").ID})
	refused(t, err, models.Conflict, "“Joint a face and an edge” is begun already: nothing is to be put before “Trim the panel”.")
}

func TestSomethingMissingHoldsAStep(t *testing.T) {
	b := newBench(t)
	b.tap(models.TapStart, "joint", b.ana)
	b.troubled("joint", models.Trouble{Kind: models.TroubleMissing, ExpectedOn: "2026-03-05"})
	s := b.step("joint")
	assert.Equal(t, models.InTrouble, s.State)
	assert.Equal(t, "2026-03-05", s.ExpectedOn)
	assert.Equal(t, models.TroubleMissing, s.TroubleKind)
	b.tap(models.TapSettled, "joint", b.ben)
	s = b.step("joint")
	assert.Equal(t, models.PutDown, s.State)
	assert.Empty(t, s.ExpectedOn)
	assert.Empty(t, s.TroubleKind)
}

func TestHelpAndEstimates(t *testing.T) {
	b := newBench(t)
	b.tap(models.TapStart, "joint", b.ana)
	b.clock.Step(15 * time.Minute)
	b.troubled("joint", models.Trouble{Kind: models.TroubleEstimate, Left: 40})
	s := b.step("joint")
	assert.Equal(t, models.InHand, s.State, "the work goes on")
	assert.Equal(t, 55, s.Attended)
	assert.Equal(t, 20, s.FirstAttended)
	b.clock.Step(10 * time.Minute)
	b.troubled("joint", models.Trouble{Kind: models.TroubleEstimate, Left: 5})
	assert.Equal(t, 30, b.step("joint").Attended)
	assert.Equal(t, 20, b.step("joint").FirstAttended, "the first one stays")
	help := b.troubled("joint", models.Trouble{Kind: models.TroubleHelp, HelperID: b.ben})
	s = b.step("joint")
	assert.Equal(t, models.PutDown, s.State)
	assert.Equal(t, 2, s.Hands)
	require.Len(t, b.snap().Troubles, 3)
	_, err := b.report("joint", b.ana, models.Trouble{Kind: models.TroubleHelp})
	refused(t, err, models.Conflict, "“Joint a face and an edge” would take 3 people; 2 work here.")
	_, err = b.undo(help.Tap.Seq, b.ana)
	require.NoError(t, err)
	assert.Equal(t, 1, b.step("joint").Hands)
	assert.Equal(t, models.InHand, b.step("joint").State)
}

// Who calls for a hand goes on meanwhile; whose hands it got may be tapped later.
func TestACallForAHandLeavesTheStepInHand(t *testing.T) {
	b := newBench(t)
	b.tap(models.TapStart, "joint", b.ana)
	b.clock.Step(5 * time.Minute)
	call := b.troubled("joint", models.Trouble{Kind: models.TroubleHand, HelperID: b.ben})
	s := b.step("joint")
	assert.Equal(t, models.InHand, s.State)
	assert.Equal(t, 2, s.Hands)
	assert.Zero(t, s.Worked, "its time goes on")
	require.Len(t, b.snap().Troubles, 1)
	b.clock.Step(5 * time.Minute)
	_, err := b.hands(models.TapHelp, "joint", b.ben, b.ben)
	require.NoError(t, err)
	_, err = b.undo(call.Tap.Seq, b.ana)
	refused(t, err, models.Conflict, "Something else was tapped for “Joint a face and an edge” since: take that back first.")
	b.clock.Step(10 * time.Minute)
	b.tap(models.TapFinish, "joint", b.ana)
	own, _ := b.booked(b.ana)
	_, helped := b.booked(b.ben)
	assert.Equal(t, []float64{20, 10}, []float64{own, helped})
	assertReplays(t, b.store, b.snap())
}

func TestTroubleThatCannotBe(t *testing.T) {
	b := newBench(t)
	b.do("joint", "plane", "rip", "glue-panel")
	board := b.part("board")
	for _, c := range []struct {
		step     string
		tr       models.Trouble
		code     models.Code
		sentence string
	}{
		{"plane-rails", models.Trouble{Kind: models.TroubleSpoiled}, models.Invalid, "Say which parts are spoiled, and how many of them."},
		{"plane-rails", models.Trouble{Kind: models.TroubleSpoiled, Parts: map[models.ID]int{b.part("rail"): 3}}, models.Invalid, "“Plane the rails” works on 2 of Rail: 3 of them cannot be spoiled."},
		{"plane-rails", models.Trouble{Kind: models.TroubleSpoiled, Parts: map[models.ID]int{b.part("rail"): 0}}, models.Invalid, "“Plane the rails” works on 2 of Rail: 0 of them cannot be spoiled."},
		{"plane-rails", models.Trouble{Kind: models.TroubleSpoiled, Parts: map[models.ID]int{board: 1}}, models.Invalid, fmt.Sprintf("“Plane the rails” does not work on the part with number %d.", board)},
		{"plane-rails", models.Trouble{Kind: models.TroubleSpoiled, Assemblies: []models.ID{99}}, models.Invalid, "“Plane the rails” has no assembly with number 99 that could be spoiled."},
		{"plane-rails", models.Trouble{Kind: models.TroubleOrder}, models.Invalid, "Say which step has to come first."},
		{"plane-rails", models.Trouble{Kind: models.TroubleOrder, FirstID: b.step("plane-rails").ID}, models.Invalid, "“Plane the rails” cannot come before itself."},
		{"plane-rails", models.Trouble{Kind: models.TroubleMissing, ExpectedOn: "soon"}, models.Invalid, `The expected day "soon" is not a day such as 2026-03-31.`},
		{"plane-rails", models.Trouble{Kind: models.TroubleMissing, ExpectedOn: "2026-03-01"}, models.Invalid, "The day 2026-03-01, on which it is expected, is past."},
		{"plane-rails", models.Trouble{Kind: models.TroubleEstimate}, models.Invalid, "What is left, 0 minutes, is not between 1 and 100000."},
		{"plane-rails", models.Trouble{Kind: models.TroubleHelp, HelperID: b.ana}, models.Invalid, "Ana cannot be the second pair of hands: that is who asks."},
		{"plane-rails", models.Trouble{Kind: "tired"}, models.Invalid, `The trouble "tired" is not one of "spoiled", "missing", "help", "hand", "estimate", "order".`},
		{"glue-panel", models.Trouble{Kind: models.TroubleHelp}, models.Conflict, "The work on “Glue up the panel” is finished and it rests: only that something is spoiled or missing can be said of it."},
		{"joint", models.Trouble{Kind: models.TroubleEstimate, Left: 10}, models.Conflict, "“Joint a face and an edge” is done: it cannot be reported."},
	} {
		was := b.snap()
		_, err := b.report(c.step, b.ana, c.tr)
		refused(t, err, c.code, c.sentence)
		assert.Equal(t, was.Shop.Revision, b.snap().Shop.Revision)
	}
}

func TestTheSameTroubleTwiceIsOne(t *testing.T) {
	b := newBench(t)
	b.do("joint", "plane", "rip")
	r := models.TapRequest{ID: "same", Kind: models.TapTrouble, StepID: b.step("glue-panel").ID, PersonID: b.ana,
		Trouble: &models.Trouble{Kind: models.TroubleSpoiled, Parts: map[models.ID]int{b.part("board"): 1}}}
	for range 2 {
		_, err := b.store.Tap(context.Background(), r)
		require.NoError(t, err)
	}
	assert.Len(t, takes(b.snap()), 3)
	r.Trouble = nil
	_, err := b.store.Tap(context.Background(), r)
	refused(t, err, models.Conflict, `The tap id "same" already stands for another tap.`)
}

// What was cut for a spoiled part is to be cut again.
func TestASpoiledPartIsNotCutAnyMore(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	board := b.partRow("board")
	boards, err := b.store.SaveBoard(ctx, models.Board{Species: "ash", Quarter: "5/4", Length: 3 * 840 * mm, Width: 300 * mm, Count: 2})
	require.NoError(t, err)
	one := boards
	one.Count = 1
	book := func(n int) error {
		_, err := b.store.BookCutting(ctx, models.NewCutting{FormID: b.id(), Name: "Ash", Boards: []models.BoardCut{{Board: one}},
			Parts: []models.PartCut{{PartID: board.ID, Quantity: n, Length: board.RoughLength, Width: board.RoughWidth}}})
		return err
	}
	require.NoError(t, book(3))
	b.do("joint", "plane", "rip")
	r := b.troubled("glue-panel", models.Trouble{Kind: models.TroubleSpoiled, Parts: map[models.ID]int{board.ID: 2}})
	assert.Equal(t, 1, b.snap().Cut[board.ID])
	require.NoError(t, book(2))
	assert.Equal(t, 3, b.snap().Cut[board.ID])
	assert.Error(t, book(1), "all are cut")
	_, err = b.undo(r.Tap.Seq, b.ana)
	require.NoError(t, err)
}

// stand is all that a person or the planner sees of the records, without what
// counts changes.
func stand(snap *models.Snapshot) models.Snapshot {
	snap.Shop.Revision = 0
	for i := range snap.Commissions {
		snap.Commissions[i].Edition = 0
	}
	return models.Snapshot{Shop: snap.Shop, Stations: snap.Stations, Setups: snap.Setups, Commissions: snap.Commissions, Pieces: snap.Pieces,
		Parts: snap.Parts, Assemblies: snap.Assemblies, AssemblyParts: snap.AssemblyParts, Steps: snap.Steps, Runs: snap.Runs, StepParts: snap.StepParts,
		StepAssemblies: snap.StepAssemblies, StepClamps: snap.StepClamps, Links: byID(snap.Links), Cut: snap.Cut, Troubles: snap.Troubles, LastTaps: snap.LastTaps}
}

func byID(links []models.Link) []models.Link {
	return slices.SortedFunc(slices.Values(links), func(a, b models.Link) int { return int(a.ID - b.ID) })
}

// drawTrouble draws trouble that mostly can be.
func drawTrouble(rt *rapid.T, now *models.Snapshot, s *models.Step) *models.Trouble {
	tr := &models.Trouble{Kind: rapid.SampledFrom(models.TroubleKinds()).Draw(rt, "trouble")}
	switch tr.Kind {
	case models.TroubleSpoiled:
		tr.Parts = map[models.ID]int{}
		for _, u := range now.PartsOf(s.ID) {
			if n := rapid.IntRange(0, u.Quantity).Draw(rt, "spoiled"); n > 0 {
				tr.Parts[u.PartID] = n
			}
		}
		for _, u := range now.AssembliesOf(s.ID) {
			tr.Assemblies = append(tr.Assemblies, u.AssemblyID)
		}
		if s.MakesID != nil && rapid.Bool().Draw(rt, "all of it") {
			tr.Assemblies = append(tr.Assemblies, *s.MakesID)
		}
	case models.TroubleOrder:
		tr.FirstID = rapid.SampledFrom(now.Steps).Draw(rt, "first").ID
	case models.TroubleMissing:
		tr.ExpectedOn = rapid.SampledFrom([]string{"", "2026-12-24"}).Draw(rt, "expected")
	case models.TroubleEstimate:
		tr.Left = rapid.IntRange(1, 200).Draw(rt, "left")
	}
	return tr
}

// Trouble that is taken back leaves no trace but in the journal.
func TestTroubleTakenBackIsAsBefore(t *testing.T) {
	kinds := map[models.TroubleKind]int{}
	fresh := filepath.Join(t.TempDir(), "fresh")
	require.NoError(t, newBench(t).store.Backup(context.Background(), fresh))
	rapid.Check(t, func(rt *rapid.T) {
		b := copiedBench(t, fresh)
		b.taps = 1000
		for range rapid.IntRange(0, 25).Draw(rt, "taps") {
			b.clock.Step(time.Duration(rapid.IntRange(1, 200).Draw(rt, "minutes")) * time.Minute)
			r := drawTap(rt, b.snap(), b.clock.Now())
			r.ID = b.id()
			_, err := b.store.Tap(context.Background(), r)
			assertCode(rt, err)
		}
		was := b.snap()
		for _, st := range was.Steps {
			for _, u := range was.PartsOf(st.ID) {
				for n := 1; n <= u.Quantity && st.State != models.Todo; n++ {
					b.tick(st.ID, u.PartID, n, rapid.Bool().Draw(rt, "ticked"))
				}
			}
		}
		ticked := b.allTicked(was)
		s := rapid.SampledFrom(was.Steps).Draw(rt, "step")
		r := models.TapRequest{ID: b.id(), Kind: models.TapTrouble, StepID: s.ID, PersonID: 1, Trouble: drawTrouble(rt, was, &s)}
		result, err := b.store.Tap(context.Background(), r)
		if err != nil {
			assertCode(rt, err)
			require.Equal(rt, stand(was), stand(b.snap()), "a refusal changes nothing")
			require.NoError(rt, b.store.Close())
			return
		}
		kinds[r.Trouble.Kind]++
		assertReplays(rt, b.store, b.snap())
		_, err = b.undo(result.Tap.Seq, 2)
		require.NoError(rt, err)
		require.Equal(rt, stand(was), stand(b.snap()))
		require.Equal(rt, ticked, b.allTicked(was))
		require.NoError(rt, b.store.Close())
	})
	t.Log(kinds)
	for _, kind := range models.TroubleKinds() {
		assert.NotZero(t, kinds[kind], "a property that never met the case shows nothing: %s", kind)
	}
}

// ticks a piece off, or back.
func (b *bench) tick(step, part models.ID, number int, done bool) {
	b.t.Helper()
	require.NoError(b.t, b.store.TickPart(context.Background(), models.PartTick{ID: b.id(), StepID: step, PartID: part, Number: number, Done: done, PersonID: 1}))
}

// ticked lists the numbers of a part's pieces that a step is done with.
func (b *bench) ticked(step, part models.ID) []int {
	b.t.Helper()
	all, err := b.store.Ticked(context.Background(), step)
	require.NoError(b.t, err)
	var numbers []int
	for n, done := range all[step][part] {
		if done {
			numbers = append(numbers, n)
		}
	}
	slices.Sort(numbers)
	return numbers
}

// allTicked reads the ticks of all steps.
func (b *bench) allTicked(snap *models.Snapshot) map[models.ID]models.Ticked {
	b.t.Helper()
	var ids []models.ID
	for _, st := range snap.Steps {
		ids = append(ids, st.ID)
	}
	all, err := b.store.Ticked(context.Background(), ids...)
	require.NoError(b.t, err)
	return all
}

func TestSpoiledPiecesAreNotTickedOff(t *testing.T) {
	b := newBench(t)
	board := b.part("board")
	joint, plane := b.step("joint").ID, b.step("plane").ID
	b.tap(models.TapStart, "joint", b.ana)
	for _, n := range []int{1, 2, 3} {
		b.tick(joint, board, n, true)
	}
	b.tap(models.TapFinish, "joint", b.ana)
	b.tap(models.TapStart, "plane", b.ana)
	for _, n := range []int{3, 1, 2} {
		b.tick(plane, board, n, true)
	}
	said := b.troubled("plane", models.Trouble{Kind: models.TroubleSpoiled, Parts: map[models.ID]int{board: 2}})
	assert.Equal(t, []int{3}, b.ticked(plane, board), "those tapped off last are to be done once more")
	assert.Equal(t, []int{1, 2, 3}, b.ticked(joint, board), "what is done stays done")
	assert.Empty(t, b.ticked(b.step("joint-again").ID, board), "and comes back for the others alone")

	b.tick(plane, board, 2, true)
	_, err := b.undo(said.Tap.Seq, b.ana)
	require.NoError(t, err)
	assert.Equal(t, []int{1, 2, 3}, b.ticked(plane, board))

	b.tick(plane, board, 2, false)
	said = b.troubled("plane", models.Trouble{Kind: models.TroubleSpoiled, Parts: map[models.ID]int{board: 2}})
	assert.Empty(t, b.ticked(plane, board))
	b.tick(plane, board, 1, true)
	b.tick(plane, board, 1, false)
	_, err = b.undo(said.Tap.Seq, b.ana)
	require.NoError(t, err)
	assert.Equal(t, []int{3}, b.ticked(plane, board), "what was tapped since stays so")
}

// A board that is spoiled in the glue-up is not done in what was begun with it before.
func TestSpoiledPiecesAreNotTickedOffWhereTheyAreLaidAside(t *testing.T) {
	b := newBench(t)
	board, rail := b.part("board"), b.part("rail")
	b.do("joint", "plane")
	b.tap(models.TapStart, "plane-rails", b.ana)
	rails := b.step("plane-rails").ID
	b.tick(rails, rail, 1, true)
	b.tap(models.TapPutDown, "plane-rails", b.ana)
	b.tap(models.TapStart, "rip", b.ana)
	rip := b.step("rip").ID
	b.tick(rip, board, 1, true)
	b.tap(models.TapPutDown, "rip", b.ana)
	b.troubled("glue-panel", models.Trouble{Kind: models.TroubleSpoiled, Parts: map[models.ID]int{board: 3}})
	assert.Empty(t, b.ticked(rip, board))
	assert.Equal(t, []int{1}, b.ticked(rails, rail), "the rails are whole")
}
