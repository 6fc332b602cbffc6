package models_test

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// edit makes edits on what the bench's commission is now.
func (b *bench) edit(edits ...models.Edit) error {
	c := b.snap().Commissions[0]
	return b.store.EditCommission(context.Background(), c.ID, c.Edition, edits, nil)
}

// must makes edits that are taken.
func (b *bench) must(edits ...models.Edit) *models.Snapshot {
	b.t.Helper()
	require.NoError(b.t, b.edit(edits...))
	return b.snap()
}

// waits lists the links of a snapshot as "before → after least..greatest".
func waits(snap *models.Snapshot) []string {
	var all []string
	for _, l := range snap.Links {
		text := fmt.Sprintf("%s → %s", snap.Step(l.BeforeID).Key, snap.Step(l.AfterID).Key)
		if l.MinLag != 0 || l.MaxLag != nil {
			text += fmt.Sprintf(" %d", l.MinLag)
		}
		if l.MaxLag != nil {
			text += fmt.Sprintf("..%d", *l.MaxLag)
		}
		all = append(all, text)
	}
	slices.Sort(all)
	return all
}

// workOf is what a step says now, as an edit would say it.
func workOf(snap *models.Snapshot, s *models.Step) models.StepWork {
	w := models.StepWork{Name: s.Name, Kind: s.Kind, Phase: s.Phase, Verb: s.Verb, StationID: s.StationID, Attended: s.Attended,
		Unattended: s.Unattended, Rest: s.Rest, Interruptible: s.Interruptible, Hands: s.Hands, Dusty: s.Dusty, Wet: s.Wet,
		OpenTime: s.OpenTime, GlueID: s.GlueID, FinishID: s.FinishID, Cautions: s.Cautions, Note: s.Note, Clamps: map[models.ID]int{},
		Setup: snap.SetupOf(s)}
	for _, c := range snap.ClampsOf(s.ID) {
		w.Clamps[c.ClampClassID] = c.Count
	}
	return w
}

func TestAStepIsAddedBetweenTwo(t *testing.T) {
	b := newBench(t)
	snap := b.snap()
	rip, glue := b.step("rip"), b.step("glue-panel")
	board := snap.PartsOf(rip.ID)[0].PartID
	snap = b.must(models.AddStep{
		StepWork: models.StepWork{Name: "Square the edges by hand", Phase: "milling", StationID: testrig.Station(t, snap, "bench").ID, Attended: 25, Hands: 2, Dusty: true, Interruptible: true},
		PieceID:  rip.PieceID, AfterID: rip.ID, BeforeID: glue.ID, Parts: map[models.ID]int{board: 2},
	})
	added := testrig.Step(t, snap, "own#2")
	assert.Equal(t, "Square the edges by hand", added.Name)
	assert.Equal(t, models.Todo, added.State)
	assert.Equal(t, 2, added.Hands)
	assert.Equal(t, 2, snap.PartsOf(added.ID)[0].Quantity)
	assert.Contains(t, waits(snap), "rip → own#2")
	assert.Contains(t, waits(snap), "own#2 → glue-panel")
	steps := snap.StepsOf(added.CommissionID)
	at := slices.IndexFunc(steps, func(s *models.Step) bool { return s.ID == added.ID })
	assert.Equal(t, "rip", steps[at-1].Key, "it is listed behind the step it follows")
	assert.Equal(t, int64(1), snap.Commissions[0].Edition)
	assert.Len(t, snap.Steps, 11, "and the snapshot does not show what was read before")
}

