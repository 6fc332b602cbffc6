package models

import (
	"fmt"
	"time"

	"gorm.io/gorm"

	"faceside/models/phrase"
)

// Changes of single steps: on what day, and by whom they are done.

// of reads a step with its commission.
func (s *steerer) of(id ID) (*Step, *Commission, error) {
	st, err := get[Step](s.tx, "step", id)
	if err != nil {
		return nil, nil, err
	}
	c, err := get[Commission](s.tx, "commission", st.CommissionID)
	return st, c, err
}

// wantedOf reads what a maker wants of a step, nil for nothing.
func wantedOf(tx *gorm.DB, step ID) (*Wanted, error) {
	w, err := one[Wanted](tx.Where("step_id = ?", step))
	if err != nil {
		return nil, fmt.Errorf("read what is wanted of step %d: %w", step, err)
	}
	return w, nil
}

// putWanted stores what is wanted of a step; nothing is no row.
func putWanted(tx *gorm.DB, step ID, w *Wanted) error {
	err := tx.Where("step_id = ?", step).Delete(&Wanted{}).Error
	if err == nil && w != nil && (w.Day != "" || w.PersonID != nil) {
		err = tx.Create(&Wanted{StepID: step, Day: w.Day, PersonID: w.PersonID}).Error
	}
	if err != nil {
		return fmt.Errorf("store what is wanted of step %d: %w", step, err)
	}
	return nil
}

// letDayGo forgets the day that a step was pinned to; it tells whether there was one.
func letDayGo(tx *gorm.DB, step ID) (bool, error) {
	w, err := wantedOf(tx, step)
	if err != nil || w == nil || w.Day == "" {
		return false, err
	}
	w.Day = ""
	return true, putWanted(tx, step, w)
}

func (s *steerer) pin(c *Steer) (was SteerWas, says phrase.Phrase, err error) {
	st, com, err := s.of(c.StepID)
	if err != nil {
		return was, says, err
	}
	was.PinnedAt = st.PinnedAt
	if was.Wanted, err = wantedOf(s.tx, st.ID); err != nil {
		return was, says, err
	}
	day, err := time.ParseInLocation(time.DateOnly, c.Date, s.zone)
	if err != nil {
		return was, says, s.ahead("date", c.Date)
	}
	at := time.Date(day.Year(), day.Month(), day.Day(), 0, c.Opens, 0, 0, s.zone)
	if !c.Timed {
		says = phrase.Of("“%[1]s” (%[2]s) is begun on %[3]s", st.Name, com.Name, dayWords(c.Date))
		return was, says, s.pinToDay(st, day)
	}
	changed, err := s.Store.pin(s.tx, st, wholeMinute(&at))
	if err == nil && !changed {
		err = conflict("time", phrase.Clock(at), "“%[1]s” is pinned to %[2]s already.", st.Name, clockTime(at, s.now, s.zone))
	}
	return was, phrase.Of("“%[1]s” (%[2]s) is begun on %[3]s at %[4]s", st.Name, com.Name, dayWords(c.Date), phrase.Clock(at)), err
}

// pinToDay has a step begun on a day, at whatever time.
func (s *steerer) pinToDay(st *Step, day time.Time) error {
	if err := pinnable(s.tx, st); err != nil {
		return err
	}
	date := day.Format(time.DateOnly)
	if err := s.ahead("date", date); err != nil {
		return err
	}
	p, err := s.pinner(s.tx, st.ID, day)
	if err != nil {
		return err
	}
	if err := p.onDay(day); err != nil {
		return err
	}
	w, err := wantedOf(s.tx, st.ID)
	if err != nil {
		return err
	}
	if w == nil {
		w = &Wanted{}
	}
	if w.Day == date {
		return conflict("date", date, "“%[1]s” is pinned to %[2]s already.", st.Name, dayWords(date))
	}
	w.Day = date
	return first(putPin(s.tx, st.ID, nil), putWanted(s.tx, st.ID, w))
}

