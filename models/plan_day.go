package models

import (
	"context"
	"fmt"
	"maps"
	"time"

	"gorm.io/gorm"
)

// The day's first plan is kept with its steps, and of each later plan what it moved and
// what it was made for: so that a screen can say what changed since the morning.

// PlanDay is the shop's day of the newest plan.
type PlanDay struct {
	Day         string `gorm:"primaryKey"` // YYYY-MM-DD
	FirstPlanID ID
	Journal     int64 // the newest row of the journal when the newest plan was saved
	MovesID     *ID   // what the newest plan was made for; nil for the day's first
}

// PlanMoves is what one cause moved on a day, over all plans that were made for it.
type PlanMoves struct {
	ID           ID
	Day          string
	At           time.Time // when the first of them was saved
	Cause        MoveCause
	TapSeq       *int64     // for MovedByTap, and the newest for MovedByWork
	StepID       *ID        // for MovedByWork
	CommissionID *ID        // for MovedByTaking
	SteeredID    *ID        // for MovedBySteering
	Moved        map[ID]int `gorm:"serializer:json"` // by step, the minutes by which it starts later; below 0: earlier

	// As DaySince reads them.
	Tap     *Tap `gorm:"foreignKey:TapSeq;references:Seq"`
	Steered *Steered
}

// TableName: each row is of several moves.
func (PlanMoves) TableName() string { return "plan_moves" }

// MoveCause is what a plan was made for.
type MoveCause string

// The causes of moves.
const (
	MovedByTap        MoveCause = "tap"        // any other tap: trouble, a station out of order, further hands, something taken back
	MovedByWork       MoveCause = "work"       // a step was taken up, put down, finished
	MovedByTaking     MoveCause = "taken"      // a commission came in
	MovedByCommission MoveCause = "commission" // one was changed
	MovedBySteering   MoveCause = "steered"    // a change of what the plan reckons with was kept, or let go
	MovedByShop       MoveCause = "shop"       // hours, people, places
	MovedByClock      MoveCause = "clock"      // nothing happened, and it got later
)

// DaySince returns the first plan of the shop's day and what moved since, oldest cause
// first; nil where no plan was made on that day.
func (s *Store) DaySince(ctx context.Context) (first *Plan, moves []PlanMoves, err error) {
	err = s.read(ctx, "read what moved since the morning", func(tx *gorm.DB) error {
		date, err := today(tx, s.Now())
		if err != nil {
			return err
		}
		day, err := one[PlanDay](tx.Where("day = ?", date))
		if err != nil || day == nil {
			return err
		}
		if first, err = get[Plan](tx, "plan", day.FirstPlanID); err != nil {
			return err
		}
		if err := first.readSteps(tx); err != nil {
			return err
		}
		return tx.Preload("Tap").Preload("Steered").Where("day = ?", date).Order("at, id").Find(&moves).Error
	})
	return first, moves, err
}

// today is the day by the shop's clock.
func today(tx *gorm.DB, now time.Time) (string, error) {
	shop, err := get[Shop](tx, "shop", 1)
	if err != nil {
		return "", err
	}
	return shop.Today(now)
}

// noteDay notes what a plan that was just stored moved against the one before.
func (s *Store) noteDay(tx *gorm.DB, before, p *Plan) error {
	date, err := today(tx, s.Now())
	if err != nil {
		return err
	}
	day, err := one[PlanDay](tx.Where("day = ?", date))
	if err != nil {
		return fmt.Errorf("read the day's first plan: %w", err)
	}
	var journal int64
	if err := tx.Model(&Tap{}).Select("coalesce(max(seq), 0)").Scan(&journal).Error; err != nil {
		return fmt.Errorf("look how long the journal is: %w", err)
	}
	switch {
	case day == nil || before == nil:
		if err := tx.Where("1 = 1").Delete(&PlanDay{}).Error; err != nil {
			return fmt.Errorf("let the day before go: %w", err)
		}
		day = &PlanDay{Day: date, FirstPlanID: p.ID}
	case sameSearch(before, p) && day.MovesID == nil:
		day.FirstPlanID = p.ID
	default:
		if day.MovesID, err = s.noteMoves(tx, day, before, p); err != nil {
			return err
		}
	}
	day.Journal = journal
	if err := tx.Save(day).Error; err != nil {
		return fmt.Errorf("note the day's plan: %w", err)
	}
	return nil
}

// sameSearch says whether one search found both plans.
func sameSearch(a, b *Plan) bool { return a.Revision == b.Revision && a.Origin.Equal(b.Origin) }

