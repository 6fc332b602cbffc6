package models

import "faceside/models/phrase"

// Changes of whole commissions: held or going on, how much a late day hurts, the
// promised date.

// alter changes a commission by a function and saves it.
func (s *steerer) alter(id ID, change func(*Commission) error) (SteerWas, *Commission, error) {
	c, err := get[Commission](s.tx, "commission", id)
	if err != nil {
		return SteerWas{}, nil, err
	}
	if c.State != Open && c.State != Held {
		return SteerWas{}, nil, conflict("commission", c.Name, "The commission “%s” is %s.", c.Name, c.State.Words())
	}
	was := SteerWas{State: c.State, Weight: c.Weight, PromisedOn: c.PromisedOn}
	if err := change(c); err != nil {
		return was, c, err
	}
	return was, c, first(c.check(), c.save(s.tx, s.now))
}

func (s *steerer) hold(c *Steer) (SteerWas, phrase.Phrase, error) {
	was, com, err := s.alter(c.CommissionID, become(Held))
	if err != nil {
		return was, phrase.Phrase{}, err
	}
	return was, phrase.Of("“%s” is held", com.Name), nil
}

func (s *steerer) resume(c *Steer) (SteerWas, phrase.Phrase, error) {
	was, com, err := s.alter(c.CommissionID, become(Open))
	if err != nil {
		return was, phrase.Phrase{}, err
	}
	return was, phrase.Of("“%s” goes on", com.Name), nil
}

func become(state CommissionState) func(*Commission) error {
	return func(c *Commission) error {
		if c.State == state {
			return conflict("commission", c.Name, "“%[1]s” is %[2]s already.", c.Name, state.Words())
		}
		c.State = state
		return nil
	}
}

// unmove puts a commission's state back.
func (s *steerer) unmove(row *Steered) error {
	kept := Held
	if row.Change.Kind == SteerResume {
		kept = Open
	}
	return s.putBack(row, func(c *Commission) bool { return c.State == kept }, func(c *Commission) { c.State = row.Was.State })
}

func (s *steerer) weigh(c *Steer) (SteerWas, phrase.Phrase, error) {
	was, com, err := s.alter(c.CommissionID, func(com *Commission) error {
		if com.Weight == c.Weight {
			return conflict("weight", c.Weight, "“%[1]s” has the weight %[2]d already.", com.Name, c.Weight)
		}
		com.Weight = c.Weight
		return nil
	})
	if err != nil {
		return was, phrase.Phrase{}, err
	}
	return was, phrase.Of("“%[1]s” has the weight %[2]d instead of %[3]d", com.Name, c.Weight, was.Weight), nil
}

func (s *steerer) unweigh(row *Steered) error {
	return s.putBack(row, func(c *Commission) bool { return c.Weight == row.Change.Weight }, func(c *Commission) { c.Weight = row.Was.Weight })
}

func (s *steerer) promise(c *Steer) (SteerWas, phrase.Phrase, error) {
	was, com, err := s.alter(c.CommissionID, func(com *Commission) error {
		if com.PromisedOn == c.Date {
			return conflict("promised date", c.Date, "“%[1]s” is promised for %[2]s already.", com.Name, dayWords(c.Date))
		}
		com.PromisedOn = c.Date
		return s.ahead("date", c.Date)
	})
	if err != nil {
		return was, phrase.Phrase{}, err
	}
	return was, phrase.Of("“%[1]s” is promised for %[2]s instead of %[3]s", com.Name, dayWords(c.Date), dayWords(was.PromisedOn)), nil
}

// unpromise promises the day of before; where that has passed meanwhile it is refused.
func (s *steerer) unpromise(row *Steered) error {
	return s.putBack(row, func(c *Commission) bool { return c.PromisedOn == row.Change.Date }, func(c *Commission) { c.PromisedOn = row.Was.PromisedOn })
}

// putBack changes a commission back, where it is still as it was kept. One that is
// delivered or dropped has nothing to put back.
func (s *steerer) putBack(row *Steered, asKept func(*Commission) bool, back func(*Commission)) error {
	c, err := get[Commission](s.tx, "commission", row.Change.CommissionID)
	if err != nil {
		return err
	}
	if c.State != Open && c.State != Held {
		return nil
	}
	if !asKept(c) {
		return conflict("commission", c.Name, "“%s” was changed by hand since: change it back there.", c.Name)
	}
	back(c)
	return c.save(s.tx, s.now)
}
