package models

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"time"

	"gorm.io/gorm"

	"faceside/models/phrase"
)

// SteerKind is what a Steer changes.
type SteerKind string

// The kinds of Steer, and which fields each reads.
const (
	SteerPin     SteerKind = "pin"      // StepID, Date; with Timed also Opens: it starts then
	SteerGive    SteerKind = "give"     // StepID, PersonID: it is that person's
	SteerHold    SteerKind = "hold"     // CommissionID
	SteerResume  SteerKind = "resume"   // CommissionID
	SteerWeight  SteerKind = "weight"   // CommissionID, Weight
	SteerPromise SteerKind = "promise"  // CommissionID, Date
	SteerDayOff  SteerKind = "day-off"  // Date; PersonID (0: the whole shop), Name: the reason
	SteerDayBack SteerKind = "day-back" // DayOffID: it is taken back
	SteerHours   SteerKind = "hours"    // Date, Opens, Closes: the shop is open then too; PersonID: that person works then too
	SteerWeek    SteerKind = "week"     // Week: the shop is open then, week by week
	SteerHands   SteerKind = "hands"    // Name, Date, Until: somebody is there for these days
	SteerStation SteerKind = "station"  // StationID, Date, Until: nothing is done there
	SteerDown    SteerKind = "down"     // StationID, Name: the reason; it is out of order until somebody says otherwise
	SteerLend    SteerKind = "lend"     // ClampClassID, Count, Date, Until
	SteerBorrow  SteerKind = "borrow"   // the same
	SteerGlue    SteerKind = "glue"     // CommissionID, MaterialID: what is still to be glued, with that
	SteerFinish  SteerKind = "finish"   // CommissionID, MaterialID: coated with that
)

// Steer is one change of what the plan has to reckon with. It can be tried before
// it is kept, and let go again.
type Steer struct {
	Kind         SteerKind `json:"kind"`
	StepID       ID        `json:"step,omitempty"`
	CommissionID ID        `json:"commission,omitempty"`
	PersonID     ID        `json:"person,omitempty"`
	StationID    ID        `json:"station,omitempty"`
	ClampClassID ID        `json:"clamps,omitempty"`
	MaterialID   ID        `json:"material,omitempty"`
	DayOffID     ID        `json:"off,omitempty"`
	Date         string    `json:"date,omitempty"`  // YYYY-MM-DD, the first of the days
	Until        string    `json:"until,omitempty"` // the last of them
	Timed        bool      `json:"timed,omitempty"`
	Opens        int       `json:"opens,omitempty"` // minutes from midnight
	Closes       int       `json:"closes,omitempty"`
	Count        int       `json:"count,omitempty"`
	Weight       int       `json:"weight,omitempty"`
	Name         string    `json:"name,omitempty"`
	Week         []Opens   `json:"week,omitempty"`
}

// Opens is one opening of the week, as a Steer names it. Minutes from midnight.
type Opens struct {
	Weekday time.Weekday `json:"day"`
	Opens   int          `json:"opens"`
	Closes  int          `json:"closes"`
}

// SteerWas is what a Steer found, so that it can be put back.
type SteerWas struct {
	ID         ID              `json:"id,omitempty"`   // of the record that it made
	Made       bool            `json:"made,omitempty"` // the person was not known before
	PinnedAt   *time.Time      `json:"pinned_at,omitempty"`
	Wanted     *Wanted         `json:"wanted,omitempty"`
	State      CommissionState `json:"state,omitempty"`
	Weight     int             `json:"weight,omitempty"`
	PromisedOn string          `json:"promised_on,omitempty"`
	Rests      []RestWas       `json:"rests,omitempty"`
	Lags       []LagWas        `json:"lags,omitempty"`
	Week       []Opens         `json:"week,omitempty"`
	DayOff     *DayOff         `json:"day_off,omitempty"`
	Tap        int64           `json:"tap,omitempty"` // the row of the journal that it wrote
}

// steering is what a kind of Steer does in a transaction. do says in a sentence
// what is so then; undo is refused where somebody has changed it since.
type steering struct {
	do   func(*steerer, *Steer) (SteerWas, phrase.Phrase, error)
	undo func(*steerer, *Steered) error
}

