package models_test

import (
	"context"
	"path/filepath"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// planLater saves a plan of the records as they are, whose steps start later than
// planOf has them, one after another.
func (b *bench) planLater(by time.Duration) *models.Plan {
	b.t.Helper()
	p := planOf(b.snap())
	for i := range p.Steps {
		ps := &p.Steps[i]
		for _, at := range []*time.Time{&ps.SetupStart, &ps.Start, &ps.AttendedEnd, &ps.End} {
			*at = at.Add(by)
		}
	}
	require.NoError(b.t, b.store.SavePlan(context.Background(), p))
	return p
}

func (b *bench) since() (*models.Plan, []models.PlanMoves) {
	b.t.Helper()
	first, moves, err := b.store.DaySince(context.Background())
	require.NoError(b.t, err)
	return first, moves
}

func TestDaySinceTellsCauses(t *testing.T) {
	for name, c := range map[string]struct {
		happens func(*bench)
		want    models.MoveCause
		beside  []models.MoveCause
	}{
		"a step taken up": {func(b *bench) { b.tap(models.TapStart, "joint", b.ana) }, models.MovedByWork, nil},
		"trouble among work": {func(b *bench) {
			b.do("joint")
			b.tap(models.TapTrouble, "plane", b.ana)
			b.tap(models.TapStart, "plane-rails", b.ben)
		}, models.MovedByTap, []models.MoveCause{models.MovedByWork, models.MovedByWork}},
		"a station down and a day off": {func(b *bench) {
			b.dayOff()
			b.station(models.TapDown)
		}, models.MovedByTap, []models.MoveCause{models.MovedBySteering}},
		"a station down, tried first": {func(b *bench) {
			b.keep(models.Steer{Kind: models.SteerDown, StationID: testrig.Station(b.t, b.snap(), "planer").ID})
		}, models.MovedBySteering, nil},
		"a station down":         {func(b *bench) { b.station(models.TapDown) }, models.MovedByTap, nil},
		"a start, undone":        {func(b *bench) { b.undone(b.tap(models.TapStart, "joint", b.ana)) }, models.MovedByTap, nil},
		"another comes in":       {func(b *bench) { testrig.Commission(b.t, b.store, "Shelf for the loft", "2026-03-20") }, models.MovedByTaking, nil},
		"a commission changed":   {(*bench).weighMore, models.MovedByCommission, nil},
		"a day off, tried first": {(*bench).dayOff, models.MovedBySteering, nil},
		"other hours":            {func(b *bench) { require.NoError(b.t, b.store.SaveHours(context.Background(), testrig.Week())) }, models.MovedByShop, nil},
		"nothing":                {func(*bench) {}, models.MovedByClock, nil},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t)
			morning := b.planLater(0)
			b.clock.Step(20 * time.Minute)
			c.happens(b)
			b.planLater(0) // from a moment 20 minutes later on
			first, moves := b.since()
			require.Equal(t, morning.ID, first.ID)
			assert.Equal(t, morning.Steps, first.Steps)
			require.Len(t, moves, 1)
			assert.Equal(t, c.want, moves[0].Cause)
			var beside []models.MoveCause
			for _, m := range moves[0].Beside {
				beside = append(beside, m.Cause)
				assert.Equal(t, m.Cause == models.MovedByTap || m.Cause == models.MovedByWork, m.Tap != nil)
				assert.Equal(t, m.Cause == models.MovedBySteering, m.Steered != nil)
			}
			assert.Equal(t, c.beside, beside)
			assert.Equal(t, 20, moves[0].Moved[morning.Steps[0].StepID])
		})
	}
}

// What one search finds first and later has one cause, and the search that the day
// begins with has none: its best is the day's first plan.
func TestDaySinceJoinsASearch(t *testing.T) {
	b := newBench(t)
	b.planLater(0)
	best := b.planLater(time.Hour)
	first, moves := b.since()
	assert.Equal(t, best.ID, first.ID)
	assert.Empty(t, moves)

	b.clock.Step(time.Minute)
	trouble := b.tap(models.TapTrouble, "joint", b.ana)
	b.planLater(2*time.Hour - time.Minute)
	b.planLater(3*time.Hour - time.Minute)
	first, moves = b.since()
	assert.Equal(t, best.ID, first.ID)
	require.Len(t, moves, 1)
	assert.Equal(t, trouble.Tap.Seq, *moves[0].TapSeq)
	assert.Equal(t, 120, moves[0].Moved[best.Steps[0].StepID])
}

// The minutes of all causes add up to what the plan moved since the morning, whatever
// happens on the day; the next day begins anew, and the plan it begins with stays while
// older ones go.
func TestDaySinceAddsUp(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	b.planLater(0)
	b.clock.Step(24 * time.Hour)
	assert.Nil(t, first(b.since()), "no plan was made on this day yet")
	morning := b.planLater(0)
	for i, key := range []string{"joint", "plane", "plane-rails", "rip"} {
		b.clock.Step(time.Duration(3*i) * time.Minute)
		b.do(key)
		b.planLater(time.Duration(40*i%90) * time.Minute)
	}
	for i := range 25 {
		b.clock.Step(time.Minute)
		b.planLater(time.Duration(i) * time.Minute)
	}
	now, err := b.store.CurrentPlan(ctx)
	require.NoError(t, err)
	first, moves := b.since()
	require.Equal(t, morning.Steps, first.Steps, "kept with its steps, though more than twenty came after it")
	sum := map[models.ID]int{}
	for _, m := range moves {
		for step, minutes := range m.Moved {
			sum[step] += minutes
		}
	}
	for i, ps := range now.Steps {
		assert.Equal(t, int(ps.Start.Sub(first.Steps[i].Start).Minutes()), sum[ps.StepID], "step %d", ps.StepID)
	}

	path := filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, b.store.Backup(ctx, path))
	var days int
	require.NoError(t, raw(t, path).QueryRow("SELECT count(*) FROM plan_days").Scan(&days))
	assert.Equal(t, 1, days, "of the day before nothing is left")
}

func (b *bench) weighMore() {
	b.t.Helper()
	c := b.snap().Commissions[0]
	c.Weight = 5
	require.NoError(b.t, b.store.SaveCommission(context.Background(), c))
}

func (b *bench) dayOff() { b.keep(models.Steer{Kind: models.SteerDayOff, Date: "2026-03-06"}) }

func first(p *models.Plan, _ []models.PlanMoves) *models.Plan { return p }

// The journal of moves is as long as there are causes, not as there are plans.
func TestMovesOfOneCauseAreOneRow(t *testing.T) {
	b := newBench(t)
	b.planLater(0)
	for i := range 50 {
		b.clock.Step(time.Minute)
		b.planLater(time.Duration(i) * time.Minute)
	}
	_, moves := b.since()
	assert.Len(t, moves, 1)
}
