package planner

import (
	"context"
	"fmt"
	"time"

	"faceside/models"
	"faceside/models/phrase"
)

// How much is done for a what-if: at once, what comes after that by itself, and where
// somebody asks for more. One core is enough for them.
var (
	IfAtOnce = Effort{limit: 150 * time.Millisecond, plays: 60, steps: 15000, cores: 1, work: 1}
	IfBetter = Effort{limit: time.Second, plays: 500, steps: 150000, cores: 1, work: 1}
	IfLonger = Effort{limit: 4 * time.Second, plays: 500, cores: 1, work: 4}
)

// leastPlays is the fewest weeks of which anything is told.
const leastPlays = 20

// Outlook is what a plan comes to.
type Outlook struct {
	Setups   Count
	HandsMin int // minutes of hands that are there until the last promise or end of both plans
	LateMin  int // working minutes late, each commission's times its weight
}

// PromiseIf is what becomes of one promise.
type PromiseIf struct {
	CommissionID models.ID
	Name         string
	State        models.CommissionState // then
	Was          models.CommissionState
	Now, Then    Forecast // without an end where it is not planned
	PromisedOn   string   // then
	WasPromised  string
}

// Moves tells whether the commission ends at another time, or is promised for another.
func (p *PromiseIf) Moves() bool {
	return !p.Now.Ends.Equal(p.Then.Ends) || p.State != p.Was || p.PromisedOn != p.WasPromised
}

// WhatIf is the plan as it would be if changes were kept, beside the current one.
type WhatIf struct {
	Says      []phrase.Phrase // the changes
	Revision  int64           // of the records that it was tried on
	Now, Then Outlook
	Promises  []PromiseIf // of the commissions open or held, in order of promise
	Moved     int         // steps that begin at another time
	Notes     []phrase.Phrase
	Until     time.Time // to when HandsMin counts
	Played    *Promises // of the commissions, then; nil where no weeks were played
	Proved    bool      // no better plan is possible then
}

// WhatIf tries changes and plans with them. Nothing is kept. It refuses what the store
// refuses, as a *models.Error, and says where there would be no plan.
func (s *Service) WhatIf(ctx context.Context, changes []models.Steer, effort Effort) (*WhatIf, error) {
	release, err := s.tryingTurn(ctx)
	if err != nil {
		return nil, err
	}
	defer release()
	snap, tried, err := s.try(ctx, changes)
	if err != nil {
		return nil, err
	}
	o := s.search(nil)
	if o.Work *= effort.work; o.Work == 0 {
		o.Limit = effort.limit
	}
	w, then, err := whatIf(ctx, snap, tried, o)
	if err != nil {
		return nil, err
	}
	if plays := effort.playsOf(then); plays >= leastPlays {
		w.Played, err = s.playOut(ctx, then, playing{plays: plays, cores: effort.cores})
	}
	return w, err
}

