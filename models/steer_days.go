package models

import (
	"fmt"
	"time"

	"faceside/models/phrase"
)

// Changes of days: days off, hours beside those of the week, of all or of one, borrowed
// hands, stations that are closed.

// dayWords says a day: "Tue 1 Dec".
func dayWords(date string) phrase.Phrase {
	t, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return phrase.Name(date)
	}
	return phrase.ShortDate(t)
}

// daysWords says days: "on Tue 1 Dec", "from Tue 1 Dec to Thu 3 Dec".
func daysWords(from, until string) phrase.Phrase {
	if from == until {
		return phrase.Of("on %s", dayWords(from))
	}
	return phrase.Of("from %[1]s to %[2]s ## days", dayWords(from), dayWords(until))
}

// ahead refuses a day that is none, is past, or lies more than a year ahead.
func (s *steerer) ahead(field, date string) error {
	if dateGiven(field, date) != nil {
		return invalid(field, date, "%q is not a day such as 2026-03-31.", date)
	}
	if err := s.notPast(field, date); err != nil {
		return err
	}
	if far := s.now.In(s.zone).AddDate(1, 0, 0).Format(time.DateOnly); date > far {
		return invalid(field, date, "%s is more than a year ahead.", dayWords(date))
	}
	return nil
}

func (s *steerer) notPast(field, date string) error {
	if date < s.today {
		return invalid(field, date, "%s is past: today is %s.", dayWords(date), dayWords(s.today))
	}
	return nil
}

// days refuses days that are not to come, and an end before the beginning.
func (s *steerer) days(c *Steer) error {
	if c.Until == "" {
		c.Until = c.Date
	}
	if err := first(s.ahead("date", c.Date), s.ahead("until", c.Until)); err != nil {
		return err
	}
	if c.Until < c.Date {
		return invalid("until", c.Until, "The last day %[1]s is before the first, %[2]s.", dayWords(c.Until), dayWords(c.Date))
	}
	return nil
}

func (s *steerer) dayOff(c *Steer) (SteerWas, phrase.Phrase, error) {
	if err := s.ahead("date", c.Date); err != nil {
		return SteerWas{}, phrase.Phrase{}, err
	}
	off := DayOff{Date: c.Date, Reason: c.Name}
	says := phrase.Of("The whole shop is off on %s", dayWords(c.Date))
	if c.PersonID != 0 {
		p, err := s.worker(c.PersonID)
		if err != nil {
			return SteerWas{}, phrase.Phrase{}, err
		}
		off.PersonID, says = &p.ID, phrase.Of("%[1]s is off on %[2]s", p.Name, dayWords(c.Date))
	}
	if err := first(textAtMost("reason", off.Reason, noteLimit), s.noPinOff(&off), s.saveDayOff(&off)); err != nil {
		return SteerWas{}, phrase.Phrase{}, err
	}
	return SteerWas{ID: off.ID}, says, nil
}

// dayOffBack takes the day off away that was kept, where it still is there.
func (s *steerer) dayOffBack(row *Steered) error {
	same := s.tx.Where("id = ?", row.Was.ID)
	again, err := s.cameBack(row)
	if err != nil {
		return err
	}
	if again != nil {
		same = same.Or("reason = ? AND noted_on = ?", again.Reason, again.NotedOn)
	}
	done := s.tx.Where("date = ? AND coalesce(person_id, 0) = ?", row.Change.Date, row.Change.PersonID).Where(same).Delete(&DayOff{})
	if done.Error != nil {
		return fmt.Errorf("remove day off %d: %w", row.Was.ID, done.Error)
	}
	return nil
}

// cameBack finds the day off of a change as it was when a later change took it away that
// was let go itself: it was put back then, maybe under another number. Nil for none.
func (s *steerer) cameBack(row *Steered) (*DayOff, error) {
	var gone []Steered
	if err := s.tx.Where("id > ? AND let_go_at IS NOT NULL", row.ID).Find(&gone).Error; err != nil {
		return nil, fmt.Errorf("read what was let go: %w", err)
	}
	for _, g := range gone {
		was := g.Was.DayOff
		if was != nil && was.ID == row.Was.ID && was.Date == row.Change.Date && idOf(was.PersonID) == row.Change.PersonID {
			return was, nil
		}
	}
	return nil, nil
}

