package models

import (
	"time"
)

// openHours is when the shop is open, as the refusals of a pin need it. Hours
// are wall-clock times of the shop's time zone.
type openHours struct {
	zone *time.Location
	week [7][]Hours // by opening
	off  map[string]DayOff
	away map[string]map[ID]bool // people, by day
}

func hoursOf(snap *Snapshot) (*openHours, error) {
	zone, err := snap.Shop.Location()
	if err != nil {
		return nil, err
	}
	h := &openHours{zone: zone, off: map[string]DayOff{}, away: map[string]map[ID]bool{}}
	for _, o := range snap.Hours { // by weekday and opening
		h.week[o.Weekday] = append(h.week[o.Weekday], o)
	}
	for _, d := range snap.DaysOff {
		switch {
		case d.PersonID == nil:
			h.off[d.Date] = d
		case h.away[d.Date] == nil:
			h.away[d.Date] = map[ID]bool{*d.PersonID: true}
		default:
			h.away[d.Date][*d.PersonID] = true
		}
	}
	return h, nil
}

// stretch is a piece of time.
type stretch struct{ from, to time.Time }

// overlaps tells whether two stretches share any time.
func (s stretch) overlaps(t stretch) bool { return s.from.Before(t.to) && t.from.Before(s.to) }

// date is the day of a time by the shop's clock, YYYY-MM-DD.
func (h *openHours) date(t time.Time) string { return t.In(h.zone).Format(time.DateOnly) }

// day returns the openings of the day that t lies in, i days later; those that
// touch are one.
func (h *openHours) day(t time.Time, i int) []stretch {
	y, m, d := t.In(h.zone).Date()
	noon := time.Date(y, m, d+i, 12, 0, 0, 0, h.zone)
	if _, off := h.off[noon.Format(time.DateOnly)]; off {
		return nil
	}
	var all []stretch
	for _, o := range h.week[noon.Weekday()] {
		s := stretch{time.Date(y, m, d+i, 0, o.Opens, 0, 0, h.zone), time.Date(y, m, d+i, 0, o.Closes, 0, 0, h.zone)}
		if n := len(all); n > 0 && all[n-1].to.Equal(s.from) {
			all[n-1].to = s.to
		} else {
			all = append(all, s)
		}
	}
	return all
}

// opening returns the opening that a time lies in; false while the shop is closed.
func (h *openHours) opening(t time.Time) (stretch, bool) {
	for _, o := range h.day(t, 0) {
		if !t.Before(o.from) && t.Before(o.to) {
			return o, true
		}
	}
	return stretch{}, false
}

// longest is the length of the longest opening of the week.
func (h *openHours) longest() time.Duration {
	var longest time.Duration
	monday := time.Date(2024, 1, 1, 12, 0, 0, 0, h.zone)
	for i := range 7 {
		for _, o := range (&openHours{zone: h.zone, week: h.week}).day(monday, i) {
			longest = max(longest, o.to.Sub(o.from))
		}
	}
	return longest
}

// pinReach is how many days a pin may lie ahead, and work is followed.
const pinReach = 366

// work returns the openings in which so many minutes of work from a time on are
// done, within a year. O(days).
func (h *openHours) work(from time.Time, minutes int) []stretch {
	var all []stretch
	left := time.Duration(minutes) * time.Minute
	for i := 0; left > 0 && i <= pinReach; i++ {
		for _, o := range h.day(from, i) {
			if o.from.Before(from) {
				o.from = from
			}
			if !o.from.Before(o.to) || left <= 0 {
				continue
			}
			if o.to.Sub(o.from) > left {
				o.to = o.from.Add(left)
			}
			left -= o.to.Sub(o.from)
			all = append(all, o)
		}
	}
	return all
}

// done returns when so many minutes of work from a time on are done; the time
// itself where the shop never opens.
func (h *openHours) done(from time.Time, minutes int) time.Time {
	if all := h.work(from, minutes); len(all) > 0 {
		return all[len(all)-1].to
	}
	return from
}