// tryingTurn waits until nobody else searches for a what-if: one processor is enough
// for them, the others are the shop's.
func (s *Service) tryingTurn(ctx context.Context) (release func(), err error) {
	select {
	case s.trying <- struct{}{}:
		return func() { <-s.trying }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// try reads the records as they are and as they would be, both of one revision.
func (s *Service) try(ctx context.Context, changes []models.Steer) (*models.Snapshot, *models.Tried, error) {
	for tries := 0; ; tries++ {
		snap, err := s.store.Snapshot(ctx)
		if err != nil {
			return nil, nil, fmt.Errorf("reading the shop: %w", err)
		}
		tried, err := s.store.Try(ctx, changes)
		if err != nil {
			return nil, nil, err
		}
		if snap.Shop.Revision == tried.Snapshot.Shop.Revision || tries == 4 {
			return snap, tried, nil
		}
	}
}

// whatIf plans with what was tried, starting from the plan of the first snapshot; it
// returns the shop as it would be, too.
func whatIf(ctx context.Context, snap *models.Snapshot, tried *models.Tried, o options) (*WhatIf, *models.Snapshot, error) {
	q, answer, err := solve(ctx, planned(tried.Snapshot, snap.Plan), o)
	if err != nil {
		return nil, nil, fmt.Errorf("planning with the change: %w", err)
	}
	then := planned(tried.Snapshot, q.records(answer, snap.At))
	return compared(snap, then, tried.Says), then, nil
}

// compared sets two snapshots with their plans side by side.
func compared(now, then *models.Snapshot, says []phrase.Phrase) *WhatIf {
	w := &WhatIf{Says: says, Revision: then.Shop.Revision, Proved: then.Plan.Status == "optimal", Moved: movedBetween(now, then)}
	before, after := Forecasts(now), Forecasts(then)
	for _, f := range append(append([]Forecast(nil), before...), after...) {
		w.Until = later(w.Until, later(f.Ends, f.PromisedBy))
	}
	w.Now, w.Then = outlookOf(now, before, w.Until), outlookOf(then, after, w.Until)
	for i := range now.Commissions {
		was := &now.Commissions[i]
		is := then.Commission(was.ID)
		if is == nil {
			continue
		}
		w.Promises = append(w.Promises, PromiseIf{CommissionID: was.ID, Name: was.Name, Was: was.State, State: is.State,
			Now: forecastOf(before, was.ID), Then: forecastOf(after, was.ID), WasPromised: was.PromisedOn, PromisedOn: is.PromisedOn})
	}
	for _, n := range then.Plan.Note {
		if !saidIn(now.Plan, n) {
			w.Notes = append(w.Notes, n)
		}
	}
	return w
}

// movedBetween counts the steps that two plans begin at different times.
func movedBetween(now, then *models.Snapshot) int {
	n := 0
	for i := range then.Plan.Steps {
		p := &then.Plan.Steps[i]
		was := now.Planned(p.StepID)
		if was != nil && p.Start.Sub(was.Start).Abs() > tolerance*time.Minute {
			n++
		}
	}
	return n
}

func forecastOf(all []Forecast, commission models.ID) Forecast {
	for _, f := range all {
		if f.CommissionID == commission {
			return f
		}
	}
	return Forecast{}
}

func saidIn(plan *models.Plan, note phrase.Phrase) bool {
	if plan == nil {
		return false
	}
	for _, n := range plan.Note {
		if n.Equal(note) {
			return true
		}
	}
	return false
}

func outlookOf(snap *models.Snapshot, forecasts []Forecast, until time.Time) Outlook {
	o := Outlook{HandsMin: handsMinutes(snap, until)}
	for _, s := range snap.Stations {
		c := PlannedSetups(snap, s.ID)
		o.Setups.Setups, o.Setups.Minutes = o.Setups.Setups+c.Setups, o.Setups.Minutes+c.Minutes
	}
	for _, f := range forecasts {
		if c := snap.Commission(f.CommissionID); f.Late && c != nil {
			o.LateMin += max(1, c.Weight) * max(1, -f.SlackMin)
		}
	}
	return o
}

// handsMinutes adds up the minutes of all who are there from a snapshot's moment to a time.
func handsMinutes(snap *models.Snapshot, until time.Time) int {
	cal, sum := localCalendar(snap), time.Duration(0)
	for i := 0; i <= reach && cal.Noon(snap.At, i-1).Before(until); i++ {
		away, there := cal.Away(cal.Date(cal.Noon(snap.At, i))), 0
		for _, p := range snap.People {
			if p.Active && !away[p.ID] {
				there++
			}
		}
		for _, o := range cal.Whole(snap.At, i) {
			sum += time.Duration(there) * openWithin(o, snap.At, until)
		}
		for _, o := range cal.Own(snap.At, i) {
			sum += time.Duration(len(o.People)) * openWithin(o.Opening, snap.At, until)
		}
	}
	return int(sum / time.Minute)
}

// openWithin is how much of an opening lies between two times.
func openWithin(o models.Opening, from, until time.Time) time.Duration {
	from, to := later(o.From, from), o.To
	if to.After(until) {
		to = until
	}
	return max(0, to.Sub(from))
}
