package models

import "fmt"

// SplitStep divides a step that is not begun in two: its minutes, its parts and
// its open time. Station, setup, hands, clamps, rest and assemblies are those
// of both; what it makes is made by the second.
type SplitStep struct {
	StepID     ID
	Attended   int        // minutes of the first; the rest are the second's
	Parts      map[ID]int // part → quantity of the first; the rest are the second's
	FirstName  string
	SecondName string
	Apart      bool // the second need not wait for the first
}

func (c SplitStep) apply(e *editor) error {
	s, err := e.unbegun(c.StepID)
	if err != nil {
		return err
	}
	if s.Attended < 2 {
		return conflict("step", s.Name, "“%s” takes one minute: that is not split.", s.Name)
	}
	err = first(nameGiven("first name", c.FirstName), nameGiven("second name", c.SecondName),
		between("first minutes", c.Attended, 1, s.Attended-1, "minutes"))
	if err != nil {
		return err
	}
	parts, assemblies, clamps, err := e.uses(s.ID)
	if err != nil {
		return err
	}
	second := *s
	if second.Key, err = e.newKey(s.FirstKey()); err != nil {
		return err
	}
	second.Name, second.Attended, second.FirstAttended = c.SecondName, s.Attended-c.Attended, 0
	open := s.OpenTime
	s.Name, s.MakesID, s.OpenTime = c.FirstName, nil, shareOf(open, c.Attended, s.Attended)
	second.OpenTime = shareOf(open, second.Attended, s.Attended)
	s.Attended = c.Attended
	if err := e.insert(&second, s.Position); err != nil {
		return err
	}
	held := map[ID]int{}
	for _, use := range clamps {
		held[use.ClampClassID] = use.Count
	}
	works := make([]ID, len(assemblies))
	for i, use := range assemblies {
		works[i] = use.AssemblyID
	}
	if err := first(e.saveStep(s, held), e.saveClamps(second.ID, held), e.saveUses(s.PieceID, second.ID, nil, works)); err != nil {
		return err
	}
	return first(c.divide(e, parts, second.ID), c.relink(e, s.ID, second.ID))
}

// shareOf is a share of minutes, rounded up; 0 stays 0.
func shareOf(minutes, part, whole int) int { return (minutes*part + whole - 1) / whole }

// divide gives each of both its parts.
func (c SplitStep) divide(e *editor, parts []StepPart, second ID) error {
	known := map[ID]bool{}
	var theirs []*StepPart
	for _, use := range parts {
		known[use.PartID] = true
		n, said := c.Parts[use.PartID]
		if !said {
			n = use.Quantity
		}
		if n < 0 || n > use.Quantity {
			return invalid("parts", n, "The first step cannot have %d of %d.", n, use.Quantity)
		}
		if n < use.Quantity {
			theirs = append(theirs, &StepPart{StepID: second, PartID: use.PartID, Quantity: use.Quantity - n})
		}
		var err error
		if n == 0 {
			err = e.tx.Delete(&StepPart{}, use.ID).Error
		} else {
			err = e.tx.Model(&StepPart{}).Where("id = ?", use.ID).UpdateColumn("quantity", n).Error
		}
		if err != nil {
			return fmt.Errorf("divide the parts: %w", err)
		}
	}
	for _, id := range sortedKeys(c.Parts) {
		if !known[id] {
			return notFound("part", id)
		}
	}
	return create(e.tx, "parts of the second step", theirs)
}

// relink lets the second take over what waits for the step; apart, each has all
// the links.
func (c SplitStep) relink(e *editor, one, two ID) error {
	for _, l := range e.after(one) {
		copied := l
		copied.BeforeID = two
		if err := e.addLink(copied); err != nil {
			return err
		}
		if c.Apart {
			continue
		}
		if err := e.dropLink(l); err != nil {
			return err
		}
	}
	if !c.Apart {
		return e.addLink(plainLink(one, two, "the second part of the same work"))
	}
	for _, l := range e.before(one) {
		l.AfterID = two
		if err := e.addLink(l); err != nil {
			return err
		}
	}
	return nil
}
