package models

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"
)

// Tablet is one browser that taps. It has a record from its first tap, or from
// when somebody names it.
type Tablet struct {
	ID        string // as its cookie says
	Name      string // empty until somebody names it
	PersonID  *ID    // whose tablet it is
	StationID *ID    // or at which station it hangs
	ClockOff  *int   // seconds its clock was ahead of the server's when it last tapped; nil: it never told
	TappedAt  *time.Time
}

// SaveTablet names a tablet and says whose it is. Two tablets never have the
// same name: who reads it must know which one is meant.
func (s *Store) SaveTablet(ctx context.Context, t Tablet) error {
	if err := t.check(); err != nil {
		return err
	}
	return s.write(ctx, "save the tablet", func(tx *gorm.DB) (*Change, error) {
		if err := t.fits(tx); err != nil {
			return nil, err
		}
		return &Change{Kind: ChangedTablet}, saveTablet(tx, t, "name", "person_id", "station_id")
	})
}

func (t *Tablet) check() error {
	if t.ID == "" {
		return invalid("tablet", t.ID, "This tablet keeps no cookie, so it cannot be told from others: allow cookies for this address first.")
	}
	if t.PersonID != nil && t.StationID != nil {
		return invalid("station", *t.StationID, "A tablet belongs to a person or to a station, not to both: leave one of them empty.")
	}
	return first(textAtMost("tablet", t.ID, tabletLimit), nameGiven("name", t.Name))
}

// fits refuses a name that another tablet has, and owners that are not there.
func (t *Tablet) fits(tx *gorm.DB) error {
	same, err := one[Tablet](tx.Where("name = ? AND id <> ?", t.Name, t.ID))
	if err != nil {
		return fmt.Errorf("look for a tablet of the same name: %w", err)
	}
	if same != nil {
		return invalid("name", t.Name, "Another tablet is called “%s” already: give this one a name of its own.", same.Name)
	}
	if t.PersonID != nil {
		if _, err := get[Person](tx, "person", *t.PersonID); err != nil {
			return err
		}
	}
	if t.StationID != nil {
		if _, err := get[Station](tx, "station", *t.StationID); err != nil {
			return err
		}
	}
	return nil
}

// saveTablet writes the named columns of a tablet's record and makes the record
// where there is none.
func saveTablet(tx *gorm.DB, t Tablet, columns ...string) error {
	err := tx.Clauses(clause.OnConflict{Columns: []clause.Column{{Name: "id"}}, DoUpdates: clause.AssignmentColumns(columns)}).Create(&t).Error
	if err != nil {
		return fmt.Errorf("write the record of tablet %s: %w", t.ID, err)
	}
	return nil
}

// noteTablet notes that a tablet tapped, and how far off its clock is.
func noteTablet(tx *gorm.DB, r TapRequest, now time.Time) error {
	if r.Tablet == "" {
		return nil
	}
	t := Tablet{ID: r.Tablet, TappedAt: &now}
	if r.ClockOff == nil {
		return saveTablet(tx, t, "tapped_at")
	}
	off := int(r.ClockOff.Round(time.Second) / time.Second)
	t.ClockOff = &off
	return saveTablet(tx, t, "tapped_at", "clock_off")
}

// Tablet returns a tablet's record, nil if it has none.
func (s *Snapshot) Tablet(id string) *Tablet {
	for i := range s.Tablets {
		if s.Tablets[i].ID == id {
			return &s.Tablets[i]
		}
	}
	return nil
}
