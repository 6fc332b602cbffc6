package seed

import (
	"context"
	"fmt"
	"time"

	"faceside/models"
	"faceside/models/pattern"
	"faceside/models/planner"
)

// demoCommission is one order of the demo shop and how far it has come.
type demoCommission struct {
	name, client, note string
	pattern            string
	measures, choices  map[string]string
	weight             int
	takenAgo           int      // working days before the demo starts
	promisedIn         int      // working days after it starts; negative for a delivered one
	upTo               []string // done is what comes before these steps, themselves not; nil: nothing
	delivered          bool     // everything is done
}

// Demo fills an empty store with the invented shop as it stands at start: its
// people and places, its commissions, and a journal of what was done in the two
// weeks before, tapped at the times the clock is moved to. The clock is left
// standing at start. The same start gives the same shop and the same journal.
func Demo(ctx context.Context, store *models.Store, clock *DemoClock, start time.Time) error {
	return DemoWatched(ctx, store, clock, start, func(bool) error { return nil })
}

// DemoWatched is Demo, and calls after once each commission was taken in and, with tap,
// after each tap.
func DemoWatched(ctx context.Context, store *models.Store, clock *DemoClock, start time.Time, after func(tap bool) error) error {
	library, err := Library()
	if err != nil {
		return fmt.Errorf("reading the patterns: %w", err)
	}
	first := start
	for _, c := range demoCommissions() {
		if taken := takenAt(start, c); taken.Before(first) {
			first = taken
		}
	}
	clock.Set(first.Add(-time.Hour))
	if err := fitDemoShop(ctx, store, start); err != nil {
		return err
	}
	h := newHistory(store, clock, library, start)
	h.after = after
	if err := h.make(ctx, demoCommissions(), demoToday()); err != nil {
		return fmt.Errorf("making the demo's history: %w", err)
	}
	if err := rackDemo(ctx, store); err != nil {
		return err
	}
	clock.Set(start)
	return nil
}

// takenAt is when a commission was taken: at eight on its day.
func takenAt(start time.Time, c demoCommission) time.Time {
	day := workdays(start, -c.takenAgo)
	return time.Date(day.Year(), day.Month(), day.Day(), 8, 0, 0, 0, day.Location())
}

// takeDemo enters a commission the way the screens do, and returns its number.
func takeDemo(ctx context.Context, store *models.Store, library *pattern.Library, start time.Time, c demoCommission) (models.ID, error) {
	snap, err := store.Snapshot(ctx)
	if err != nil {
		return 0, fmt.Errorf("reading the shop: %w", err)
	}
	input := pattern.Input{Pattern: c.pattern, Measures: c.measures, Choices: c.choices}
	built, err := library.Build(input, planner.PatternShop(snap))
	if err != nil {
		return 0, fmt.Errorf("working out %q: %w", c.name, err)
	}
	piece, err := planner.PieceRecords(built, built.Title, input, snap)
	if err != nil {
		return 0, fmt.Errorf("entering %q: %w", c.name, err)
	}
	taken, err := store.TakeCommission(ctx, models.NewCommission{
		Commission: models.Commission{
			Name: c.name, Client: c.client, Note: c.note, Weight: c.weight,
			PromisedOn: workdays(start, c.promisedIn).Format(time.DateOnly),
		},
		Pieces: []models.NewPiece{piece},
	})
	if err != nil {
		return 0, fmt.Errorf("taking %q: %w", c.name, err)
	}
	return taken.ID, nil
}
