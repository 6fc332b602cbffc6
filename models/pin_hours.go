package models

import "time"

// openHours is the shop's calendar as the refusals of a pin need it.
type openHours struct{ *Calendar }

func hoursOf(snap *Snapshot) (openHours, error) {
	zone, err := snap.Shop.Location()
	if err != nil {
		return openHours{}, err
	}
	return openHours{snap.Calendar(zone)}, nil
}

// overlaps tells whether two stretches of time share any.
func (o Opening) overlaps(p Opening) bool { return o.From.Before(p.To) && p.From.Before(o.To) }

// opening returns the opening that a time lies in; false while the shop is closed.
func (h openHours) opening(t time.Time) (Opening, bool) {
	for _, o := range h.Day(t, 0) {
		if !t.Before(o.From) && t.Before(o.To) {
			return o, true
		}
	}
	return Opening{}, false
}

// pinReach is how many days a pin may lie ahead, and work is followed.
const pinReach = 366

// work returns the openings in which so many minutes of work from a time on are
// done, within a year. O(days).
func (h openHours) work(from time.Time, minutes int) []Opening {
	var all []Opening
	left := time.Duration(minutes) * time.Minute
	for i := 0; left > 0 && i <= pinReach; i++ {
		for _, o := range h.Day(from, i) {
			if o.From.Before(from) {
				o.From = from
			}
			if !o.From.Before(o.To) || left <= 0 {
				continue
			}
			if o.To.Sub(o.From) > left {
				o.To = o.From.Add(left)
			}
			left -= o.To.Sub(o.From)
			all = append(all, o)
		}
	}
	return all
}

// done returns when so many minutes of work from a time on are done; the time
// itself where the shop never opens.
func (h openHours) done(from time.Time, minutes int) time.Time {
	if all := h.work(from, minutes); len(all) > 0 {
		return all[len(all)-1].To
	}
	return from
}
