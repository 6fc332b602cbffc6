package planner

import (
	"fmt"
	"sort"
	"time"

	"faceside/models"
	"faceside/models/sequence"
)

// calendar is the shop's, and finds its way from one day to another.
type calendar struct {
	*models.Calendar
	empty bool // no opening in the whole week
}

// newCalendar reads when the shop is open, and who is there.
func newCalendar(snap *models.Snapshot) (*calendar, error) {
	loc, err := time.LoadLocation(snap.Shop.TimeZone)
	if err != nil {
		return nil, fmt.Errorf("the shop's time zone %q: %w", snap.Shop.TimeZone, err)
	}
	return calendarIn(snap, loc), nil
}

func calendarIn(snap *models.Snapshot, loc *time.Location) *calendar {
	c := snap.Calendar(loc)
	return &calendar{Calendar: c, empty: c.NeverOpen()}
}

// localCalendar is newCalendar for the functions that cannot fail: where the
// time zone is unknown to this machine it counts in UTC.
func localCalendar(snap *models.Snapshot) *calendar {
	return keep(snap.Origin(), calendarKey{}, func() *calendar { return makeLocalCalendar(snap.Origin()) })
}

func makeLocalCalendar(snap *models.Snapshot) *calendar {
	if c, err := newCalendar(snap); err == nil {
		return c
	}
	return calendarIn(snap, time.UTC)
}

// reach is how many days the calendar looks ahead for an opening: a shop may
// close for the summer, but not for longer than a year.
const reach = 400

// next returns the first opening that ends after t. It is false where there is
// none within reach.
func (c *calendar) next(t time.Time) (models.Opening, bool) {
	for i := 0; i <= reach && !c.empty; i++ {
		for _, o := range c.Day(t, i) {
			if o.To.After(t) {
				return o, true
			}
		}
	}
	return models.Opening{}, false
}

// open returns t itself if the shop is open then, else when it opens next.
func (c *calendar) open(t time.Time) (time.Time, bool) {
	o, ok := c.next(t)
	if o.From.Before(t) {
		return t, ok
	}
	return o.From, ok
}

// nextDay returns when the shop opens on the first working day after the one t lies in.
func (c *calendar) nextDay(t time.Time) (time.Time, bool) {
	for i := 1; i <= reach && !c.empty; i++ {
		if day := c.Day(t, i); len(day) > 0 {
			return day[0].From, true
		}
	}
	return time.Time{}, false
}

// promised returns the closing time of a promised day, or the last one before
// it if the shop does not work that day.
func (c *calendar) promised(date string) (time.Time, error) {
	d, err := time.ParseInLocation(time.DateOnly, date, c.Zone)
	if err != nil {
		return time.Time{}, fmt.Errorf("the promised date %q is no date: %w", date, err)
	}
	d = d.Add(12 * time.Hour)
	for i := 0; i <= reach && !c.empty; i++ {
		if day := c.Day(d, -i); len(day) > 0 {
			return day[len(day)-1].To, nil
		}
	}
	y, m, day := d.Date()
	return time.Date(y, m, day+1, 0, 0, 0, 0, c.Zone), nil
}

// minutes returns the open minutes between two times, negative if to is the earlier.
func (c *calendar) minutes(from, to time.Time) int {
	if to.Before(from) {
		return -c.minutes(to, from)
	}
	var sum time.Duration
	for i := 0; !c.empty; i++ {
		y, m, d := from.In(c.Zone).Date()
		if !time.Date(y, m, d+i, 0, 0, 0, 0, c.Zone).Before(to) {
			break
		}
		for _, o := range c.Day(from, i) {
			a, b := o.From, o.To
			if a.Before(from) {
				a = from
			}
			if b.After(to) {
				b = to
			}
			if a.Before(b) {
				sum += b.Sub(a)
			}
		}
	}
	return int(sum / time.Minute)
}

// timeline counts minutes from an origin and knows which of them are open.
type timeline struct {
	origin  time.Time
	windows []sequence.Window // in order, apart
	before  []int             // open minutes before each window
	total   int
}

// timeline returns the openings from origin on until so many open minutes are
// in them, and days more.
func (c *calendar) timeline(origin time.Time, minutes, days int) *timeline {
	t := &timeline{origin: origin}
	for i := 0; days > 0 && i < 20*reach; i++ {
		for _, o := range c.Day(origin, i) {
			from, to := max(0, t.minute(o.From)), t.minute(o.To)
			if n := len(t.windows); n > 0 && t.windows[n-1][1] == from {
				t.windows[n-1][1] = to
				t.total += to - from
			} else if from < to {
				t.windows = append(t.windows, sequence.Window{from, to})
				t.before = append(t.before, t.total)
				t.total += to - from
			}
		}
		if t.total >= minutes {
			days--
		}
	}
	return t
}

