package handlers

import (
	"context"
	"net/http"
	"net/http/httptest"
	"sync"
	"testing"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

func TestRequestsShareAReadingButNoneIsTooOld(t *testing.T) {
	clock := testrig.Monday()
	store := testrig.Shop(t, clock)
	h := newHub(time.Hour)
	store.OnChange(h.tell)
	r := newReadings(store, h)
	get := func() *models.Snapshot {
		t.Helper()
		read, err := r.get(context.Background())
		require.NoError(t, err)
		return read.snap
	}
	first := get()
	assert.Same(t, first, get(), "nothing has changed")
	clock.Step(readAnew)
	second := get()
	assert.NotSame(t, first, second, "times of day stand on the pages")
	testrig.Commission(t, store, "Shelf", "2026-06-30")
	third := get()
	assert.Len(t, third.Commissions, 1, "what was committed is seen")
	clock.Step(-time.Minute)
	assert.NotSame(t, third, get(), "a clock that was set back")
}

// Whoever asks after a commit sees it, however many ask at the same time.
func TestNobodyGetsWhatWasReadBeforeTheirChange(t *testing.T) {
	store := testrig.Shop(t, testrig.Monday())
	h := newHub(time.Hour)
	store.OnChange(h.tell)
	r := newReadings(store, h)
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			for range 10 {
				before := h.changes()
				p, err := store.SavePerson(context.Background(), models.Person{Name: "" + uuid.NewString(), Active: true})
				if !assert.NoError(t, err) {
					return
				}
				read, err := r.get(context.Background())
				if !assert.NoError(t, err) {
					return
				}
				assert.NotNil(t, read.snap.Person(p.ID))
				assert.Greater(t, read.changes, before)
			}
		})
	}
	all.Wait()
}

func TestAReadingThatIsBrokenOffHoldsNobodyUp(t *testing.T) {
	store := testrig.Shop(t, testrig.Monday())
	r := newReadings(store, newHub(time.Hour))
	r.turn <- struct{}{}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := r.get(ctx)
	require.ErrorIs(t, err, context.Canceled)
	<-r.turn
	_, err = r.get(ctx)
	require.Error(t, err)
	_, err = r.get(context.Background())
	require.NoError(t, err)
}

// asks is a request's context that tells when somebody looks whether it is over.
type asks struct {
	context.Context
	once    *sync.Once
	waiting chan struct{}
}

func (a asks) Done() <-chan struct{} {
	a.once.Do(func() { close(a.waiting) })
	return a.Context.Done()
}

// What has to wait for its turn to be drawn shows what was read meanwhile.
func TestWhatWaitsForItsTurnIsDrawnFromTheNewestReading(t *testing.T) {
	store := testrig.Shop(t, testrig.Monday())
	s := &server{store: store, hub: newHub(time.Hour), drawing: make(drawing, 1)}
	store.OnChange(s.hub.tell)
	s.readings = newReadings(store, s.hub)
	first, err := s.readings.get(t.Context())
	require.NoError(t, err)

	var drawn *models.Snapshot
	var version string
	e := gin.New()
	e.GET("/", s.inTurn, func(c *gin.Context) {
		drawn, err = s.snapshot(c)
		version = s.version(c)
	})
	ctx := asks{t.Context(), new(sync.Once), make(chan struct{})}
	s.drawing <- struct{}{}
	done := make(chan struct{})
	go func() {
		defer close(done)
		e.ServeHTTP(httptest.NewRecorder(), httptest.NewRequestWithContext(ctx, http.MethodGet, "/", nil))
	}()
	<-ctx.waiting
	testrig.Commission(t, store, "Shelf", "2026-06-30")
	second, err := s.readings.get(t.Context())
	require.NoError(t, err)
	testrig.Commission(t, store, "Stool", "2026-07-31") // came after the request: it need not wait for another reading
	<-s.drawing
	<-done
	require.NoError(t, err)
	assert.NotSame(t, first.snap, drawn)
	assert.Same(t, second.snap, drawn)
	assert.Equal(t, s.hub.name(second.changes), version)
}
