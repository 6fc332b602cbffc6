package models

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"gorm.io/gorm"
)

const (
	// How many plans are kept: their headers, and of the newest also the steps.
	keptPlans     = 200
	keptPlanSteps = 20
	// planRows is how many rows of a plan are written, or let go, at once: a tap that
	// comes meanwhile waits for these and not for the whole plan.
	planRows = 100
)

// SavePlan stores a plan and makes it the current one; p gets its ID. Stale if
// the records changed since the revision it was made from; unless the work only
// went on since and the plan there is is older still, as where somebody taps all
// the time no plan would be made at all. Older plans lose their steps, and the
// oldest go.
//
// It is written piece by piece between the taps, and becomes current with the last
// one. What a refused plan, or a power cut, leaves behind nobody sees; it goes like
// an old one.
func (s *Store) SavePlan(ctx context.Context, p *Plan) error {
	if err := p.check(); err != nil {
		return err
	}
	stored := p.stored(s.Now())
	if err := s.writePlan(ctx, &stored); err != nil {
		if stored.ID != 0 {
			err = errors.Join(err, s.dropPlan(context.WithoutCancel(ctx), stored.ID))
		}
		return err
	}
	s.plans.keep(&stored)
	*p = *stored.copied()
	return s.prunePlans(context.WithoutCancel(ctx)) // the plan is saved, whoever does not want it any more
}

// writePlan writes the header, the steps, the setups, and which plan is current.
func (s *Store) writePlan(ctx context.Context, p *Plan) error {
	parts := []func(tx *gorm.DB) error{p.storeHeader}
	for steps := range slices.Chunk(p.Steps, planRows) {
		parts = append(parts, func(tx *gorm.DB) error {
			return storeRows(tx, "steps of the plan", steps, func(r *PlanStep) { r.PlanID = p.ID })
		})
	}
	for setups := range slices.Chunk(p.Setups, planRows) {
		parts = append(parts, func(tx *gorm.DB) error {
			return storeRows(tx, "setups of the plan", setups, func(r *PlanSetup) { r.PlanID = p.ID })
		})
	}
	for _, part := range parts {
		if err := s.ofPlan(ctx, p, nil, part); err != nil {
			return err
		}
	}
	return s.ofPlan(ctx, p, &Change{Kind: ChangedPlan, Revision: p.Revision}, func(tx *gorm.DB) error {
		before, err := s.plans.current(tx)
		if err != nil {
			return err
		}
		if err := p.follow(tx); err != nil {
			return err
		}
		return s.noteDay(tx, before, p)
	})
}

// storeRows stores rows that are each made the plan's before.
func storeRows[T any](tx *gorm.DB, what string, rows []T, own func(*T)) error {
	all := make([]*T, len(rows))
	for i := range rows {
		own(&rows[i])
		all[i] = &rows[i]
	}
	return create(tx, what, all)
}

// ofPlan writes a part of a plan that may still be followed.
func (s *Store) ofPlan(ctx context.Context, p *Plan, change *Change, part func(tx *gorm.DB) error) error {
	return s.write(ctx, "save the plan", func(tx *gorm.DB) (*Change, error) {
		shop, err := get[Shop](tx, "shop", 1)
		if err != nil {
			return nil, err
		}
		if err := s.mayFollow(tx, p, shop.Revision); err != nil {
			return nil, err
		}
		return change, part(tx)
	})
}

// storeHeader writes the plan's own row, not yet current.
func (p *Plan) storeHeader(tx *gorm.DB) error {
	p.Current = false
	if err := tx.Omit("Steps", "Setups").Create(p).Error; err != nil {
		return fmt.Errorf("store the plan: %w", err)
	}
	return nil
}

// follow makes the plan the current one.
func (p *Plan) follow(tx *gorm.DB) error {
	if err := tx.Model(&Plan{}).Where("current = 1").UpdateColumn("current", false).Error; err != nil {
		return fmt.Errorf("let the plan before go: %w", err)
	}
	p.Current = true
	if err := tx.Model(&Plan{}).Where("id = ?", p.ID).UpdateColumn("current", true).Error; err != nil {
		return fmt.Errorf("follow the plan: %w", err)
	}
	return nil
}

// sparedPlans are the day's first, those that were followed when a station went out of
// order or came back the last time, and at the last few troubles: what has moved since
// is told against them.
const sparedPlans = `SELECT first_plan_id FROM plan_days UNION SELECT plan_id FROM taps WHERE plan_id IS NOT NULL
	AND (seq IN (SELECT max(seq) FROM taps WHERE kind IN ('down', 'up') GROUP BY station_id)
		OR seq IN (SELECT seq FROM taps WHERE trouble <> '' ORDER BY seq DESC LIMIT 12))`

// prunePlans keeps the newest plans only, and those spared.
func (s *Store) prunePlans(ctx context.Context) error {
	var emptied, gone []ID
	err := s.read(ctx, "save the plan", func(tx *gorm.DB) error {
		newest := func(n int) *gorm.DB { return tx.Model(&Plan{}).Select("id").Order("id DESC").Limit(n) }
		old := func(n int) *gorm.DB {
			return tx.Model(&Plan{}).Where("NOT current AND id NOT IN (?) AND id NOT IN (?)", newest(n), tx.Raw(sparedPlans))
		}
		steps := tx.Model(&PlanStep{}).Select("1").Where("plan_id = plans.id")
		return first(old(keptPlanSteps).Where("EXISTS (?)", steps).Pluck("id", &emptied).Error, old(keptPlans).Pluck("id", &gone).Error)
	})
	if err != nil {
		return err
	}
	for _, id := range emptied {
		if err := s.emptyPlan(ctx, id); err != nil {
			return err
		}
	}
	for _, id := range gone {
		if err := s.dropPlan(ctx, id); err != nil {
			return err
		}
	}
	return nil
}

// dropPlan lets a plan go that is not followed.
func (s *Store) dropPlan(ctx context.Context, id ID) error {
	if err := s.emptyPlan(ctx, id); err != nil {
		return err
	}
	return s.letGo(ctx, func(tx *gorm.DB) *gorm.DB { return tx.Where("id = ? AND NOT current", id).Delete(&Plan{}) })
}

// emptyPlan lets the steps and setups of a plan go, a few at once.
func (s *Store) emptyPlan(ctx context.Context, id ID) error {
	few := func(tx *gorm.DB, of any) *gorm.DB {
		return tx.Where("id IN (?)", tx.Model(of).Select("id").Where("plan_id = ?", id).Limit(planRows))
	}
	return first(
		s.letGo(ctx, func(tx *gorm.DB) *gorm.DB { return few(tx, &PlanSetup{}).Delete(&PlanSetup{}) }),
		s.letGo(ctx, func(tx *gorm.DB) *gorm.DB { return few(tx, &PlanStep{}).Delete(&PlanStep{}) }))
}

// letGo deletes rows of old plans until there are none of them left.
func (s *Store) letGo(ctx context.Context, remove func(tx *gorm.DB) *gorm.DB) error {
	for more := true; more; {
		err := s.write(ctx, "save the plan", func(tx *gorm.DB) (*Change, error) {
			done := remove(tx)
			more = done.RowsAffected >= planRows
			return nil, done.Error
		})
		if err != nil {
			return err
		}
	}
	return nil
}
