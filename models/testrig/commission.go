package testrig

import (
	"context"
	"testing"

	"faceside/models"
	"faceside/models/wood"

	"github.com/stretchr/testify/require"
)

// Commission takes a commission of one shelf: rails and a panel that is glued
// up, trimmed, joined to the rails and coated twice. Its ten steps by key:
//
//	joint → plane → rip → glue-panel → trim → glue-frame → sand → coat-1 → coat-2
//	joint → plane-rails ────────────────────→ glue-frame
//
// plane and plane-rails share a planer setup, glue-panel and glue-frame hold clamps, trim waits
// an hour after glue-panel, and coat-2 has a recoat window of 12 to 48 hours.
func Commission(t testing.TB, store *models.Store, name, promisedOn string) *models.Commission {
	t.Helper()
	c, err := store.TakeCommission(context.Background(), NewCommission(t, store, name, promisedOn))
	require.NoError(t, err)
	return c
}

// NewCommission is what Commission stores, for tests that change it first.
func NewCommission(t testing.TB, store *models.Store, name, promisedOn string) models.NewCommission {
	t.Helper()
	return models.NewCommission{
		Commission: models.Commission{Name: name, Client: "A. Client", PromisedOn: promisedOn, Weight: 3},
		Pieces: []models.NewPiece{{
			Piece:      models.Piece{Name: "Shelf", Pattern: "shelf", Measures: map[string]string{"width": "800 mm"}, Choices: map[string]string{"species": "ash"}},
			Parts:      parts(),
			Assemblies: assemblies(),
			Steps:      steps(t, Snapshot(t, store)),
			Links:      links(),
		}},
	}
}

func parts() []models.Part {
	mm := wood.Millimetre
	return []models.Part{
		{Key: "board", Name: "Panel board", Quantity: 3, Length: 800 * mm, Width: 100 * mm, Thickness: 22 * mm,
			RoughLength: 840 * mm, RoughWidth: 110 * mm, RoughThickness: 27 * mm, Species: "ash", Grain: "length"},
		{Key: "rail", Name: "Rail", Quantity: 2, Length: 700 * mm, Width: 60 * mm, Thickness: 22 * mm,
			RoughLength: 740 * mm, RoughWidth: 66 * mm, RoughThickness: 27 * mm, Species: "ash", Grain: "length"},
	}
}

func assemblies() []models.NewAssembly {
	return []models.NewAssembly{
		{Assembly: models.Assembly{Key: "panel", Name: "Panel"}, Parts: map[string]int{"board": 3}},
		{Assembly: models.Assembly{Key: "shelf", Name: "Shelf"}, Parts: map[string]int{"rail": 2}, Inner: []string{"panel"}},
	}
}

// steps builds the steps on the stations, clamps, glues and finishes of Shop.
func steps(t testing.TB, snap *models.Snapshot) []models.NewStep {
	t.Helper()
	at := func(key string) models.ID { return Station(t, snap, key).ID }
	clamps := map[string]models.ID{}
	for _, c := range snap.Clamps {
		clamps[c.Key] = c.ID
	}
	var pva, oil models.ID
	for _, g := range snap.Glues {
		if g.Key == "pva" {
			pva = g.ID
		}
	}
	for _, f := range snap.Finishes {
		if f.Key == "penetrating-oil" {
			oil = f.ID
		}
	}
	boards, rails := map[string]int{"board": 3}, map[string]int{"rail": 2}
	all := []models.NewStep{
		{Step: step("joint", "Joint a face and an edge", "milling", at("jointer"), 20), Parts: map[string]int{"board": 3, "rail": 2}},
		{Step: step("plane", "Plane the boards", "milling", at("planer"), 15), Parts: boards, Setup: planed()},
		{Step: step("plane-rails", "Plane the rails", "milling", at("planer"), 10), Parts: rails, Setup: planed()},
		{Step: step("rip", "Rip the boards", "milling", at("table-saw"), 10), Parts: boards,
			Setup: &models.Setup{Family: "fence", State: "fence 100 mm", Instruction: "Table saw: fence at 100 mm"}},
		{Step: step("glue-panel", "Glue up the panel", "glue-up", at("bench"), 30), Parts: boards, Makes: "panel", Clamps: map[models.ID]int{clamps["bar-600"]: 5}},
		{Step: step("trim", "Trim the panel", "shaping", at("table-saw"), 12), Assemblies: []string{"panel"}},
		{Step: step("glue-frame", "Glue the rails to the panel", "glue-up", at("bench"), 25), Parts: rails, Assemblies: []string{"panel"}, Makes: "shelf",
			Clamps: map[models.ID]int{clamps["bar-1200"]: 4}},
		{Step: step("sand", "Sand the shelf", "sanding", at("sanding-bench"), 40), Assemblies: []string{"shelf"}},
		{Step: step("coat-1", "First coat", "finishing", at("finish-room"), 20), Assemblies: []string{"shelf"}},
		{Step: step("coat-2", "Second coat", "finishing", at("finish-room"), 20), Assemblies: []string{"shelf"}},
	}
	for i := range all {
		s := &all[i].Step
		switch s.Phase {
		case "glue-up":
			s.Unattended, s.Rest, s.Interruptible, s.OpenTime, s.GlueID = 60, "in clamps", false, 8, &pva
		case "finishing":
			s.Unattended, s.Rest, s.Interruptible, s.Wet, s.FinishID = 720, "drying", false, true, &oil
			s.Cautions = []string{"Oily rags flat to dry, outdoors."}
		default:
			s.Dusty = true
		}
	}
	return all
}

// step is one interruptible step for one pair of hands.
func step(key, name, phase string, station models.ID, attended int) models.Step {
	return models.Step{Key: key, Name: name, Kind: key, Phase: phase, Verb: key, StationID: station, Attended: attended, Interruptible: true, Hands: 1}
}

// planed is the one planer setup of the commission.
func planed() *models.Setup {
	return &models.Setup{Family: "thickness", State: "thickness 22 mm", Instruction: "Planer: set 22 mm"}
}

func links() []models.NewLink {
	window := 48 * 60
	return []models.NewLink{
		link("joint", "plane", 0), link("joint", "plane-rails", 0), link("plane", "rip", 0), link("rip", "glue-panel", 0),
		link("glue-panel", "trim", 60), link("trim", "glue-frame", 0), link("plane-rails", "glue-frame", 0),
		link("glue-frame", "sand", 0), link("sand", "coat-1", 0),
		{Before: "coat-1", After: "coat-2", Link: models.Link{From: models.FromAttended, MinLag: 12 * 60, MaxLag: &window, Why: "the recoat window"}},
	}
}

func link(before, after string, lag int) models.NewLink {
	return models.NewLink{Before: before, After: after, Link: models.Link{From: models.FromEnd, MinLag: lag, Why: "order of the work"}}
}
