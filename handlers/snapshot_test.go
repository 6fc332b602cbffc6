package handlers

import (
	"context"
	"sync"
	"testing"
	"time"

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
