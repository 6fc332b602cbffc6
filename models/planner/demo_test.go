package planner_test

import (
	"context"
	"log/slog"
	"path/filepath"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/planner"
	"faceside/seed"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// demo is the demo shop on a day, planned.
func demo(t *testing.T, day string) *models.Snapshot {
	t.Helper()
	start, err := seed.DemoStartOn(day)
	require.NoError(t, err)
	clock := seed.NewDemoClock(start)
	store, err := models.OpenStore(t.Context(), filepath.Join(t.TempDir(), "shop.db"), clock.Now)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, store.Close()) })
	require.NoError(t, seed.Demo(context.Background(), store, clock, start))
	_, err = planner.New(store, slog.New(slog.DiscardHandler), planner.Options{Work: 300, Seed: 1}).Plan(t.Context())
	require.NoError(t, err)
	snap, err := store.Snapshot(t.Context())
	require.NoError(t, err)
	return snap
}

// What a card says that an hour's delay would do is what the engine makes of it when
// it times the whole shop anew.
func TestAnHourLaterInTheDemo(t *testing.T) {
	snap := demo(t, "2026-11-26")
	asked, moves := 0, 0
	for _, s := range planner.Next(snap, snap.People[0].ID, snap.At) {
		stake := planner.StakeOf(snap, s.StepID, snap.At)
		if !stake.Planned {
			continue
		}
		asked++
		st := snap.Step(s.StepID)
		ends, err := planner.PutOff(snap, s.StepID, 60)
		if err != nil {
			assert.True(t, stake.Hour.Stuck, "%s: %v", st.Name, err)
			continue
		}
		said := map[models.ID]time.Time{}
		for _, slip := range stake.Hour.Slips {
			said[slip.CommissionID] = slip.To
		}
		for _, f := range planner.Forecasts(snap) {
			to := ends[f.CommissionID]
			if late := to.After(f.Ends) && to.After(f.PromisedBy); late {
				moves++
				assert.True(t, said[f.CommissionID].Equal(to), "%s, float %d: “%s” ends %s, it says %s", st.Name, stake.FloatMin, f.Name, to, said[f.CommissionID])
			} else {
				assert.False(t, said[f.CommissionID].After(f.PromisedBy), "%s, float %d: “%s” ends %s, it says %s", st.Name, stake.FloatMin, f.Name, to, said[f.CommissionID])
			}
		}
	}
	assert.GreaterOrEqual(t, asked, 20)
	assert.Positive(t, moves, "a delay that nobody feels tests nothing")
}
