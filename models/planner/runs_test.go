package planner

import (
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"faceside/models"
	"faceside/models/testrig"
)

// takeRun takes steps in hand together.
func (r *rig) takeRun(who string, steps ...models.ID) {
	r.Helper()
	_, err := r.store.Tap(ctx, models.TapRequest{ID: uuid.NewString(), Kind: models.TapStartRun, Steps: steps, PersonID: testrig.Person(r.T, r.snap(), who)})
	require.NoError(r, err)
}

// thickness is a step at the planer under one of its thicknesses.
func thickness(r *rig, key string, attended int, mm string) models.NewStep {
	s := job(key, attended)
	s.StationID = testrig.Station(r.T, r.snap(), "planer").ID
	s.Setup = &models.Setup{Family: "thickness", State: "thickness " + mm, Instruction: "Planer: set " + mm}
	return s
}

func TestARunInHandIsLaidOutOneAfterAnother(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	a := r.lone("One", "2026-12-04", thickness(r, "a", 30, "22 mm"))
	b := r.lone("Two", "2026-12-04", thickness(r, "b", 200, "22 mm"))
	c := r.lone("Three", "2026-12-04", thickness(r, "c", 20, "22 mm"))
	d := r.lone("Four", "2026-12-04", thickness(r, "d", 20, "30 mm"))
	r.takeRun("Ana", r.step(a, "a").ID, r.step(c, "c").ID, r.step(b, "b").ID)
	r.at("2026-12-01 08:25") // a tenth of the whole
	p := r.plan()
	assert.Empty(t, p.Note)
	for _, row := range []struct {
		of              *models.Commission
		key, start, end string
	}{
		{a, "a", "2026-12-01 08:00", "2026-12-01 08:52"}, // 27 of 30 minutes are left
		{c, "c", "2026-12-01 08:52", "2026-12-01 09:10"},
		{b, "b", "2026-12-01 09:10", "2026-12-01 12:40"}, // 180 are left, over the break
		{d, "d", "2026-12-01 12:43", "2026-12-01 13:03"}, // the reset is made after the run
	} {
		start, end, _ := r.placed(p, row.of, row.key)
		assert.Equal(t, [2]string{row.start, row.end}, [2]string{start, end}, row.key)
	}
	for _, ps := range p.Steps {
		if ps.StepID != r.step(d, "d").ID {
			assert.Equal(t, []models.ID{testrig.Person(t, r.snap(), "Ana")}, ps.PersonIDs)
		}
	}
	r.tap(models.TapFinish, "Ana", a, "a")
	start, _, _ := r.placed(r.plan(), c, "c")
	assert.Equal(t, "2026-12-01 08:25", start, "the next one's turn")
}

func TestAPersonIsThereUntilTheirRunIsDone(t *testing.T) {
	r := newRig(t, "2026-12-01 16:00")
	a := r.lone("One", "2026-12-04", thickness(r, "a", 60, "22 mm"))
	b := r.lone("Two", "2026-12-04", thickness(r, "b", 60, "22 mm"))
	ana := testrig.Person(t, r.snap(), "Ana")
	_, err := r.store.SaveDayOff(ctx, models.DayOff{Date: "2026-12-02", PersonID: &ana})
	require.NoError(t, err)
	r.takeRun("Ana", r.step(a, "a").ID, r.step(b, "b").ID)
	p := r.plan()
	assert.Equal(t, "Ana is off on 2026-12-02 but has “Step b” (Two) in hand: the plan counts Ana as there until it is done.", p.Note.String())
	_, end, _ := r.placed(p, b, "b")
	assert.Equal(t, "2026-12-02 09:00", end)
}