// onDay refuses a day on which the step cannot be begun.
func (p *pinner) onDay(day time.Time) error {
	p.day, p.at = true, p.hours.Noon(day, 0)
	if off, ok := p.hours.DayOff(p.hours.Date(p.at)); ok {
		return p.refuse("date", "that is a day off%s", colon(off.Reason))
	}
	open := p.hours.Day(p.at, 0)
	if len(open) == 0 {
		return p.refuse("date", "the shop is closed that day")
	}
	attended := time.Duration(p.step.Attended) * time.Minute
	firstStart, last := time.Time{}, time.Time{}
	for _, o := range open {
		until := o.To.Add(-time.Minute)
		if !p.step.Interruptible && attended <= p.hours.Longest() {
			until = o.To.Add(-attended)
		}
		if from := later(o.From, p.snap.At); !until.Before(from) {
			if last = until; firstStart.IsZero() {
				firstStart = from
			}
		}
	}
	if last.IsZero() {
		return p.refuse("date", "it takes %d min without a break, and there is no time left for that on that day", p.step.Attended)
	}
	p.at = last
	if err := p.afterOthers(); err != nil {
		return err
	}
	p.at = firstStart
	return p.beforeOthers()
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// unpin puts back how a step was pinned before.
func (s *steerer) unpin(row *Steered) error {
	st, err := s.still(row)
	if st == nil || err != nil {
		return err
	}
	w, err := wantedOf(s.tx, st.ID)
	if err != nil {
		return err
	}
	asKept := w != nil && w.Day == row.Change.Date && st.PinnedAt == nil
	if row.Change.Timed {
		asKept = st.PinnedAt != nil && st.PinnedAt.In(s.zone).Format("2006-01-02 15:04") == row.Change.Date+" "+clockOf(row.Change.Opens)
	}
	if !asKept {
		return conflict("step", st.Name, "“%s” was pinned otherwise since: change that on its own screen.", st.Name)
	}
	back := Wanted{}
	if w != nil {
		back.PersonID = w.PersonID
	}
	if row.Was.Wanted != nil {
		back.Day = row.Was.Wanted.Day
	}
	return first(putPin(s.tx, st.ID, row.Was.PinnedAt), putWanted(s.tx, st.ID, &back))
}

func clockOf(minute int) string { return fmt.Sprintf("%02d:%02d", minute/60, minute%60) }

// still reads the step of a change, nil where it is not there any more or was begun:
// then there is nothing to put back.
func (s *steerer) still(row *Steered) (*Step, error) {
	st, err := one[Step](s.tx.Where("id = ?", row.Change.StepID))
	if err != nil {
		return nil, fmt.Errorf("read step %d: %w", row.Change.StepID, err)
	}
	if st == nil || st.State != Todo {
		return nil, nil
	}
	return st, nil
}

func (s *steerer) give(c *Steer) (was SteerWas, says phrase.Phrase, err error) {
	st, com, err := s.of(c.StepID)
	if err != nil {
		return was, says, err
	}
	p, err := get[Person](s.tx, "person", c.PersonID)
	if err != nil {
		return was, says, err
	}
	w, err := wantedOf(s.tx, st.ID)
	if err != nil {
		return was, says, err
	}
	if was.Wanted = w; w == nil {
		w = &Wanted{}
	}
	switch {
	case !p.Active:
		err = invalid("person", p.Name, "%s is not among those who work here now.", p.Name)
	case idOf(w.PersonID) == p.ID:
		err = conflict("person", p.Name, "“%[1]s” is given to %[2]s already.", st.Name, p.Name)
	default:
		err = first(pinnable(s.tx, st), s.thereFor(p, st))
	}
	if err != nil {
		return was, says, err
	}
	return was, phrase.Of("%[1]s does “%[2]s” (%[3]s)", p.Name, st.Name, com.Name), putWanted(s.tx, st.ID, &Wanted{Day: w.Day, PersonID: &p.ID})
}

// thereFor refuses a person who is off on the day to which a step is pinned, and one
// who is not coming any more.
func (s *steerer) thereFor(p *Person, st *Step) error {
	snap, err := s.snapshot()
	if err != nil {
		return err
	}
	cal := snap.Calendar(s.zone)
	if cal.Gone(p.ID, s.today) {
		return invalid("person", p.Name, "%s is not here any more.", p.Name)
	}
	day := ""
	if at, ok := st.Pinned(); ok {
		day = cal.Date(at)
	} else if w := snap.Wants(st.ID); w != nil {
		day = w.Day
	}
	if day != "" && cal.Away(day)[p.ID] {
		return invalid("person", p.Name, "%[1]s is off on %[2]s, to which “%[3]s” is pinned.", p.Name, dayWords(day), st.Name)
	}
	return nil
}

// ungive lets a step be done by whom it was given to before.
func (s *steerer) ungive(row *Steered) error {
	st, err := s.still(row)
	if st == nil || err != nil {
		return err
	}
	w, err := wantedOf(s.tx, st.ID)
	if err != nil {
		return err
	}
	if w == nil || idOf(w.PersonID) != row.Change.PersonID {
		return conflict("step", st.Name, "“%s” was given to somebody else since.", st.Name)
	}
	w.PersonID = nil
	if row.Was.Wanted != nil {
		w.PersonID = row.Was.Wanted.PersonID
	}
	return putWanted(s.tx, st.ID, w)
}