// noteMoves adds what a plan moved to what its cause moved already, and returns the
// number of that.
func (s *Store) noteMoves(tx *gorm.DB, day *PlanDay, before, p *Plan) (*ID, error) {
	moves, err := s.movesFor(tx, day, before, p)
	if err != nil {
		return nil, err
	}
	if moves.Moved == nil {
		moves.Moved = map[ID]int{}
	}
	for step, minutes := range movedBy(before, p) {
		moves.Moved[step] += minutes
	}
	maps.DeleteFunc(moves.Moved, func(_ ID, minutes int) bool { return minutes == 0 })
	if err := tx.Save(moves).Error; err != nil {
		return nil, fmt.Errorf("note what the plan moved: %w", err)
	}
	return &moves.ID, nil
}

// movesFor finds, or makes, the row of what a plan was made for.
func (s *Store) movesFor(tx *gorm.DB, day *PlanDay, before, p *Plan) (*PlanMoves, error) {
	if sameSearch(before, p) {
		return get[PlanMoves](tx, "moves", *day.MovesID)
	}
	moves, err := s.causeOf(tx, day, before, p)
	if err != nil {
		return nil, err
	}
	like := tx.Where("day = ? AND cause = ?", moves.Day, moves.Cause)
	switch moves.Cause {
	case MovedByTap:
		like = like.Where("tap_seq = ?", *moves.TapSeq)
	case MovedByWork:
		like = like.Where("step_id = ?", *moves.StepID)
	case MovedByTaking:
		like = like.Where("commission_id = ?", *moves.CommissionID)
	case MovedBySteering:
		like = like.Where("steered_id = ?", *moves.SteeredID)
	}
	known, err := one[PlanMoves](like)
	if err != nil {
		return nil, fmt.Errorf("look what was moved already: %w", err)
	}
	if known == nil {
		return moves, nil
	}
	known.TapSeq = moves.TapSeq
	return known, nil
}

// causeOf says what a plan was made for: of all that happened since the one before,
// what weighs most.
func (s *Store) causeOf(tx *gorm.DB, day *PlanDay, before, p *Plan) (*PlanMoves, error) {
	moves := &PlanMoves{Day: day.Day, At: p.MadeAt, Cause: MovedByClock}
	if before.Revision == p.Revision {
		return moves, nil
	}
	newest := func(where string) (*Tap, error) {
		return one[Tap](tx.Where("seq > ? AND "+where, day.Journal, progressing).Order("seq DESC"))
	}
	other, err := newest("(step_id IS NULL OR kind NOT IN ?)")
	if err != nil {
		return nil, fmt.Errorf("look what was tapped since the plan before: %w", err)
	}
	work, err := newest("step_id IS NOT NULL AND kind IN ?")
	if err != nil {
		return nil, fmt.Errorf("look how the work went on since the plan before: %w", err)
	}
	taken, err := one[Commission](tx.Where("taken_at > ? AND state = ?", before.MadeAt, Open).Order("taken_at DESC"))
	if err != nil {
		return nil, fmt.Errorf("look what commission came in since the plan before: %w", err)
	}
	steered, err := one[Steered](tx.Where("kept_at > ? OR let_go_at > ?", before.MadeAt, before.MadeAt).Order("id DESC"))
	if err != nil {
		return nil, fmt.Errorf("look what was steered since the plan before: %w", err)
	}
	switch {
	case other != nil:
		moves.Cause, moves.TapSeq = MovedByTap, &other.Seq
	case taken != nil:
		moves.Cause, moves.CommissionID = MovedByTaking, &taken.ID
	case steered != nil:
		moves.Cause, moves.SteeredID = MovedBySteering, &steered.ID
	case s.order.commission > before.Revision:
		moves.Cause = MovedByCommission
	case s.order.shop > before.Revision || work == nil:
		moves.Cause = MovedByShop
	default:
		moves.Cause, moves.TapSeq, moves.StepID = MovedByWork, &work.Seq, work.StepID
	}
	return moves, nil
}

// progressing are the kinds of tap that tell how far the work on a step is.
var progressing = []TapKind{TapStart, TapPutDown, TapFinish, TapOut}

// movedBy lists by how many minutes each step starts later than in the plan before.
func movedBy(before, p *Plan) map[ID]int {
	was := make(map[ID]time.Time, len(before.Steps))
	for _, ps := range before.Steps {
		was[ps.StepID] = ps.Start
	}
	moved := map[ID]int{}
	for _, ps := range p.Steps {
		if from, planned := was[ps.StepID]; planned {
			if minutes := int(ps.Start.Sub(from).Minutes()); minutes != 0 {
				moved[ps.StepID] = minutes
			}
		}
	}
	return moved
}
