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

func TestTakeCommissionStoresTheWhole(t *testing.T) {
	b := newBench(t)
	want := testrig.NewCommission(t, b.store, "x", "2026-03-20").Pieces[0]
	snap := b.snap()
	require.Len(t, snap.Commissions, 1)
	c := snap.Commissions[0]
	assert.Equal(t, models.Open, c.State)
	assert.Equal(t, b.clock.Now(), c.TakenAt)
	require.Len(t, snap.Pieces, 1)
	assert.Equal(t, want.Measures, snap.Pieces[0].Measures)
	assert.Equal(t, want.Choices, snap.Pieces[0].Choices)
	require.Len(t, snap.Parts, len(want.Parts))
	for i, p := range snap.Parts {
		p.ID, p.CommissionID, p.PieceID = 0, 0, 0
		assert.Equal(t, want.Parts[i], p)
	}
	require.Len(t, snap.Steps, len(want.Steps))
	for i := range snap.Steps {
		assertStored(t, snap, &snap.Steps[i], want.Steps[i], i)
	}
	require.Len(t, snap.Links, len(want.Links))
	for i, l := range snap.Links {
		assert.Equal(t, want.Links[i].Before, snap.Step(l.BeforeID).Key)
		assert.Equal(t, want.Links[i].After, snap.Step(l.AfterID).Key)
		l.ID, l.CommissionID, l.BeforeID, l.AfterID = 0, 0, 0, 0
		assert.Equal(t, want.Links[i].Link, l)
	}
	require.Len(t, snap.AssemblyParts, 2)
	require.Len(t, snap.AssemblyAssemblies, 1)
	assert.Equal(t, "shelf", snap.Assembly(snap.AssemblyAssemblies[0].AssemblyID).Key)
	assert.Equal(t, "panel", snap.Assembly(snap.AssemblyAssemblies[0].InnerID).Key)
	assert.Len(t, snap.Setups, 2, "the two planer steps share one")
}

// assertStored compares a stored step with what was asked for.
func assertStored(t *testing.T, snap *models.Snapshot, got *models.Step, want models.NewStep, position int) {
	t.Helper()
	assert.Equal(t, position, got.Position)
	parts := map[string]int{}
	for _, u := range snap.PartsOf(got.ID) {
		parts[snap.Part(u.PartID).Key] = u.Quantity
	}
	assert.Equal(t, len(want.Parts), len(parts))
	for k, q := range want.Parts {
		assert.Equal(t, q, parts[k])
	}
	var assemblies []string
	for _, u := range snap.AssembliesOf(got.ID) {
		assemblies = append(assemblies, snap.Assembly(u.AssemblyID).Key)
	}
	assert.Equal(t, want.Assemblies, assemblies)
	for _, u := range snap.ClampsOf(got.ID) {
		assert.Equal(t, want.Clamps[u.ClampClassID], u.Count)
	}
	assert.Len(t, snap.ClampsOf(got.ID), len(want.Clamps))
	if want.Setup != nil {
		assert.Equal(t, want.Setup.State, snap.Setup(*got.SetupID).State)
		assert.Equal(t, got.StationID, snap.Setup(*got.SetupID).StationID)
		assert.Equal(t, want.Setup.Instruction, snap.SetupOf(got).Instruction)
	}
	if want.Makes != "" {
		assert.Equal(t, want.Makes, snap.Assembly(*got.MakesID).Key)
	}
	plain := *got
	plain.ID, plain.CommissionID, plain.PieceID, plain.Position, plain.SetupID, plain.SetTo, plain.MakesID = 0, 0, 0, 0, nil, "", nil
	expected := want.Step
	expected.State = models.Todo
	if expected.Cautions == nil {
		expected.Cautions = []string{}
	}
	assert.Equal(t, expected, plain)
}

