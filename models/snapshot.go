package models

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
)

// lastTapsKept is how many taps a snapshot shows.
const lastTapsKept = 50

// Snapshot reads the shop and all that is open or held, as of one moment.
func (s *Store) Snapshot(ctx context.Context) (*Snapshot, error) {
	return s.snapshot(ctx, 0)
}

// CommissionSnapshot reads the shop and one commission, in whatever state it
// is. LastTaps are of this commission.
func (s *Store) CommissionSnapshot(ctx context.Context, id ID) (*Snapshot, error) {
	if id == 0 {
		return nil, notFound("commission", id)
	}
	return s.snapshot(ctx, id)
}

// snapshot reads one commission, or for 0 all that are open or held.
func (s *Store) snapshot(ctx context.Context, of ID) (*Snapshot, error) {
	snap := &Snapshot{At: s.Now()}
	err := s.read(ctx, "read the records", func(tx *gorm.DB) error {
		return snap.readAll(tx, of, &s.fixed, &s.plans, &s.returned)
	})
	if err != nil {
		return nil, err
	}
	return snap, nil
}

// readAll fills in one commission, or for 0 all that are open or held.
func (s *Snapshot) readAll(tx *gorm.DB, of ID, fixed *fixedCache, plans *planCache, returned *returnedCache) error {
	for _, read := range []func(*gorm.DB) error{
		s.readShop,
		func(tx *gorm.DB) error { return s.readCommissions(tx, of) },
		func(tx *gorm.DB) error { return s.readFixed(tx, fixed, of == 0) },
		s.readProgress,
		s.readCut,
		func(tx *gorm.DB) error { return s.readTaps(tx, of) },
		func(tx *gorm.DB) error { return s.readReturned(tx, returned) },
		s.readRuns,
		s.readTroubles,
		func(tx *gorm.DB) error { return s.readPlan(tx, plans) },
	} {
		if err := read(tx); err != nil {
			return err
		}
	}
	return nil
}

// table is where rows of one kind go, and in what order.
type table struct {
	rows  any
	order string
}

// readShop reads what is not of a commission.
func (s *Snapshot) readShop(tx *gorm.DB) error {
	if err := tx.First(&s.Shop, 1).Error; err != nil {
		return fmt.Errorf("read the shop: %w", err)
	}
	for _, t := range []table{
		{&s.Hours, "weekday, opens"}, {&s.DaysOff, "date, id"}, {&s.People, "name"},
		{&s.Stations, "id"}, {&s.Setups, "id"}, {&s.Clamps, "id"}, {&s.Zones, "id"}, {&s.Glues, "id"}, {&s.Finishes, "id"},
		{&s.Tablets, "name, id"},
	} {
		if err := tx.Order(t.order).Find(t.rows).Error; err != nil {
			return fmt.Errorf("read %T: %w", t.rows, err)
		}
	}
	return s.readSteering(tx)
}

// readCommissions reads the commissions themselves.
func (s *Snapshot) readCommissions(tx *gorm.DB, of ID) error {
	chosen := tx.Where("state IN ?", []CommissionState{Open, Held})
	if of != 0 {
		chosen = tx.Where("id = ?", of)
	}
	if err := chosen.Order("promised_on, id").Find(&s.Commissions).Error; err != nil {
		return fmt.Errorf("read the commissions: %w", err)
	}
	if of != 0 && len(s.Commissions) == 0 {
		return notFound("commission", of)
	}
	return nil
}

// commissionIDs lists the commissions of the snapshot.
func (s *Snapshot) commissionIDs() []ID {
	ids := make([]ID, len(s.Commissions))
	for i, c := range s.Commissions {
		ids[i] = c.ID
	}
	return ids
}

// readFixed fills in what changes only when a commission is edited.
func (s *Snapshot) readFixed(tx *gorm.DB, cache *fixedCache, only bool) error {
	all, err := cache.of(tx, s.Commissions, only)
	if err != nil {
		return err
	}
	for _, f := range all {
		f.copyInto(s)
	}
	return nil
}

// readProgress fills in where the steps stand, and the pins.
func (s *Snapshot) readProgress(tx *gorm.DB) error {
	var rows []struct {
		ID       ID
		Progress `gorm:"embedded"`
		PinnedAt *time.Time
	}
	if err := tx.Model(&Step{}).Where("commission_id IN ?", s.commissionIDs()).Find(&rows).Error; err != nil {
		return fmt.Errorf("read where the steps stand: %w", err)
	}
	at := make(map[ID]int, len(rows))
	for i := range rows {
		at[rows[i].ID] = i
	}
	for i := range s.Steps {
		k, known := at[s.Steps[i].ID]
		if !known || len(rows) != len(s.Steps) {
			return fmt.Errorf("the steps of the commissions are not those of their editions: %d, not %d", len(rows), len(s.Steps))
		}
		s.Steps[i].put(rows[k].Progress)
		s.Steps[i].PinnedAt = rows[k].PinnedAt
	}
	return nil
}

// readCut fills in how many of each part are booked as cut and were not spoiled since.
func (s *Snapshot) readCut(tx *gorm.DB) error {
	var rows []struct {
		PartID   ID
		Quantity int
	}
	err := tx.Raw("SELECT * FROM ("+stillCut+") WHERE part_id IN (SELECT id FROM parts WHERE commission_id IN ?)", s.commissionIDs()).Scan(&rows).Error
	if err != nil {
		return fmt.Errorf("read what is cut: %w", err)
	}
	s.Cut = make(map[ID]int, len(rows))
	for _, r := range rows {
		s.Cut[r.PartID] = r.Quantity
	}
	return nil
}

// readTaps reads the newest taps that count.
func (s *Snapshot) readTaps(tx *gorm.DB, of ID) error {
	var err error
	if s.LastTaps, err = lastTaps(tx, lastTapsKept, of); err != nil {
		return fmt.Errorf("read the newest taps: %w", err)
	}
	return nil
}

// readPlan fills in the current plan.
func (s *Snapshot) readPlan(tx *gorm.DB, cache *planCache) error {
	var err error
	s.Plan, err = cache.current(tx)
	return err
}