// minute returns the minute that a time lies in.
func (t *timeline) minute(at time.Time) int {
	d := at.Sub(t.origin)
	if d < 0 {
		return -int((-d + time.Minute - 1) / time.Minute)
	}
	return int(d / time.Minute)
}

// minuteUp returns the first minute that does not begin before a time.
func (t *timeline) minuteUp(at time.Time) int { return t.minute(at.Add(time.Minute - 1)) }

// time returns when a minute begins.
func (t *timeline) time(minute int) time.Time {
	return t.origin.Add(time.Duration(minute) * time.Minute)
}

// window returns the first window that ends after a minute, or their number.
func (t *timeline) window(minute int) int {
	return sort.Search(len(t.windows), func(i int) bool { return t.windows[i][1] > minute })
}

// worked returns the open minutes before a minute.
func (t *timeline) worked(minute int) int {
	i := t.window(minute)
	if i == len(t.windows) {
		return t.total
	}
	return t.before[i] + max(0, minute-t.windows[i][0])
}

// forward returns when so many open minutes from a minute on are over; past
// the last window time runs on as if it were open.
func (t *timeline) forward(minute, open int) int {
	if open == 0 {
		return minute
	}
	k := t.worked(minute) + open
	if k > t.total {
		if n := len(t.windows); n > 0 {
			return max(minute, t.windows[n-1][1]) + k - t.total
		}
		return minute + open
	}
	i := sort.Search(len(t.before), func(i int) bool { return t.before[i] >= k }) - 1
	return t.windows[i][0] + k - t.before[i]
}

// back returns the last minute from which so many open minutes lie before a
// minute; negative where there are not so many.
func (t *timeline) back(minute, open int) int {
	if open == 0 {
		return minute
	}
	k := t.worked(minute) - open
	if k < 0 {
		return k
	}
	i := sort.Search(len(t.before), func(i int) bool { return t.before[i] > k }) - 1
	return t.windows[i][0] + k - t.before[i]
}

// opens returns the first open minute from a minute on, or the minute itself
// past the last window.
func (t *timeline) opens(minute int) int {
	if i := t.window(minute); i < len(t.windows) {
		return max(minute, t.windows[i][0])
	}
	return minute
}

// lastOpen returns the last open minute up to a minute; negative where none is.
func (t *timeline) lastOpen(minute int) int {
	i := t.window(minute)
	if i < len(t.windows) && t.windows[i][0] <= minute {
		return minute
	}
	if i == 0 {
		return -1
	}
	return t.windows[i-1][1] - 1
}

// whole returns the first minute from a minute on from which so many open minutes
// are in one piece; past the last window every minute is.
func (t *timeline) whole(minute, open int) int {
	for i := t.window(minute); i < len(t.windows); i++ {
		if from := max(minute, t.windows[i][0]); from+open <= t.windows[i][1] {
			return from
		}
	}
	if n := len(t.windows); n > 0 {
		return max(minute, t.windows[n-1][1])
	}
	return minute
}

// wholeBack returns the last minute from which so many open minutes in one piece
// are over by a minute; negative where there is none.
func (t *timeline) wholeBack(by, open int) int {
	for i := min(t.window(by), len(t.windows)-1); i >= 0; i-- {
		if from := min(by, t.windows[i][1]) - open; from >= t.windows[i][0] {
			return from
		}
	}
	return -1
}

// setupBefore returns when a setup in one piece begins that is over at an open
// minute, or at the end of the opening before where that minute is the first of its
// own; false where there is no room for it.
func (t *timeline) setupBefore(start, minutes int) (int, bool) {
	i := t.window(start)
	switch {
	case minutes == 0 || start < 0 || i == len(t.windows):
		return start, minutes == 0
	case start-t.windows[i][0] >= minutes:
		return start - minutes, true
	case start == t.windows[i][0] && i > 0 && t.windows[i-1][1]-t.windows[i-1][0] >= minutes:
		return t.windows[i-1][1] - minutes, true
	}
	return start, false
}

// longest returns the length of the longest window.
func (t *timeline) longest() int {
	longest := 0
	for _, w := range t.windows {
		longest = max(longest, w[1]-w[0])
	}
	return longest
}