func TestTakeCommissionRefuses(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	nobody := models.ID(99)
	short := 30
	piece := func(n *models.NewCommission) *models.NewPiece { return &n.Pieces[0] }
	for _, c := range []struct {
		name     string
		with     func(*models.NewCommission)
		code     models.Code
		sentence string
	}{
		{"past", func(n *models.NewCommission) { n.PromisedOn = "2026-03-01" }, models.Invalid, "The promised date 2026-03-01 is past: today is 2026-03-02."},
		{"no date", func(n *models.NewCommission) { n.PromisedOn = "2.3.2026" }, models.Invalid, `The promised date "2.3.2026" is not a day such as 2026-03-31.`},
		{"no name", func(n *models.NewCommission) { n.Name = "" }, models.Invalid, "The name is empty."},
		{"weight", func(n *models.NewCommission) { n.Weight = 10 }, models.Invalid, "The weight 10 is not between 1 and 9."},
		{"state", func(n *models.NewCommission) { n.State = models.Delivered }, models.Invalid, "A new commission is open or held, not delivered."},
		{"no piece", func(n *models.NewCommission) { n.Pieces = nil }, models.Invalid, "The commission “New” has no piece."},
		{"no steps", func(n *models.NewCommission) { piece(n).Steps = nil }, models.Invalid, "The piece “Shelf” has no steps."},
		{"circle", func(n *models.NewCommission) {
			piece(n).Links = append(piece(n).Links, models.NewLink{Before: "rip", After: "joint", Link: models.Link{From: "start"}})
		}, models.Invalid, "The steps go in a circle: “Joint a face and an edge” → “Plane the boards” → “Rip the boards” → “Joint a face and an edge”."},
		{"link to itself", func(n *models.NewCommission) { piece(n).Links[0].Before = "plane" }, models.Invalid, "The steps go in a circle: “Plane the boards” → “Plane the boards”."},
		{"link to nobody", func(n *models.NewCommission) { piece(n).Links[0].After = "weld" }, models.Invalid, "A link of “Shelf” names the step \"weld\", which the piece does not have."},
		{"link twice", func(n *models.NewCommission) { piece(n).Links = append(piece(n).Links, piece(n).Links[0]) }, models.Invalid, "Two links go from the end of “Joint a face and an edge” to “Plane the boards”."},
		{"link from nowhere", func(n *models.NewCommission) { piece(n).Links[0].From = "middle" }, models.Invalid, `The from of link joint → plane "middle" is not one of "end", "start", "attended".`},
		{"lags crossed", func(n *models.NewCommission) { piece(n).Links[0].MinLag, piece(n).Links[0].MaxLag = 31, &short }, models.Invalid, "The greatest lag of joint → plane, 30 minutes, is less than the least, 31, or above 1000000."},
		{"step twice", func(n *models.NewCommission) { piece(n).Steps[1].Key = "joint" }, models.Invalid, `Two of the piece have the step key "joint".`},
		{"no time", func(n *models.NewCommission) { piece(n).Steps[0].Attended = 0 }, models.Invalid, "The attended time of step joint 0 minutes is not between 1 and 100000 minutes."},
		{"no hands", func(n *models.NewCommission) { piece(n).Steps[0].Hands = 0 }, models.Invalid, "The hands of step joint 0 is not between 1 and 100."},
		{"rest without time", func(n *models.NewCommission) { piece(n).Steps[0].Rest = "drying" }, models.Invalid, `“Joint a face and an edge” has 0 unattended minutes and the rest "drying": one without the other cannot be.`},
		{"no station", func(n *models.NewCommission) { piece(n).Steps[0].StationID = nobody }, models.NotFound, "There is no station with number 99."},
		{"no glue", func(n *models.NewCommission) { piece(n).Steps[0].GlueID = &nobody }, models.NotFound, "There is no glue with number 99."},
		{"no finish", func(n *models.NewCommission) { piece(n).Steps[0].FinishID = &nobody }, models.NotFound, "There is no finish with number 99."},
		{"no clamps", func(n *models.NewCommission) { piece(n).Steps[0].Clamps = map[models.ID]int{nobody: 1} }, models.NotFound, "There is no clamp class with number 99."},
		{"too many clamps", func(n *models.NewCommission) { piece(n).Steps[0].Clamps = map[models.ID]int{1: 11} }, models.Invalid, "“Joint a face and an edge” needs 11 of 600 mm bar clamps; the rack has 10."},
		{"setup of a bench", func(n *models.NewCommission) { piece(n).Steps[4].Setup = &models.Setup{State: "tidy"} }, models.Invalid, "“Glue up the panel” needs the setup “tidy”, but Benches has 3 places and is not set up."},
		{"unknown part", func(n *models.NewCommission) { piece(n).Steps[0].Parts["leg"] = 1 }, models.Invalid, "“Joint a face and an edge” names the part \"leg\", which the piece does not have."},
		{"unknown assembly", func(n *models.NewCommission) { piece(n).Steps[5].Assemblies[0] = "door" }, models.Invalid, "“Trim the panel” names the assembly \"door\", which the piece does not have."},
		{"makes nothing known", func(n *models.NewCommission) { piece(n).Steps[4].Makes = "door" }, models.Invalid, "“Glue up the panel” names the assembly \"door\", which the piece does not have."},
		{"no quantity", func(n *models.NewCommission) { piece(n).Parts[0].Quantity = 0 }, models.Invalid, "The quantity of part board 0 is not between 1 and 10000."},
		{"no length", func(n *models.NewCommission) { piece(n).Parts[0].Length = 0 }, models.Invalid, "The length of part board 0 mm is not above 0 and at most 100 m."},
		{"grain", func(n *models.NewCommission) { piece(n).Parts[0].Grain = "up" }, models.Invalid, `The grain of part board "up" is not one of "length", "width", "none".`},
		{"inside itself", func(n *models.NewCommission) { piece(n).Assemblies[0].Inner = []string{"shelf"} }, models.Invalid, "Assemblies are inside one another: “Panel” → “Shelf” → “Panel”."},
	} {
		t.Run(c.name, func(t *testing.T) {
			before := b.snap()
			n := testrig.NewCommission(t, b.store, "New", "2026-03-20")
			c.with(&n)
			_, err := b.store.TakeCommission(ctx, n)
			refused(t, err, c.code, c.sentence)
			after := b.snap()
			assert.Equal(t, before.Commissions, after.Commissions)
			assert.Equal(t, before.Setups, after.Setups, "nothing is half saved")
			assert.Equal(t, before.Shop.Revision, after.Shop.Revision)
		})
	}
	n := testrig.NewCommission(t, b.store, "Today", "2026-03-02")
	_, err := b.store.TakeCommission(ctx, n)
	require.NoError(t, err, "today is not past")
}

