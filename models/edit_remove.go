package models

import (
	"fmt"
	"time"
)

// RemoveStep takes a step out that nothing was ever tapped for. What came
// before it and what came after stay in order.
type RemoveStep struct {
	StepID ID
}

// RemovedStep is a step that was taken out of its commission.
type RemovedStep struct {
	ID           ID // the number it had
	CommissionID ID
	Key          string
	Name         string
	RemovedAt    time.Time
}

func (r RemoveStep) apply(e *editor) error {
	s, err := e.unbegun(r.StepID)
	if err != nil {
		return err
	}
	if err := first(e.neverTapped(s), e.noNotes(s)); err != nil {
		return err
	}
	for _, in := range e.before(s.ID) {
		for _, out := range e.after(s.ID) {
			if err := e.addLink(bridge(in, out, s.Name)); err != nil {
				return err
			}
		}
	}
	return e.remove(s)
}

// neverTapped refuses a step that the journal points at.
func (e *editor) neverTapped(s *Step) error {
	var taps int64
	if err := e.tx.Model(&Tap{}).Where("step_id = ?", s.ID).Count(&taps).Error; err != nil {
		return fmt.Errorf("look for taps of step %d: %w", s.ID, err)
	}
	if taps > 0 {
		return conflict("step", s.Name, "“%s” was tapped before and the journal keeps that: it can be changed, but not taken out.", s.Name)
	}
	return nil
}

// remove deletes a step with its links and keeps its number from being given again.
func (e *editor) remove(s *Step) error {
	gone := RemovedStep{ID: s.ID, CommissionID: s.CommissionID, Key: s.Key, Name: s.Name, RemovedAt: e.store.Now()}
	if err := create(e.tx, "step that was taken out", []*RemovedStep{&gone}); err != nil {
		return err
	}
	if err := e.tx.Delete(&Step{}, s.ID).Error; err != nil {
		return fmt.Errorf("take step %d out: %w", s.ID, err)
	}
	return nil
}
