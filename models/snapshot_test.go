package models_test

import (
	"context"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// plain is a snapshot without what it keeps for itself.
func plain(s *models.Snapshot) models.Snapshot {
	return models.Snapshot{
		At: s.At, Shop: s.Shop, Hours: s.Hours, DaysOff: s.DaysOff, People: s.People, Stations: s.Stations, Setups: s.Setups,
		Clamps: s.Clamps, Zones: s.Zones, Glues: s.Glues, Finishes: s.Finishes, Commissions: s.Commissions, Pieces: s.Pieces, Parts: s.Parts,
		Assemblies: s.Assemblies, AssemblyParts: s.AssemblyParts, AssemblyAssemblies: s.AssemblyAssemblies, Steps: s.Steps,
		StepParts: s.StepParts, StepAssemblies: s.StepAssemblies, StepClamps: s.StepClamps, Links: s.Links, LastTaps: s.LastTaps, Plan: s.Plan,
	}
}

// A store remembers what does not change; a store opened just now remembers
// nothing. They must say the same after whatever happened.
func TestSnapshotIsWhatTheFileSays(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	same := func(after string) {
		t.Helper()
		path := filepath.Join(t.TempDir(), "copy.db")
		require.NoError(t, b.store.Backup(ctx, path))
		fresh, err := models.OpenStore(ctx, path, b.clock.Now)
		require.NoError(t, err)
		defer func() { require.NoError(t, fresh.Close()) }()
		assert.Equal(t, plain(testrig.Snapshot(t, fresh)), plain(b.snap()), after)
		summaries, err := b.store.Commissions(ctx)
		require.NoError(t, err)
		for _, c := range summaries {
			want, err := fresh.CommissionSnapshot(ctx, c.ID)
			require.NoError(t, err)
			got, err := b.store.CommissionSnapshot(ctx, c.ID)
			require.NoError(t, err)
			assert.Equal(t, plain(want), plain(got), after)
		}
	}
	same("taking a commission")
	b.do("joint")
	b.tap(models.TapStart, "plane", b.ben)
	same("taps")
	second := testrig.Commission(t, b.store, "Second", "2026-03-04")
	same("taking another, promised earlier")
	require.NoError(t, b.store.SavePlan(ctx, planOf(b.snap())))
	same("a plan")
	b.tap(models.TapTrouble, "plane", b.ben)
	b.clock.Step(time.Hour)
	require.NoError(t, b.store.SavePlan(ctx, planOf(b.snap())))
	same("another plan")
	for _, state := range []models.CommissionState{models.Dropped, models.Held, models.Open} {
		second.State = state
		require.NoError(t, b.store.SaveCommission(ctx, *second))
		same(string(state))
	}
	_, err := b.undo(2, b.ana)
	require.Error(t, err, "the next step was started since")
	same("a refusal")
}

func TestSnapshotsAreApart(t *testing.T) {
	b := newBench(t)
	require.NoError(t, b.store.SavePlan(context.Background(), planOf(b.snap())))
	one, two := b.snap(), b.snap()
	one.Steps[0].Name, one.Parts[0].Name, one.Links[0].MinLag = "x", "x", 77
	one.Plan.Note, one.Plan.Steps[0].StepID = models.Notes{phrase.Name("x")}, 77
	one.Steps[8].Cautions = append(one.Steps[8].Cautions, "x")
	assert.Equal(t, plain(two), plain(b.snap()))
}

func TestATrialHasAllOfTheSnapshotButItsOwnSteps(t *testing.T) {
	b := newBench(t)
	b.tap(models.TapStart, "joint", b.ana)
	snap := b.snap()
	trial := snap.Trial()
	for i := range reflect.TypeFor[models.Snapshot]().NumField() {
		if f := reflect.TypeFor[models.Snapshot]().Field(i); f.IsExported() {
			assert.Equal(t, reflect.ValueOf(snap).Elem().Field(i).Interface(), reflect.ValueOf(trial).Elem().Field(i).Interface(), f.Name)
		}
	}
	st := trial.Step(b.step("joint").ID)
	require.NoError(t, st.Move(models.Tap{Kind: models.TapFinish, PersonID: b.ana, At: snap.At}))
	assert.Equal(t, models.Done, st.State)
	assert.Equal(t, models.InHand, snap.Step(st.ID).State)

	made := 0
	work := func() any { made++; return made }
	type key struct{}
	assert.Equal(t, 1, snap.Keep(key{}, work))
	assert.Equal(t, 1, snap.Keep(key{}, work), "once")
	assert.Equal(t, 2, trial.Keep(key{}, work))
	assert.Equal(t, 3, trial.Trial().Keep(key{}, work), "the steps of a trial move")
	assert.Same(t, snap, trial.Trial().Origin())
}
