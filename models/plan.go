package models

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"time"

	"gorm.io/gorm"

	"faceside/models/phrase"
)

// mayFollow refuses a plan of older records that is no progress over the current one.
func (s *Store) mayFollow(tx *gorm.DB, p *Plan, now int64) error {
	if p.Revision == now {
		return nil
	}
	var current []int64
	if err := tx.Model(&Plan{}).Where("current = 1").Limit(1).Pluck("revision", &current).Error; err != nil {
		return fmt.Errorf("look what plan is followed: %w", err)
	}
	if s.order.same(p.Revision, now) && (len(current) == 0 || current[0] < p.Revision) {
		return nil
	}
	return &Error{Code: Stale, Field: "revision", Value: fmt.Sprint(p.Revision),
		Sentence: phrase.Of("The plan was made from revision %d; the records are at %d.", p.Revision, now)}
}

// check refuses what no shop could follow.
func (p *Plan) check() error {
	if err := first(oneOf("status", p.Status, "optimal", "feasible"), textAtMost("note", p.Note.String(), 100*noteLimit)); err != nil {
		return err
	}
	if p.Origin.IsZero() {
		return invalid("origin", p.Origin, "The plan has no origin.")
	}
	seen := make(map[ID]bool, len(p.Steps))
	for _, ps := range p.Steps {
		if seen[ps.StepID] {
			return invalid("step", ps.StepID, "The plan has step %d twice.", ps.StepID)
		}
		seen[ps.StepID] = true
		if ps.Start.Before(ps.SetupStart) || ps.AttendedEnd.Before(ps.Start) || ps.End.Before(ps.AttendedEnd) {
			return invalid("step", ps.StepID, "The plan ends step %d before it starts it.", ps.StepID)
		}
	}
	return nil
}

// stored copies a plan as it is kept: new, current, in UTC.
func (p *Plan) stored(now time.Time) Plan {
	c := *p
	c.ID, c.Current = 0, true
	if c.MadeAt.IsZero() {
		c.MadeAt = now
	}
	c.MadeAt, c.Origin = kept(c.MadeAt), kept(c.Origin)
	c.Steps = append([]PlanStep(nil), p.Steps...)
	for i := range c.Steps {
		ps := &c.Steps[i]
		ps.ID = 0
		ps.SetupStart, ps.Start, ps.AttendedEnd, ps.End = kept(ps.SetupStart), kept(ps.Start), kept(ps.AttendedEnd), kept(ps.End)
		// A nil slice would be stored as NULL; the caller's own is not kept.
		ps.PersonIDs = append([]ID{}, ps.PersonIDs...)
	}
	c.Setups = append([]PlanSetup(nil), p.Setups...)
	for i := range c.Setups {
		c.Setups[i].ID = 0
		c.Setups[i].Start = kept(c.Setups[i].Start)
	}
	// Numbered in the order in which they are read back.
	slices.SortStableFunc(c.Steps, func(a, b PlanStep) int { return a.Start.Compare(b.Start) })
	slices.SortStableFunc(c.Setups, func(a, b PlanSetup) int { return a.Start.Compare(b.Start) })
	return c
}

// kept is a time as it is stored.
func kept(t time.Time) time.Time { return t.UTC().Truncate(time.Millisecond) }

// CurrentPlan returns the plan the shop works by, nil before the first.
func (s *Store) CurrentPlan(ctx context.Context) (*Plan, error) {
	var p *Plan
	err := s.read(ctx, "read the plan", func(tx *gorm.DB) error {
		var err error
		p, err = s.plans.current(tx)
		return err
	})
	return p, err
}

// Plan returns a plan that was made earlier, as far as it is kept: NotFound
// where it, or its steps, are gone.
func (s *Store) Plan(ctx context.Context, id ID) (*Plan, error) {
	var p *Plan
	err := s.read(ctx, "read an earlier plan", func(tx *gorm.DB) error {
		var err error
		if p, err = get[Plan](tx, "plan", id); err != nil {
			return err
		}
		if err := p.readSteps(tx); err != nil {
			return err
		}
		if len(p.Steps) == 0 {
			return notFound("plan", id)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return p, nil
}

// planCache keeps the plan read last: a stored plan never changes, only which
// one is current does.
type planCache struct {
	mu   sync.Mutex
	plan *Plan
}

// current returns a copy of the current plan, nil before the first.
func (c *planCache) current(tx *gorm.DB) (*Plan, error) {
	p, err := one[Plan](tx.Where("current = 1"))
	if err != nil {
		return nil, fmt.Errorf("read the current plan: %w", err)
	}
	if p == nil {
		return nil, nil
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.plan == nil || c.plan.ID != p.ID {
		if err := p.readSteps(tx); err != nil {
			return nil, err
		}
		c.plan = p
	}
	return c.plan.copied(), nil
}

// keep remembers the plan that was just stored.
func (c *planCache) keep(p *Plan) {
	c.mu.Lock()
	defer c.mu.Unlock()
	p.clip()
	c.plan = p
}

// copied returns a copy whose steps and setups are its own.
func (p *Plan) copied() *Plan {
	c := *p
	c.Steps, c.Setups, c.Note = slices.Clone(p.Steps), slices.Clone(p.Setups), slices.Clone(p.Note)
	return &c
}

// clip sees to it that who appends to a list of people writes into no copy.
func (p *Plan) clip() {
	for i := range p.Steps {
		p.Steps[i].PersonIDs = slices.Clip(p.Steps[i].PersonIDs)
	}
}

// readSteps reads a plan's steps and setups in order of time.
func (p *Plan) readSteps(tx *gorm.DB) error {
	if err := tx.Where("plan_id = ?", p.ID).Order("start, id").Find(&p.Steps).Error; err != nil {
		return fmt.Errorf("read the steps of plan %d: %w", p.ID, err)
	}
	p.clip()
	if err := tx.Where("plan_id = ?", p.ID).Order("start, id").Find(&p.Setups).Error; err != nil {
		return fmt.Errorf("read the setups of plan %d: %w", p.ID, err)
	}
	return nil
}
