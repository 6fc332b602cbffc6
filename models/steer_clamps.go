package models

import (
	"fmt"

	"faceside/models/phrase"
)

// Clamps lent to somebody, and borrowed.

func (s *steerer) lend(c *Steer) (SteerWas, phrase.Phrase, error) {
	class, err := s.loan(c)
	if err != nil {
		return SteerWas{}, phrase.Phrase{}, err
	}
	if err := s.mayLend(class, c); err != nil {
		return SteerWas{}, phrase.Phrase{}, err
	}
	id, err := s.saveLoan(c, c.Count)
	return SteerWas{ID: id}, phrase.Of("%[1]d of %[2]s are lent %[3]s", c.Count, class.Name, daysWords(c.Date, c.Until)), err
}

func (s *steerer) borrow(c *Steer) (SteerWas, phrase.Phrase, error) {
	class, err := s.loan(c)
	if err != nil {
		return SteerWas{}, phrase.Phrase{}, err
	}
	id, err := s.saveLoan(c, -c.Count)
	return SteerWas{ID: id}, phrase.Of("%[1]d more of %[2]s are borrowed %[3]s", c.Count, class.Name, daysWords(c.Date, c.Until)), err
}

// loan refuses what cannot be lent or borrowed in any shop.
func (s *steerer) loan(c *Steer) (*ClampClass, error) {
	class, err := get[ClampClass](s.tx, "clamps", c.ClampClassID)
	if err != nil {
		return nil, err
	}
	return class, first(between("count", c.Count, 1, 1000, ""), s.days(c))
}

func (s *steerer) saveLoan(c *Steer, count int) (ID, error) {
	l := Loan{ClampClassID: c.ClampClassID, Count: count, FromDate: c.Date, UntilDate: c.Until}
	if err := s.tx.Create(&l).Error; err != nil {
		return 0, fmt.Errorf("store the loan: %w", err)
	}
	return l.ID, nil
}

// mayLend refuses more clamps than are the shop's own and not lent already, from
// today on more than hang free, and such as a pinned step takes.
func (s *steerer) mayLend(class *ClampClass, c *Steer) error {
	snap, err := s.snapshot()
	if err != nil {
		return err
	}
	lent := 0
	for _, l := range snap.Loans {
		if l.ClampClassID == class.ID && l.Count > 0 && l.FromDate <= c.Until && c.Date <= l.UntilDate {
			lent += l.Count
		}
	}
	if c.Count > class.Count-lent {
		if lent > 0 {
			return invalid("count", c.Count, "%[1]d of %[2]s cannot be lent: the shop has %[3]d, and %[4]d of them are lent then already.", c.Count, class.Name, class.Count, lent)
		}
		return invalid("count", c.Count, "%[1]d of %[2]s cannot be lent: the shop has %[3]d.", c.Count, class.Name, class.Count)
	}
	if free := class.Count + snap.Borrowed(class.ID, s.today) - snap.held(class.ID); c.Date == s.today && c.Count > free {
		return invalid("count", c.Count, "%[1]d of %[2]s cannot be lent today: %[3]d hang free, the others are on work.", c.Count, class.Name, max(0, free))
	}
	for _, p := range snap.pinnedOn(s.zone, c.Date, c.Until) {
		for _, use := range snap.ClampsOf(p.step.ID) {
			if left := class.Count - lent - c.Count; use.ClampClassID == class.ID && use.Count > left {
				return conflict("count", c.Count, "%[1]d of %[2]s cannot be lent: “%[3]s” takes %[4]d and is pinned to %[5]s.", c.Count, class.Name, p.step.Name, use.Count, p.when)
			}
		}
	}
	return nil
}

// Borrowed is how many clamps of a class are there on a day beside the shop's own;
// below 0 where more are lent.
func (s *Snapshot) Borrowed(class ID, day string) int {
	n := 0
	for i := range s.Loans {
		if l := &s.Loans[i]; l.ClampClassID == class && l.Of(day) {
			n -= l.Count
		}
	}
	return n
}

// held is how many clamps of a class are on work in hand or at rest.
func (s *Snapshot) held(class ID) int {
	n := 0
	for i := range s.Steps {
		st := &s.Steps[i]
		if st.State != InHand && st.State != AtRest {
			continue
		}
		for _, use := range s.ClampsOf(st.ID) {
			if use.ClampClassID == class {
				n += use.Count
			}
		}
	}
	return n
}