func TestAStepIsChanged(t *testing.T) {
	b := newBench(t)
	snap := b.snap()
	w := workOf(snap, b.step("rip"))
	w.Name, w.Attended, w.Hands, w.Note = "Rip the boards with a helper", 18, 2, "long boards"
	w.StationID = testrig.Station(t, snap, "band-saw").ID
	w.Setup = &models.Setup{Family: "fence", State: "fence 101 mm", Instruction: "Band saw: fence at 101 mm"}
	snap = b.must(models.ChangeStep{StepID: b.step("rip").ID, StepWork: w})
	rip := testrig.Step(t, snap, "rip")
	assert.Equal(t, w.Name, rip.Name)
	assert.Equal(t, 18, rip.Attended)
	assert.Equal(t, 2, rip.Hands)
	assert.Equal(t, "long boards", rip.Note)
	assert.Equal(t, "band-saw", snap.Station(rip.StationID).Key)
	assert.Equal(t, "Band saw: fence at 101 mm", snap.Setup(*rip.SetupID).Instruction)
	assert.Len(t, snap.PartsOf(rip.ID), 1, "what it works on stays")

	w.Setup.Instruction = "Band saw: fence at 101 mm, roller stand behind"
	shared := *rip.SetupID
	snap = b.must(models.ChangeStep{StepID: rip.ID, StepWork: w})
	rip = testrig.Step(t, snap, "rip")
	assert.Equal(t, shared, *rip.SetupID, "the same state is the same setup")
	assert.Equal(t, w.Setup.Instruction, snap.SetupOf(rip).Instruction, "what is set for the step is the step's own")

	w = workOf(snap, testrig.Step(t, snap, "glue-panel"))
	w.Clamps = map[models.ID]int{}
	for _, c := range snap.Clamps {
		w.Clamps[c.ID] = 2
	}
	snap = b.must(models.ChangeStep{StepID: b.step("glue-panel").ID, StepWork: w})
	assert.Len(t, snap.ClampsOf(b.step("glue-panel").ID), 3)
}

func TestAStepIsSplit(t *testing.T) {
	for _, apart := range []bool{false, true} {
		t.Run(fmt.Sprintf("apart %v", apart), func(t *testing.T) {
			b := newBench(t)
			glue := b.step("glue-panel")
			board := b.snap().PartsOf(glue.ID)[0].PartID
			snap := b.must(models.SplitStep{StepID: glue.ID, Attended: 10, Parts: map[models.ID]int{board: 1},
				FirstName: "Glue up the first half", SecondName: "Glue up the second half", Apart: apart})
			one, two := testrig.Step(t, snap, "glue-panel"), testrig.Step(t, snap, "glue-panel#2")
			assert.Equal(t, []int{10, 20}, []int{one.Attended, two.Attended})
			assert.Equal(t, []int{3, 6}, []int{one.OpenTime, two.OpenTime})
			assert.Equal(t, []int{1, 2}, []int{snap.PartsOf(one.ID)[0].Quantity, snap.PartsOf(two.ID)[0].Quantity})
			assert.Equal(t, snap.ClampsOf(one.ID)[0].Count, snap.ClampsOf(two.ID)[0].Count)
			assert.Nil(t, one.MakesID)
			assert.Equal(t, "Panel", snap.Assembly(*two.MakesID).Name)
			assert.Equal(t, "in clamps", two.Rest)
			assert.Equal(t, "glue-panel", two.FirstKey())
			assert.Equal(t, apart, slices.Contains(waits(snap), "rip → glue-panel#2"))
			assert.Equal(t, apart, slices.Contains(waits(snap), "glue-panel → trim 60"))
			assert.Contains(t, waits(snap), "glue-panel#2 → trim 60")
			assert.Equal(t, !apart, slices.Contains(waits(snap), "glue-panel → glue-panel#2"))
		})
	}
}

func TestARemovedStepLeavesItsNeighboursInOrder(t *testing.T) {
	b := newBench(t)
	trim, coat := b.step("trim").ID, b.step("coat-1").ID
	snap := b.must(models.RemoveStep{StepID: trim}, models.RemoveStep{StepID: coat})
	assert.Contains(t, waits(snap), "glue-panel → glue-frame 60", "the hour out of the clamps is still waited")
	assert.Contains(t, waits(snap), "sand → coat-2 720", "the window of a coat that is not there binds nothing")
	assert.Nil(t, snap.Step(trim))

	last := b.step("coat-2").ID
	snap = b.must(models.RemoveStep{StepID: last})
	rip := testrig.Step(t, snap, "rip")
	snap = b.must(models.AddStep{StepWork: workOf(snap, rip), PieceID: rip.PieceID})
	assert.Greater(t, testrig.Step(t, snap, "rip#2").ID, last, "the number of a step that was taken out is not given again")
	other := testrig.Commission(t, b.store, "Another", "2026-04-01")
	snap = b.snap()
	for _, s := range snap.StepsOf(other.ID) {
		assert.Greater(t, s.ID, last+1)
	}
}

