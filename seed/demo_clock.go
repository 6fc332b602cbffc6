package seed

import (
	"fmt"
	"sync"
	"time"
)

// DemoClock is the clock of the demo shop. It stands still, and is moved from
// tap to tap while the history is made, until LetGo has it run at the usual pace.
type DemoClock struct {
	mu    sync.Mutex
	at    time.Time
	letGo time.Time // when it began to run, by the real clock; zero: it stands
}

// NewDemoClock makes a clock that stands at a time.
func NewDemoClock(at time.Time) *DemoClock { return &DemoClock{at: at} }

// Now is the time on the clock, in UTC.
func (c *DemoClock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.letGo.IsZero() {
		return c.at.UTC()
	}
	return c.at.Add(time.Since(c.letGo)).UTC()
}

// Set moves the hands of the clock; it stands from then on.
func (c *DemoClock) Set(at time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.at, c.letGo = at, time.Time{}
}

// LetGo has the clock run from where it stands.
func (c *DemoClock) LetGo() {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.letGo.IsZero() {
		c.letGo = time.Now()
	}
}

// DemoStart is when the demo begins: at twenty past ten on the last working day
// on which that time has come, so that the shop is open and nothing in its
// history lies ahead of now.
func DemoStart(now time.Time) (time.Time, error) {
	zone, err := time.LoadLocation(demoZone)
	if err != nil {
		return time.Time{}, err
	}
	start := atMinute(now.In(zone), demoStartHour*60+demoStartMinute)
	for start.After(now) || !isWorkday(start) {
		start = start.AddDate(0, 0, -1)
	}
	return start, nil
}

// DemoStartOn is the start of a demo on a day, e.g. "2026-11-24".
func DemoStartOn(day string) (time.Time, error) {
	zone, err := time.LoadLocation(demoZone)
	if err != nil {
		return time.Time{}, err
	}
	start, err := time.ParseInLocation(time.DateOnly, day, zone)
	if err != nil {
		return time.Time{}, fmt.Errorf("not a day written like 2026-11-24: %w", err)
	}
	if !isWorkday(start) {
		return time.Time{}, fmt.Errorf("%s is a %s, and the demo shop works Monday to Friday", day, start.Weekday())
	}
	return atMinute(start, demoStartHour*60+demoStartMinute), nil
}

// isWorkday leaves out the weekend; the demo shop has no other days off behind it.
func isWorkday(day time.Time) bool {
	return day.Weekday() != time.Saturday && day.Weekday() != time.Sunday
}

// workdays moves a time by so many working days, back if n is negative. The
// hour of the day stays, also over a change to summer time.
func workdays(from time.Time, n int) time.Time {
	step := 1
	if n < 0 {
		step, n = -1, -n
	}
	for ; n > 0; n-- {
		from = from.AddDate(0, 0, step)
		for !isWorkday(from) {
			from = from.AddDate(0, 0, step)
		}
	}
	return from
}
