package models_test

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestSavePlan(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	none, err := b.store.CurrentPlan(ctx)
	require.NoError(t, err)
	assert.Nil(t, none)
	var changes []models.Change
	defer b.store.OnChange(func(c models.Change) { changes = append(changes, c) })()

	snap := b.snap()
	plan := planOf(snap)
	plan.Origin = plan.Origin.In(time.FixedZone("there", 7200)) // kept in UTC
	plan.Steps[0].PersonIDs = nil
	require.NoError(t, b.store.SavePlan(ctx, plan))
	assert.NotZero(t, plan.ID)
	assert.Equal(t, b.clock.Now(), plan.MadeAt)

	got, err := b.store.CurrentPlan(ctx)
	require.NoError(t, err)
	assert.Equal(t, plan, got)
	assert.True(t, got.Current)
	after := b.snap()
	assert.Equal(t, got, after.Plan)
	assert.Equal(t, got.Steps[3], *after.Planned(got.Steps[3].StepID))
	assert.Nil(t, after.Planned(99))
	assert.Equal(t, []models.Change{{Revision: snap.Shop.Revision, Kind: models.ChangedPlan}}, changes, "a plan makes no revision")

	second := planOf(after)
	require.NoError(t, b.store.SavePlan(ctx, second))
	got, err = b.store.CurrentPlan(ctx)
	require.NoError(t, err)
	assert.Equal(t, second.ID, got.ID)
}

func TestSavePlanRefuses(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	old := planOf(b.snap())
	require.NoError(t, b.store.SavePlan(ctx, old))
	b.tap(models.TapStart, "joint", b.ana)
	stale := planOf(b.snap())
	stale.Revision--
	refused(t, b.store.SavePlan(ctx, stale), models.Stale, "The plan was made from revision 30; the records are at 31.")
	for name, c := range map[string]struct {
		with     func(*models.Plan)
		sentence string
	}{
		"status":    {func(p *models.Plan) { p.Status = "infeasible" }, `The status "infeasible" is not one of "optimal", "feasible".`},
		"no origin": {func(p *models.Plan) { p.Origin = time.Time{} }, "The plan has no origin."},
		"twice":     {func(p *models.Plan) { p.Steps[1].StepID = p.Steps[0].StepID }, "The plan has step 1 twice."},
		"backwards": {func(p *models.Plan) { p.Steps[0].End = p.Steps[0].Start.Add(-1) }, "The plan ends step 1 before it starts it."},
	} {
		bad := planOf(b.snap())
		c.with(bad)
		err := b.store.SavePlan(ctx, bad)
		assert.Equal(t, models.Invalid, models.CodeOf(err), name)
		assert.EqualError(t, err, c.sentence, name)
	}
	unknown := planOf(b.snap())
	unknown.Steps[0].StepID = 99
	refused(t, b.store.SavePlan(ctx, unknown), models.Internal, "Could not save the plan. Nothing was changed.")
	got, err := b.store.CurrentPlan(ctx)
	require.NoError(t, err)
	assert.Equal(t, old, got, "the plan before stays")
}

// Where somebody taps all the time a plan is older than the records when it is
// made. It is taken while the work only went on.
func TestAPlanIsTakenWhileTheWorkGoesOn(t *testing.T) {
	for name, c := range map[string]struct {
		meanwhile func(*bench)
		taken     bool
	}{
		"put down": {func(b *bench) { b.tap(models.TapPutDown, "joint", b.ana) }, true},
		"finished": {func(b *bench) { b.tap(models.TapFinish, "joint", b.ana) }, true},
		"refused, then put down": {func(b *bench) {
			_, err := b.try(models.TapStart, "joint", b.ben)
			require.Error(b.t, err)
			b.tap(models.TapPutDown, "joint", b.ana)
		}, true},
		"tapped and undone":    {func(b *bench) { b.undone(b.tap(models.TapPutDown, "joint", b.ana)) }, true},
		"trouble":              {func(b *bench) { b.tap(models.TapTrouble, "joint", b.ana) }, false},
		"trouble, then a tap":  {func(b *bench) { b.tap(models.TapTrouble, "joint", b.ana); b.tap(models.TapSettled, "joint", b.ana) }, false},
		"trouble and undone":   {func(b *bench) { b.undone(b.tap(models.TapTrouble, "joint", b.ana)) }, false},
		"station down":         {func(b *bench) { b.station(models.TapDown) }, false},
		"station down, undone": {func(b *bench) { b.undone(b.station(models.TapDown)) }, false},
		"the shop":             {func(b *bench) { require.NoError(b.t, b.store.SaveHours(context.Background(), testrig.Week())) }, false},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t)
			ctx := context.Background()
			require.NoError(t, b.store.SavePlan(ctx, planOf(b.snap())))
			b.tap(models.TapStart, "joint", b.ana)
			made, again := planOf(b.snap()), planOf(b.snap())
			c.meanwhile(b)
			err := b.store.SavePlan(ctx, made)
			if !c.taken {
				assert.Equal(t, models.Stale, models.CodeOf(err), "%v", err)
				return
			}
			require.NoError(t, err)
			assert.Equal(t, made.Revision, b.snap().Plan.Revision)
			assert.Equal(t, models.Stale, models.CodeOf(b.store.SavePlan(ctx, again)), "no newer than the one there is")
		})
	}
}