func TestAStepIsMoved(t *testing.T) {
	b := newBench(t)
	snap := b.must(models.MoveStep{StepID: b.step("trim").ID, OtherID: b.step("glue-frame").ID, After: true})
	all := waits(snap)
	for _, want := range []string{"glue-panel → glue-frame 60", "glue-frame → trim", "trim → sand", "glue-panel → trim 60"} {
		assert.Contains(t, all, want)
	}
	assert.NotContains(t, all, "trim → glue-frame")
	assert.NotContains(t, all, "glue-frame → sand", "trim stands between them now")

	snap = b.must(models.MoveStep{StepID: b.step("sand").ID, OtherID: b.step("rip").ID})
	all = waits(snap)
	for _, want := range []string{"plane → sand", "sand → rip", "trim → coat-1"} {
		assert.Contains(t, all, want)
	}
	assert.NotContains(t, all, "trim → sand")
	steps := snap.StepsOf(snap.Commissions[0].ID)
	at := slices.IndexFunc(steps, func(s *models.Step) bool { return s.Key == "sand" })
	assert.Equal(t, "rip", steps[at+1].Key)
}

func TestLinksAreAddedChangedAndRemoved(t *testing.T) {
	b := newBench(t)
	most := 600
	l := models.Link{BeforeID: b.step("plane-rails").ID, AfterID: b.step("glue-panel").ID, From: models.FromAttended, MinLag: 30, MaxLag: &most, Why: "the rails lie ready"}
	snap := b.must(models.AddLink{Link: l})
	assert.Contains(t, waits(snap), "plane-rails → glue-panel 30..600")
	added := snap.Links[len(snap.Links)-1]
	snap = b.must(models.ChangeLink{LinkID: added.ID, From: models.FromEnd, MinLag: 5})
	assert.Contains(t, waits(snap), "plane-rails → glue-panel 5")
	snap = b.must(models.RemoveLink{LinkID: added.ID})
	assert.NotContains(t, waits(snap), "plane-rails → glue-panel 5")
}

