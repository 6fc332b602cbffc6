package main

import (
	"context"

	"faceside/models"
)

// tally is what a shop's records hold against the taps that were acknowledged.
type tally struct {
	rows    int
	lost    int   // acknowledged, and not in the journal
	doubled int   // in it more than once
	foreign int   // rows that were not acknowledged
	astray  error // why the steps do not stand as the journal says
}

// reckon reads the journal, which it returns, and holds it against the ids of the taps
// that were acknowledged, and where the steps stand against the journal.
func reckon(ctx context.Context, store *models.Store, acknowledged []string) (tally, []models.Tap, error) {
	journal, err := store.Journal(ctx, models.JournalFilter{})
	if err != nil {
		return tally{}, nil, err
	}
	snap, err := store.Snapshot(ctx)
	if err != nil {
		return tally{}, nil, err
	}
	t := tally{rows: len(journal), astray: snap.Astray(journal)}
	times := map[string]int{}
	for _, row := range journal {
		if times[row.ID]++; times[row.ID] == 2 {
			t.doubled++
		}
	}
	for _, id := range acknowledged {
		if times[id] == 0 {
			t.lost++
		}
		delete(times, id)
	}
	t.foreign = len(times)
	return t, journal, nil
}
