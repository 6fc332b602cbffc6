package planner

import (
	"context"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/sequence"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var ctx = context.Background()

func TestPlanOfNewCommissionsKeepsEveryRule(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00") // a Tuesday
	r.take("Shelf A", "2026-12-08")
	r.take("Shelf B", "2026-12-04")
	p := r.plan()
	assert.Len(t, p.Steps, 20)
	assert.Empty(t, p.Note)
	assert.Equal(t, r.snap().Shop.Revision, p.Revision)
	for _, s := range p.Steps {
		assert.Len(t, s.PersonIDs, 1)
	}
}

func TestStepInHandStaysAndKeepsWhatIsLeft(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.lone("One", "2026-12-04", job("a", 60), job("b", 30))
	r.tap(models.TapStart, "Ana", c, "a")
	r.at("2026-12-01 08:20")
	p := r.plan()
	start, done, _ := r.placed(p, c, "a")
	assert.Equal(t, "2026-12-01 08:00", start, "it began when it was taken")
	assert.Equal(t, "2026-12-01 09:00", done, "40 of 60 min are left")
	start, _, _ = r.placed(p, c, "b")
	assert.Equal(t, "2026-12-01 09:00", start)
	assert.Equal(t, []models.ID{testrig.Person(t, r.snap(), "Ana")}, r.snap().Planned(r.step(c, "a").ID).PersonIDs)
}

func TestStepInHandBeyondItsEstimateHasFiveMinutesLeft(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.lone("One", "2026-12-04", job("a", 60))
	r.tap(models.TapStart, "Ana", c, "a")
	r.at("2026-12-01 10:00")
	_, done, _ := r.placed(r.plan(), c, "a")
	assert.Equal(t, "2026-12-01 10:05", done)
}

func TestStepInHandGoesOnWhenTheShopOpens(t *testing.T) {
	r := newRig(t, "2026-12-01 16:30")
	glue := job("a", 60)
	glue.Interruptible = false
	c := r.lone("One", "2026-12-04", glue, job("b", 30))
	r.tap(models.TapStart, "Ana", c, "a")
	r.at("2026-12-01 18:00") // half of it was in shop hours
	p := r.plan()
	_, done, _ := r.placed(p, c, "a")
	assert.Equal(t, "2026-12-02 08:30", done)
	start, _, _ := r.placed(p, c, "b")
	assert.Equal(t, "2026-12-02 08:30", start)
}

func TestPutDownKeepsWhatWasWorkedOnlyWhereItMay(t *testing.T) {
	for _, tc := range []struct {
		name          string
		interruptible bool
		done          string
	}{{"interruptible", true, "2026-12-01 09:30"}, {"not to be interrupted", false, "2026-12-01 10:00"}} {
		t.Run(tc.name, func(t *testing.T) {
			r := newRig(t, "2026-12-01 08:00")
			st := job("a", 60)
			st.Interruptible = tc.interruptible
			c := r.lone("One", "2026-12-04", st)
			r.tap(models.TapStart, "Ana", c, "a")
			r.at("2026-12-01 08:30")
			r.tap(models.TapPutDown, "Ana", c, "a")
			r.at("2026-12-01 09:00")
			_, done, _ := r.placed(r.plan(), c, "a")
			assert.Equal(t, tc.done, done)
		})
	}
}

// inClamps is a glue-up of 30 min that holds six of the six long clamps for four hours.
func inClamps(r *rig, key string) models.NewStep {
	st := job(key, 30)
	st.Interruptible, st.Unattended, st.Rest = false, 240, "in clamps"
	for _, c := range r.snap().Clamps {
		if c.Key == "bar-1200" {
			st.Clamps = map[models.ID]int{c.ID: 6}
		}
	}
	return st
}

func TestRestHoldsClampsUntilTheClockSaysItIsOver(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	first := r.lone("First", "2026-12-04", inClamps(r, "a"), job("b", 30))
	second := r.lone("Second", "2026-12-04", inClamps(r, "a"))
	r.do("Ana", first, "a") // out at 12:30
	p := r.plan()
	start, _, end := r.placed(p, first, "a")
	assert.Equal(t, "2026-12-01 08:00", start)
	assert.Equal(t, "2026-12-01 12:30", end)
	start, _, _ = r.placed(p, second, "a")
	assert.Equal(t, "2026-12-01 12:30", start, "all long clamps are in use until then")
	start, _, _ = r.placed(p, first, "b")
	assert.Equal(t, "2026-12-01 12:30", start)

	r.at("2026-12-01 12:31") // nobody tapped: the clock alone says that the rest is over
	p = r.plan()
	assert.Len(t, p.Steps, 2, "a step whose rest is over is no longer in the plan")
	start, _, _ = r.placed(p, second, "a")
	assert.Equal(t, "2026-12-01 12:31", start)
}

func TestOutOfClampsEarlyFreesThemAtOnce(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	first := r.lone("First", "2026-12-04", inClamps(r, "a"), job("b", 30))
	r.do("Ana", first, "a")
	r.at("2026-12-01 09:00")
	r.tap(models.TapOut, "Ana", first, "a")
	p := r.plan()
	start, _, _ := r.placed(p, first, "b")
	assert.Equal(t, "2026-12-01 09:00", start)
}

func TestTroubleWaitsForTheNextWorkingDay(t *testing.T) {
	r := newRig(t, "2026-12-04 08:00") // a Friday
	c := r.lone("One", "2026-12-10", job("a", 60), job("b", 30))
	snap := r.snap()
	_, err := r.store.Tap(ctx, models.TapRequest{ID: "11111111-1111-4111-8111-111111111111", Kind: models.TapTrouble, Note: "a knot fell out",
		StepID: r.step(c, "a").ID, PersonID: testrig.Person(t, snap, "Ben")})
	require.NoError(t, err)
	p := r.plan()
	start, _, _ := r.placed(p, c, "a")
	assert.Equal(t, "2026-12-07 08:00", start)
	assert.Equal(t, "One: “Step a” is in trouble (a knot fell out): it is planned from Monday 8:00 on.", p.Note.String())
}

func TestStationOutOfOrderWaitsForTheNextWorkingDay(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.take("Shelf", "2026-12-08")
	testrig.Down(t, r.store, "planer")
	p := r.plan()
	start, _, _ := r.placed(p, c, "plane")
	assert.GreaterOrEqual(t, start, "2026-12-02 08:00")
	start, _, _ = r.placed(p, c, "joint")
	assert.Equal(t, "2026-12-01 08:00", start)
	assert.Equal(t, "“Planer” is out of order: the steps there are planned from Wednesday 8:00 on.", p.Note.String())
}

func TestHeldCommissionIsLeftOutButItsRestHoldsClamps(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	held := r.lone("Held", "2026-12-04", inClamps(r, "a"), job("b", 30))
	open := r.lone("Open", "2026-12-04", inClamps(r, "a"))
	r.do("Ana", held, "a")
	held.State = models.Held
	require.NoError(t, r.store.SaveCommission(ctx, *held))
	p := r.plan()
	assert.Len(t, p.Steps, 2, "what rests of the held one, and the open one")
	start, _, _ := r.placed(p, open, "a")
	assert.Equal(t, "2026-12-01 12:30", start)
	for _, f := range Forecasts(r.snap()) {
		assert.NotEqual(t, held.ID, f.CommissionID)
	}
}

func TestDayOffOfTheShop(t *testing.T) {
	r := newRig(t, "2026-12-01 16:30")
	c := r.lone("One", "2026-12-04", job("a", 60))
	_, err := r.store.SaveDayOff(ctx, models.DayOff{Date: "2026-12-02", Reason: "stocktaking"})
	require.NoError(t, err)
	start, done, _ := r.placed(r.plan(), c, "a")
	assert.Equal(t, "2026-12-01 16:30", start)
	assert.Equal(t, "2026-12-03 08:30", done)
}

func TestDayOffOfAPerson(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	a := r.lone("One", "2026-12-04", job("a", 240))
	b := r.lone("Two", "2026-12-04", job("a", 240))
	ana := testrig.Person(t, r.snap(), "Ana")
	_, err := r.store.SaveDayOff(ctx, models.DayOff{Date: "2026-12-01", PersonID: &ana, Reason: "course"})
	require.NoError(t, err)
	p := r.plan()
	startA, _, _ := r.placed(p, a, "a")
	startB, _, _ := r.placed(p, b, "a")
	assert.ElementsMatch(t, []string{"2026-12-01 08:00", "2026-12-01 12:30"}, []string{startA, startB}, "one pair of hands does one after the other")
	for _, s := range p.Steps {
		assert.Equal(t, []models.ID{testrig.Person(t, r.snap(), "Ben")}, s.PersonIDs)
	}
}

func TestStepInHandOfSomebodyWhoIsOff(t *testing.T) {
	r := newRig(t, "2026-12-01 16:30")
	a := r.lone("One", "2026-12-04", job("a", 60))
	r.tap(models.TapStart, "Ana", a, "a")
	ana := testrig.Person(t, r.snap(), "Ana")
	_, err := r.store.SaveDayOff(ctx, models.DayOff{Date: "2026-12-02", PersonID: &ana, Reason: "ill"})
	require.NoError(t, err)
	p := r.plan()
	_, done, _ := r.placed(p, a, "a")
	assert.Equal(t, "2026-12-02 08:30", done)
	assert.Equal(t, "Ana is off on 2026-12-02 but has “Step a” (One) in hand: the plan counts Ana as there until it is done.", p.Note.String())
}

// The clocks of Zurich go back on 25 October 2026 at 3:00: that Sunday has 25
// hours, and 8:00 on Monday is 15 hours and 1 more after 16:00 on Saturday.
func TestDaylightSavingTime(t *testing.T) {
	r := newRig(t, "2026-10-24 14:00")
	week := append(testrig.Week(), models.Hours{Weekday: time.Saturday, Opens: 8 * 60, Closes: 16 * 60}, models.Hours{Weekday: time.Sunday, Opens: 60, Closes: 5 * 60})
	require.NoError(t, r.store.SaveHours(ctx, week))
	// 120 min on Saturday, and on Sunday 5 h between 1:00 and 5:00 by the wall clock
	c := r.lone("One", "2026-10-30", job("a", 120+300), job("b", 30))
	p := r.plan()
	_, done, _ := r.placed(p, c, "a")
	assert.Equal(t, "2026-10-25 05:00", done)
	start, _, _ := r.placed(p, c, "b")
	assert.Equal(t, "2026-10-26 08:00", start)
	snap := r.snap()
	assert.Equal(t, 300, localCalendar(snap).minutes(local(t, "2026-10-25 00:00"), local(t, "2026-10-26 00:00")))
	// and forward on 28 March 2027: 1:00 to 5:00 is three hours
	assert.Equal(t, 180, localCalendar(snap).minutes(local(t, "2027-03-28 00:00"), local(t, "2027-03-29 00:00")))
}

// coats are two coats of which the second must follow within a day.
func coats(r *rig) []models.NewStep {
	var all []models.NewStep
	for _, key := range []string{"coat-1", "coat-2"} {
		st := job(key, 20)
		st.Interruptible, st.Wet, st.Unattended, st.Rest = false, true, 240, "drying"
		st.StationID = testrig.Station(r.T, r.snap(), "finish-room").ID
		all = append(all, st)
	}
	return all
}

func (r *rig) coated(promisedOn string, window int, more ...models.NewStep) *models.Commission {
	snap := r.snap()
	steps := append(coats(r), more...)
	for i := range steps {
		if steps[i].StationID == 0 {
			steps[i].StationID = testrig.Station(r.T, snap, "bench").ID
		}
	}
	n := models.NewCommission{Commission: models.Commission{Name: "Coated", PromisedOn: promisedOn, Weight: 3},
		Pieces: []models.NewPiece{{Piece: models.Piece{Name: "Coated"}, Steps: steps, Links: []models.NewLink{
			{Before: "coat-1", After: "coat-2", Link: models.Link{From: models.FromAttended, MinLag: 240, MaxLag: &window}}}}}}
	c, err := r.store.TakeCommission(ctx, n)
	require.NoError(r, err)
	return c
}

func TestRecoatWindowPutsTheFirstCoatOff(t *testing.T) {
	r := newRig(t, "2026-12-04 15:00") // a Friday afternoon: the second coat would fall on Saturday
	c := r.coated("2026-12-11", 24*60)
	p := r.plan()
	first, _, _ := r.placed(p, c, "coat-1")
	second, _, _ := r.placed(p, c, "coat-2")
	assert.Equal(t, "2026-12-07 08:00", first)
	assert.Equal(t, "2026-12-07 12:30", second)
	assert.Empty(t, p.Note)
}

func TestRunningRecoatWindowIsKept(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.coated("2026-12-11", 6*60)
	// by its promise this one would come first, and it keeps both people busy
	r.lone("Busy", "2026-12-01", job("x", 480))
	r.lone("Busy too", "2026-12-01", job("x", 480))
	r.do("Ana", c, "coat-1") // attended until 8:20: the second coat by 14:20
	second, _, _ := r.placed(r.plan(), c, "coat-2")
	assert.GreaterOrEqual(t, second, "2026-12-01 12:30")
	assert.LessOrEqual(t, second, "2026-12-01 14:20")
}

func TestOverrunRecoatWindowIsSaid(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.coated("2026-12-11", 6*60)
	r.do("Ana", c, "coat-1")
	r.at("2026-12-01 14:30")
	p := r.plan()
	second, _, _ := r.placed(p, c, "coat-2")
	assert.Equal(t, "2026-12-01 14:30", second)
	assert.Equal(t, "Coated: the recoat window of “Step coat-1” is over since 14:20: abrade before “Step coat-2”.", p.Note.String())
}

func TestRecoatWindowThatEndsWhileTheShopIsClosed(t *testing.T) {
	r := newRig(t, "2026-12-01 14:00")
	c := r.coated("2026-12-11", 6*60)
	r.do("Ana", c, "coat-1") // until 14:20: the window is 18:20 to 20:20, when nobody is there
	p := r.plan()
	second, _, _ := r.placed(p, c, "coat-2")
	assert.Equal(t, "2026-12-02 08:00", second, "the plan that is over by least")
	assert.Equal(t, "Coated: “Step coat-2” is planned for Wednesday 8:00, 11\u00a0h 40\u00a0min after the recoat window of “Step coat-1” is over: abrade before it.", p.Note.String())
}

func TestWindowsThatContradictAreLoosened(t *testing.T) {
	r := newRig(t, "2026-12-01 14:00")
	c := r.coated("2026-12-11", 240) // exactly four hours later
	tooSoon := 60
	r.mustTake("Odd", models.NewLink{Before: "a", After: "b", Link: models.Link{From: models.FromEnd, MaxLag: &tooSoon}},
		models.NewLink{Before: "a", After: "b", Link: models.Link{From: models.FromStart, MinLag: 60 * 24 * 10}})
	p := r.plan()
	assert.Len(t, p.Steps, 4)
	first, _, _ := r.placed(p, c, "coat-1")
	assert.NotEmpty(t, first)
	assert.Contains(t, p.Note.String(), "Odd: “Step b” is planned for")
	assert.Contains(t, p.Note.String(), "later than it should follow “Step a”: look it over before going on.")
}

// mustTake stores a commission of the steps a and b, half an hour each.
func (r *rig) mustTake(name string, links ...models.NewLink) *models.Commission {
	r.Helper()
	a, b := job("a", 30), job("b", 30)
	a.StationID = testrig.Station(r.T, r.snap(), "bench").ID
	b.StationID = a.StationID
	c, err := r.store.TakeCommission(ctx, models.NewCommission{Commission: models.Commission{Name: name, PromisedOn: "2026-12-11", Weight: 1},
		Pieces: []models.NewPiece{{Piece: models.Piece{Name: name}, Steps: []models.NewStep{a, b}, Links: links}}})
	require.NoError(r, err)
	return c
}

func TestRealityThatBreaksRulesIsFollowed(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	two := job("a", 60)
	two.Hands = 2
	a := r.lone("Needs two", "2026-12-04", two)
	b := r.lone("Needs one", "2026-12-04", job("a", 60))
	r.tap(models.TapStart, "Ana", a, "a")
	r.tap(models.TapStart, "Ben", b, "a")
	p := r.plan()
	assert.Len(t, p.Steps, 2)
	assert.Equal(t, "More is in hand than 2 people can hold: “Step a” (Needs one) is counted without hands.", p.Note.String())
	ana, ben := testrig.Person(t, r.snap(), "Ana"), testrig.Person(t, r.snap(), "Ben")
	assert.Contains(t, r.snap().Planned(r.step(a, "a").ID).PersonIDs, ana)
	assert.Contains(t, r.snap().Planned(r.step(b, "a").ID).PersonIDs, ben)
}

func TestDustBesideWetFinishIsFollowed(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	dusty := job("a", 60)
	dusty.Dusty = true
	dusty.StationID = testrig.Station(t, r.snap(), "finish-room").ID
	d := r.lone("Dusty", "2026-12-04", dusty, dusty2(dusty))
	c := r.coated("2026-12-04", 3000)
	r.do("Ana", c, "coat-1") // wet until 12:20
	r.tap(models.TapStart, "Ben", d, "a")
	p := r.plan()
	assert.Equal(t, "“Step a” (Dusty) raises dust in the air where “Step coat-1” (Coated) is wet: put it down or cover the finish.", p.Note.String())
	start, _, _ := r.placed(p, d, "a2")
	assert.GreaterOrEqual(t, start, "2026-12-01 12:20", "what is not in hand waits until it is dry")
}

func dusty2(st models.NewStep) models.NewStep {
	st.Key, st.Name = "a2", "Step a2"
	return st
}

func TestWhatNoShopOfThisSizeCouldDo(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	long := job("long", 300)
	long.Interruptible = false
	three := job("three", 30)
	three.Hands = 3
	c := r.lone("Too much", "2026-12-04", long, three)
	p := r.plan()
	_, done, _ := r.placed(p, c, "long")
	assert.Equal(t, "2026-12-01 13:30", done)
	assert.Equal(t, "Too much: “Step three” takes 3 people and the shop has 2: it is planned with 2.\n"+
		"Too much: “Step long” takes 5\u00a0h without a break and the shop is never open longer than 4\u00a0h 30\u00a0min at a stretch: it is planned across a break.", p.Note.String())
}

func TestNobodyAndNoHours(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.lone("One", "2026-12-04", job("a", 60))
	for _, p := range r.snap().People {
		p.Active = false
		_, err := r.store.SavePerson(ctx, p)
		require.NoError(t, err)
	}
	p := r.plan()
	assert.Equal(t, "Nobody works in the shop: the plan is for one pair of hands. Add people on the Shop screen.", p.Note.String())
	assert.Empty(t, p.Steps[0].PersonIDs)
	_, done, _ := r.placed(p, c, "a")
	assert.Equal(t, "2026-12-01 09:00", done)

	require.NoError(t, r.store.SaveHours(ctx, nil))
	_, err := r.service.Plan(ctx)
	require.ErrorIs(t, err, errNeverOpen)
	assert.Equal(t, "The shop has no opening hours: set them on the Shop screen.", r.service.Status().LastError.String())
}

func TestEmptyShopHasAnEmptyPlan(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	p := r.plan()
	assert.Empty(t, p.Steps)
	assert.Equal(t, "optimal", p.Status)
}

func TestPromiseOnADayOffIsTheClosingBefore(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	r.lone("Weekend", "2026-12-06", job("a", 60)) // a Sunday
	r.plan()
	f := Forecasts(r.snap())
	require.Len(t, f, 1)
	assert.True(t, f[0].PromisedBy.Equal(local(t, "2026-12-04 17:00")))
	assert.True(t, f[0].Ends.Equal(local(t, "2026-12-01 09:00")))
	assert.False(t, f[0].Late)
	assert.Equal(t, 3*510+450, f[0].SlackMin)
}

func TestSetupsAreChargedBySettingAndFamily(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	planer := testrig.Station(t, r.snap(), "planer")
	with := func(key, family, state string) models.NewStep {
		st := job(key, 30)
		st.StationID, st.Setup = planer.ID, &models.Setup{StationID: planer.ID, Family: family, State: state}
		return st
	}
	c := r.lone("One", "2026-12-04", with("a", "thickness", "22 mm"), with("b", "thickness", "45 mm"), with("c", "knives", "fine"))
	r.do("Ana", c, "a")
	p := r.plan()
	require.Len(t, p.Setups, 2)
	assert.Equal(t, planer.ResetMinutes, p.Setups[0].Minutes)
	assert.Equal(t, planer.SetupMinutes, p.Setups[1].Minutes)
	start, _, _ := r.placed(p, c, "b")
	assert.Equal(t, "2026-12-01 08:33", start)
}

func TestSomebodyWhoLeftHasAStepInHand(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	a, b := r.lone("Theirs", "2026-12-04", job("a", 60)), r.lone("Ours", "2026-12-04", job("a", 60))
	r.tap(models.TapStart, "Ana", a, "a")
	snap := r.snap()
	gone := &snap.People[0] // the store refuses it; records may have been changed behind
	gone.Active = false
	q, answer := checkPosed(t, snap)
	p := q.records(answer, snap.At)
	assert.Equal(t, "Ana no longer works in the shop but has “Step a” (Theirs) in hand: finish it or put it down.", p.Note.String())
	after := planned(snap, p)
	assert.Equal(t, []models.ID{gone.ID}, after.Planned(r.step(a, "a").ID).PersonIDs)
	assert.True(t, after.Planned(r.step(b, "a").ID).Start.Equal(snap.At), "the hands that are there are free")
}

// Two at one machine, and more clamps in use than the rack has.
func TestMoreInUseThanThereIs(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	var cs []*models.Commission
	for _, name := range []string{"One", "Two"} {
		st := inClamps(r, "a")
		st.StationID = testrig.Station(t, r.snap(), "drill-press").ID
		cs = append(cs, r.lone(name, "2026-12-04", st))
	}
	r.tap(models.TapStart, "Ana", cs[0], "a")
	snap := r.snap()
	st, at := stepIn(t, snap, cs[1].ID, "a"), snap.At
	st.State, st.PersonID, st.TakenAt, st.StartedAt = models.InHand, &snap.People[1].ID, &at, &at
	q, answer := checkPosed(t, snap)
	assert.Equal(t, "More is in hand at “Drill press” than it has places: “Step a” (Two) is counted beside it.\n"+
		"Two: “Step a” takes 6 of 1200 mm bar clamps and only 0 are there: it is planned with those.", q.records(answer, at).Note.String())
}

func TestSetupThatNoOpeningCouldHold(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	planer := *testrig.Station(t, r.snap(), "planer")
	planer.SetupMinutes, planer.ResetMinutes = 400, 400
	_, err := r.store.SaveStation(ctx, planer)
	require.NoError(t, err)
	var steps []models.NewStep
	for _, state := range []string{"22 mm", "45 mm"} {
		st := job("at-"+state[:2], 30)
		st.StationID, st.Interruptible = planer.ID, false
		st.Setup = &models.Setup{StationID: planer.ID, Family: "thickness", State: state}
		steps = append(steps, st)
	}
	r.lone("One", "2026-12-04", steps...)
	p := r.plan()
	require.Len(t, p.Setups, 1)
	assert.Equal(t, 270, p.Setups[0].Minutes, "the longest opening")
}

func TestWords(t *testing.T) {
	assert.Equal(t, []string{"35\u00a0min", "4\u00a0h", "4\u00a0h 20\u00a0min"}, []string{minuteWords(35), minuteWords(240), minuteWords(260)})
	now := local(t, "2026-12-01 10:00")
	for at, words := range map[string]string{"2026-12-01 08:05": "8:05", "2026-12-04 17:00": "Friday 17:00", "2026-11-27 17:00": "Friday 17:00", "2026-12-07 17:00": "Monday 17:00", "2026-12-08 08:00": "Tuesday 8 December 8:00", "2026-12-21 08:00": "Monday 21 December 8:00"} {
		assert.Equal(t, words, clockWords(local(t, at), now, now.Location()).String())
	}
	for task, ok := range map[string]bool{"step:12": true, "step:x": false, "origin": false, "away:1:2026-12-01:0": false} {
		_, is := stepOf(task)
		assert.Equal(t, ok, is, task)
	}
}

// Without either of its searches the engine finds nothing and proves nothing.
func TestASearchThatFindsNothingEndsWithAReason(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	r.coated("2026-12-11", 24*60)
	o := options{Options: sequence.Options{Work: 1, WithoutImprove: true, WithoutExact: true}}
	_, _, err := solve(ctx, r.snap(), o)
	require.EqualError(t, err, "No order was found that keeps all links, hours, stations and clamps.")
	gone, cancel := context.WithCancel(ctx)
	cancel()
	_, _, err = solve(gone, r.snap(), o)
	require.ErrorIs(t, err, context.Canceled)
}

func TestGrow(t *testing.T) {
	o := options{Options: sequence.Options{Limit: 40 * time.Millisecond}}
	var limits []time.Duration
	for o.grow() {
		limits = append(limits, o.Limit)
	}
	assert.Equal(t, []time.Duration{160 * time.Millisecond, 640 * time.Millisecond, time.Second}, limits)
	o.Limit = time.Hour
	assert.False(t, o.grow())
	assert.Equal(t, time.Second, o.Limit)
}

func TestStepOfTwoInHandWhileOneIsOff(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	two := job("a", 60)
	two.Hands = 2
	a := r.lone("Two", "2026-12-04", two)
	b := r.lone("One", "2026-12-01", job("x", 60), job("y", 60))
	d := r.lone("Other", "2026-12-01", job("z", 60))
	r.tap(models.TapStart, "Ana", a, "a")
	ben := testrig.Person(t, r.snap(), "Ben")
	_, err := r.store.SaveDayOff(ctx, models.DayOff{Date: "2026-12-01", PersonID: &ben})
	require.NoError(t, err)
	p := r.plan()
	_, done, _ := r.placed(p, a, "a")
	assert.Equal(t, "2026-12-01 09:00", done, "it is in hand, whoever helps")
	var starts []string
	for _, s := range []struct {
		c   *models.Commission
		key string
	}{{b, "x"}, {b, "y"}, {d, "z"}} {
		start, _, _ := r.placed(p, s.c, s.key)
		starts = append(starts, start)
	}
	assert.ElementsMatch(t, []string{"2026-12-01 09:00", "2026-12-01 10:00", "2026-12-01 11:00"}, starts, "then Ana is alone")
}

// Two glue-ups whose next steps must follow at once, and only one pair of hands:
// each alone would fit, both together do not.
func TestConflictIsLoosenedOnlyWhereItIs(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	snap := r.snap()
	keep := r.coated("2026-12-11", 300)
	for i := range snap.People[1:] {
		p := snap.People[1+i]
		p.Active = false
		_, err := r.store.SavePerson(ctx, p)
		require.NoError(t, err)
	}
	soon := 60
	a, b, c := job("a", 30), job("b", 200), job("c", 200)
	b.Interruptible, c.Interruptible = false, false
	for _, st := range []*models.NewStep{&a, &b, &c} {
		st.StationID = testrig.Station(t, snap, "bench").ID
	}
	link := func(before, after string) models.NewLink {
		return models.NewLink{Before: before, After: after, Link: models.Link{From: models.FromEnd, MaxLag: &soon}}
	}
	_, err := r.store.TakeCommission(ctx, models.NewCommission{Commission: models.Commission{Name: "Fork", PromisedOn: "2026-12-11", Weight: 1},
		Pieces: []models.NewPiece{{Piece: models.Piece{Name: "Fork"}, Steps: []models.NewStep{a, b, c}, Links: []models.NewLink{link("a", "b"), link("a", "c")}}}})
	require.NoError(t, err)
	p := r.plan()
	assert.Len(t, p.Steps, 5)
	assert.Regexp(t, `^Fork: “Step [bc]” is planned for .* later than it should follow “Step a”: look it over before going on\.$`, p.Note, "one of the two, and no recoat window")
	first, _, _ := r.placed(p, keep, "coat-1")
	second, _, _ := r.placed(p, keep, "coat-2")
	assert.NotEqual(t, first, second)
}
