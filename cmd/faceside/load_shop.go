package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"faceside/models"
	"faceside/seed"
)

// loadShop is what is tapped: a maker each has a step that nobody else takes.
type loadShop struct {
	makers      []models.ID
	steps       []models.ID // one for each maker
	station     models.ID   // one that can be said to be set
	commissions int
	open        int    // steps of all open commissions
	passphrase  string // the planner's; "": nobody has to sign in
}

// makeLoadShop fills the folder dir with a shop of many makers.
func makeLoadShop(ctx context.Context, dir string, makers int) (shop loadShop, err error) {
	store, err := models.OpenStore(ctx, shopPath(dir), time.Now)
	if err != nil {
		return shop, err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	if err := seed.Crowd(ctx, store, makers); err != nil {
		return shop, err
	}
	snap, err := store.Snapshot(ctx)
	if err != nil {
		return shop, err
	}
	for i := range snap.People {
		shop.makers = append(shop.makers, snap.People[i].ID)
	}
	shop.steps = seed.ReadySteps(snap, snap.At)
	if len(shop.makers) < makers || len(shop.steps) < makers {
		return shop, fmt.Errorf("the shop has %d people and %d steps that can be begun, not %d of each", len(shop.makers), len(shop.steps), makers)
	}
	shop.makers, shop.steps, shop.station = shop.makers[:makers], shop.steps[:makers], snap.Stations[0].ID
	shop.commissions, shop.open = len(snap.Commissions), len(snap.Steps)
	return shop, nil
}
