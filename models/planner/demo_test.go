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
	snap, _ := plannedDemo(t, day, 300)
	return snap
}

// plannedDemo is the demo shop on a day, planned with so many schedules.
func plannedDemo(t *testing.T, day string, work int64) (*models.Snapshot, *planner.Service) {
	t.Helper()
	start, err := seed.DemoStartOn(day)
	require.NoError(t, err)
	clock := seed.NewDemoClock(start)
	store, err := models.OpenStore(t.Context(), filepath.Join(t.TempDir(), "shop.db"), clock.Now)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, store.Close()) })
	require.NoError(t, seed.Demo(context.Background(), store, clock, start))
	service := planner.New(store, slog.New(slog.DiscardHandler), planner.Options{Work: work, Seed: 1})
	_, err = service.Plan(t.Context())
	require.NoError(t, err)
	snap, err := store.Snapshot(t.Context())
	require.NoError(t, err)
	return snap, service
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

// The demo shows each verdict that weeks played can come to. How many promises have it
// hangs on the plan that is found; that the tea table's is safe, and which one is in
// danger, does not: that was so of each plan found with a budget from 300 to 2500.
func TestThePromisesOfTheDemo(t *testing.T) {
	const safe, tight, danger = 0, 1, 2
	for day, want := range map[string]struct {
		counts [3]int
		danger string
	}{
		"2026-11-24": {[3]int{2, 2, 1}, "Bedside cabinet in walnut"},
		"2026-11-26": {[3]int{4, 0, 1}, "Shelves for the reading room"},
	} {
		snap, service := plannedDemo(t, day, 1000)
		played, err := service.Foresee(t.Context())
		require.NoError(t, err)
		var counts [3]int
		verdicts := map[string]int{}
		for _, f := range planner.Forecasts(snap) {
			verdict := danger
			switch holds := played.Of(f.CommissionID).Holds(f.PromisedBy); {
			case holds >= 0.9:
				verdict = safe
			case holds >= 0.5:
				verdict = tight
			}
			counts[verdict]++
			verdicts[f.Name] = verdict
			assert.False(t, f.Late, "%s: by the plan all are in time", f.Name)
		}
		assert.Subset(t, verdicts, map[string]int{"Tea table in cherry": safe, want.danger: danger}, day)
		assert.Equal(t, want.counts, counts, "safe, tight, in danger on %s", day)
		assert.NotEmpty(t, played.Heaviest(0.1))
	}
}
