package planner

import (
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// next plans and returns what a person is offered now, as step keys with a
// mark for those that cannot be taken yet.
func (r *rig) next(who string) (keys []string, all []Suggestion) {
	r.Helper()
	r.plan()
	snap := r.snap()
	all = Next(snap, testrig.Person(r.T, snap, who), r.clock.Now())
	for _, s := range all {
		key := snap.Step(s.StepID).Key
		if !s.Ready {
			key = "(" + key + ")"
		}
		keys = append(keys, key)
	}
	return keys, all
}

func TestNextOffersReadyStepsFirstInThePlansOrder(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.take("Shelf", "2026-12-08")
	keys, all := r.next("Ana")
	assert.Equal(t, "joint", keys[0])
	assert.Equal(t, "It comes next in the plan: “Plane the boards” and 1 other step wait for it.", all[0].Why.String())
	assert.True(t, all[0].Start.Equal(local(t, "2026-12-01 08:00")))
	assert.Equal(t, "It waits for “Joint a face and an edge”.", all[1].Why.String())
	for _, k := range keys[1:] {
		assert.Equal(t, byte('('), k[0])
	}
	r.do("Ana", c, "joint")
	keys, _ = r.next("Ana")
	assert.ElementsMatch(t, []string{"plane", "plane-rails"}, keys[:2])
	r.tap(models.TapStart, "Ana", c, "plane")
	keys, all = r.next("Ben")
	assert.NotContains(t, keys, "plane", "it is in hand")
	for i, k := range keys {
		if k == "(plane-rails)" {
			assert.Equal(t, "“Planer” is taken: Ana has “Plane the boards” there.", all[i].Why.String())
		}
	}
	r.clock.Step(15 * time.Minute)
	r.tap(models.TapFinish, "Ana", c, "plane")
	_, all = r.next("Ana")
	why := map[models.ID]string{}
	for _, s := range all {
		why[s.StepID] = s.Why.String()
	}
	assert.Equal(t, "“Planer” stands at thickness 22 mm, as this step wants it.", why[r.step(c, "plane-rails").ID])
}

func TestNextGivesEachTheirOwn(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	r.lone("One", "2026-12-04", job("a", 60), job("a2", 60))
	r.lone("Two", "2026-12-04", job("b", 60), job("b2", 60))
	ana, _ := r.next("Ana")
	ben, _ := r.next("Ben")
	assert.ElementsMatch(t, []string{"a", "b"}, []string{ana[0], ben[0]})
	assert.ElementsMatch(t, ana[:2], []string{"a", "b"}, "what the other should take comes after one's own")
}

func TestNextSaysWhoPutItDown(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.lone("One", "2026-12-04", job("a", 60))
	r.tap(models.TapStart, "Ana", c, "a")
	r.at("2026-12-01 08:20")
	r.tap(models.TapPutDown, "Ana", c, "a")
	_, all := r.next("Ana")
	assert.Equal(t, "You put it down; what is left takes 40\u00a0min.", all[0].Why.String())
	_, all = r.next("Ben")
	assert.Equal(t, "Ana put it down; what is left takes 40\u00a0min.", all[0].Why.String())
}

func TestNextKnowsClampsAirAndStationsOutOfOrder(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	first := r.lone("First", "2026-12-04", inClamps(r, "a"))
	r.lone("Second", "2026-12-04", inClamps(r, "b"))
	dusty := job("dusty", 30)
	dusty.Dusty, dusty.StationID = true, testrig.Station(t, r.snap(), "finish-room").ID
	r.lone("Third", "2026-12-04", dusty)
	down := job("down", 30)
	down.StationID = testrig.Station(t, r.snap(), "drill-press").ID
	r.lone("Fourth", "2026-12-04", down)
	c := r.coated("2026-12-04", 3000)
	testrig.Down(t, r.store, "drill-press")
	r.do("Ana", first, "a")
	r.do("Ben", c, "coat-1")
	_, all := r.next("Ana")
	snap := r.snap()
	why := map[string]string{}
	for _, s := range all {
		assert.False(t, s.Ready)
		why[snap.Step(s.StepID).Key] = s.Why.String()
	}
	assert.Equal(t, map[string]string{
		"b":      "It takes 6 of 1200 mm bar clamps and 0 are free until 12:30.",
		"dusty":  "It raises dust, and “Step coat-1” is wet in the same air until 12:50.",
		"down":   "“Drill press” is out of order.",
		"coat-2": snap.WaitsFor(r.step(c, "coat-2").ID, r.clock.Now())[0].Sentence.String(),
	}, why)
}

func TestNextKnowsWhoIsFree(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	two := job("two", 30)
	two.Hands = 2
	r.lone("Two", "2026-12-04", two)
	c := r.lone("One", "2026-12-04", job("one", 60))
	_, all := r.next("Ana")
	assert.True(t, all[0].Ready && all[1].Ready)
	r.tap(models.TapStart, "Ben", c, "one")
	_, all = r.next("Ana")
	assert.Equal(t, "It takes 2 people, and Ben has “Step one” in hand.", all[0].Why.String())
	r.tap(models.TapPutDown, "Ben", c, "one")
	ben := testrig.Person(t, r.snap(), "Ben")
	_, err := r.store.SaveDayOff(ctx, models.DayOff{Date: "2026-12-01", PersonID: &ben})
	require.NoError(t, err)
	keys, all := r.next("Ana")
	assert.Equal(t, []string{"one", "(two)"}, keys)
	assert.Equal(t, "It takes 2 people, and 1 is here today.", all[1].Why.String())
}

func TestSameSetupAcrossCommissions(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	a, b := r.take("Shelf A", "2026-12-08"), r.take("Shelf B", "2026-12-04")
	r.do("Ana", a, "joint")
	r.do("Ben", b, "joint")
	r.plan()
	snap := r.snap()
	same := SameSetup(snap, r.step(a, "plane").ID, r.clock.Now())
	assert.ElementsMatch(t, []models.ID{r.step(a, "plane").ID, r.step(a, "plane-rails").ID, r.step(b, "plane").ID, r.step(b, "plane-rails").ID}, same)
	for i := 1; i < len(same); i++ {
		assert.False(t, snap.Planned(same[i]).SetupStart.Before(snap.Planned(same[i-1]).SetupStart), "in the plan's order")
	}
	assert.Empty(t, SameSetup(snap, r.step(a, "trim").ID, r.clock.Now()), "it needs no setup")
}

func TestGateIsClosedBeforeClosingTime(t *testing.T) {
	r := newRig(t, "2026-12-01 15:00")
	r.lone("One", "2026-12-02", inClamps(r, "glue"), job("join", 60), job("sand", 30))
	r.plan()
	gates := Gates(r.snap(), r.clock.Now())
	require.Len(t, gates, 1)
	g := gates[0]
	assert.Len(t, g.Opens, 1)
	assert.Len(t, g.Holds, 2)
	assert.Equal(t, 90, g.HoldsMin)
	assert.Equal(t, local(t, "2026-12-01 17:00").UTC(), g.CloseBy.UTC())
	assert.Equal(t, "before closing time 17:00: the night then takes its 4\u00a0h in clamps", g.Why.String())
	_, all := r.next("Ana")
	assert.Equal(t, "Close it before closing time 17:00: the night then takes its 4\u00a0h in clamps; 2 steps wait for it.", all[0].Why.String())
}

func TestGateIsClosedForWhatFollows(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	r.lone("One", "2026-12-02", inClamps(r, "glue"), job("join", 60))
	r.plan() // glue until 8:30, out of clamps at 12:30, then it is joined
	gates := Gates(r.snap(), r.clock.Now())
	require.Len(t, gates, 1)
	assert.Equal(t, local(t, "2026-12-01 08:30").UTC(), gates[0].CloseBy.UTC())
	assert.Equal(t, "so that it is out of clamps when “Step join” is planned, 12:30", gates[0].Why.String())
}

func TestGatesOverTheWeekendAndOverTheBreak(t *testing.T) {
	r := newRig(t, "2026-12-04 15:00") // a Friday
	r.lone("One", "2026-12-11", inClamps(r, "glue"), job("join", 60))
	r.plan()
	gates := Gates(r.snap(), r.clock.Now())
	require.Len(t, gates, 1)
	assert.Equal(t, "before closing time 17:00: the closed days then take its 4\u00a0h in clamps", gates[0].Why.String())

	s := newRig(t, "2026-12-01 11:00")
	st := job("glue", 30)
	st.Interruptible, st.Unattended, st.Rest = false, 30, "resting"
	s.lone("One", "2026-12-01", job("before", 30), st, job("join", 60))
	s.plan()
	gates = Gates(s.snap(), s.clock.Now())
	require.Len(t, gates, 1)
	assert.Equal(t, "before the break at 12:00: the break then takes its 30\u00a0min resting", gates[0].Why.String())
}

// A wait shorter than half an hour is waited out, whatever it is; what counts is how
// long the next step is kept waiting, not how long the rest itself is.
func TestAShortWaitIsNoGate(t *testing.T) {
	for _, c := range []struct {
		rest, lag int
		from      string
		gates     int
	}{
		{15, 0, models.FromEnd, 0}, {29, 0, models.FromEnd, 0}, {30, 0, models.FromEnd, 1},
		{15, 15, models.FromEnd, 1}, // 15 min drying, and as long again until it can be rubbed down
		{15, 29, models.FromAttended, 0}, {15, 30, models.FromAttended, 1},
		{240, 10, models.FromAttended, 0}, // it goes on in its clamps
		{15, 40, models.FromStart, 0}, {15, 45, models.FromStart, 1},
	} {
		r := newRig(t, "2026-12-01 08:00")
		st := job("size", 15)
		st.Interruptible, st.Unattended, st.Rest = false, c.rest, "drying"
		r.lone("One", "2026-12-02", st, job("join", 60))
		snap := r.snap()
		for i := range snap.Links {
			snap.Links[i].From, snap.Links[i].MinLag = c.from, c.lag
		}
		assert.Len(t, Gates(snap, r.clock.Now()), c.gates, "%d min, then %d from its %s", c.rest, c.lag, c.from)
	}
}

func TestGatesWithoutAPlan(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	r.lone("One", "2026-12-02", inClamps(r, "glue"), job("join", 60))
	gates := Gates(r.snap(), r.clock.Now())
	require.Len(t, gates, 1)
	assert.True(t, gates[0].CloseBy.IsZero())
	assert.Equal(t, "1 steps wait for it", gates[0].Why.String(), "the catalogue has the plural")
	assert.Empty(t, Forecasts(r.snap()))
	assert.Zero(t, FloatMin(r.snap(), gates[0].StepID))
}

func TestFloat(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.lone("One", "2026-12-01", job("a", 60), job("b", 120)) // planned until 11:00, promised by 17:00
	r.plan()
	snap := r.snap()
	assert.Equal(t, 60+270, FloatMin(snap, r.step(c, "a").ID))
	assert.Equal(t, 60+270, FloatMin(snap, r.step(c, "b").ID))
	late := r.lone("Late", "2026-12-01", job("x", 600))
	r.plan()
	snap = r.snap()
	assert.Zero(t, FloatMin(snap, r.step(late, "x").ID), "it is late already")
}

func TestDelay(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.lone("One", "2026-12-01", job("a", 60), inClamps(r, "glue"), job("b", 120)) // out of clamps at 13:30, done at 15:30
	r.plan()
	snap := r.snap()
	assert.Equal(t, 90, FloatMin(snap, r.step(c, "a").ID))
	assert.Empty(t, Delay(snap, r.step(c, "a").ID, 0).Slips)
	slips := Delay(snap, r.step(c, "a").ID, 120).Slips
	require.Len(t, slips, 1)
	assert.True(t, slips[0].From.Equal(local(t, "2026-12-01 15:30")))
	assert.True(t, slips[0].To.Equal(local(t, "2026-12-02 08:30")), "half an hour is left at 17:00")
	assert.True(t, slips[0].PromisedBy.Equal(local(t, "2026-12-01 17:00")))
	_, all := r.next("Ana")
	assert.Equal(t, "It comes next in the plan: “Step glue” waits for it.", all[0].Why.String())

	r.at("2026-12-01 09:00")
	_, all = r.next("Ana") // everything is an hour later now, with half an hour of float
	assert.Equal(t, "If this waits an hour, “One” is ready Wednesday 8:30, after its promise (17:00).", all[0].Why.String())
}

func TestForecastOfALateCommission(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	r.lone("Late", "2026-12-01", job("x", 600))
	r.plan()
	f := Forecasts(r.snap())
	require.Len(t, f, 1)
	assert.True(t, f[0].Late)
	assert.Equal(t, 510-600, f[0].SlackMin)
	_, all := r.next("Ana")
	assert.Equal(t, "“Late” is late already: if this waits an hour, it is ready Wednesday 10:30 instead of Wednesday 9:30.", all[0].Why.String())
}

func TestCommissionWithNothingLeftEndsNow(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.lone("Done", "2026-12-01", job("x", 60))
	r.do("Ana", c, "x")
	r.plan()
	f := Forecasts(r.snap())
	require.Len(t, f, 1)
	assert.True(t, f[0].Ends.Equal(r.clock.Now()))
	assert.False(t, f[0].Late)
}
