package planner

import (
	"bytes"
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/sequence"
	"faceside/models/testrig"
)

// Each plan of a shop that works, has trouble and goes on is the same when it is made
// again from what was kept of how it was made.
func TestEachPlanIsMadeAgain(t *testing.T) {
	ctx := context.Background()
	r := newRig(t, "2026-12-01 08:00")
	r.service = New(r.store, quiet(), Options{Seed: 3}) // by the clock, as in a shop
	plans := 0
	plan := func() {
		_, err := r.service.Plan(ctx)
		require.NoError(t, err)
		plans++
	}
	first := r.take("A table", "2026-12-10")
	plan()
	r.take("A shelf", "2026-12-08")
	plan()
	var keys []string
	for _, st := range r.snap().StepsOf(first.ID) {
		keys = append(keys, st.Key)
	}
	r.tap(models.TapStart, "Ana", first, keys[0])
	plan()
	r.clock.Step(40 * time.Minute)
	r.tap(models.TapFinish, "Ana", first, keys[0])
	plan()
	r.tap(models.TapStart, "Ben", first, keys[1])
	plan()
	station := testrig.Station(t, r.snap(), "bench")
	_, err := r.store.Tap(ctx, models.TapRequest{ID: "down", Kind: models.TapDown, StationID: station.ID, PersonID: testrig.Person(t, r.snap(), "Ana"), Note: "dull"})
	require.NoError(t, err)
	plan()

	runs, err := r.store.Runs(ctx)
	require.NoError(t, err)
	require.Len(t, runs, plans)
	require.Positive(t, runs[0].TapSeq)
	for _, run := range runs {
		if run.Work == 0 { // on a machine that slow the search ended before the first plan
			continue
		}
		again, err := Remake(ctx, r.store, run.PlanID)
		require.NoError(t, err)
		assert.True(t, again.Same, "plan %d, work %d", run.PlanID, run.Work)
		assert.Empty(t, again.Other)
		assert.Positive(t, again.Compared)
		assert.Equal(t, run.Plan.Objective, again.Plan.Objective)
		assert.Equal(t, run.Plan.Bound, again.Plan.Bound)
		assert.Equal(t, run.Plan.Status, string(again.Plan.Status))
		assert.Equal(t, run.Plan.Schedules, again.Plan.Stats.Schedules)
	}
}

// A plan that was changed since, or that another program makes otherwise, is not said to be
// the same, and each step that is elsewhere is told.
func TestAnotherPlanIsToldFromTheSame(t *testing.T) {
	ctx := context.Background()
	r := newRig(t, "2026-12-01 08:00")
	r.take("A table", "2026-12-10")
	p := r.plan()
	_, text, err := r.store.Run(ctx, p.ID)
	require.NoError(t, err)
	problem, err := sequence.Read(bytes.NewReader(text))
	require.NoError(t, err)
	problem.Tasks[0].Attended += 60
	var other bytes.Buffer
	require.NoError(t, sequence.WriteProblem(&other, problem))
	runs, err := r.store.Runs(ctx)
	require.NoError(t, err)

	later := *p
	require.NoError(t, r.store.SavePlan(ctx, &later))
	run := runs[0].PlanRun
	run.PlanID = later.ID
	require.NoError(t, r.store.KeepRun(ctx, run, other.Bytes()))
	again, err := Remake(ctx, r.store, later.ID)
	require.NoError(t, err)
	assert.False(t, again.Same)
	assert.NotEmpty(t, again.Other)

	_, err = Remake(ctx, r.store, later.ID+1)
	assert.Equal(t, models.NotFound, models.CodeOf(err))
}

// A step that was taken out since is in no saved plan any more: that makes no plan another.
func TestAStepTakenOutMakesNoOtherPlan(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.take("A table", "2026-12-10")
	p := r.plan()
	out := r.snap().StepsOf(c.ID)[0]
	require.NoError(t, r.store.EditCommission(ctx, c.ID, 0, []models.Edit{models.RemoveStep{StepID: out.ID}}, nil))
	again, err := Remake(ctx, r.store, p.ID)
	require.NoError(t, err)
	assert.True(t, again.Same)
	assert.Empty(t, again.Other)
	assert.Equal(t, len(p.Steps)-1, again.Compared)
}

// What is kept of a problem says nothing that anybody typed.
func TestAKeptProblemNamesNobody(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	r.take("Hat stand for Zenobia", "2026-12-10")
	p := r.plan()
	_, text, err := r.store.Run(context.Background(), p.ID)
	require.NoError(t, err)
	snap := r.snap()
	assert.NotContains(t, string(text), "Zenobia")
	for _, person := range snap.People {
		assert.NotContains(t, string(text), person.Name)
	}
	for _, st := range snap.Stations {
		assert.NotContains(t, string(text), `"`+st.Name+`"`)
	}
}
