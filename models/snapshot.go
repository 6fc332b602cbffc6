package models

import (
	"context"
	"fmt"

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
		return first(snap.readShop(tx), snap.readCommissions(tx, of), snap.readTaps(tx, of))
	})
	if err != nil {
		return nil, err
	}
	return snap, nil
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
	} {
		if err := tx.Order(t.order).Find(t.rows).Error; err != nil {
			return fmt.Errorf("read %T: %w", t.rows, err)
		}
	}
	return nil
}

// readCommissions reads commissions and all that belongs to them.
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
	ids := make([]ID, len(s.Commissions))
	for i, c := range s.Commissions {
		ids[i] = c.ID
	}
	for _, t := range []table{{&s.Pieces, "id"}, {&s.Parts, "id"}, {&s.Assemblies, "id"}, {&s.Steps, "commission_id, piece_id, position"}, {&s.Links, "id"}} {
		if err := tx.Where("commission_id IN ?", ids).Order(t.order).Find(t.rows).Error; err != nil {
			return fmt.Errorf("read %T: %w", t.rows, err)
		}
	}
	return s.readUses(tx, ids)
}

// readUses reads what is in assemblies and what steps work on and with.
func (s *Snapshot) readUses(tx *gorm.DB, commissions []ID) error {
	in := func(model any) *gorm.DB { return tx.Model(model).Select("id").Where("commission_id IN ?", commissions) }
	for _, t := range []table{{&s.AssemblyParts, "id"}, {&s.AssemblyAssemblies, "id"}} {
		if err := tx.Where("assembly_id IN (?)", in(&Assembly{})).Order(t.order).Find(t.rows).Error; err != nil {
			return fmt.Errorf("read %T: %w", t.rows, err)
		}
	}
	for _, t := range []table{{&s.StepParts, "id"}, {&s.StepAssemblies, "id"}, {&s.StepClamps, "id"}} {
		if err := tx.Where("step_id IN (?)", in(&Step{})).Order(t.order).Find(t.rows).Error; err != nil {
			return fmt.Errorf("read %T: %w", t.rows, err)
		}
	}
	return nil
}

// readTaps reads the newest taps that count, and the current plan.
func (s *Snapshot) readTaps(tx *gorm.DB, of ID) error {
	var err error
	if s.LastTaps, err = lastTaps(tx, lastTapsKept, of); err != nil {
		return fmt.Errorf("read the newest taps: %w", err)
	}
	s.Plan, err = currentPlan(tx)
	return err
}