// dayBack takes a day off that is to come away again, however far ahead it lies.
func (s *steerer) dayBack(c *Steer) (was SteerWas, says phrase.Phrase, err error) {
	off, err := get[DayOff](s.tx, "day off", c.DayOffID)
	if err == nil {
		err = s.notPast("off", off.Date)
	}
	if err != nil {
		return was, says, err
	}
	c.Date, says = off.Date, phrase.Of("The whole shop works on %s after all", dayWords(off.Date))
	if off.PersonID != nil {
		p, err := get[Person](s.tx, "person", *off.PersonID)
		if err != nil {
			return was, says, err
		}
		says = phrase.Of("%[1]s works on %[2]s after all", p.Name, dayWords(off.Date))
	}
	if err := s.tx.Delete(&DayOff{}, off.ID).Error; err != nil {
		return was, says, fmt.Errorf("remove day off %d: %w", off.ID, err)
	}
	return SteerWas{DayOff: off}, says, nil
}

// dayOffAgain puts a day off back that was taken away, with its number, if no other has
// got that. Where somebody has entered the same day since it is there already, and who is
// not known any more needs none.
func (s *steerer) dayOffAgain(row *Steered) error {
	off := *row.Was.DayOff
	if off.PersonID != nil {
		p, err := one[Person](s.tx.Where("id = ?", *off.PersonID))
		if err != nil {
			return fmt.Errorf("read person %d: %w", *off.PersonID, err)
		}
		if p == nil {
			return nil
		}
	}
	same, err := s.sameDayOff(&DayOff{Date: off.Date, PersonID: off.PersonID})
	if err != nil || same > 0 {
		return err
	}
	if err := s.noPinOff(&off); err != nil {
		return err
	}
	taken, err := one[DayOff](s.tx.Where("id = ?", off.ID))
	if err != nil {
		return fmt.Errorf("read day off %d: %w", off.ID, err)
	}
	if taken != nil {
		off.ID = 0
	}
	if err := s.tx.Create(&off).Error; err != nil {
		return fmt.Errorf("store the day off: %w", err)
	}
	return nil
}

// noPinOff refuses a day off on which a pinned step is to start that could not then.
func (s *steerer) noPinOff(off *DayOff) error {
	snap, err := s.snapshot()
	if err != nil {
		return err
	}
	there := snap.thereOn(off.Date, snap.Calendar(s.zone))
	if off.PersonID != nil {
		delete(there, *off.PersonID)
	}
	for _, p := range snap.pinnedOn(s.zone, off.Date, off.Date) {
		wants := snap.Wants(p.step.ID)
		his := wants != nil && wants.PersonID != nil && idOf(off.PersonID) == *wants.PersonID
		if off.PersonID == nil || his || p.step.Hands > len(there) {
			return conflict("date", off.Date, "%[1]s cannot be a day off: “%[2]s” (%[3]s) is pinned to %[4]s. Let go of that pin first.",
				dayWords(off.Date), p.step.Name, snap.Commission(p.step.CommissionID).Name, p.when)
		}
	}
	return nil
}

// thereOn tells who is there on a day.
func (s *Snapshot) thereOn(date string, c *Calendar) map[ID]bool {
	there, away := map[ID]bool{}, c.Away(date)
	for _, p := range s.People {
		if p.Active && !away[p.ID] {
			there[p.ID] = true
		}
	}
	return there
}

// pinned is a step of an open commission that is to start on a day.
type pinned struct {
	step *Step
	when phrase.Phrase
}

// pinnedOn lists the steps that are pinned to one of some days, or to a time in them.
func (s *Snapshot) pinnedOn(zone *time.Location, from, until string) []pinned {
	var all []pinned
	for i := range s.Steps {
		st := &s.Steps[i]
		if c := s.Commission(st.CommissionID); c == nil || c.State != Open {
			continue
		}
		if at, ok := st.Pinned(); ok && onDays(at.In(zone).Format(time.DateOnly), from, until) {
			all = append(all, pinned{st, clockTime(at, s.At, zone)})
		} else if w := s.Wants(st.ID); w != nil && w.Day != "" && onDays(w.Day, from, until) {
			all = append(all, pinned{st, dayWords(w.Day)})
		}
	}
	return all
}

