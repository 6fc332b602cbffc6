package models

import (
	"maps"
	"slices"
	"sort"
	"time"
)

// Calendar knows on which days and when the shop is open. Openings are written as
// wall-clock times of the shop's time zone, so on the day the clocks change one
// that spans the change is an hour shorter or longer.
type Calendar struct {
	Zone *time.Location
	week [7][]Hours
	off  map[string]DayOff      // of the whole shop, by day
	away map[string]map[ID]bool // single people, by day

	extra map[string][]Hours      // openings of the shop beside those of the week, by day
	own   map[string][]ExtraHours // hours of one person beside those of the shop, by day
	stays map[ID][]Stay           // of those who are there on some days only
}

// Opening is one stretch of open time, From included and To not.
type Opening struct{ From, To time.Time }

// NewCalendar makes a calendar of hours and days off. It takes time in proportion
// to both.
func NewCalendar(zone *time.Location, hours []Hours, daysOff []DayOff) *Calendar {
	c := &Calendar{Zone: zone, off: map[string]DayOff{}, away: map[string]map[ID]bool{}}
	for _, h := range hours {
		c.week[h.Weekday] = append(c.week[h.Weekday], h)
	}
	for d := range c.week {
		sort.Slice(c.week[d], func(i, j int) bool { return c.week[d][i].Opens < c.week[d][j].Opens })
	}
	for _, d := range daysOff {
		switch {
		case d.PersonID == nil:
			c.off[d.Date] = d
		case c.away[d.Date] == nil:
			c.away[d.Date] = map[ID]bool{*d.PersonID: true}
		default:
			c.away[d.Date][*d.PersonID] = true
		}
	}
	return c
}

// Calendar is that of the shop as the snapshot has it.
func (s *Snapshot) Calendar(zone *time.Location) *Calendar {
	c := NewCalendar(zone, s.Hours, s.DaysOff)
	c.extra, c.own, c.stays = map[string][]Hours{}, map[string][]ExtraHours{}, map[ID][]Stay{}
	for _, h := range s.ExtraHours {
		if h.PersonID != nil {
			c.own[h.Date] = append(c.own[h.Date], h)
		} else {
			c.extra[h.Date] = append(c.extra[h.Date], Hours{Opens: h.Opens, Closes: h.Closes})
		}
	}
	for _, stay := range s.Stays {
		c.stays[stay.PersonID] = append(c.stays[stay.PersonID], stay)
	}
	return c
}

// Date is the day that a time lies in by the shop's clock, YYYY-MM-DD.
func (c *Calendar) Date(t time.Time) string { return t.In(c.Zone).Format(time.DateOnly) }

// DayOff returns the day off of the whole shop on a day, if it is one.
func (c *Calendar) DayOff(date string) (DayOff, bool) {
	d, off := c.off[date]
	return d, off
}

// Away tells who is not there on a day on which others may work: who is off, and who
// is there on other days only. The map may be the calendar's own; nil: nobody.
func (c *Calendar) Away(date string) map[ID]bool {
	if len(c.stays) == 0 {
		return c.away[date]
	}
	away := maps.Clone(c.away[date])
	for person := range c.stays {
		if c.Here(person, date) {
			continue
		}
		if away == nil {
			away = map[ID]bool{}
		}
		away[person] = true
	}
	return away
}

// Off tells who is off on a day of those who would be there.
func (c *Calendar) Off(date string) map[ID]bool {
	off := maps.Clone(c.away[date])
	maps.DeleteFunc(off, func(person ID, _ bool) bool { return !c.Here(person, date) })
	return off
}

// Here tells whether a day is among those on which a person is there at all.
func (c *Calendar) Here(person ID, date string) bool {
	stays := c.stays[person]
	return len(stays) == 0 || slices.ContainsFunc(stays, func(s Stay) bool { return onDays(date, s.FromDate, s.UntilDate) })
}

// Stays tells whether a person is there on some days only.
func (c *Calendar) Stays(person ID) bool { return len(c.stays[person]) > 0 }

// StaysOf lists those days, in order.
func (c *Calendar) StaysOf(person ID) []Stay { return c.stays[person] }

// Gone tells whether a person is there on some days only, and all of them lie
// before a day.
func (c *Calendar) Gone(person ID, date string) bool {
	stays := c.stays[person]
	return len(stays) > 0 && !slices.ContainsFunc(stays, func(s Stay) bool { return s.UntilDate >= date })
}

// DaysAway is on how many days single people are off.
func (c *Calendar) DaysAway() int { return len(c.away) }

// Noon returns noon of the day that t lies in, i days later: a time that exists
// on every day, whatever the clocks do.
func (c *Calendar) Noon(t time.Time, i int) time.Time {
	y, m, d := t.In(c.Zone).Date()
	return time.Date(y, m, d+i, 12, 0, 0, 0, c.Zone)
}

