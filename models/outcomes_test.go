package models_test

import (
	"context"
	"testing"
	"time"

	"faceside/models"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func (b *bench) outcomes() *models.Outcomes {
	b.t.Helper()
	o, err := b.store.Outcomes(context.Background())
	require.NoError(b.t, err)
	return o
}

// work has a step in hand for some minutes, and finishes it.
func (b *bench) work(key string, minutes int) {
	b.t.Helper()
	b.tap(models.TapStart, key, b.ana)
	b.clock.Step(time.Duration(minutes) * time.Minute)
	b.tap(models.TapFinish, key, b.ana)
}

func TestOutcomesAreFinishedStepsBesideTheirEstimates(t *testing.T) {
	b := newBench(t)
	assert.Equal(t, &models.Outcomes{}, b.outcomes())
	joint, plane := b.step("joint"), b.step("plane")
	b.work("joint", 7)
	b.tap(models.TapStart, "plane", b.ana)
	b.clock.Step(time.Minute)
	o := b.outcomes()
	assert.Equal(t, []models.Outcome{{CommissionID: joint.CommissionID, Kind: joint.Kind, Estimated: joint.Attended, Actual: 7 * 60}}, o.Steps, "what is in hand is not finished")
	b.clock.Step(time.Minute)
	b.tap(models.TapFinish, "plane", b.ana)
	assert.Equal(t, models.Outcome{CommissionID: plane.CommissionID, Kind: plane.Kind, Estimated: plane.Attended, Actual: 2 * 60}, b.outcomes().Steps[1])
}

func TestOutcomesTellTroubles(t *testing.T) {
	b := newBench(t)
	b.do("joint", "plane", "rip")
	b.tap(models.TapStart, "glue-panel", b.ana)
	b.troubled("glue-panel", models.Trouble{Kind: models.TroubleMissing})
	assert.Empty(t, b.outcomes().Stops, "it stands still")
	b.clock.Step(100 * time.Minute)
	b.tap(models.TapSettled, "glue-panel", b.ana)
	assert.Equal(t, []int{100}, b.outcomes().Stops)

	b.tap(models.TapStart, "glue-panel", b.ana)
	r := b.troubled("glue-panel", models.Trouble{Kind: models.TroubleSpoiled, Parts: map[models.ID]int{b.part("board"): 1}})
	o := b.outcomes()
	assert.Equal(t, 1, o.Spoiled)
	assert.Equal(t, 15, o.Again)
	_, err := b.undo(r.Tap.Seq, b.ana)
	require.NoError(t, err)
	o = b.outcomes()
	assert.Equal(t, [2]int{}, [2]int{o.Spoiled, o.Again}, "it was taken back")
	assert.Equal(t, []int{100}, o.Stops)
}

// Days off that were noted when they had begun are days away without notice, those that
// follow them too; days noted before are not.
func TestOutcomesCountWhoWasAway(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	counted := func() (away, there int) {
		o, err := b.store.Outcomes(ctx)
		require.NoError(t, err)
		return o.Away, o.There
	}
	b.do("joint")
	away, there := counted()
	assert.Zero(t, away+there, "nothing is noted: nobody knows")
	for _, date := range []string{"2026-03-02", "2026-03-03", "2026-03-09"} { // Monday: ill until Tuesday, a holiday next week
		_, err := b.store.SaveDayOff(ctx, models.DayOff{Date: date, PersonID: &b.ben})
		require.NoError(t, err)
	}
	away, there = counted()
	assert.Equal(t, []int{1, 1}, []int{away, there})
	b.clock.Step(8 * 24 * time.Hour)
	b.do("plane")
	away, there = counted()
	assert.Equal(t, []int{2, 2}, []int{away, there})
}

// A day's work is one day there, also where the shop's evening is the next day of UTC.
func TestADayThereIsOneOfTheShop(t *testing.T) {
	b := newBench(t)
	shop := b.snap().Shop
	shop.TimeZone = "America/Los_Angeles"
	require.NoError(t, b.store.SaveShop(t.Context(), shop))
	_, err := b.store.SaveDayOff(t.Context(), models.DayOff{Date: "2026-03-09", PersonID: &b.ben})
	require.NoError(t, err)
	b.clock.Set(*when(t, "2026-03-02 17:30")) // of Zurich: half past eight in the morning
	b.tap(models.TapStart, "joint", b.ana)
	b.clock.Step(8 * time.Hour)
	b.tap(models.TapFinish, "joint", b.ana)
	assert.Equal(t, 1, b.outcomes().There)
	b.clock.Step(16 * time.Hour)
	b.tap(models.TapStart, "plane", b.ana)
	assert.Equal(t, 2, b.outcomes().There)
}

// Who is away without notice stays away over a weekend; a day off that was known before
// is none of that, however near it is.
func TestASpellAwayGoesOnOverAWeekend(t *testing.T) {
	for _, c := range []struct {
		name, ill, next string
		away            int
	}{
		{"the day after", "2026-03-03", "2026-03-04", 2},
		{"Friday and Monday", "2026-03-06", "2026-03-09", 2},
		{"Friday and Saturday", "2026-03-06", "2026-03-07", 2},
		{"Tuesday and Friday", "2026-03-03", "2026-03-06", 1},
		{"Friday and Tuesday", "2026-03-06", "2026-03-10", 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBench(t)
			_, err := b.store.SaveDayOff(t.Context(), models.DayOff{Date: c.next, PersonID: &b.ben})
			require.NoError(t, err)
			b.clock.Set(*when(t, c.ill+" 08:00"))
			_, err = b.store.SaveDayOff(t.Context(), models.DayOff{Date: c.ill, PersonID: &b.ben})
			require.NoError(t, err)
			b.clock.Step(8 * 24 * time.Hour)
			assert.Equal(t, c.away, b.outcomes().Away)
		})
	}
}