// Whatever is refused changes nothing, and says why.
func TestEditsThatAreRefused(t *testing.T) {
	b := newBench(t)
	b.do("joint")
	b.tap(models.TapStart, "plane", b.ana)
	undone := b.tap(models.TapStart, "plane-rails", b.ben)
	_, err := b.undo(undone.Tap.Seq, b.ben)
	require.NoError(t, err)
	snap := b.snap()
	id := func(key string) models.ID { return testrig.Step(t, snap, key).ID }
	link := func(before, after string) models.Link {
		return models.Link{BeforeID: id(before), AfterID: id(after), From: models.FromEnd}
	}
	linked := func(before, after string) models.ID {
		for _, l := range snap.Links {
			if l.BeforeID == id(before) && l.AfterID == id(after) {
				return l.ID
			}
		}
		t.Fatalf("no link %s → %s", before, after)
		return 0
	}
	work := func(change func(*models.StepWork)) models.StepWork {
		w := workOf(snap, testrig.Step(t, snap, "rip"))
		change(&w)
		return w
	}
	less := -1
	for name, c := range map[string]struct {
		edit  models.Edit
		code  models.Code
		field string
		says  string
	}{
		"a step in hand":        {models.ChangeStep{StepID: id("plane"), StepWork: work(func(*models.StepWork) {})}, models.Conflict, "step", "“Plane the boards” is in hand: only steps that are not begun are changed."},
		"a step that is done":   {models.RemoveStep{StepID: id("joint")}, models.Conflict, "step", "“Joint a face and an edge” is done: only steps that are not begun are changed."},
		"a tapped step":         {models.RemoveStep{StepID: id("plane-rails")}, models.Conflict, "step", "“Plane the rails” was tapped before and the journal keeps that: it can be changed, but not taken out."},
		"no such step":          {models.RemoveStep{StepID: 99}, models.NotFound, "step", "“Shelf for the hall” has no step with number 99; it may have been taken out."},
		"a circle":              {models.AddLink{Link: link("trim", "rip")}, models.Invalid, "links", "The steps would go in a circle: “Rip the boards” → “Glue up the panel” → “Trim the panel” → “Rip the boards”."},
		"itself":                {models.AddLink{Link: link("trim", "trim")}, models.Invalid, "before", "“Trim the panel” cannot wait for itself."},
		"a begun one waits":     {models.AddLink{Link: link("trim", "plane")}, models.Conflict, "step", "“Plane the boards” is in hand: only steps that are not begun are changed."},
		"linked already":        {models.AddLink{Link: link("plane", "rip")}, models.Invalid, "from", "“Rip the boards” waits for the end of “Plane the boards” already: change that link."},
		"a begun one's link":    {models.RemoveLink{LinkID: linked("joint", "plane")}, models.Conflict, "step", "“Plane the boards” is in hand: only steps that are not begun are changed."},
		"no such link":          {models.RemoveLink{LinkID: 99}, models.NotFound, "link", "There is no link with number 99."},
		"greatest under least":  {models.ChangeLink{LinkID: linked("plane", "rip"), From: models.FromEnd, MaxLag: &less}, models.Invalid, "greatest lag", "The greatest lag, -1 minutes, is less than the least, 0, or above 1000000."},
		"no point":              {models.ChangeLink{LinkID: linked("plane", "rip"), From: "middle"}, models.Invalid, "from", `The from "middle" is not one of "end", "start", "attended".`},
		"next to itself":        {models.MoveStep{StepID: id("rip"), OtherID: id("rip")}, models.Invalid, "other", "“Rip the boards” cannot be put next to itself."},
		"before a begun one":    {models.MoveStep{StepID: id("rip"), OtherID: id("plane")}, models.Conflict, "step", "“Plane the boards” is in hand: only steps that are not begun are changed."},
		"between begun ones":    {models.MoveStep{StepID: id("rip"), OtherID: id("joint"), After: true}, models.Conflict, "link", "“Plane the boards” is begun already and cannot wait for “Rip the boards”."},
		"all its minutes":       {models.SplitStep{StepID: id("rip"), Attended: 10, FirstName: "a", SecondName: "b"}, models.Invalid, "first minutes", "The first minutes 10 minutes is not between 1 and 9 minutes."},
		"parts it has not":      {models.SplitStep{StepID: id("rip"), Attended: 5, FirstName: "a", SecondName: "b", Parts: map[models.ID]int{1: 9}}, models.Invalid, "parts", "The first step cannot have 9 of 3."},
		"no name":               {models.SplitStep{StepID: id("rip"), Attended: 5, FirstName: " ", SecondName: "b"}, models.Invalid, "first name", "The first name is empty."},
		"an empty name":         {models.ChangeStep{StepID: id("rip"), StepWork: work(func(w *models.StepWork) { w.Name = "" })}, models.Invalid, "name", "The name is empty."},
		"no time":               {models.ChangeStep{StepID: id("rip"), StepWork: work(func(w *models.StepWork) { w.Attended = 0 })}, models.Invalid, "attended", "The attended 0 minutes is not between 1 and 100000 minutes."},
		"a rest without time":   {models.ChangeStep{StepID: id("rip"), StepWork: work(func(w *models.StepWork) { w.Rest = "drying" })}, models.Invalid, "unattended", "“Rip the boards” is drying after the work: say for how many minutes."},
		"time without a rest":   {models.ChangeStep{StepID: id("rip"), StepWork: work(func(w *models.StepWork) { w.Unattended = 9 })}, models.Invalid, "rest", "“Rip the boards” has 9 unattended minutes: say whether it is in clamps, drying or resting then."},
		"an unknown phase":      {models.ChangeStep{StepID: id("rip"), StepWork: work(func(w *models.StepWork) { w.Phase = "lunch" })}, models.Invalid, "phase", `The phase "lunch" is not one of "milling", "joinery", "glue-up", "shaping", "sanding", "finishing", "fitting".`},
		"a station nobody has":  {models.ChangeStep{StepID: id("rip"), StepWork: work(func(w *models.StepWork) { w.StationID = 99; w.Setup = nil })}, models.NotFound, "station", "There is no station with number 99."},
		"too many clamps":       {models.ChangeStep{StepID: id("rip"), StepWork: work(func(w *models.StepWork) { w.Clamps = map[models.ID]int{1: 40} })}, models.Invalid, "clamps", "“Rip the boards” needs 40 of 600 mm bar clamps; the rack has 10."},
		"too many hands":        {models.ChangeStep{StepID: id("rip"), StepWork: work(func(w *models.StepWork) { w.Hands = 3 })}, models.Invalid, "hands", "“Rip the boards” asks for 3 people; 2 work here."},
		"both sides of one":     {models.AddStep{StepWork: work(func(*models.StepWork) {}), PieceID: 1, AfterID: id("rip"), BeforeID: id("rip")}, models.Invalid, "before", "A step cannot come both before and after the same one."},
		"more parts than exist": {models.AddStep{StepWork: work(func(*models.StepWork) {}), PieceID: 1, Parts: map[models.ID]int{1: 4}}, models.Invalid, "parts", "There are 3 of Panel board; the step cannot work on 4."},
		"no such piece":         {models.AddStep{StepWork: work(func(*models.StepWork) {}), PieceID: 99}, models.NotFound, "piece", "There is no piece with number 99."},
	} {
		t.Run(name, func(t *testing.T) {
			// A good edit before the bad one must not stay either.
			err := b.edit(models.SplitStep{StepID: id("sand"), Attended: 10, FirstName: "a", SecondName: "b"}, c.edit)
			refused(t, err, c.code, c.says)
			var e *models.Error
			require.ErrorAs(t, err, &e)
			assert.Equal(t, c.field, e.Field)
			now := b.snap()
			assert.Equal(t, snap.Steps, now.Steps)
			assert.Equal(t, snap.Links, now.Links)
			assert.Equal(t, snap.Shop.Revision, now.Shop.Revision)
		})
	}
}

