package planner

import (
	"testing"

	"faceside/models"
	"faceside/models/pattern"
	"faceside/models/testrig"
	"faceside/models/wood"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// tray is a small piece as a pattern would make it.
func tray() *pattern.Built {
	most := 2880
	size := pattern.Size{Length: 400 * wood.Millimetre, Width: 90 * wood.Millimetre, Thickness: 20 * wood.Millimetre}
	return &pattern.Built{Pattern: "tray", Title: "Tray",
		Parts:      []pattern.Part{{Key: "side", Name: "Side", Quantity: 4, Finished: size, Rough: size, Species: "ash", Grain: "length"}},
		Assemblies: []pattern.Assembly{{Key: "tray", Name: "Tray", Parts: []pattern.PartUse{{Part: "side", Quantity: 4}}}},
		Steps: []pattern.Step{
			{Key: "plane", Name: "Plane the sides", Kind: "plane", Phase: pattern.Milling, Verb: "plane", Station: "planer",
				Setup:    &pattern.Setup{Family: "thickness", State: "thickness 20 mm", Instruction: "Planer: set 20 mm"},
				Attended: 20, Interruptible: true, Hands: 1, Dusty: true, Parts: []pattern.PartUse{{Part: "side", Quantity: 4}}},
			{Key: "glue", Name: "Glue up the tray", Kind: "glue", Phase: pattern.GlueUp, Verb: "glue", Station: "bench",
				Setup:    &pattern.Setup{Family: "jig", State: "corner jig", Instruction: "Bench: lay out the corner jig"},
				Attended: 25, Unattended: 60, Rest: pattern.InClamps, Hands: 2, Glue: "pva", OpenTime: 8, Makes: "tray",
				Clamps: []pattern.ClampUse{{Class: "f-300", Count: 4}, {Class: "bar-600", Count: 2}}},
			{Key: "coat", Name: "Oil the tray", Kind: "coat", Phase: pattern.Finishing, Verb: "oil", Station: "finish-room",
				Attended: 15, Unattended: 720, Rest: pattern.Drying, Hands: 1, Wet: true, Finish: "penetrating-oil", Assemblies: []string{"tray"}},
		},
		Links: []pattern.Link{
			{Before: "plane", After: "glue", From: pattern.FromEnd, Max: &most, Why: "fresh faces glue best"},
			{Before: "plane", After: "glue", From: pattern.FromEnd, Min: 5, Why: "let it cool"},
			{Before: "glue", After: "coat", From: pattern.FromEnd},
		}}
}

func TestPieceRecordsCanBeTaken(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	in := pattern.Input{Pattern: "tray", Measures: map[string]string{"length": "400"}, Choices: map[string]string{"species": "ash"}}
	piece, err := PieceRecords(tray(), "Tray for the hall", in, r.snap())
	require.NoError(t, err)
	require.Len(t, piece.Links, 2, "two links of one kind are one")
	assert.Equal(t, 5, piece.Links[0].MinLag)
	assert.Equal(t, 2880, *piece.Links[0].MaxLag)
	assert.Nil(t, piece.Steps[1].Setup, "the benches are not set up as a whole")
	assert.Equal(t, "Bench: lay out the corner jig", piece.Steps[1].Note)
	c, err := r.store.TakeCommission(ctx, models.NewCommission{Commission: models.Commission{Name: "Tray", PromisedOn: "2026-12-04", Weight: 2}, Pieces: []models.NewPiece{piece}})
	require.NoError(t, err)
	glue := r.step(c, "glue")
	assert.NotNil(t, glue.GlueID)
	assert.Len(t, r.snap().ClampsOf(glue.ID), 2)
	p := r.plan()
	assert.Len(t, p.Steps, 3)
	assert.Len(t, r.snap().Planned(glue.ID).PersonIDs, 2)
}

func TestPieceRecordsNamesWhatTheShopHasNot(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	for _, tc := range []struct {
		change func(*pattern.Built)
		field  string
		value  string
	}{
		{func(b *pattern.Built) { b.Steps[0].Station = "lathe" }, "station", "lathe"},
		{func(b *pattern.Built) { b.Steps[1].Clamps[0].Class = "c-100" }, "clamp class", "c-100"},
		{func(b *pattern.Built) { b.Steps[1].Glue = "milk" }, "glue", "milk"},
		{func(b *pattern.Built) { b.Steps[2].Finish = "gold" }, "finish", "gold"},
	} {
		b := tray()
		tc.change(b)
		_, err := PieceRecords(b, "Tray", pattern.Input{}, r.snap())
		var e *models.Error
		require.ErrorAs(t, err, &e)
		assert.Equal(t, models.Invalid, e.Code)
		assert.Equal(t, [2]string{tc.field, tc.value}, [2]string{e.Field, e.Value})
		assert.Contains(t, e.Error(), tc.value)
	}
}

func TestDraftSaysWhatTakingAPieceMeans(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	r.take("Shelf", "2026-12-02")
	r.plan()
	before := r.snap()
	d, err := r.service.Draft(ctx, tray(), "2026-12-02", 2, AtOnce)
	require.NoError(t, err)
	assert.Equal(t, 3, d.Steps)
	assert.Equal(t, 20+2*25+15, d.AttendedMin)
	assert.Equal(t, 60+720, d.RestMin)
	assert.Equal(t, 1, d.GlueUps)
	assert.Equal(t, []ClampNeed{{"600 mm bar clamps", 2, 10}, {"300 mm F-clamps", 4, 16}}, d.Clamps)
	assert.Equal(t, "Tray", d.Forecast.Name)
	assert.True(t, d.Forecast.PromisedBy.Equal(local(t, "2026-12-02 17:00")))
	assert.True(t, d.Forecast.Ends.After(local(t, "2026-12-01 21:00")), "12 h of drying")
	assert.False(t, d.Forecast.Late)
	require.Len(t, d.Others, 1)
	require.Len(t, d.Before, 1)
	assert.False(t, d.Others[0].Ends.Before(d.Before[0].Ends))
	after := r.snap()
	assert.Equal(t, before.Shop.Revision, after.Shop.Revision, "nothing was stored")
	assert.Equal(t, before.Plan.ID, after.Plan.ID)
	assert.Len(t, after.Steps, len(before.Steps))

	_, err = r.service.Draft(ctx, tray(), "tomorrow", 2, AtOnce)
	var e *models.Error
	require.ErrorAs(t, err, &e)
	assert.Equal(t, "The promised date \"tomorrow\" is no date: write it like 2026-12-24.", e.Error())
}

func TestDraftSharesSetupsWithOpenWork(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.take("Shelf", "2026-12-02")
	r.do("Ana", c, "joint", "plane")
	snap := r.snap()
	b := tray()
	b.Steps[0].Setup.State = "thickness 22 mm" // as the planer stands
	piece, err := PieceRecords(b, "Tray", pattern.Input{}, snap)
	require.NoError(t, err)
	with := taken(snap, piece, models.Commission{ID: draftID, Name: "Tray", PromisedOn: "2026-12-04", Weight: 1, State: models.Open})
	assert.Equal(t, *r.step(c, "plane").SetupID, *stepIn(t, with, draftID, "plane").SetupID)
	assert.Len(t, with.Setups, len(snap.Setups))
	checkPosed(t, with)
}

func TestPatternShopTellsTheShop(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	snap := r.snap()
	shop := PatternShop(snap)
	assert.Equal(t, 2, shop.Hands)
	assert.Len(t, shop.Stations, len(snap.Stations))
	assert.Equal(t, pattern.ClampClass{Key: "bar-600", Name: "600 mm bar clamps", Reach: 600 * wood.Millimetre, Count: 10}, shop.Clamps[0])
	assert.Equal(t, testrig.Station(t, snap, "drum-sander").MaxWidth, shop.Stations[5].MaxWidth)
	assert.True(t, shop.Stations[5].OpenEnded)
	assert.Len(t, shop.Glues, 5)
	assert.Len(t, shop.Finishes, 4)
}

// A piece that is added is planned with its commission, and stores nothing yet.
func TestAPieceIsDraftedIntoACommission(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	in := pattern.Input{Pattern: "tray"}
	piece, err := PieceRecords(tray(), "Tray", in, r.snap())
	require.NoError(t, err)
	take := func(name string) *models.Commission {
		c, err := r.store.TakeCommission(ctx, models.NewCommission{Commission: models.Commission{Name: name, PromisedOn: "2026-12-04", Weight: 2}, Pieces: []models.NewPiece{piece}})
		require.NoError(t, err)
		return c
	}
	one, other := take("One"), take("Other")
	r.plan()
	before := r.snap()
	d, err := r.service.DraftPiece(ctx, tray(), one.ID, AtOnce)
	require.NoError(t, err)
	assert.Equal(t, one.ID, d.Forecast.CommissionID)
	assert.Equal(t, 3, d.Steps)
	require.Len(t, d.Others, 1)
	assert.Equal(t, other.ID, d.Others[0].CommissionID)
	for _, f := range d.Before {
		if f.CommissionID == one.ID {
			assert.True(t, d.Forecast.Ends.After(f.Ends), "two trays take longer than one")
		}
	}
	assert.Equal(t, before.Steps, r.snap().Steps, "nothing is stored")

	_, err = r.service.DraftPiece(ctx, tray(), 99, AtOnce)
	assert.ErrorContains(t, err, "There is no open commission with number 99.")
}
