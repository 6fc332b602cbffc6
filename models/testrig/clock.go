package testrig

import (
	"sync"
	"time"
)

// Clock stands still until it is set. It is safe for use by many goroutines.
type Clock struct {
	mu  sync.Mutex
	now time.Time
}

// NewClock returns a clock that stands at the given time.
func NewClock(at time.Time) *Clock { return &Clock{now: at} }

// Monday is half past eight on a Monday in the zone of Shop, within its hours.
func Monday() *Clock { return NewClock(time.Date(2026, time.March, 2, 7, 30, 0, 0, time.UTC)) }

// Now tells the time; pass this method to models.OpenStore.
func (c *Clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

// Set moves the clock to a time, back too.
func (c *Clock) Set(at time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = at
}

// Step moves the clock on and returns the time it then shows.
func (c *Clock) Step(d time.Duration) time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(d)
	return c.now
}