func (s *steerer) hours(c *Steer) (SteerWas, phrase.Phrase, error) {
	fail := func(err error) (SteerWas, phrase.Phrase, error) { return SteerWas{}, phrase.Phrase{}, err }
	if err := s.ahead("date", c.Date); err != nil {
		return fail(err)
	}
	day, err := time.ParseInLocation(time.DateOnly, c.Date, s.zone)
	if err != nil {
		return fail(err)
	}
	h := Hours{Weekday: day.Weekday(), Opens: c.Opens, Closes: c.Closes}
	if err := h.check(); err != nil {
		return fail(&Error{Code: Invalid, Field: "closes", Value: h.String(), Sentence: phrase.Of("The hours %s do not open before they close within one day.", h)})
	}
	if begins := time.Date(day.Year(), day.Month(), day.Day(), 0, c.Opens, 0, 0, s.zone); begins.Before(s.now.Truncate(time.Minute)) {
		return fail(invalid("opens", h, "The hours %[1]s of today begin in the past: it is %[2]s.", h, phrase.Clock(s.now.In(s.zone))))
	}
	snap, err := s.snapshot()
	if err != nil {
		return fail(err)
	}
	cal := snap.Calendar(s.zone)
	if off, is := cal.DayOff(c.Date); is {
		return fail(conflict("date", c.Date, "%[1]s is a day off of the whole shop%[2]s: take that back first.", dayWords(c.Date), colon(off.Reason)))
	}
	extra := ExtraHours{Date: c.Date, Opens: c.Opens, Closes: c.Closes}
	says := phrase.Of("The shop is open on %[1]s from %[2]s too", dayWords(c.Date), h)
	if c.PersonID != 0 {
		p, err := s.worker(c.PersonID)
		if err == nil {
			err = thereOnDay(p, cal, c.Date)
		}
		if err != nil {
			return fail(err)
		}
		extra.PersonID, says = &p.ID, phrase.Of("%[1]s works on %[2]s from %[3]s too", p.Name, dayWords(c.Date), h)
	}
	if err := snap.hoursApart(day, h, extra.PersonID); err != nil {
		return fail(err)
	}
	if err := s.tx.Create(&extra).Error; err != nil {
		return fail(fmt.Errorf("store the hours: %w", err))
	}
	return SteerWas{ID: extra.ID}, says, nil
}

// worker is somebody who works here.
func (s *steerer) worker(id ID) (*Person, error) {
	p, err := get[Person](s.tx, "person", id)
	if err != nil {
		return nil, err
	}
	if !p.Active {
		return nil, invalid("person", p.Name, "%s is not among those who work here now.", p.Name)
	}
	return p, nil
}

// thereOnDay refuses a day on which somebody is off, or is not there at all.
func thereOnDay(p *Person, cal *Calendar, date string) error {
	switch {
	case cal.away[date][p.ID]:
		return conflict("date", date, "%[1]s is off on %[2]s: take that back first.", p.Name, dayWords(date))
	case !cal.Here(p.ID, date):
		return conflict("date", date, "%[1]s is not there on %[2]s.", p.Name, dayWords(date))
	}
	return nil
}

// hoursApart refuses hours of a day that overlap others: those of the shop with any,
// those of one person with the shop's and that person's own.
func (s *Snapshot) hoursApart(day time.Time, h Hours, person *ID) error {
	date := day.Format(time.DateOnly)
	overlap := func(opens, closes int) bool { return h.Opens < closes && opens < h.Closes }
	for _, other := range s.Hours {
		if other.Weekday == day.Weekday() && overlap(other.Opens, other.Closes) {
			return invalid("opens", h, "The hours %[1]s overlap those of %[2]s, %[3]s.", h, dayWords(date), other)
		}
	}
	for _, x := range s.ExtraHours {
		other := Hours{Opens: x.Opens, Closes: x.Closes}
		switch {
		case x.Date != date || !overlap(x.Opens, x.Closes):
		case x.PersonID == nil:
			return invalid("opens", h, "The hours %[1]s overlap those of %[2]s, %[3]s.", h, dayWords(date), other)
		case person == nil || *person == *x.PersonID:
			return invalid("opens", h, "The hours %[1]s overlap those that %[2]s works on %[3]s, %[4]s.", h, s.Person(*x.PersonID).Name, dayWords(date), other)
		}
	}
	return nil
}

func (s *steerer) hands(c *Steer) (was SteerWas, says phrase.Phrase, err error) {
	if err := first(nameGiven("name", c.Name), s.days(c)); err != nil {
		return was, says, err
	}
	p, err := one[Person](s.tx.Where("name = ? COLLATE NOCASE", c.Name))
	if err != nil {
		return was, says, fmt.Errorf("look for the person: %w", err)
	}
	if p == nil {
		p, was.Made = &Person{Name: c.Name, Active: true}, true
		if err := s.tx.Create(p).Error; err != nil {
			return was, says, fmt.Errorf("store the person: %w", err)
		}
	} else if err := s.mayStay(p, c); err != nil {
		return was, says, err
	}
	if err := s.tx.Model(p).UpdateColumn("active", true).Error; err != nil {
		return was, says, fmt.Errorf("take person %d on: %w", p.ID, err)
	}
	stay := Stay{PersonID: p.ID, FromDate: c.Date, UntilDate: c.Until}
	if err := s.tx.Create(&stay).Error; err != nil {
		return was, says, fmt.Errorf("store the stay: %w", err)
	}
	was.ID = stay.ID
	return was, phrase.Of("%[1]s lends a hand %[2]s", p.Name, daysWords(c.Date, c.Until)), nil
}

