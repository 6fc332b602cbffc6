package models

import (
	"slices"
	"time"
)

// A step that takes more than one pair of hands has one person who has it in hand,
// and others who help. Their time is booked as well, from when they were given to
// the step until it leaves the hand, or somebody taps that it is managed without
// them. Nobody has hands in two places: who helps can take nothing in hand.

// Helping is one more person with hands on a step.
type Helping struct {
	PersonID ID
	Since    time.Time
}

// helpedBy is the progress with one more person's hands.
func (p Progress) helpedBy(person ID, at time.Time) Progress {
	p.Helpers = append(slices.Clone(p.Helpers), Helping{PersonID: person, Since: at})
	return p
}

// managed is the progress once a person's hands are free again.
func (p Progress) managed(person ID, at time.Time) Progress {
	var left []Helping
	for _, h := range p.Helpers {
		if h.PersonID == person {
			p.Helped += seconds(h.Since, at)
		} else {
			left = append(left, h)
		}
	}
	p.Helpers = left
	return p
}

// helps says whether a person has hands on a step beside who has it in hand.
func (p Progress) helps(person ID) bool {
	return slices.ContainsFunc(p.Helpers, func(h Helping) bool { return h.PersonID == person })
}

// hands is a tap that gives a step in hand another person's hands, or frees them.
func (t *tapper) hands() (TapResult, error) {
	step, err := get[Step](t.tx, "step", t.request.StepID)
	if err != nil {
		return TapResult{}, err
	}
	helper, err := get[Person](t.tx, "person", t.request.HelperID)
	if err != nil {
		return TapResult{}, err
	}
	if err := first(t.mayTap(step, t.request.Kind), t.mayHelp(step, helper)); err != nil {
		return TapResult{}, err
	}
	row := t.row()
	row.StepID, row.HelperID = &step.ID, &helper.ID
	if err := t.add(&row); err != nil {
		return TapResult{}, err
	}
	return TapResult{Tap: row, Step: step}, t.move(step, row)
}

func (t *tapper) mayHelp(step *Step, helper *Person) error {
	switch {
	case t.request.Kind == TapManage && !step.Progress().helps(helper.ID):
		return conflict("helper", helper.Name, "%s does not help with “%s”.", helper.Name, step.Name)
	case t.request.Kind == TapManage:
		return nil
	case !helper.Active:
		return invalid("helper", helper.Name, "%s is not among those who work here now.", helper.Name)
	case idOf(step.PersonID) == helper.ID:
		return conflict("helper", helper.Name, "%s has “%s” in hand, and cannot be the second pair of hands.", helper.Name, step.Name)
	}
	return t.handsFree(helper.ID, "")
}

// Helps returns the step that a person helps with, or nil.
func (s *Snapshot) Helps(person ID) *Step {
	for i := range s.Steps {
		if s.Steps[i].Progress().helps(person) {
			return &s.Steps[i]
		}
	}
	return nil
}