func TestACommissionThatIsClosedOrEditedElsewhereIsNotEdited(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	c := b.snap().Commissions[0]
	edit := []models.Edit{models.RemoveStep{StepID: b.step("trim").ID}}
	require.NoError(t, b.store.EditCommission(ctx, c.ID, 0, edit, nil))
	refused(t, b.store.EditCommission(ctx, c.ID, 0, edit, nil), models.Stale,
		"The steps of “Shelf for the hall” were changed since you looked. Look again, then change what is still to be changed.")
	c.State = models.Dropped
	require.NoError(t, b.store.SaveCommission(ctx, c))
	refused(t, b.store.EditCommission(ctx, c.ID, 1, edit, nil), models.Conflict,
		"The commission “Shelf for the hall” is dropped: its steps are not changed any more.")
	refused(t, b.store.EditCommission(ctx, 99, 0, edit, nil), models.NotFound, "There is no commission with number 99.")
}

func TestAJudgeSeesBothAndMayRefuse(t *testing.T) {
	b := newBench(t)
	c := b.snap().Commissions[0]
	edits := []models.Edit{models.RemoveStep{StepID: b.step("trim").ID}}
	no := &models.Error{Code: models.Conflict, Sentence: phrase.Of("Not like this.")}
	err := b.store.EditCommission(context.Background(), c.ID, 0, edits, func(before, after *models.Snapshot) error {
		assert.Len(t, before.Steps, 10)
		assert.Len(t, after.Steps, 9)
		assert.Equal(t, int64(1), after.Commissions[0].Edition)
		return no
	})
	refused(t, err, models.Conflict, "Not like this.")
	assert.Len(t, b.snap().Steps, 10)
}

// A rework does not touch what is begun, takes nothing out, and is refused whole.
func TestReworksThatAreRefused(t *testing.T) {
	b := newBench(t)
	b.do("joint")
	snap := b.snap()
	for name, c := range map[string]struct {
		change func(*models.NewPiece)
		code   models.Code
		says   string
	}{
		"a begun step":         {func(p *models.NewPiece) { p.Steps[0].Attended = 99 }, models.Conflict, "“Joint a face and an edge” is done: only steps that are not begun are changed."},
		"a step left out":      {func(p *models.NewPiece) { p.Steps, p.Links = p.Steps[:9], p.Links[:9] }, models.Conflict, "“Second coat” would be taken out: take it out by itself."},
		"a part worked on":     {func(p *models.NewPiece) { p.Parts[0].Width++ }, models.Conflict, "“Joint a face and an edge” is begun: the size of Panel board is not changed any more."},
		"what goes in circles": {func(p *models.NewPiece) { p.Links[0].Before, p.Links[0].After = "coat-2", "plane-rails" }, models.Invalid, "The steps go in a circle: “Plane the rails” → “Glue the rails to the panel” → “Sand the shelf” → “First coat” → “Second coat” → “Plane the rails”."},
		"more clamps":          {func(p *models.NewPiece) { p.Steps[4].Clamps = map[models.ID]int{1: 40} }, models.Invalid, "“Glue up the panel” needs 40 of 600 mm bar clamps; the rack has 10."},
	} {
		t.Run(name, func(t *testing.T) {
			order := testrig.NewCommission(t, b.store, "x", "2026-03-20").Pieces[0]
			order.Steps[9].Attended = 33 // what is sound must not be saved either
			c.change(&order)
			refused(t, b.edit(models.Rework{PieceID: 1, Order: order}), c.code, c.says)
			assert.Equal(t, snap.Steps, b.snap().Steps)
		})
	}
	order := testrig.NewCommission(t, b.store, "x", "2026-03-20").Pieces[0]
	now := b.must(models.Rework{PieceID: 1, Order: order})
	assert.Equal(t, snap.Steps, now.Steps, "the same order of work changes nothing")
	assert.Equal(t, snap.Links, now.Links)
	assert.Equal(t, snap.StepClamps, now.StepClamps)
	refused(t, b.edit(models.Rework{PieceID: 99, Order: order}), models.NotFound, "There is no piece with number 99.")
}