var steerings = map[SteerKind]steering{
	SteerPin:     {(*steerer).pin, (*steerer).unpin},
	SteerGive:    {(*steerer).give, (*steerer).ungive},
	SteerHold:    {(*steerer).hold, (*steerer).unmove},
	SteerResume:  {(*steerer).resume, (*steerer).unmove},
	SteerWeight:  {(*steerer).weigh, (*steerer).unweigh},
	SteerPromise: {(*steerer).promise, (*steerer).unpromise},
	SteerDayOff:  {(*steerer).dayOff, (*steerer).dayOffBack},
	SteerDayBack: {(*steerer).dayBack, (*steerer).dayOffAgain},
	SteerHours:   {(*steerer).hours, remade[ExtraHours]("hours")},
	SteerWeek:    {(*steerer).week, (*steerer).weekBack},
	SteerHands:   {(*steerer).hands, (*steerer).handsBack},
	SteerStation: {(*steerer).station, remade[Closure]("station")},
	SteerDown:    {(*steerer).down, (*steerer).up},
	SteerLend:    {(*steerer).lend, remade[Loan]("clamps")},
	SteerBorrow:  {(*steerer).borrow, remade[Loan]("clamps")},
	SteerGlue:    {(*steerer).glue, (*steerer).restsBack},
	SteerFinish:  {(*steerer).finish, (*steerer).restsBack},
}

// SteerKinds lists the kinds.
func SteerKinds() []SteerKind {
	return []SteerKind{SteerDayOff, SteerDayBack, SteerHours, SteerWeek, SteerHands, SteerStation, SteerDown, SteerLend, SteerBorrow, SteerHold, SteerResume,
		SteerWeight, SteerPromise, SteerPin, SteerGive, SteerGlue, SteerFinish}
}

// steerer makes changes in a transaction.
type steerer struct {
	*Store
	tx    *gorm.DB
	now   time.Time
	shop  *Shop // as the changes find it
	zone  *time.Location
	today string
	by    ID   // who keeps them or lets them go, 0 for nobody known
	tries bool // they are taken back
}

func (s *Store) steerer(tx *gorm.DB) (*steerer, error) {
	shop, err := get[Shop](tx, "shop", 1)
	if err != nil {
		return nil, err
	}
	zone, err := shop.Location()
	if err != nil {
		return nil, err
	}
	now := s.Now()
	return &steerer{Store: s, tx: tx, now: now, shop: shop, zone: zone, today: now.In(zone).Format(time.DateOnly)}, nil
}

// make makes changes one after the other; each reckons with those before it.
func (s *steerer) make(changes []Steer) ([]Steered, error) {
	if len(changes) == 0 {
		return nil, invalid("change", "", "No change is named.")
	}
	if len(changes) > steersMost {
		return nil, invalid("change", len(changes), "%d changes are too many at once: %d at most.", len(changes), steersMost)
	}
	var all []Steered
	for i := range changes {
		how, known := steerings[changes[i].Kind]
		if !known {
			return nil, invalid("kind", changes[i].Kind, "There is no change of the kind %q.", string(changes[i].Kind))
		}
		was, says, err := how.do(s, &changes[i])
		if err != nil {
			return nil, err
		}
		all = append(all, Steered{Change: changes[i], Says: says, Was: was})
	}
	return all, nil
}

// steersMost is how many changes are tried, or kept, together.
const steersMost = 12

// Tried is what would be so if changes were kept: the records then, and the changes
// as sentences say them.
type Tried struct {
	Snapshot *Snapshot
	Says     []phrase.Phrase
}

// errTried takes a trial back.
var errTried = errors.New("only tried")

// Try makes changes, reads the records as they are then, and takes the changes back:
// nothing is kept, and nobody is told. The plan in the snapshot is the current one.
func (s *Store) Try(ctx context.Context, changes []Steer) (*Tried, error) {
	var tried Tried
	err := s.write(ctx, "try the change", func(tx *gorm.DB) (*Change, error) {
		by, err := s.steerer(tx)
		if err != nil {
			return nil, err
		}
		by.tries = true
		all, err := by.make(changes)
		if err != nil {
			return nil, err
		}
		for i := range all {
			tried.Says = append(tried.Says, all[i].Says)
		}
		if tried.Snapshot, err = by.snapshot(); err != nil {
			return nil, err
		}
		return nil, errTried
	})
	if !errors.Is(err, errTried) {
		return nil, err
	}
	return &tried, nil
}

// snapshot reads the records as the transaction sees them. What it reads of
// commissions that were changed here is not kept for later snapshots: their editions
// may yet be another's.
func (s *steerer) snapshot() (*Snapshot, error) {
	snap, fixed := &Snapshot{At: s.now}, s.fixed.copied()
	return snap, snap.readAll(s.tx, 0, fixed, &s.plans, new(returnedCache))
}

