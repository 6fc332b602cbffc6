package seed_test

import (
	"context"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/seed"
)

// demo makes the demo shop as it stands on a day.
func demo(t testing.TB, day string) (*models.Store, *models.Snapshot, time.Time) {
	t.Helper()
	start, err := seed.DemoStartOn(day)
	require.NoError(t, err)
	clock := seed.NewDemoClock(start)
	store, err := models.OpenStore(context.Background(), filepath.Join(t.TempDir(), "shop.db"), clock.Now)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, store.Close()) })
	require.NoError(t, seed.Demo(context.Background(), store, clock, start))
	snap, err := store.Snapshot(context.Background())
	require.NoError(t, err)
	return store, snap, start
}

// What the demo must show holds on every day it can start: after a weekend, and
// where the clocks were changed within its history (8 March 2026 in New York).
func TestDemo(t *testing.T) {
	for _, day := range []string{"2026-11-23", "2026-11-26", "2026-11-27", "2026-03-10"} {
		t.Run(day, func(t *testing.T) {
			t.Parallel()
			store, snap, start := demo(t, day)
			assert.True(t, snap.At.Equal(start), "the clock stands at the start")
			assert.Len(t, snap.People, 2)
			assert.GreaterOrEqual(t, len(snap.Stations), 8)
			assert.Len(t, snap.Clamps, 3)
			requireWorkGoingOn(t, snap)
			requireCommissions(t, store, snap)
			requireJournal(t, store, start)
		})
	}
}

// requireWorkGoingOn finds something in clamps, something drying, and a step in
// each maker's hands.
func requireWorkGoingOn(t *testing.T, snap *models.Snapshot) {
	t.Helper()
	stand := map[models.Standing]int{}
	holders := map[models.ID]bool{}
	for _, st := range snap.Steps {
		standing := snap.Standing(st.ID, snap.At)
		stand[standing]++
		if standing == models.StandsInHand {
			holders[*st.PersonID] = true
		}
	}
	assert.Equal(t, 1, stand[models.StandsInClamps])
	assert.Equal(t, 2, stand[models.StandsDrying])
	assert.Equal(t, 2, stand[models.StandsInHand])
	assert.Len(t, holders, 2, "each maker has one")
	assert.NotZero(t, stand[models.StandsReady])
	assert.NotZero(t, stand[models.StandsWaiting])
	assert.Greater(t, stand[models.StandsDone], 100)
}

// requireCommissions finds five open ones in different stages, promised for days
// to come, and two delivered.
func requireCommissions(t *testing.T, store *models.Store, snap *models.Snapshot) {
	t.Helper()
	all, err := store.Commissions(context.Background())
	require.NoError(t, err)
	today := snap.At.In(location(t, snap)).Format(time.DateOnly)
	done := map[int]bool{}
	states := map[models.CommissionState]int{}
	for _, c := range all {
		states[c.State]++
		if c.State == models.Open {
			done[c.Done] = true
			assert.Greater(t, c.PromisedOn, today, c.Name)
			assert.Less(t, c.Done, c.Steps, c.Name)
		} else {
			assert.Equal(t, c.Steps, c.Done, c.Name)
		}
	}
	assert.Equal(t, map[models.CommissionState]int{models.Open: 5, models.Delivered: 2}, states)
	assert.Len(t, done, 5, "no two have come equally far")
}

func location(t *testing.T, snap *models.Snapshot) *time.Location {
	t.Helper()
	zone, err := snap.Shop.Location()
	require.NoError(t, err)
	return zone
}

// requireJournal finds taps of two weeks, in order and within the hours, with a
// trouble and a tap taken back among them.
func requireJournal(t *testing.T, store *models.Store, start time.Time) {
	t.Helper()
	taps, err := store.Journal(context.Background(), models.JournalFilter{Limit: 10_000})
	require.NoError(t, err)
	kinds := map[models.TapKind]int{}
	first, last := taps[0].At, taps[0].At
	seen := map[int64]time.Time{}
	for _, tap := range taps {
		kinds[tap.Kind]++
		seen[tap.Seq] = tap.At
		if tap.At.Before(first) {
			first = tap.At
		}
		if tap.At.After(last) {
			last = tap.At
		}
		local := tap.At.In(start.Location())
		assert.NotContains(t, []time.Weekday{time.Saturday, time.Sunday}, local.Weekday(), tap.At)
		minute := local.Hour()*60 + local.Minute()
		assert.True(t, minute >= 8*60 && minute <= 17*60, "%s is outside the hours", local)
	}
	for seq, at := range seen {
		if before, ok := seen[seq-1]; ok {
			assert.False(t, at.Before(before), "tap %d comes before the one before it", seq)
		}
	}
	assert.GreaterOrEqual(t, start.Sub(first), 13*24*time.Hour)
	assert.False(t, last.After(start))
	for _, kind := range []models.TapKind{models.TapStart, models.TapPutDown, models.TapFinish, models.TapOut, models.TapTrouble, models.TapSettled, models.TapUndo} {
		assert.NotZero(t, kinds[kind], kind)
	}
}