// The shop's day has begun where the world's has not, and the reverse.
func TestPromisedDateIsOfTheShopsDay(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	b.clock.Set(time.Date(2026, 3, 2, 23, 30, 0, 0, time.UTC)) // Tuesday in the shop
	_, err := b.store.TakeCommission(ctx, testrig.NewCommission(t, b.store, "Late", "2026-03-02"))
	refused(t, err, models.Invalid, "The promised date 2026-03-02 is past: today is 2026-03-03.")
}

func TestSaveCommission(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	c := b.snap().Commissions[0]
	c.Name, c.Client, c.PromisedOn, c.Weight, c.Note, c.State = "Shelf", "", "2026-03-25", 1, "call first", models.Held
	changed := c
	changed.TakenAt = time.Time{} // the store's own
	require.NoError(t, b.store.SaveCommission(ctx, changed))
	assert.Equal(t, c, b.snap().Commissions[0], "held ones stay in the snapshot")

	b.clock.Set(time.Date(2026, 4, 1, 8, 0, 0, 0, time.UTC))
	c.Note = "late"
	require.NoError(t, b.store.SaveCommission(ctx, c), "a date that is past can stay")
	c.PromisedOn = "2026-03-31"
	refused(t, b.store.SaveCommission(ctx, c), models.Invalid, "The promised date 2026-03-31 is past: today is 2026-04-01.")
	c.PromisedOn, c.State = "2026-03-25", "lost"
	refused(t, b.store.SaveCommission(ctx, c), models.Invalid, `The state "lost" is not one of "open", "held", "delivered", "dropped".`)
	c.State, c.ID = models.Open, 99
	refused(t, b.store.SaveCommission(ctx, c), models.NotFound, "There is no commission with number 99.")
}

