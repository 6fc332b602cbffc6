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
	library, err := Library()
	if err != nil {
		return fmt.Errorf("reading the patterns: %w", err)
	}
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
	kinds := demoCommissions()
	for n, ready := 0, 0; ready < makers; n++ {
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
		ready += len(ReadySteps(own, today))
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
