package seed

import (
	"context"
	"fmt"
	"time"

	"faceside/models"
)

// Crowd fills an empty store with an invented shop of many makers, to measure
// with: the demo's places, people called Maker 1, 2, …, and commissions like the
// demo's until there are at least as many steps that can be begun as makers.
func Crowd(ctx context.Context, store *models.Store, makers int) error {
	today := store.Now()
	if err := fitDemoShop(ctx, store, today); err != nil {
		return err
	}
	for i := range makers {
		name := fmt.Sprintf("Maker %d", i+1)
		if _, err := store.SavePerson(ctx, models.Person{Name: name, Active: true}); err != nil {
			return fmt.Errorf("entering %s: %w", name, err)
		}
	}
	return takeUntil(ctx, store, today, func(ready, _ int) bool { return ready >= makers })
}

// Fill fills an empty store with the demo's shop and commissions like the demo's, until
// there are at least so many steps, to measure with.
func Fill(ctx context.Context, store *models.Store, steps int) error {
	today := store.Now()
	if err := fitDemoShop(ctx, store, today); err != nil {
		return err
	}
	return takeUntil(ctx, store, today, func(_, all int) bool { return all >= steps })
}

// takeUntil takes in commissions like the demo's until there is enough to begin, or to do.
func takeUntil(ctx context.Context, store *models.Store, today time.Time, enough func(ready, all int) bool) error {
	library, err := Library()
	if err != nil {
		return fmt.Errorf("reading the patterns: %w", err)
	}
	kinds := demoCommissions()
	for n, ready, all := 0, 0, 0; !enough(ready, all); n++ {
		c := kinds[n%len(kinds)]
		c.name, c.promisedIn = fmt.Sprintf("%s, no. %d", c.name, n+1), 10+n
		id, err := takeDemo(ctx, store, library, today, c)
		if err != nil {
			return err
		}
		own, err := store.CommissionSnapshot(ctx, id)
		if err != nil {
			return fmt.Errorf("reading %q: %w", c.name, err)
		}
		ready, all = ready+len(ReadySteps(own, today)), all+len(own.Steps)
	}
	return nil
}

// ReadySteps lists the steps that wait for nothing and that nobody has begun.
func ReadySteps(snap *models.Snapshot, at time.Time) []models.ID {
	var all []models.ID
	for i := range snap.Steps {
		if st := &snap.Steps[i]; snap.Standing(st.ID, at) == models.StandsReady {
			all = append(all, st.ID)
		}
	}
	return all
}
