package models

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
)

// PartTick says of one piece that a step is done with it, or that it is not
// after all. Rows are only added; the newest of a piece counts. It is no tap:
// where the step stands does not hang on it.
type PartTick struct {
	Seq      int64  `gorm:"primaryKey"`
	ID       string // made with the form, a UUID; the same id twice is one tick
	StepID   ID
	PartID   ID
	Number   int // which of the step's pieces of that part, from 1
	Done     bool
	PersonID ID
	Tablet   string
	At       time.Time
}

// Ticked tells which pieces of each part a step is done with.
type Ticked map[ID]map[int]bool

// TickPart notes a tick. Only what was begun has pieces to tick off.
func (s *Store) TickPart(ctx context.Context, t PartTick) error {
	if err := t.check(); err != nil {
		return err
	}
	return s.write(ctx, "tick the piece off", func(tx *gorm.DB) (*Change, error) {
		var known int64
		if err := tx.Model(&PartTick{}).Where("id = ?", t.ID).Count(&known).Error; err != nil {
			return nil, fmt.Errorf("look for tick %s: %w", t.ID, err)
		}
		if known > 0 {
			return nil, nil
		}
		if err := t.fits(tx); err != nil {
			return nil, err
		}
		t.Seq, t.At = 0, s.Now()
		if err := tx.Create(&t).Error; err != nil {
			return nil, fmt.Errorf("store tick %s: %w", t.ID, err)
		}
		return &Change{Kind: ChangedNote, Step: t.StepID}, nil
	})
}

func (t *PartTick) check() error {
	if t.ID == "" {
		return invalid("tick_id", t.ID, "The tick has no id of its own: load the page again.")
	}
	return first(textAtMost("tick_id", t.ID, tapIDLimit), textAtMost("tablet", t.Tablet, tabletLimit))
}

func (t *PartTick) fits(tx *gorm.DB) error {
	step, err := get[Step](tx, "step", t.StepID)
	if err != nil {
		return err
	}
	if _, err := get[Person](tx, "person", t.PersonID); err != nil {
		return err
	}
	use, err := one[StepPart](tx.Where("step_id = ? AND part_id = ?", t.StepID, t.PartID))
	if err != nil {
		return fmt.Errorf("read the parts of step %d: %w", t.StepID, err)
	}
	if use == nil {
		return invalid("part", t.PartID, "“%s” has no part with number %d.", step.Name, t.PartID)
	}
	if t.Number < 1 || t.Number > use.Quantity {
		return invalid("number", t.Number, "“%s” has %d pieces of this part; there is no number %d.", step.Name, use.Quantity, t.Number)
	}
	if step.State == Todo {
		return conflict("step", step.Name, "“%s” was not begun yet: start it, then tap its pieces off.", step.Name)
	}
	return nil
}

// Ticked reads which pieces each of the steps is done with.
func (s *Store) Ticked(ctx context.Context, steps ...ID) (map[ID]Ticked, error) {
	all := map[ID]Ticked{}
	err := s.read(ctx, "read what is ticked off", func(tx *gorm.DB) error {
		rows, err := newestTicks(tx, steps)
		for _, r := range rows {
			all[r.StepID] = all[r.StepID].with(r)
		}
		return err
	})
	return all, err
}

func (t Ticked) with(r PartTick) Ticked {
	if t == nil {
		t = Ticked{}
	}
	if t[r.PartID] == nil {
		t[r.PartID] = map[int]bool{}
	}
	t[r.PartID][r.Number] = r.Done
	return t
}

// newestTicks reads the row that counts of each piece of steps, the newest first.
func newestTicks(tx *gorm.DB, steps []ID) ([]PartTick, error) {
	var rows []PartTick
	err := tx.Where("seq IN (SELECT max(seq) FROM part_ticks WHERE step_id IN ? GROUP BY step_id, part_id, number)", steps).Order("seq DESC").Find(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("read the ticks: %w", err)
	}
	return rows, nil
}