// Own patterns are kept with their text, in order, once for each key.
func TestOwnPatternsAreKept(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	first, err := b.store.KeepPattern(ctx, models.OwnPattern{Key: "ours", Title: "Ours", Source: "pattern: ours\n"})
	require.NoError(t, err)
	assert.Equal(t, b.clock.Now(), first.MadeAt)
	_, err = b.store.KeepPattern(ctx, models.OwnPattern{Key: "a-second", Title: "A second", Source: "x"})
	require.NoError(t, err)
	all, err := b.store.OwnPatterns(ctx)
	require.NoError(t, err)
	assert.Equal(t, []string{"ours", "a-second"}, []string{all[0].Key, all[1].Key})
	assert.Equal(t, "pattern: ours\n", all[0].Source)

	_, err = b.store.KeepPattern(ctx, models.OwnPattern{Key: "ours", Title: "Again", Source: "x"})
	refused(t, err, models.Invalid, `The key "ours" is taken already.`)
	_, err = b.store.KeepPattern(ctx, models.OwnPattern{Key: "big", Title: "Big", Source: string(make([]byte, 256<<10+1))})
	refused(t, err, models.Invalid, "The pattern's text has 262145 bytes; between 1 and 262144 can be kept.")
	_, err = b.store.KeepPattern(ctx, models.OwnPattern{Key: "no", Title: " ", Source: "x"})
	refused(t, err, models.Invalid, "The title is empty.")
	require.NoError(t, b.store.RemovePattern(ctx, "ours"))
	refused(t, b.store.RemovePattern(ctx, "ours"), models.NotFound, `The shop keeps no pattern "ours" of its own.`)
}

// Random taps and edits never leave a circle, a link into nowhere, a begun step
// changed, or a step begun ahead of one before it; and the columns are still
// what the journal says.
func TestEditsKeepTheRules(t *testing.T) {
	var accepted, refusals int
	kinds := map[string]int{}
	fresh := filepath.Join(t.TempDir(), "fresh")
	require.NoError(t, newBench(t).store.Backup(context.Background(), fresh))
	rapid.Check(t, func(rt *rapid.T) {
		b := copiedBench(t, fresh)
		now := b.snap()
		for range rapid.IntRange(1, 10).Draw(rt, "moves") {
			b.clock.Step(time.Duration(rapid.IntRange(0, 200).Draw(rt, "minutes")) * time.Minute)
			was := now
			if rapid.IntRange(0, 3).Draw(rt, "tap") == 0 {
				r := drawTap(rt, now, b.clock.Now())
				r.ID = b.id()
				_, err := b.store.Tap(context.Background(), r)
				assertCode(rt, err)
			} else {
				edit := drawEdit(rt, now)
				err := b.edit(edit)
				assertCode(rt, err)
				count(&accepted, err == nil)
				count(&refusals, err != nil)
				if err == nil {
					kinds[fmt.Sprintf("%T", edit)]++
				}
				assertBegunStay(rt, was, b.snap())
			}
			now = b.snap()
			assertOrder(rt, now)
			assertReplays(rt, b.store, now)
		}
		require.NoError(rt, b.store.Close())
	})
	t.Logf("%d taken, %d refused: %v", accepted, refusals, kinds)
	assert.NotZero(t, refusals)
	assert.Len(t, kinds, 8, "a property that never met an edit shows nothing of it")
}

