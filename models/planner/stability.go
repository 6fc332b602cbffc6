package planner

import (
	"context"
	"fmt"

	"faceside/models"
	"faceside/models/sequence"
)

// Stability counts how much of what people have seen is moved while a shop works: a
// plan is made after every tap, and its steps are compared with the plan before, timed
// anew. A step is moved that starts half an hour or more from there.
type Stability struct {
	Taps     int // after which there was a plan to keep to
	Still    int // of these, those after which nothing moved
	Moved    int // steps, over all taps
	Afresh   int // steps that plans made without the one before would have moved
	Seen     int // steps that stood in the plan before and were still to be done
	LateMin  int // weighted minutes late of the plans that were made, over all taps
	KeptLate int // those of the plans before, timed anew, over all taps
}

// After plans as after a change of the records, and follows the plan; where it was a
// tap what moved is counted.
func (s *Stability) After(ctx context.Context, store *models.Store, tap bool, work int64) error {
	snap, err := store.Snapshot(ctx)
	if err != nil {
		return fmt.Errorf("reading the shop: %w", err)
	}
	if len(snap.Commissions) == 0 {
		return nil
	}
	o := options{Options: sequence.Options{Work: work, Seed: 1, Cores: 1}}
	q, answer, err := solve(ctx, snap, o)
	if err != nil {
		return err
	}
	if tap && q.Previous != nil {
		if err := s.count(ctx, q, answer, o); err != nil {
			return err
		}
	}
	return store.SavePlan(ctx, q.records(answer, store.Now()))
}

// count compares an answer with the plan before, and with one that does not know it.
func (s *Stability) count(ctx context.Context, q *posed, answer *sequence.Plan, o options) error {
	moved := q.moved(answer)
	s.Taps++
	s.Moved += moved
	s.Seen += len(q.Previous.Starts)
	if moved == 0 {
		s.Still++
	}
	kept, err := sequence.Retime(ctx, q.Problem)
	if err == nil { // else the order before has no place any more
		s.LateMin += q.outcome("", answer).WeightedLateMin
		s.KeptLate += q.outcome("", kept).WeightedLateMin
	}
	seen := q.Previous
	q.Previous = nil
	afresh, err := sequence.Solve(ctx, q.Problem, o.Options)
	q.Previous = seen
	if err != nil {
		return fmt.Errorf("a plan made afresh: %w", err)
	}
	s.Afresh += q.moved(afresh)
	return nil
}
