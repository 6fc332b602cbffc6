package handlers

import (
	"context"
	"fmt"
	"sync"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
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
// beside that is shared by all that are drawn now, and older ones are given up.
func (s *server) catchUp(c *gin.Context) { s.show(c, s.readings.newest()) }

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
	// readingShare is the part of the time that is spent reading at most, and
	// readingPause the longest pause between two readings: where much is tapped the
	// screens wait for each other's reading, and taps do not wait for screens.
	readingShare = 4
	readingPause = 400 * time.Millisecond
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
	took    time.Duration
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
	last, ok := r.fit(changes) // somebody may have read it meanwhile
	if ok {
		return last, nil
	}
	if err := waitAfter(ctx, last); err != nil {
		return reading{}, err
	}
	began, next := time.Now(), reading{changes: r.hub.changes()}
	var err error
	if next.snap, err = r.store.Snapshot(ctx); err != nil {
		return reading{}, err
	}
	next.ended = time.Now()
	next.took = next.ended.Sub(began)
	r.mu.Lock()
	defer r.mu.Unlock()
	r.last = next
	return next, nil
}

// newest is the last reading; there must have been one.
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

// waitAfter waits out the pause after a reading.
func waitAfter(ctx context.Context, last reading) error {
	pause := time.NewTimer(time.Until(last.ended.Add(min(readingPause, (readingShare-1)*last.took))))
	defer pause.Stop()
	select {
	case <-pause.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}