// drawEdit draws an edit that mostly makes sense.
func drawEdit(rt *rapid.T, now *models.Snapshot) models.Edit {
	step := func(name string) *models.Step { return &now.Steps[rapid.IntRange(0, len(now.Steps)-1).Draw(rt, name)] }
	lags := func() (string, int, *int) {
		from := rapid.SampledFrom([]string{models.FromEnd, models.FromEnd, models.FromStart, models.FromAttended}).Draw(rt, "from")
		least := rapid.IntRange(-10, 200).Draw(rt, "least")
		if rapid.Bool().Draw(rt, "bounded") {
			most := least + rapid.IntRange(-5, 500).Draw(rt, "room")
			return from, least, &most
		}
		return from, least, nil
	}
	s := step("step")
	work := workOf(now, s)
	work.Attended = rapid.IntRange(0, 90).Draw(rt, "attended")
	switch rapid.IntRange(0, 7).Draw(rt, "edit") {
	case 0:
		return models.AddStep{StepWork: work, PieceID: s.PieceID, AfterID: s.ID, BeforeID: step("before").ID}
	case 1:
		return models.ChangeStep{StepID: s.ID, StepWork: work}
	case 2:
		split := models.SplitStep{StepID: s.ID, Attended: rapid.IntRange(0, 20).Draw(rt, "first"), FirstName: "one", SecondName: "two", Apart: rapid.Bool().Draw(rt, "apart"), Parts: map[models.ID]int{}}
		for _, use := range now.PartsOf(s.ID) {
			split.Parts[use.PartID] = rapid.IntRange(0, use.Quantity).Draw(rt, "parts")
		}
		return split
	case 3:
		return models.RemoveStep{StepID: s.ID}
	case 4:
		return models.MoveStep{StepID: s.ID, OtherID: step("other").ID, After: rapid.Bool().Draw(rt, "after")}
	case 5:
		from, least, most := lags()
		return models.AddLink{Link: models.Link{BeforeID: s.ID, AfterID: step("after").ID, From: from, MinLag: least, MaxLag: most}}
	}
	if len(now.Links) == 0 {
		return models.RemoveStep{StepID: s.ID}
	}
	l := now.Links[rapid.IntRange(0, len(now.Links)-1).Draw(rt, "link")]
	if rapid.Bool().Draw(rt, "remove") {
		return models.RemoveLink{LinkID: l.ID}
	}
	from, least, most := lags()
	return models.ChangeLink{LinkID: l.ID, From: from, MinLag: least, MaxLag: most, Why: "changed"}
}

// assertBegunStay checks that no begun step changed but for its place in the list.
func assertBegunStay(t require.TestingT, was, now *models.Snapshot) {
	for _, old := range was.Steps {
		if old.StartedAt == nil {
			continue
		}
		s := now.Step(old.ID)
		require.NotNil(t, s, "%s was begun and is gone", old.Key)
		same := *s
		same.Position = old.Position
		require.Equal(t, old, same)
		require.Equal(t, was.PartsOf(old.ID), now.PartsOf(old.ID))
		require.Equal(t, was.ClampsOf(old.ID), now.ClampsOf(old.ID))
		require.Equal(t, was.Before(old.ID), now.Before(old.ID), "a link belongs to its later step")
	}
}

// assertOrder checks that links join steps that are there, without a circle, and
// that parts are not multiplied.
func assertOrder(t require.TestingT, now *models.Snapshot) {
	left, after := map[models.ID]int{}, map[models.ID][]models.ID{}
	for _, l := range now.Links {
		before, later := now.Step(l.BeforeID), now.Step(l.AfterID)
		require.NotNil(t, before)
		require.NotNil(t, later)
		require.False(t, later.StartedAt != nil && before.StartedAt == nil, "%s is begun ahead of %s", later.Key, before.Key)
		left[l.AfterID]++
		after[l.BeforeID] = append(after[l.BeforeID], l.AfterID)
	}
	var free []models.ID
	for _, s := range now.Steps {
		if left[s.ID] == 0 {
			free = append(free, s.ID)
		}
	}
	for i := 0; i < len(free); i++ {
		for _, id := range after[free[i]] {
			if left[id]--; left[id] == 0 {
				free = append(free, id)
			}
		}
	}
	require.Len(t, free, len(now.Steps), "the links go in a circle")
	for _, use := range now.StepParts {
		require.LessOrEqual(t, use.Quantity, now.Part(use.PartID).Quantity)
	}
}