// A store that has written nothing yet cannot know what was changed last.
func TestAPlanOfOlderRecordsIsRefusedAfterAStart(t *testing.T) {
	b := newBench(t)
	b.tap(models.TapStart, "joint", b.ana)
	made := planOf(b.snap())
	path := filepath.Join(t.TempDir(), "copy.db")
	b.tap(models.TapPutDown, "joint", b.ana)
	require.NoError(t, b.store.Backup(context.Background(), path))
	twin, err := open(t, path)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, twin.Close()) })
	assert.Equal(t, models.Stale, models.CodeOf(twin.SavePlan(context.Background(), made)))
}

// undone takes a tap back.
func (b *bench) undone(r models.TapResult) {
	b.t.Helper()
	_, err := b.undo(r.Tap.Seq, b.ana)
	require.NoError(b.t, err)
}

// station taps a station.
func (b *bench) station(kind models.TapKind) models.TapResult {
	b.t.Helper()
	r, err := b.store.Tap(context.Background(), models.TapRequest{ID: b.id(), Kind: kind, StationID: b.snap().Stations[0].ID, PersonID: b.ana})
	require.NoError(b.t, err)
	return r
}

func TestOldPlansGo(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	for range 205 {
		require.NoError(t, b.store.SavePlan(ctx, planOf(b.snap())))
	}
	path := filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, b.store.Backup(ctx, path))
	db := raw(t, path)
	for query, want := range map[string]int{
		"SELECT count(*) FROM plans":                          200,
		"SELECT count(*) FROM plans WHERE current":            1,
		"SELECT max(id) FROM plans WHERE current":             205,
		"SELECT count(DISTINCT plan_id) FROM plan_steps":      20,
		"SELECT count(DISTINCT plan_id) FROM plan_setups":     20,
		"SELECT min(plan_id) FROM plan_steps":                 186,
		"SELECT count(*) FROM plan_steps WHERE plan_id = 205": 10,
		"SELECT count(*) FROM pragma_foreign_key_check":       0,
	} {
		var got int
		require.NoError(t, db.QueryRow(query).Scan(&got), query)
		assert.Equal(t, want, got, query)
	}
}

// lapsing is a context that ends when it was asked so many times whether it has.
type lapsing struct {
	context.Context
	left int
}

func (c *lapsing) Err() error {
	if c.left--; c.left < 0 {
		return context.Canceled
	}
	return nil
}

// A plan is written piece by piece. Until its last piece the one before is followed,
// and of one that was broken off nothing is left.
func TestAPlanThatIsBrokenOffLeavesNothing(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	first := planOf(b.snap())
	require.NoError(t, b.store.SavePlan(ctx, first))
	pieces := 0
	for ; ; pieces++ {
		next := planOf(b.snap())
		err := b.store.SavePlan(&lapsing{ctx, pieces}, next)
		path := filepath.Join(t.TempDir(), fmt.Sprintf("copy-%d.db", pieces))
		require.NoError(t, b.store.Backup(ctx, path))
		kept := 1
		if err == nil {
			kept = 2
			assert.Equal(t, next.ID, b.snap().Plan.ID)
		} else {
			require.ErrorIs(t, err, context.Canceled)
			assert.Zero(t, next.ID)
			assert.Equal(t, first.ID, b.snap().Plan.ID, "after %d pieces", pieces)
		}
		for _, of := range []string{"SELECT count(*) FROM plans", "SELECT count(DISTINCT plan_id) FROM plan_steps", "SELECT count(DISTINCT plan_id) FROM plan_setups"} {
			var got int
			require.NoError(t, raw(t, path).QueryRow(of).Scan(&got), of)
			assert.Equal(t, kept, got, "%s after %d pieces", of, pieces)
		}
		if err == nil {
			break
		}
	}
	assert.GreaterOrEqual(t, pieces, 4, "header, steps, setups, and which one is followed")
}
