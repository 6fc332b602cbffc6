package planner

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sort"
	"time"

	"faceside/models"
	"faceside/models/phrase"
)

// What would help a promise in danger: changes that a shop can make are tried one by
// one, each by planning anew with it, and those that help are ranked.

// Lever is a change that helps, with what comes of it.
type Lever struct {
	Changes []models.Steer
	WhatIf
	Gain  int  // open minutes by which the commission ends earlier; 0 where only its promise moves
	Holds bool // its promise is kept then
	Cost  int  // minutes of hands that it takes more

	then *models.Snapshot // the shop with it, while weeks of it may be played yet
}

// Helps is what was found out for a commission.
type Helps struct {
	CommissionID models.ID
	Revision     int64
	At           time.Time
	Before       Forecast // as planned without a change, searched for as long
	Levers       []Lever  // the best first
	Tried, Of    int
	Done         bool
	Wrong        phrase.Phrase // why no more was tried, "" if all was
}

const (
	// helpsWork is the schedules that a lever is given: enough to see what it does. It
	// is counted in schedules and not in time, so that the ranking is the same on
	// every machine.
	helpsWork      = 40
	helpsLeastGain = 15 // less is not worth a change
	helpsEvenings  = 3
	helpsEvening   = 120 // minutes
	helpsClamps    = 4
	helpsMost      = 40 // levers tried
	helpsPlays     = 100
	helpsPlayed    = 5 // of so many, those that rank first, weeks are played
)

// Helps tries what could help a commission and tells how far it is after each try; it
// ends when all was tried or ctx ends. helper is what a borrowed pair of hands is
// called.
func (s *Service) Helps(ctx context.Context, commission models.ID, helper string, told func(Helps)) error {
	snap, err := s.store.Snapshot(ctx)
	if err != nil {
		return fmt.Errorf("reading the shop: %w", err)
	}
	c := snap.Commission(commission)
	if c == nil || c.State != models.Open {
		return &models.Error{Code: models.NotFound, Field: "commission", Value: fmt.Sprint(commission),
			Sentence: phrase.Of("There is no open commission with number %d.", commission)}
	}
	h := &helping{Service: s, snap: snap, commission: c, helper: helper, Helps: Helps{CommissionID: commission, Revision: snap.Shop.Revision, At: snap.At}}
	if err := h.begin(ctx); err != nil {
		return err
	}
	all := h.candidates()
	h.Of = len(all)
	for _, changes := range all {
		told(h.told())
		if err := h.try(ctx, changes); err != nil {
			return err
		}
		h.Tried++
	}
	if err := h.playFirst(ctx); err != nil {
		return err
	}
	h.Done = true
	told(h.told())
	return nil
}

// playFirst plays some weeks with each of the levers that rank first.
func (h *helping) playFirst(ctx context.Context) error {
	for i := range h.Levers[:min(len(h.Levers), helpsPlayed)] {
		l := &h.Levers[i]
		release, err := h.tryingTurn(ctx)
		if err != nil {
			return err
		}
		l.Played, err = foresee(ctx, l.then, h.turned, playing{plays: helpsPlays, cores: 1, seed: h.opt.Seed})
		release()
		if err != nil {
			return err
		}
		l.then = nil
	}
	return nil
}

// helping is the work on one commission.
type helping struct {
	*Service
	Helps
	snap       *models.Snapshot // its plan is the best that was found without a change
	turned     *models.Outcomes
	commission *models.Commission
	helper     string
}

// told copies what was found so far.
func (h *helping) told() Helps {
	t := h.Helps
	t.Levers = slices.Clone(h.Levers)
	return t
}

func (h *helping) search() options {
	o := options{}
	o.Work, o.Seed, o.Cores = helpsWork, h.opt.Seed, 1
	return o
}

// begin plans without a change for as long as a lever is searched for, so that what a
// longer search finds is not taken for what a lever does.
func (h *helping) begin(ctx context.Context) error {
	release, err := h.tryingTurn(ctx)
	if err != nil {
		return err
	}
	defer release()
	q, answer, err := solve(ctx, h.snap, h.search())
	if err != nil {
		return fmt.Errorf("planning without a change: %w", err)
	}
	h.snap = planned(h.snap, q.records(answer, h.snap.At))
	h.Before = forecastOf(Forecasts(h.snap), h.commission.ID)
	h.turned, err = h.store.Outcomes(ctx)
	return err
}

// try plans with changes and keeps them where they help. What the store refuses, or
// what leaves no plan, is no lever.
func (h *helping) try(ctx context.Context, changes []models.Steer) error {
	release, err := h.tryingTurn(ctx)
	if err != nil {
		return err
	}
	defer release()
	tried, err := h.store.Try(ctx, changes)
	if err == nil {
		var w *WhatIf
		var then *models.Snapshot
		if w, then, err = whatIf(ctx, h.snap, tried, h.search()); err == nil {
			h.weigh(changes, w, then)
			return nil
		}
	}
	if ctx.Err() != nil {
		return ctx.Err()
	}
	var refused *models.Error
	if errors.As(err, &refused) && refused.Code.Refusal() {
		return nil
	}
	return err
}

// weigh keeps changes that help.
func (h *helping) weigh(changes []models.Steer, w *WhatIf, then *models.Snapshot) {
	l := Lever{Changes: changes, WhatIf: *w, Cost: w.Then.HandsMin - w.Now.HandsMin, then: then}
	for i := range w.Promises {
		p := &w.Promises[i]
		if p.CommissionID != h.commission.ID || p.Then.Ends.IsZero() {
			continue
		}
		l.Holds = !p.Then.Late
		l.Gain = localCalendar(h.snap).minutes(p.Then.Ends, p.Now.Ends)
	}
	if l.Gain < helpsLeastGain && (!l.Holds || !h.Before.Late) {
		return
	}
	h.Levers = append(h.Levers, l)
	sort.SliceStable(h.Levers, func(a, b int) bool { return h.Levers[a].before(&h.Levers[b]) })
	for i := helpsPlayed; i < len(h.Levers); i++ {
		h.Levers[i].then = nil // its records are many, and not looked at any more
	}
}

// before tells whether a lever is to stand before another: one with which the promise
// holds first; then the one that leaves less lateness in the shop, ends the commission
// earlier, takes fewer hours of hands, moves fewer steps.
func (l *Lever) before(o *Lever) bool {
	for _, d := range []int{boolInt(o.Holds) - boolInt(l.Holds), l.Then.LateMin - o.Then.LateMin, o.Gain - l.Gain, l.Cost - o.Cost, l.Moved - o.Moved} {
		if d != 0 {
			return d < 0
		}
	}
	return false
}

func boolInt(b bool) int {
	if b {
		return 1
	}
	return 0
}
