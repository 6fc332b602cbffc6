package handlers

import (
	"context"
	"net/http"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

// wholeShop has what a piece of any pattern asks for at its defaults.
func (r *rig) wholeShop() {
	r.Helper()
	r.moreClamps()
	_, err := r.store.SaveStation(context.Background(), models.Station{Key: "mortiser", Kind: "mortiser", Name: "Mortiser", Places: 1,
		ZoneID: testrig.Station(r.T, r.snap(), "planer").ZoneID})
	require.NoError(r, err)
}

// takePattern takes a piece of the library at its defaults.
func (t *browser) takePattern(key string) *models.Commission {
	t.Helper()
	p := t.post("/commissions/new/"+key, fieldsOf(t.get("/commissions/new/"+key).doc.Find("form.draft"), nil))
	require.Equal(t, http.StatusOK, p.status, p.text("main"))
	all := t.snap().Commissions
	newest := all[0]
	for _, c := range all {
		if c.ID > newest.ID {
			newest = c
		}
	}
	return &newest
}

// planAt stores a plan of some steps: when each starts, in minutes from now.
func (r *rig) planAt(starts map[*models.Step]int) {
	r.Helper()
	snap := r.snap()
	plan := models.Plan{Origin: snap.At, Revision: snap.Shop.Revision, Status: "feasible"}
	for st, minute := range starts {
		start := snap.At.Add(time.Duration(minute) * time.Minute)
		ends := start.Add(time.Duration(st.Attended) * time.Minute)
		plan.Steps = append(plan.Steps, models.PlanStep{StepID: st.ID, SetupStart: start, Start: start, AttendedEnd: ends,
			End: ends.Add(time.Duration(st.Unattended) * time.Minute)})
	}
	require.NoError(r, r.store.SavePlan(context.Background(), &plan))
}

// What the plan makes of an order of work is said wherever the order of work is
// looked at: here dust that rises, in the same air, while a coat is wet.
func TestTheChecksKnowWhenThePlanHasTheSteps(t *testing.T) {
	r := newRig(t)
	r.wholeShop()
	ana := r.as("Ana")
	com := ana.takePattern("hall-bench")
	coat, dusty := r.step("seat-finish.coat-1"), r.step("rails.plane")
	require.True(t, dusty.Dusty)
	edit := editHref(com.ID)
	const found = "section[aria-labelledby=found]"
	said := func(path string) bool {
		return slices.Contains(ana.get(path).texts(found+" .finding-head strong"), "Dust while a coat is wet")
	}

	assert.False(t, said(edit), "there is no plan yet")
	r.planAt(map[*models.Step]int{coat: 0, dusty: coat.Attended + 5})
	assert.False(t, said(edit), "the finish room has air of its own")

	finishRoom := *testrig.Station(t, r.snap(), "finish-room")
	finishRoom.ZoneID = testrig.Station(t, r.snap(), "planer").ZoneID
	_, err := r.store.SaveStation(context.Background(), finishRoom)
	require.NoError(t, err)
	for _, path := range []string{edit, editStepHref(coat), editStepHref(dusty), commissionHref(com.ID)} {
		assert.True(t, said(path), path)
	}
	assert.Contains(t, ana.get(edit).text(found), "raises dust while")

	r.planAt(map[*models.Step]int{coat: 0, dusty: coat.Attended + coat.Unattended + 5})
	assert.False(t, said(edit), "the coat is dry by then")
}

// works does a step, after all that comes before it.
func (t *browser) works(st *models.Step) {
	t.Helper()
	for _, l := range t.snap().Before(st.ID) {
		if before := t.snap().Step(l.BeforeID); before.State == models.Todo {
			t.works(before)
		}
	}
	t.tap(models.TapStart, st)
	t.clock.Step(time.Duration(st.Attended) * time.Minute)
	t.tap(models.TapFinish, st)
}

// What was milled days ago is judged by the journal, not by the plan.
func TestTheChecksKnowWhenAStepWasReallyDone(t *testing.T) {
	r := newRig(t)
	r.wholeShop()
	ana := r.as("Ana")
	com := ana.takePattern("hall-bench")
	ana.works(r.step("rails.plane"))
	require.Equal(t, models.Done, r.step("rails.plane").State)
	said := func() bool {
		return slices.Contains(ana.get(editHref(com.ID)).texts(".finding-head strong"), "Milled long before the joints")
	}
	r.planAt(map[*models.Step]int{r.step("rails.tenon"): 24 * 60})
	assert.False(t, said())
	r.planAt(map[*models.Step]int{r.step("rails.tenon"): 8 * 24 * 60})
	assert.True(t, said())
}