func TestDemoIsTheSameEveryTime(t *testing.T) {
	one, _, _ := demo(t, "2026-11-24")
	two, _, _ := demo(t, "2026-11-24")
	want, err := one.Journal(context.Background(), models.JournalFilter{Limit: 10_000})
	require.NoError(t, err)
	got, err := two.Journal(context.Background(), models.JournalFilter{Limit: 10_000})
	require.NoError(t, err)
	assert.Equal(t, want, got)
}

func TestDemoStart(t *testing.T) {
	tests := []struct{ name, now, want string }{
		{"in the afternoon", "2026-11-24T15:00:00-05:00", "2026-11-24T10:20:00-05:00"},
		{"at the very minute", "2026-11-24T10:20:00-05:00", "2026-11-24T10:20:00-05:00"},
		{"early in the morning", "2026-11-24T07:00:00-05:00", "2026-11-23T10:20:00-05:00"},
		{"early on Monday", "2026-11-23T07:00:00-05:00", "2026-11-20T10:20:00-05:00"},
		{"on Sunday", "2026-11-22T23:00:00-05:00", "2026-11-20T10:20:00-05:00"},
		{"elsewhere it is tomorrow", "2026-11-25T01:00:00+09:00", "2026-11-24T10:20:00-05:00"},
		{"the night the clocks change", "2026-03-08T12:00:00-04:00", "2026-03-06T10:20:00-05:00"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			now, err := time.Parse(time.RFC3339, tt.now)
			require.NoError(t, err)
			want, err := time.Parse(time.RFC3339, tt.want)
			require.NoError(t, err)
			got, err := seed.DemoStart(now)
			require.NoError(t, err)
			assert.True(t, want.Equal(got), "%s", got)
		})
	}
}

func TestDemoClock(t *testing.T) {
	at := time.Date(2026, 11, 24, 10, 20, 0, 0, time.UTC)
	clock := seed.NewDemoClock(at)
	assert.Equal(t, at, clock.Now(), "it stands")
	clock.LetGo()
	one := clock.Now()
	assert.False(t, one.Before(at))
	clock.LetGo()
	assert.False(t, clock.Now().Before(one), "letting go twice does not set it back")
	clock.Set(at)
	assert.Equal(t, at, clock.Now(), "it stands again")
}

func TestFitOut(t *testing.T) {
	ctx := context.Background()
	store, err := models.OpenStore(ctx, filepath.Join(t.TempDir(), "shop.db"), time.Now)
	require.NoError(t, err)
	defer store.Close()
	require.NoError(t, seed.FitOut(ctx, store, "Europe/Lisbon"))
	first, err := store.Snapshot(ctx)
	require.NoError(t, err)
	assert.Equal(t, "Europe/Lisbon", first.Shop.TimeZone)
	assert.Len(t, first.Hours, 10)
	assert.Len(t, first.Stations, 2)
	assert.NotEmpty(t, first.Glues)
	assert.NotEmpty(t, first.Finishes)
	assert.Empty(t, first.People)

	require.NoError(t, seed.FitOut(ctx, store, "UTC"), "a second time changes nothing")
	second, err := store.Snapshot(ctx)
	require.NoError(t, err)
	assert.Equal(t, first.Shop, second.Shop)
	assert.Equal(t, first.Stations, second.Stations)

	require.NoError(t, store.SaveHours(ctx, nil))
	require.NoError(t, seed.FitOut(ctx, store, "Europe/Lisbon"), "what was cut short is completed")
	third, err := store.Snapshot(ctx)
	require.NoError(t, err)
	assert.Len(t, third.Hours, 10)
	assert.Len(t, third.Stations, 2, "and nothing is there twice")
}

func BenchmarkDemo(b *testing.B) {
	for b.Loop() {
		demo(b, "2026-11-24")
	}
}