// mayStay refuses somebody who works here anyway, or is there on those days already.
func (s *steerer) mayStay(p *Person, c *Steer) error {
	var stays []Stay
	if err := s.tx.Where("person_id = ?", p.ID).Find(&stays).Error; err != nil {
		return fmt.Errorf("read the stays of person %d: %w", p.ID, err)
	}
	if p.Active && len(stays) == 0 {
		return invalid("name", p.Name, "%s works here already.", p.Name)
	}
	for _, stay := range stays {
		if stay.FromDate <= c.Until && c.Date <= stay.UntilDate {
			return invalid("date", c.Date, "%[1]s is there %[2]s already.", p.Name, daysWords(stay.FromDate, stay.UntilDate))
		}
	}
	return nil
}

// handsBack ends a stay. Who came for it alone, and never tapped anything, is gone
// then; anybody else is not among those who work here any more.
func (s *steerer) handsBack(row *Steered) error {
	stay, err := one[Stay](s.tx.Where("id = ?", row.Was.ID))
	if err != nil {
		return fmt.Errorf("read stay %d: %w", row.Was.ID, err)
	}
	if stay == nil {
		return nil
	}
	person := stay.PersonID
	var stays int64
	if err := s.tx.Model(&Stay{}).Where("person_id = ?", person).Count(&stays).Error; err != nil {
		return fmt.Errorf("count the stays of person %d: %w", person, err)
	}
	if stays == 1 {
		t := tapper{store: s.Store, tx: s.tx, now: s.now}
		if err := t.handsFree(person, ""); err != nil {
			return err
		}
	}
	if err := s.tx.Delete(&Stay{}, row.Was.ID).Error; err != nil {
		return fmt.Errorf("end stay %d: %w", row.Was.ID, err)
	}
	if stays > 1 {
		return nil
	}
	if row.Was.Made && s.tx.Delete(&Person{}, person).Error == nil {
		return nil // refused where anything names that person
	}
	if err := s.tx.Model(&Person{}).Where("id = ?", person).UpdateColumn("active", false).Error; err != nil {
		return fmt.Errorf("let person %d go: %w", person, err)
	}
	return nil
}

func (s *steerer) station(c *Steer) (SteerWas, phrase.Phrase, error) {
	fail := func(err error) (SteerWas, phrase.Phrase, error) { return SteerWas{}, phrase.Phrase{}, err }
	if err := s.days(c); err != nil {
		return fail(err)
	}
	at, err := get[Station](s.tx, "station", c.StationID)
	if err != nil {
		return fail(err)
	}
	snap, err := s.snapshot()
	if err != nil {
		return fail(err)
	}
	for _, other := range snap.Closures {
		if other.StationID == at.ID && other.FromDate <= c.Until && c.Date <= other.UntilDate {
			return fail(invalid("date", c.Date, "“%[1]s” is closed %[2]s already.", at.Name, daysWords(other.FromDate, other.UntilDate)))
		}
	}
	for i := range snap.Steps {
		if st := &snap.Steps[i]; st.State == InHand && st.StationID == at.ID && c.Date == s.today {
			return fail(conflict("date", c.Date, "“%[1]s” cannot be closed today: “%[2]s” is in hand there.", at.Name, st.Name))
		}
	}
	for _, p := range snap.pinnedOn(s.zone, c.Date, c.Until) {
		if p.step.StationID == at.ID {
			return fail(conflict("date", c.Date, "“%[1]s” cannot be closed %[2]s: “%[3]s” is pinned there to %[4]s. Let go of that pin first.",
				at.Name, daysWords(c.Date, c.Until), p.step.Name, p.when))
		}
	}
	closed := Closure{StationID: at.ID, FromDate: c.Date, UntilDate: c.Until}
	if err := s.tx.Create(&closed).Error; err != nil {
		return fail(fmt.Errorf("store when the station is closed: %w", err))
	}
	return SteerWas{ID: closed.ID}, phrase.Of("“%[1]s” is down %[2]s", at.Name, daysWords(c.Date, c.Until)), nil
}