// Day returns when anybody works on the day that t lies in, i days later: openings in
// order and apart; those that touch are one. None on a day off of the shop.
func (c *Calendar) Day(t time.Time, i int) []Opening {
	noon := c.Noon(t, i)
	date := noon.Format(time.DateOnly)
	if _, off := c.off[date]; off {
		return nil
	}
	more := c.extra[date]
	for _, h := range c.own[date] {
		if c.here(*h.PersonID, date) {
			more = append(more[:len(more):len(more)], Hours{Opens: h.Opens, Closes: h.Closes})
		}
	}
	return c.openings(noon, more)
}

// Whole is Day without the hours that some people work alone.
func (c *Calendar) Whole(t time.Time, i int) []Opening {
	noon := c.Noon(t, i)
	date := noon.Format(time.DateOnly)
	if _, off := c.off[date]; off {
		return nil
	}
	return c.openings(noon, c.extra[date])
}

// OwnOpening is a stretch in which only some people work.
type OwnOpening struct {
	Opening
	People map[ID]bool
}

// Own returns the stretches of the day that t lies in, i days later, in which only some
// people work, in order and apart.
func (c *Calendar) Own(t time.Time, i int) []OwnOpening {
	noon := c.Noon(t, i)
	date := noon.Format(time.DateOnly)
	if len(c.own[date]) == 0 {
		return nil
	}
	whole := c.Whole(t, i)
	var all []OwnOpening
	for _, o := range c.Day(t, i) {
		edges := []time.Time{o.From, o.To}
		for _, other := range slices.Concat(whole, c.ownHours(noon)) {
			for _, edge := range []time.Time{other.From, other.To} {
				if edge.After(o.From) && edge.Before(o.To) {
					edges = append(edges, edge)
				}
			}
		}
		slices.SortFunc(edges, time.Time.Compare)
		for k := range len(edges) - 1 {
			part := Opening{edges[k], edges[k+1]}
			if part.From.Before(part.To) && !slices.ContainsFunc(whole, part.overlaps) {
				all = append(all, OwnOpening{part, c.atOwn(noon, part)})
			}
		}
	}
	return all
}

// ownHours are the hours that people work alone on a day, as times.
func (c *Calendar) ownHours(noon time.Time) []Opening {
	y, m, d := noon.Date()
	var all []Opening
	for _, h := range c.own[noon.Format(time.DateOnly)] {
		all = append(all, Opening{time.Date(y, m, d, 0, h.Opens, 0, 0, c.Zone), time.Date(y, m, d, 0, h.Closes, 0, 0, c.Zone)})
	}
	return all
}

// atOwn is who works in a stretch of a day by hours of their own.
func (c *Calendar) atOwn(noon time.Time, at Opening) map[ID]bool {
	date, people := noon.Format(time.DateOnly), map[ID]bool{}
	for k, o := range c.ownHours(noon) {
		if p := *c.own[date][k].PersonID; o.overlaps(at) && c.here(p, date) {
			people[p] = true
		}
	}
	return people
}

// here tells whether a person is there on a day at all, and not off.
func (c *Calendar) here(person ID, date string) bool {
	return c.Here(person, date) && !c.away[date][person]
}

// There tells whether a person is there at a time at which anybody works.
func (c *Calendar) There(person ID, at time.Time) bool {
	for _, o := range c.Own(at, 0) {
		if !at.Before(o.From) && at.Before(o.To) {
			return o.People[person]
		}
	}
	return c.here(person, c.Date(at))
}

// openings returns those of a weekday and more of that day, days off left aside.
func (c *Calendar) openings(noon time.Time, more []Hours) []Opening {
	hours := c.week[noon.Weekday()]
	if len(more) > 0 {
		hours = slices.Concat(hours, more)
		slices.SortStableFunc(hours, func(a, b Hours) int { return a.Opens - b.Opens })
	}
	y, m, d := noon.Date()
	var all []Opening
	for _, h := range hours {
		o := Opening{time.Date(y, m, d, 0, h.Opens, 0, 0, c.Zone), time.Date(y, m, d, 0, h.Closes, 0, 0, c.Zone)}
		if n := len(all); n > 0 && o.From.Before(all[n-1].To) {
			o.From = all[n-1].To
		}
		if !o.From.Before(o.To) {
			continue
		}
		if n := len(all); n > 0 && all[n-1].To.Equal(o.From) {
			all[n-1].To = o.To
			continue
		}
		all = append(all, o)
	}
	return all
}

// NeverOpen tells whether there is no opening in the whole week, nor any beside it.
func (c *Calendar) NeverOpen() bool { return c.FullDay() == 0 && len(c.extra) == 0 && len(c.own) == 0 }

// FullDay returns the open minutes of the longest day of the week.
func (c *Calendar) FullDay() int {
	longest := 0
	for _, day := range c.week {
		sum := 0
		for _, h := range day {
			sum += h.Closes - h.Opens
		}
		longest = max(longest, sum)
	}
	return longest
}

// Longest is the length of the longest opening of the week.
func (c *Calendar) Longest() time.Duration {
	var longest time.Duration
	monday := time.Date(2024, 1, 1, 12, 0, 0, 0, c.Zone)
	for i := range 7 {
		for _, o := range c.openings(monday.AddDate(0, 0, i), nil) {
			longest = max(longest, o.To.Sub(o.From))
		}
	}
	return longest
}