// Whatever stands in hand in runs, there is a plan that the checker passes.
func TestRunsInHandNeverKeepThePlanFromBeingMade(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := newRig(t, "2026-12-01 08:00")
		var ids []models.ID
		n := rapid.IntRange(2, 6).Draw(rt, "steps")
		for i := range n {
			st := thickness(r, string(rune('a'+i)), rapid.IntRange(1, 300).Draw(rt, "attended"), rapid.SampledFrom([]string{"22 mm", "30 mm"}).Draw(rt, "mm"))
			st.Hands = rapid.IntRange(1, 2).Draw(rt, "hands")
			if rapid.IntRange(0, 3).Draw(rt, "rests") == 0 {
				st.Unattended, st.Rest, st.Interruptible = 60, "in clamps", false
			}
			st.Dusty = rapid.Bool().Draw(rt, "dusty")
			c := r.lone("Commission "+st.Key, "2026-12-04", st, job("after-"+st.Key, 30))
			ids = append(ids, r.step(c, st.Key).ID)
		}
		for _, who := range []string{"Ana", "Ben"} {
			for _, o := range RunOffers(r.snap(), r.clock.Now()) {
				if rapid.Bool().Draw(rt, who+" takes it") {
					r.takeRun(who, o.Steps[:rapid.IntRange(1, len(o.Steps)).Draw(rt, "of them")]...)
					break
				}
			}
		}
		if rapid.Bool().Draw(rt, "Ana is off") {
			ana := testrig.Person(t, r.snap(), "Ana")
			_, err := r.store.SaveDayOff(ctx, models.DayOff{Date: "2026-12-01", PersonID: &ana})
			require.NoError(rt, err)
		}
		for _, id := range ids {
			r.clock.Step(time.Duration(rapid.IntRange(0, 200).Draw(rt, "minutes")) * time.Minute)
			kind := rapid.SampledFrom([]models.TapKind{models.TapFinish, models.TapPutDown, models.TapTrouble, ""}).Draw(rt, "kind")
			if st := r.snap().Step(id); st.State == models.InHand && kind != "" {
				_, err := r.store.Tap(ctx, models.TapRequest{ID: uuid.NewString(), Kind: kind, StepID: id, PersonID: *st.PersonID})
				require.NoError(rt, err)
			}
			checkPosed(rt, r.snap())
		}
	})
}

func TestRunOffers(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	a, b := r.take("Shelf A", "2026-12-08"), r.take("Shelf B", "2026-12-04")
	assert.Empty(t, RunOffers(r.snap(), r.clock.Now()), "nothing is jointed")
	r.do("Ana", a, "joint")
	r.do("Ana", b, "joint")
	r.plan()
	offers := RunOffers(r.snap(), r.clock.Now())
	require.Len(t, offers, 1)
	assert.Len(t, offers[0].Steps, 4)
	assert.Equal(t, 50, offers[0].Attended)
	_, ok := OfferFor(offers, offers[0].SetupID)
	assert.True(t, ok)
	_, ok = OfferFor(offers, 99)
	assert.False(t, ok)
}

// The run spares what the order of promised dates would set, counted by hand.
func TestWhatCanBeTakenAlong(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	a := r.lone("One", "2026-12-04", thickness(r, "a", 30, "22 mm"))
	b := r.lone("Two", "2026-12-04", thickness(r, "b", 20, "22 mm"))
	c := r.lone("Three", "2026-12-04", thickness(r, "c", 20, "22 mm"))
	r.lone("Four", "2026-12-04", thickness(r, "d", 20, "30 mm"))
	r.takeRun("Ana", r.step(a, "a").ID, r.step(b, "b").ID)
	along := func() []models.ID {
		return Along(r.snap(), r.snap().Runs[0].StationID, r.snap().Runs[0].SetupID, r.store.Now())
	}
	assert.Equal(t, []models.ID{r.step(c, "c").ID}, along(), "one alone, under the same setup")
	testrig.Down(t, r.store, "planer")
	assert.Empty(t, along())
}

// Who helps is counted as taken.
func TestWhoHelpsIsNotFree(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	s := job("a", 60)
	s.Hands = 2
	a := r.lone("One", "2026-12-04", s)
	r.tap(models.TapStart, "Ana", a, "a")
	snap := r.snap()
	ana, ben := testrig.Person(t, snap, "Ana"), testrig.Person(t, snap, "Ben")
	_, err := r.store.Tap(ctx, models.TapRequest{ID: uuid.NewString(), Kind: models.TapHelp, StepID: r.step(a, "a").ID, HelperID: ben, PersonID: ana})
	require.NoError(t, err)
	p := r.plan()
	for _, ps := range p.Steps {
		if ps.StepID == r.step(a, "a").ID {
			assert.ElementsMatch(t, []models.ID{ana, ben}, ps.PersonIDs)
		}
	}
	assert.Equal(t, r.step(a, "a").ID, newBench(r.snap(), r.store.Now()).inHand[ben].ID)
}

