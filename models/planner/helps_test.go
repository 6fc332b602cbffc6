package planner

import (
	"context"
	"fmt"
	"testing"

	"faceside/models"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// dangered is a shop whose first commission cannot keep its promise.
func dangered(t *testing.T) (*rig, *models.Commission) {
	t.Helper()
	r, all := steeredShop(t)
	late := *all[0]
	late.PromisedOn = "2026-12-02"
	require.NoError(t, r.store.SaveCommission(context.Background(), late))
	r.plan()
	require.True(t, forecastOf(Forecasts(r.snap()), late.ID).Late)
	return r, &late
}

func helpsOf(t *testing.T, r *rig, c *models.Commission) (last Helps, tellings int) {
	t.Helper()
	require.NoError(t, r.service.Helps(context.Background(), c.ID, "Helper", func(h Helps) { last, tellings = h, tellings+1 }))
	return last, tellings
}

// What helps is found, says what really comes of it when it is kept, the best first,
// and is the same each time.
func TestWhatHelpsIsWhatComesOfIt(t *testing.T) {
	r, c := dangered(t)
	before := r.snap().Shop.Revision
	h, tellings := helpsOf(t, r, c)
	assert.True(t, h.Done)
	assert.Equal(t, h.Of, h.Tried)
	assert.Equal(t, h.Of+1, tellings)
	assert.Equal(t, before, r.snap().Shop.Revision, "nothing is kept")
	require.NotEmpty(t, h.Levers)
	again, _ := helpsOf(t, r, c)
	require.Len(t, again.Levers, len(h.Levers))
	kinds := map[models.SteerKind]bool{}
	for i := range h.Levers {
		l := &h.Levers[i]
		assert.Equal(t, l.Changes, again.Levers[i].Changes)
		assert.Equal(t, l.Promises, again.Levers[i].Promises)
		kinds[l.Changes[0].Kind] = true
		if i > 0 {
			assert.False(t, l.before(&h.Levers[i-1]), "%v stands behind %v", l.Says, h.Levers[i-1].Says)
		}
		assert.True(t, l.Holds || l.Gain >= helpsLeastGain, "%v helps nothing", l.Says)
	}
	assert.True(t, kinds[models.SteerPromise], "another date for itself always helps")
	assert.True(t, kinds[models.SteerFinish], "its coats dry over two nights")

	best := h.Levers[0]
	require.True(t, best.Holds)
	require.NoError(t, r.steer(best.Changes...))
	r.plan()
	assert.False(t, forecastOf(Forecasts(r.snap()), c.ID).Late, "%v", best.Says)
}

// Every candidate is one that the store can judge, and none is tried twice.
func TestEachLeverIsTriedOnce(t *testing.T) {
	r, c := dangered(t)
	h := &helping{Service: r.service, snap: r.snap(), commission: c, helper: "Helper", Helps: Helps{CommissionID: c.ID}}
	require.NoError(t, h.begin(context.Background()))
	seen := map[string]bool{}
	for _, changes := range h.candidates() {
		key := fmt.Sprint(changes)
		assert.False(t, seen[key], key)
		seen[key] = true
		_, err := r.store.Try(context.Background(), changes)
		if code := models.CodeOf(err); err != nil {
			assert.Contains(t, []models.Code{models.Invalid, models.Conflict}, code, "%s: %v", key, err)
		}
	}
	assert.LessOrEqual(t, len(seen), helpsMost)
}

func TestNothingHelpsWhatIsNotOpen(t *testing.T) {
	r, _ := dangered(t)
	err := r.service.Helps(context.Background(), 99, "Helper", func(Helps) {})
	assert.EqualError(t, err, "There is no open commission with number 99.")
}

func TestHelpsEndsWithItsContext(t *testing.T) {
	r, c := dangered(t)
	ctx, cancel := context.WithCancel(context.Background())
	n := 0
	err := r.service.Helps(ctx, c.ID, "Helper", func(Helps) {
		if n++; n == 3 {
			cancel()
		}
	})
	require.ErrorIs(t, err, context.Canceled)
	assert.Equal(t, 3, n)
}