func TestDeliverAndDrop(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	c := b.snap().Commissions[0]
	with := func(s models.CommissionState) models.Commission { c.State = s; return c }
	refused(t, b.store.SaveCommission(ctx, with(models.Delivered)), models.Conflict, "“Shelf for the hall” cannot be delivered: “Joint a face and an edge” is not done.")
	b.tap(models.TapStart, "joint", b.ana)
	refused(t, b.store.SaveCommission(ctx, with(models.Dropped)), models.Conflict, "“Shelf for the hall” cannot be dropped: Ana has “Joint a face and an edge” in hand.")
	b.tap(models.TapFinish, "joint", b.ana)
	b.do("plane", "plane-rails", "rip", "glue-panel")
	b.clock.Step(2 * time.Hour)
	b.do("trim", "glue-frame")
	b.clock.Step(time.Hour)
	b.do("sand", "coat-1")
	b.clock.Step(12 * time.Hour)
	b.do("coat-2")
	refused(t, b.store.SaveCommission(ctx, with(models.Delivered)), models.Conflict, "“Shelf for the hall” cannot be delivered: “Second coat” is not done.")
	b.clock.Step(12 * time.Hour) // dry by the clock
	require.NoError(t, b.store.SaveCommission(ctx, with(models.Delivered)))
	assert.Empty(t, b.snap().Commissions)
	whole, err := b.store.CommissionSnapshot(ctx, c.ID)
	require.NoError(t, err)
	assert.Len(t, whole.Steps, 10)
	assert.Len(t, whole.LastTaps, 20)
	_, err = b.store.Tap(ctx, models.TapRequest{ID: "late", Kind: models.TapOut, StepID: whole.Steps[9].ID, PersonID: b.ana})
	refused(t, err, models.Conflict, "The commission “Shelf for the hall” is delivered: no work is done on it.")
	require.NoError(t, b.store.SaveCommission(ctx, with(models.Open)), "a mistake can be put right")
	assert.Len(t, b.snap().Commissions, 1)
	_, err = b.store.CommissionSnapshot(ctx, 99)
	refused(t, err, models.NotFound, "There is no commission with number 99.")
	_, err = b.store.CommissionSnapshot(ctx, 0)
	refused(t, err, models.NotFound, "There is no commission with number 0.")
}

func TestCommissionSummaries(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	soon := testrig.Commission(t, b.store, "Soon", "2026-03-05")
	dropped := testrig.Commission(t, b.store, "Dropped", "2026-03-03")
	dropped.State = models.Dropped
	require.NoError(t, b.store.SaveCommission(ctx, *dropped))
	b.do("joint", "plane", "rip", "glue-panel") // of the first
	b.tap(models.TapStart, "plane-rails", b.ana)
	b.clock.Step(4 * time.Minute)
	b.tap(models.TapPutDown, "plane-rails", b.ana)

	all, err := b.store.Commissions(ctx)
	require.NoError(t, err)
	require.Len(t, all, 3)
	assert.Equal(t, []string{"Soon", "Shelf for the hall", "Dropped"}, []string{all[0].Name, all[1].Name, all[2].Name})
	assert.Equal(t, models.CommissionSummary{Commission: *soon, Steps: 10, Done: 0, Minutes: 202, MinutesLeft: 202}, all[0])
	assert.Equal(t, 3, all[1].Done)
	assert.Equal(t, 202-20-15-10-30-4, all[1].MinutesLeft)
	b.clock.Step(time.Hour) // out of clamps by the clock
	all, err = b.store.Commissions(ctx)
	require.NoError(t, err)
	assert.Equal(t, 4, all[1].Done)
}
