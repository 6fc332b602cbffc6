package handlers

import (
	"context"
	"fmt"
	"sync"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/behind"
)

const (
	snapshotKey = "snapshot"
	versionKey  = "version"
)

// snapshot reads what is open, once a request: everything on one page is of
// one moment. It is shared with other requests and must not be changed.
func (s *server) snapshot(c *gin.Context) (*models.Snapshot, error) {
	if kept, ok := c.Value(snapshotKey).(*models.Snapshot); ok {
		return kept, nil
	}
	r, err := s.readings.get(c.Request.Context())
	if err != nil {
		return nil, fmt.Errorf("read what is open: %w", err)
	}
	s.show(c, r)
	return r.snap, nil
}

// show has a request's page drawn from a reading.
func (s *server) show(c *gin.Context, r reading) {
	c.Set(versionKey, s.hub.name(r.changes))
	c.Set(snapshotKey, r.snap)
}

// catchUp has a request that had to wait drawn from the newest reading: what was kept
// beside that is shared by all that are drawn now, and older ones are given up. It
// returns which that is.
func (s *server) catchUp(c *gin.Context) (changes int64) {
	r := s.readings.newest()
	s.show(c, r)
	return r.changes
}

// forget drops the request's snapshot after something was written.
func forget(c *gin.Context) { c.Set(snapshotKey, nil) }

// version names the state the page was drawn from.
func (s *server) version(c *gin.Context) string {
	if v := c.GetString(versionKey); v != "" {
		return v
	}
	return s.hub.version()
}

const (
	// readAnew is from what age on a reading is not used any more though nothing
	// changed: times of day stand on the pages.
	readAnew = time.Second
	// readingShare is the part of the time that is spent reading at most, and on what
	// is kept beside a reading for all that are drawn from it; readingPause is the
	// longest pause between two readings: where much is tapped the screens wait for
	// each other's reading, and taps do not wait for screens.
	readingShare = 4
	readingPause = time.Second
)

// readings shares what is read of the records among the requests: two hundred
// tablets fetch their screens anew after one tap. A request never gets what was
// read before a change that it can know of: one that was committed when it came.
type readings struct {
	store *models.Store
	hub   *hub
	turn  chan struct{} // held while somebody reads

	mu   sync.Mutex
	last reading
}

// reading is the records after so many changes at least.
type reading struct {
	changes int64
	snap    *models.Snapshot
	ended   time.Time
	read    time.Duration
	took    time.Duration // to read it, and to draw what took longest of what was drawn from it
}

func newReadings(store *models.Store, hub *hub) *readings {
	return &readings{store: store, hub: hub, turn: make(chan struct{}, 1)}
}

// get returns the records as they were when it was called, or later.
func (r *readings) get(ctx context.Context) (reading, error) {
	changes := r.hub.changes()
	if last, ok := r.fit(changes); ok {
		return last, nil
	}
	select {
	case r.turn <- struct{}{}:
		defer func() { <-r.turn }()
	case <-ctx.Done():
		return reading{}, ctx.Err()
	}
	if last, ok := r.fit(changes); ok { // somebody may have read it meanwhile
		return last, nil
	}
	if err := r.pause(ctx); err != nil {
		return reading{}, err
	}
	began, next := time.Now(), reading{changes: r.hub.changes()}
	var err error
	if behind.Do(func() { next.snap, err = r.store.Snapshot(ctx) }); err != nil {
		return reading{}, err
	}
	next.ended = time.Now()
	next.read = next.ended.Sub(began)
	next.took = next.read
	r.mu.Lock()
	defer r.mu.Unlock()
	r.last = next
	return next, nil
}

// drawn says how long it took to draw something from the newest reading: the first of
// its kind makes what the others find kept beside it.
func (r *readings) drawn(changes int64, took time.Duration) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.last.changes == changes {
		r.last.took = max(r.last.took, r.last.read+took)
	}
}

// newest is the last reading, an empty one before the first.
func (r *readings) newest() reading {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.last
}

// fit returns the last reading and whether it tells of so many changes and is of now.
func (r *readings) fit(changes int64) (reading, bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.last.snap == nil || r.last.changes < changes {
		return r.last, false
	}
	age := r.store.Now().Sub(r.last.snap.At)
	return r.last, age >= 0 && age < readAnew
}

// pause waits until the newest reading may be followed by another. What is drawn from it
// meanwhile can put that off.
func (r *readings) pause(ctx context.Context) error {
	for {
		last := r.newest()
		left := time.Until(last.ended.Add(min(readingPause, (readingShare-1)*last.took)))
		if left <= 0 {
			return nil
		}
		over := time.NewTimer(left)
		select {
		case <-over.C:
		case <-ctx.Done():
			over.Stop()
			return ctx.Err()
		}
	}
}
