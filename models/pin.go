package models

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
)

// Pinned returns the time a step is to start because a maker pinned it; false
// where it is not pinned, or not any more because it was begun, finished or
// reported in trouble. A pin that lies in the past is still one.
func (s *Step) Pinned() (time.Time, bool) {
	if s.PinnedAt == nil || s.State != Todo {
		return time.Time{}, false
	}
	return *s.PinnedAt, true
}

// PinStep pins the start of a step to a time, to the minute; nil lets it move
// again. It refuses a time that is past or more than a year ahead, one at which
// the shop is closed or not open long enough, one that the links before or
// after the step cannot keep, and one at which another pinned step needs the
// same place, people or clamps; and a step that is begun or whose commission is
// not open. Pinning to where it is pinned already changes nothing.
func (s *Store) PinStep(ctx context.Context, step ID, at *time.Time) error {
	return s.write(ctx, "pin the step", func(tx *gorm.DB) (*Change, error) {
		st, err := get[Step](tx, "step", step)
		if err != nil {
			return nil, err
		}
		changed, err := s.pin(tx, st, wholeMinute(at))
		if err != nil || !changed {
			return nil, err
		}
		return &Change{Kind: ChangedCommission}, nil
	})
}

// pin pins a step to a whole minute, or lets it move; it tells whether that changes
// anything. A day that it was pinned to is given up.
func (s *Store) pin(tx *gorm.DB, st *Step, to *time.Time) (changed bool, err error) {
	if changed, err = letDayGo(tx, st.ID); err != nil {
		return changed, err
	}
	if to == nil && st.PinnedAt == nil || to != nil && st.PinnedAt != nil && to.Equal(*st.PinnedAt) {
		return changed, nil
	}
	if to != nil {
		if err := s.mayPin(tx, st, *to); err != nil {
			return false, err
		}
	}
	return true, putPin(tx, st.ID, to)
}

func putPin(tx *gorm.DB, step ID, to *time.Time) error {
	if err := tx.Model(&Step{}).Where("id = ?", step).UpdateColumn("pinned_at", to).Error; err != nil {
		return fmt.Errorf("pin step %d: %w", step, err)
	}
	return nil
}

// wholeMinute is a time as it is stored: UTC, without seconds.
func wholeMinute(at *time.Time) *time.Time {
	if at == nil {
		return nil
	}
	t := at.UTC().Truncate(time.Minute)
	return &t
}

// mayPin refuses a pin that the records speak against.
func (s *Store) mayPin(tx *gorm.DB, st *Step, at time.Time) error {
	if err := pinnable(tx, st); err != nil {
		return err
	}
	p, err := s.pinner(tx, st.ID, at)
	if err != nil {
		return err
	}
	for _, rule := range []func() error{p.inTime, p.inHours, p.afterOthers, p.beforeOthers, p.besideOthers} { // each relies on those before it
		if err := rule(); err != nil {
			return err
		}
	}
	return nil
}

// pinnable refuses a step that is begun or that is not planned.
func pinnable(tx *gorm.DB, st *Step) error {
	c, err := get[Commission](tx, "commission", st.CommissionID)
	if err != nil {
		return err
	}
	if c.State != Open {
		return conflict("commission", c.Name, "The commission “%s” is %s: its steps are not planned, so none is pinned.", c.Name, c.State.Words())
	}
	if st.State != Todo {
		return conflict("step", st.Name, "“%s” is %s: only a step that is not begun can be pinned.", st.Name, stateWords[st.State].Of())
	}
	return nil
}

// pinner reads what the rules of a pin ask about.
func (s *Store) pinner(tx *gorm.DB, step ID, at time.Time) (*pinner, error) {
	snap := &Snapshot{At: s.Now()}
	for _, read := range []func(*gorm.DB) error{
		snap.readShop,
		func(tx *gorm.DB) error { return snap.readCommissions(tx, 0) },
		func(tx *gorm.DB) error { return snap.readFixed(tx, s.fixed.copied(), true) }, // what is tried here may be taken back
		snap.readProgress,
	} {
		if err := read(tx); err != nil {
			return nil, err
		}
	}
	hours, err := hoursOf(snap)
	if err != nil {
		return nil, err
	}
	return &pinner{snap: snap, hours: hours, step: snap.Step(step), at: at}, nil
}
