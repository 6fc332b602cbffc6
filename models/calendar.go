package models

import (
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

// Date is the day that a time lies in by the shop's clock, YYYY-MM-DD.
func (c *Calendar) Date(t time.Time) string { return t.In(c.Zone).Format(time.DateOnly) }

// DayOff returns the day off of the whole shop on a day, if it is one.
func (c *Calendar) DayOff(date string) (DayOff, bool) {
	d, off := c.off[date]
	return d, off
}

// Away tells who is off on a day on which others may work. The map is the
// calendar's own; nil: nobody.
func (c *Calendar) Away(date string) map[ID]bool { return c.away[date] }

// DaysAway is on how many days single people are off.
func (c *Calendar) DaysAway() int { return len(c.away) }

// Noon returns noon of the day that t lies in, i days later: a time that exists
// on every day, whatever the clocks do.
func (c *Calendar) Noon(t time.Time, i int) time.Time {
	y, m, d := t.In(c.Zone).Date()
	return time.Date(y, m, d+i, 12, 0, 0, 0, c.Zone)
}

// Day returns the openings of the day that t lies in, i days later, in order and
// apart; those that touch are one. None on a day off of the shop.
func (c *Calendar) Day(t time.Time, i int) []Opening {
	noon := c.Noon(t, i)
	if _, off := c.off[noon.Format(time.DateOnly)]; off {
		return nil
	}
	return c.usual(noon)
}

// usual returns the openings of a weekday, days off left aside.
func (c *Calendar) usual(noon time.Time) []Opening {
	y, m, d := noon.Date()
	var all []Opening
	for _, h := range c.week[noon.Weekday()] {
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

// NeverOpen tells whether there is no opening in the whole week.
func (c *Calendar) NeverOpen() bool { return c.FullDay() == 0 }

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
		for _, o := range c.usual(monday.AddDate(0, 0, i)) {
			longest = max(longest, o.To.Sub(o.From))
		}
	}
	return longest
}