func TestWhatARunSaves(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	var at22 []models.ID
	for i, mm := range []string{"22 mm", "30 mm", "22 mm", "30 mm", "22 mm"} {
		key := string(rune('a' + i))
		c := r.lone("Commission "+key, "2026-12-0"+string(rune('2'+i)), thickness(r, key, 20, mm))
		if mm == "22 mm" {
			at22 = append(at22, r.step(c, key).ID)
		}
	}
	r.plan()
	snap := r.snap()
	planer := testrig.Station(t, snap, "planer").ID
	base, err := ByPromise(ctx, snap)
	require.NoError(t, err)
	assert.Equal(t, Count{4, 12}, base.Setups(planer), "as the dates come: a reset of 3 minutes each time; the first is free, for nobody has said how it stands")
	run, ok := OfferFor(RunOffers(snap, r.clock.Now()), *snap.Step(at22[0]).SetupID)
	require.True(t, ok)
	assert.Equal(t, Count{3, 9}, base.Saves(snap, run), "22 30 22 30 22 has four resets of 3 minutes, 22 22 22 30 30 one")
	run.Steps = run.Steps[:2]
	assert.Equal(t, Count{2, 6}, base.Saves(snap, run), "22 22 30 30 22 has two")
	assert.Equal(t, Count{1, 3}, PlannedSetups(snap, planer))
	again, err := r.service.ByPromise(ctx, snap)
	require.NoError(t, err)
	same, err := r.service.ByPromise(ctx, snap)
	require.NoError(t, err)
	assert.Same(t, again, same, "made once for each state of the records")
	r.lone("Another", "2026-12-04", thickness(r, "z", 20, "50 mm"))
	other, err := r.service.ByPromise(ctx, r.snap())
	require.NoError(t, err)
	assert.NotSame(t, again, other)
}

func TestAStationsQueueStandsInRuns(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	for i, mm := range []string{"22 mm", "30 mm", "22 mm"} {
		key := string(rune('a' + i))
		r.lone("Commission "+key, "2026-12-0"+string(rune('2'+i)), thickness(r, key, 20, mm))
	}
	planer := testrig.Station(t, r.snap(), "planer").ID
	setup := func(state string) models.ID {
		for _, s := range r.snap().Setups {
			if s.State == state {
				return s.ID
			}
		}
		return 0
	}
	_, err := r.store.Tap(ctx, models.TapRequest{ID: "set", Kind: models.TapSet, StationID: planer, SetupID: setup("thickness 30 mm"), PersonID: 1})
	require.NoError(t, err)
	r.plan()
	q := Queues(r.snap(), r.clock.Now())[planer]
	require.Len(t, q.Runs, 2)
	assert.Equal(t, 3, q.Steps)
	assert.Equal(t, 60, q.Attended)
	assert.False(t, q.Runs[0].Setting, "it stands so already")
	assert.Len(t, q.Runs[1].Steps, 2)
	assert.Equal(t, setup("thickness 22 mm"), q.Next().SetupID)
	assert.Equal(t, 3, q.Next().Minutes, "a reset")
}

func TestWhatMovedWhenAStationWentDown(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	r.lone("At the planer", "2026-12-02", thickness(r, "a", 60, "22 mm"))
	r.lone("Elsewhere", "2026-12-03", job("b", 60))
	before := r.plan()
	testrig.Down(t, r.store, "planer")
	r.plan()
	moved := Moved(r.snap(), before)
	require.Len(t, moved, 1)
	assert.Equal(t, "At the planer", moved[0].Name)
	assert.True(t, moved[0].From.Equal(local(t, "2026-12-01 09:00")))
	assert.True(t, moved[0].To.Equal(local(t, "2026-12-02 09:00")), "from the next working day on")
	assert.False(t, moved[0].To.After(moved[0].PromisedBy))
	assert.True(t, strings.Contains(r.snap().Plan.Note.String(), "“Planer” is out of order"))
}