// copied is a cache with what is known already.
func (c *fixedCache) copied() *fixedCache {
	c.mu.Lock()
	defer c.mu.Unlock()
	return &fixedCache{all: maps.Clone(c.all)}
}

// Steer makes changes, all or none, and writes down that they were kept, by whom
// and when; by may be 0. seen is Shop.Revision of the records that they were tried
// on: where more than the progress of the work has changed since, the refusal is
// Stale. act is made on the page: the same twice is kept once.
func (s *Store) Steer(ctx context.Context, act string, changes []Steer, by ID, seen int64) ([]Steered, error) {
	if act == "" || len(act) > tapIDLimit {
		return nil, invalid("act", act, "What is kept needs an id of 1 to %d characters, not %q.", tapIDLimit, act)
	}
	var kept []Steered
	err := s.write(ctx, "keep the change", func(tx *gorm.DB) (*Change, error) {
		if err := tx.Where("act = ?", act).Order("id").Find(&kept).Error; err != nil || len(kept) > 0 {
			return nil, err
		}
		st, err := s.steerer(tx)
		if err != nil {
			return nil, err
		}
		if err := st.asSeen(seen); err != nil {
			return nil, err
		}
		st.by = by
		if kept, err = st.make(changes); err != nil {
			return nil, err
		}
		who, err := someone(tx, by)
		if err != nil {
			return nil, err
		}
		for i := range kept {
			kept[i].Act, kept[i].KeptAt, kept[i].KeptBy = act, st.now, who
		}
		return &Change{Kind: ChangedShop}, create(tx, "what is kept", pointers(kept))
	})
	if err != nil {
		return nil, err
	}
	return kept, nil
}

func pointers[T any](all []T) []*T {
	p := make([]*T, len(all))
	for i := range all {
		p[i] = &all[i]
	}
	return p
}

// someone is a person who may be nobody.
func someone(tx *gorm.DB, id ID) (*ID, error) {
	if id == 0 {
		return nil, nil
	}
	p, err := get[Person](tx, "person", id)
	if err != nil {
		return nil, err
	}
	return &p.ID, nil
}

// asSeen refuses what was thought out on records that are others now.
func (s *steerer) asSeen(seen int64) error {
	if seen == s.shop.Revision || s.order.same(seen, s.shop.Revision) {
		return nil
	}
	return &Error{Code: Stale, Field: "revision", Value: fmt.Sprint(seen),
		Sentence: phrase.Of("Something was changed since you looked. This is how it looks now: keep it if it is still right.")}
}

// LetGo puts back what a kept change found, and writes down who let it go and when.
// It is refused where that was changed by hand since. Letting go twice is once.
func (s *Store) LetGo(ctx context.Context, id, by ID) error {
	return s.write(ctx, "let the change go", func(tx *gorm.DB) (*Change, error) {
		row, err := get[Steered](tx, "change", id)
		if err != nil || row.LetGoAt != nil {
			return nil, err
		}
		st, err := s.steerer(tx)
		if err != nil {
			return nil, err
		}
		st.by = by
		if err := steerings[row.Change.Kind].undo(st, row); err != nil {
			return nil, err
		}
		who, err := someone(tx, by)
		if err != nil {
			return nil, err
		}
		row.LetGoAt, row.LetGoBy = &st.now, who
		if err := tx.Model(row).Select("LetGoAt", "LetGoBy").Updates(row).Error; err != nil {
			return nil, fmt.Errorf("write down that change %d was let go: %w", id, err)
		}
		return &Change{Kind: ChangedShop}, nil
	})
}

// WhatWasSteered returns the newest kept changes, newest first.
func (s *Store) WhatWasSteered(ctx context.Context, most int) ([]Steered, error) {
	var all []Steered
	err := s.read(ctx, "read what was steered", func(tx *gorm.DB) error {
		return tx.Order("id DESC").Limit(most).Find(&all).Error
	})
	return all, err
}

// remade lets go of a change that made a record. Somebody may have removed it.
func remade[T any](what string) func(*steerer, *Steered) error {
	return func(s *steerer, row *Steered) error {
		var record T
		if err := s.tx.Delete(&record, row.Was.ID).Error; err != nil {
			return fmt.Errorf("remove %s %d: %w", what, row.Was.ID, err)
		}
		return nil
	}
}
