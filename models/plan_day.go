package models

import (
	"context"
	"fmt"
	"maps"
	"slices"
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
	TapSeq       *int64        // for MovedByTap, and the newest for MovedByWork
	StepID       *ID           // for MovedByWork
	CommissionID *ID           // for MovedByTaking
	SteeredID    *ID           // for MovedBySteering
	Beside       []CameBetween `gorm:"serializer:json"` // what came together with it, oldest first: which of them moved what nobody can tell
	Moved        map[ID]int    `gorm:"serializer:json"` // by step, the minutes by which it starts later; below 0: earlier

	// As DaySince reads them.
	Tap     *Tap `gorm:"foreignKey:TapSeq;references:Seq"`
	Steered *Steered
}

// TableName: each row is of several moves.
func (PlanMoves) TableName() string { return "plan_moves" }

// CameBetween is something that came before a plan, named as PlanMoves names a cause.
type CameBetween struct {
	Cause        MoveCause `json:"cause"`
	TapSeq       *int64    `json:"tap,omitempty"`
	StepID       *ID       `json:"step,omitempty"`
	CommissionID *ID       `json:"commission,omitempty"`
	SteeredID    *ID       `json:"steered,omitempty"`

	// As DaySince reads them.
	Tap     *Tap     `json:"-"`
	Steered *Steered `json:"-"`
}

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
		if err := tx.Preload("Tap").Preload("Steered").Where("day = ?", date).Order("at, id").Find(&moves).Error; err != nil {
			return err
		}
		return readBeside(tx, date, moves)
	})
	return first, moves, err
}

// readBeside reads the taps and the kept changes that came together with the causes of a
// day's moves.
func readBeside(tx *gorm.DB, day string, moves []PlanMoves) error {
	const named = " IN (SELECT json_extract(c.value, ?) FROM plan_moves m, json_each(m.beside) c WHERE m.day = ?)"
	var taps []Tap
	if err := tx.Where("seq"+named, "$.tap", day).Find(&taps).Error; err != nil {
		return fmt.Errorf("read the taps that came together: %w", err)
	}
	var steered []Steered
	if err := tx.Where("id"+named, "$.steered", day).Find(&steered).Error; err != nil {
		return fmt.Errorf("read the changes that came together: %w", err)
	}
	bySeq, byID := map[int64]*Tap{}, map[ID]*Steered{}
	for i := range taps {
		bySeq[taps[i].Seq] = &taps[i]
	}
	for i := range steered {
		byID[steered[i].ID] = &steered[i]
	}
	for i := range moves {
		for k := range moves[i].Beside {
			c := &moves[i].Beside[k]
			if c.TapSeq != nil {
				c.Tap = bySeq[*c.TapSeq]
			}
			c.Steered = byID[idOf(c.SteeredID)]
		}
	}
	return nil
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
	all, err := s.causesBetween(tx, day, before, p)
	if err != nil {
		return nil, err
	}
	moves := movesOf(all)
	moves.Day, moves.At = day.Day, p.MadeAt
	if len(all) > 1 {
		return moves, nil
	}
	like := tx.Where("day = ? AND cause = ? AND beside = '[]'", moves.Day, moves.Cause)
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

// movesOf is a row for what a plan was made for: of all that came, what weighs most
// names it, and the others stand beside it.
func movesOf(all []CameBetween) *PlanMoves {
	first := 0
	for i := range all {
		if weighs(all[i].Cause) < weighs(all[first].Cause) {
			first = i
		}
	}
	c := all[first]
	return &PlanMoves{Cause: c.Cause, TapSeq: c.TapSeq, StepID: c.StepID, CommissionID: c.CommissionID, SteeredID: c.SteeredID,
		Beside: slices.Delete(slices.Clone(all), first, first+1), Tap: c.Tap, Steered: c.Steered}
}

// weighs is the place of a cause among those that come together, the heaviest first.
func weighs(c MoveCause) int {
	return slices.Index([]MoveCause{MovedByTap, MovedByTaking, MovedBySteering, MovedByCommission, MovedByShop, MovedByWork, MovedByClock}, c)
}

// causesBetween lists what came between two plans: the taps that changed what is to be
// done with what, the commissions that came in, the changes that were kept or let go,
// other changes of a commission or of the shop, and of each step that was worked on the
// newest tap; the clock where there is nothing of these.
func (s *Store) causesBetween(tx *gorm.DB, day *PlanDay, before, p *Plan) ([]CameBetween, error) {
	if before.Revision == p.Revision {
		return []CameBetween{{Cause: MovedByClock}}, nil
	}
	var steered []Steered
	if err := tx.Where("kept_at > ? OR let_go_at > ?", before.MadeAt, before.MadeAt).Order("id").Find(&steered).Error; err != nil {
		return nil, fmt.Errorf("look what was steered since the plan before: %w", err)
	}
	var taken []Commission
	if err := tx.Where("taken_at > ? AND state = ?", before.MadeAt, Open).Order("taken_at, id").Find(&taken).Error; err != nil {
		return nil, fmt.Errorf("look what commission came in since the plan before: %w", err)
	}
	all, err := tapsBetween(tx, day.Journal, steered)
	if err != nil {
		return nil, err
	}
	for i := range taken {
		all = append(all, CameBetween{Cause: MovedByTaking, CommissionID: &taken[i].ID})
	}
	for i := range steered {
		all = append(all, CameBetween{Cause: MovedBySteering, SteeredID: &steered[i].ID})
	}
	if len(taken) == 0 && s.order.commission > before.Revision {
		all = append(all, CameBetween{Cause: MovedByCommission})
	}
	if len(steered) == 0 && (s.order.shop > before.Revision || len(all) == 0) {
		all = append(all, CameBetween{Cause: MovedByShop})
	}
	return all, nil
}

// tapsBetween lists the taps since a row of the journal, of the work on a step only the
// newest, and without those that were written with a change that was kept or undone
// since.
func tapsBetween(tx *gorm.DB, since int64, steered []Steered) ([]CameBetween, error) {
	var taps []Tap
	if err := tx.Where("seq > ?", since).Order("seq").Find(&taps).Error; err != nil {
		return nil, fmt.Errorf("look what was tapped since the plan before: %w", err)
	}
	var all []CameBetween
	for i := range taps {
		t := &taps[i]
		undone := func(u Tap) bool { return u.Undoes != nil && *u.Undoes == t.Seq }
		switch {
		case slices.ContainsFunc(steered, func(s Steered) bool { return s.Was.Tap == t.Seq }), slices.ContainsFunc(taps[i+1:], undone):
		case t.StepID == nil || !slices.Contains(progressing, t.Kind):
			all = append(all, CameBetween{Cause: MovedByTap, TapSeq: &t.Seq})
		default:
			all = slices.DeleteFunc(all, func(c CameBetween) bool { return c.StepID != nil && *c.StepID == *t.StepID })
			all = append(all, CameBetween{Cause: MovedByWork, TapSeq: &t.Seq, StepID: t.StepID})
		}
	}
	return all, nil
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
