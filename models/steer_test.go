package models_test

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// steerBench is a bench whose glue-ups rest as the shop's glue says, so that they may
// have another glue.
func steerBench(t testing.TB) *bench {
	t.Helper()
	clock := testrig.Monday()
	b := &bench{t: t, clock: clock, store: testrig.Shop(t, clock)}
	n := testrig.NewCommission(t, b.store, "Shelf for the hall", "2026-03-20")
	for i := range n.Pieces[0].Steps {
		if st := &n.Pieces[0].Steps[i]; st.Rest == "in clamps" {
			st.Unattended = 50 // 45 min near 21 °C, at 20 °C
		}
	}
	_, err := b.store.TakeCommission(context.Background(), n)
	require.NoError(t, err)
	testrig.Commission(t, b.store, "Second shelf", "2026-03-27")
	snap := b.snap()
	b.ana, b.ben = testrig.Person(t, snap, "Ana"), testrig.Person(t, snap, "Ben")
	_, err = b.store.SaveDayOff(context.Background(), models.DayOff{Date: "2026-03-25", PersonID: &b.ben, Reason: "Course"})
	require.NoError(t, err)
	return b
}

func (b *bench) glueNamed(name string) models.ID {
	for _, g := range b.snap().Glues {
		if g.Name == name {
			return g.ID
		}
	}
	require.Failf(b.t, "no such glue", "%q", name)
	return 0
}

func (b *bench) finishNamed(name string) models.ID {
	for _, f := range b.snap().Finishes {
		if f.Name == name {
			return f.ID
		}
	}
	require.Failf(b.t, "no such finish", "%q", name)
	return 0
}

// keep keeps changes that must be possible.
func (b *bench) keep(changes ...models.Steer) []models.Steered {
	b.t.Helper()
	kept, err := b.steer(changes...)
	require.NoError(b.t, err)
	return kept
}

func (b *bench) steer(changes ...models.Steer) ([]models.Steered, error) {
	return b.store.Steer(context.Background(), b.id(), changes, b.ana, b.snap().Shop.Revision)
}

// oneOfEach is a change of each kind that the bench allows, by kind.
func (b *bench) oneOfEach() map[models.SteerKind]models.Steer {
	snap := b.snap()
	com, clamps, planer := snap.Commissions[0].ID, snap.Clamps[0].ID, testrig.Station(b.t, snap, "planer").ID
	return map[models.SteerKind]models.Steer{
		models.SteerPin:     {Kind: models.SteerPin, StepID: b.step("sand").ID, Date: "2026-03-05", Timed: true, Opens: 9 * 60},
		models.SteerGive:    {Kind: models.SteerGive, StepID: b.step("trim").ID, PersonID: b.ben},
		models.SteerHold:    {Kind: models.SteerHold, CommissionID: snap.Commissions[1].ID},
		models.SteerWeight:  {Kind: models.SteerWeight, CommissionID: com, Weight: 9},
		models.SteerPromise: {Kind: models.SteerPromise, CommissionID: com, Date: "2026-03-24"},
		models.SteerDayOff:  {Kind: models.SteerDayOff, Date: "2026-03-04", PersonID: b.ana, Name: "Dentist"},
		models.SteerDayBack: {Kind: models.SteerDayBack, DayOffID: snap.DaysOff[0].ID},
		models.SteerHours:   {Kind: models.SteerHours, Date: "2026-03-07", Opens: 8 * 60, Closes: 12 * 60},
		models.SteerWeek:    {Kind: models.SteerWeek, Week: shorterFridays()},
		models.SteerHands:   {Kind: models.SteerHands, Name: "Cleo", Date: "2026-03-03", Until: "2026-03-04"},
		models.SteerStation: {Kind: models.SteerStation, StationID: planer, Date: "2026-03-10", Until: "2026-03-11"},
		models.SteerDown:    {Kind: models.SteerDown, StationID: planer, Name: "Blade dull"},
		models.SteerLend:    {Kind: models.SteerLend, ClampClassID: clamps, Count: 4, Date: "2026-03-02", Until: "2026-03-06"},
		models.SteerBorrow:  {Kind: models.SteerBorrow, ClampClassID: clamps, Count: 6, Date: "2026-03-09", Until: "2026-03-10"},
		models.SteerGlue:    {Kind: models.SteerGlue, CommissionID: com, MaterialID: b.glueNamed("Slow PVA glue")},
		models.SteerFinish:  {Kind: models.SteerFinish, CommissionID: com, MaterialID: b.finishNamed("Waterborne clear coat")},
		models.SteerResume:  {Kind: models.SteerResume, CommissionID: snap.Commissions[1].ID}, // once it is held
	}
}

// shorterFridays is the week of the bench with Fridays until one.
func shorterFridays() []models.Opens {
	var week []models.Opens
	for _, h := range testrig.Week() {
		if h.Weekday == time.Friday && h.Opens < 12*60 {
			h.Closes = 13 * 60
		}
		if h.Weekday != time.Friday || h.Opens < 12*60 {
			week = append(week, models.Opens{Weekday: h.Weekday, Opens: h.Opens, Closes: h.Closes})
		}
	}
	return week
}

// records are those of a snapshot that changes touch, without what only counts.
func (b *bench) records() []any {
	snap := b.snap()
	for i := range snap.Commissions {
		snap.Commissions[i].Edition = 0
	}
	return []any{snap.Hours, snap.DaysOff, snap.People, snap.Stations, snap.Clamps, snap.Commissions, snap.Steps, snap.Links,
		snap.ExtraHours, snap.Stays, snap.Closures, snap.Loans, snap.Wanted}
}

// What is tried leaves no trace, and the trial sees all of it.
func TestTryingKeepsNothing(t *testing.T) {
	b := steerBench(t)
	before, revision := b.records(), b.snap().Shop.Revision
	told := 0
	defer b.store.OnChange(func(models.Change) { told++ })()
	for kind, change := range b.oneOfEach() {
		if kind == models.SteerResume {
			continue
		}
		tried, err := b.store.Try(context.Background(), []models.Steer{change})
		require.NoError(t, err, kind)
		require.Len(t, tried.Says, 1)
		assert.NotEmpty(t, tried.Says[0].String())
		assert.Equal(t, before, b.records(), kind)
	}
	assert.Zero(t, told)
	assert.Equal(t, revision, b.snap().Shop.Revision)
	all, err := b.store.WhatWasSteered(context.Background(), 10)
	require.NoError(t, err)
	assert.Empty(t, all)
}

// A trial that edits a commission must not be what later readings take for its steps.
func TestTrialIsNotKeptInTheCache(t *testing.T) {
	b := steerBench(t)
	glue := b.oneOfEach()[models.SteerGlue]
	tried, err := b.store.Try(context.Background(), []models.Steer{glue})
	require.NoError(t, err)
	assert.Equal(t, 100, testrig.Step(t, tried.Snapshot, "glue-panel").Unattended)
	// The commission gets the edition of the trial by another change.
	com := b.snap().Commissions[0]
	require.NoError(t, b.store.EditCommission(context.Background(), com.ID, com.Edition,
		[]models.Edit{models.RemoveStep{StepID: b.step("sand").ID}}, nil))
	assert.Equal(t, tried.Snapshot.Commissions[0].Edition, b.snap().Commissions[0].Edition)
	assert.Equal(t, 50, b.step("glue-panel").Unattended)
}

func TestEachKindIsKept(t *testing.T) {
	b := steerBench(t)
	all := b.oneOfEach()
	says := map[models.SteerKind]string{
		models.SteerPin:     "“Sand the shelf” (Shelf for the hall) is begun on Thu 5 Mar at 9:00",
		models.SteerGive:    "Ben does “Trim the panel” (Shelf for the hall)",
		models.SteerHold:    "“Second shelf” is held",
		models.SteerResume:  "“Second shelf” goes on",
		models.SteerWeight:  "“Shelf for the hall” has the weight 9 instead of 3",
		models.SteerPromise: "“Shelf for the hall” is promised for Tue 24 Mar instead of Fri 20 Mar",
		models.SteerDayOff:  "Ana is off on Wed 4 Mar",
		models.SteerDayBack: "Ben works on Wed 25 Mar after all",
		models.SteerHours:   "The shop is open on Sat 7 Mar from 8:00–12:00 too",
		models.SteerWeek:    "The shop is open Mon–Thu 8:00–12:00, 12:30–17:00; Fri 8:00–13:00, week by week",
		models.SteerHands:   "Cleo lends a hand from Tue 3 Mar to Wed 4 Mar",
		models.SteerStation: "“Planer” is down from Tue 10 Mar to Wed 11 Mar",
		models.SteerDown:    "“Planer” is out of order from now on (Blade dull)",
		models.SteerLend:    "4 of 600 mm bar clamps are lent from Mon 2 Mar to Fri 6 Mar",
		models.SteerBorrow:  "6 more of 600 mm bar clamps are borrowed from Mon 9 Mar to Tue 10 Mar",
		models.SteerGlue:    "What is still to be glued of “Shelf for the hall” is glued with Slow PVA glue",
		models.SteerFinish:  "“Shelf for the hall” is coated with Waterborne clear coat",
	}
	for _, kind := range []models.SteerKind{models.SteerHold, models.SteerResume} {
		assert.Equal(t, says[kind], b.keep(all[kind])[0].Says.String())
	}
	for _, kind := range models.SteerKinds() {
		if kind != models.SteerHold && kind != models.SteerResume {
			assert.Equal(t, says[kind], b.keep(all[kind])[0].Says.String())
		}
	}
	snap := b.snap()
	zone := when(t, "2026-03-02 12:00").Location()
	cal := snap.Calendar(zone)
	at, _ := b.step("sand").Pinned()
	assert.Equal(t, *when(t, "2026-03-05 09:00"), at.In(zone))
	assert.Equal(t, b.ben, *snap.Wants(b.step("trim").ID).PersonID)
	assert.Equal(t, 9, snap.Commissions[0].Weight)
	assert.Len(t, cal.Day(*when(t, "2026-03-07 12:00"), 0), 1)
	assert.Equal(t, time.Hour*4, cal.Day(*when(t, "2026-03-07 12:00"), 0)[0].To.Sub(cal.Day(*when(t, "2026-03-07 12:00"), 0)[0].From))
	cleo := testrig.Person(t, snap, "Cleo")
	assert.False(t, cal.Away("2026-03-03")[cleo])
	assert.True(t, cal.Away("2026-03-05")[cleo])
	assert.True(t, cal.Away("2026-03-04")[b.ana])
	assert.False(t, cal.Away("2026-03-25")[b.ben])
	assert.True(t, cal.Gone(cleo, "2026-03-05"))
	assert.True(t, snap.ClosedOn(testrig.Station(t, snap, "planer").ID, "2026-03-11"))
	planer := snap.Station(testrig.Station(t, snap, "planer").ID)
	assert.True(t, planer.Down)
	assert.Len(t, cal.Day(*when(t, "2026-03-06 12:00"), 0), 1, "a Friday until one")
	assert.Equal(t, -4, snap.Borrowed(snap.Clamps[0].ID, "2026-03-02"))
	assert.Equal(t, 6, snap.Borrowed(snap.Clamps[0].ID, "2026-03-10"))
	assert.Equal(t, 100, b.step("glue-panel").Unattended)
	coat := b.step("coat-1")
	assert.Equal(t, 60, coat.Unattended)
	assert.NotContains(t, coat.Cautions, "Rags can catch fire by themselves: dry them flat, or under water in a closed metal bin.")
	assert.Equal(t, 120, snap.Before(b.step("coat-2").ID)[0].MinLag)
	rows, err := b.store.WhatWasSteered(context.Background(), 50)
	require.NoError(t, err)
	require.Len(t, rows, len(models.SteerKinds()))
	assert.Equal(t, models.SteerFinish, rows[0].Change.Kind, "newest first")
	assert.Equal(t, b.ana, *rows[0].KeptBy)
	assert.Nil(t, rows[0].LetGoAt)
}

// Whatever is kept, letting it go in the reverse order leaves the records as they were.
func TestLettingGoPutsBack(t *testing.T) {
	b := steerBench(t)
	changes := slices.Collect(maps.Values(b.oneOfEach()))
	changes = append(changes, models.Steer{Kind: models.SteerPin, StepID: b.step("sand").ID, Date: "2026-03-06"},
		models.Steer{Kind: models.SteerHours, PersonID: b.ben, Date: "2026-03-07", Opens: 13 * 60, Closes: 15 * 60},
		models.Steer{Kind: models.SteerPin, StepID: b.step("trim").ID, Date: "2026-03-06"}, models.Steer{Kind: models.SteerGive, StepID: b.step("trim").ID, PersonID: b.ana})
	slices.SortFunc(changes, func(x, y models.Steer) int { return strings.Compare(fmt.Sprint(x), fmt.Sprint(y)) })
	before := b.records()
	rapid.Check(t, func(r *rapid.T) {
		var kept []models.Steered
		for _, change := range rapid.SliceOfN(rapid.SampledFrom(changes), 1, 8).Draw(r, "changes") {
			rows, err := b.steer(change)
			if err == nil {
				kept = append(kept, rows...)
			}
		}
		for i := len(kept) - 1; i >= 0; i-- {
			require.NoError(r, b.store.LetGo(context.Background(), kept[i].ID, b.ben), kept[i].Says)
			require.NoError(r, b.store.LetGo(context.Background(), kept[i].ID, b.ana), "twice is once")
		}
		assert.Equal(r, before, b.records())
		rows, err := b.store.WhatWasSteered(context.Background(), len(kept))
		require.NoError(r, err)
		for _, row := range rows {
			require.NotNil(r, row.LetGoAt)
			assert.Equal(r, b.ben, *row.LetGoBy)
		}
	})
}

// All or none are kept, the same act once, and not what was thought out on other records.
func TestKeepingTogether(t *testing.T) {
	b := steerBench(t)
	ctx := context.Background()
	all := b.oneOfEach()
	before := b.records()
	bad := models.Steer{Kind: models.SteerHours, Date: "2026-03-03", Opens: 16 * 60, Closes: 19 * 60}
	_, err := b.steer(all[models.SteerWeight], bad)
	refused(t, err, models.Invalid, "The hours 16:00–19:00 overlap those of Tue 3 Mar, 12:30–17:00.")
	assert.Equal(t, before, b.records())

	seen := b.snap().Shop.Revision
	first, err := b.store.Steer(ctx, "act", []models.Steer{all[models.SteerHold], all[models.SteerResume]}, 0, seen)
	require.NoError(t, err)
	again, err := b.store.Steer(ctx, "act", []models.Steer{all[models.SteerHold]}, b.ana, seen)
	require.NoError(t, err)
	require.Len(t, again, 2)
	assert.Equal(t, first[0].ID, again[0].ID)
	assert.Nil(t, again[0].KeptBy, "nobody was at the tablet")

	_, err = b.store.Steer(ctx, "other", []models.Steer{all[models.SteerDayOff]}, b.ana, seen)
	refused(t, err, models.Stale, "Something was changed since you looked. This is how it looks now: keep it if it is still right.")
	seen = b.snap().Shop.Revision
	b.tap(models.TapStart, "joint", b.ben)
	_, err = b.store.Steer(ctx, "other", []models.Steer{all[models.SteerDayOff]}, b.ana, seen)
	require.NoError(t, err, "a tap that only says how far the work is does not matter")
}

// Each refusal names the field and the value, and says why.
func TestSteeringIsRefused(t *testing.T) {
	b := steerBench(t)
	snap := b.snap()
	sand, glue := b.step("sand").ID, b.step("glue-panel").ID
	planer, clamps := testrig.Station(t, snap, "planer").ID, snap.Clamps[0].ID
	com, other := snap.Commissions[0].ID, snap.Commissions[1].ID
	b.keep(models.Steer{Kind: models.SteerPin, StepID: glue, Date: "2026-03-04"})
	b.keep(models.Steer{Kind: models.SteerPin, StepID: testrig.Step(t, snap, "plane").ID, Date: "2026-03-03", Timed: true, Opens: 13 * 60})
	b.keep(models.Steer{Kind: models.SteerLend, ClampClassID: clamps, Count: 3, Date: "2026-03-16", Until: "2026-03-18"})
	b.keep(models.Steer{Kind: models.SteerHands, Name: "Cleo", Date: "2026-03-12"})
	b.keep(models.Steer{Kind: models.SteerStation, StationID: planer, Date: "2026-03-12"})
	b.keep(models.Steer{Kind: models.SteerDayOff, Date: "2026-03-13", Name: "Fair"})
	b.tap(models.TapStart, "joint", b.ana)
	jointer := testrig.Station(t, snap, "jointer").ID
	b.keep(models.Steer{Kind: models.SteerPin, StepID: b.step("trim").ID, Date: "2026-03-06"})
	b.keep(models.Steer{Kind: models.SteerHours, PersonID: b.ana, Date: "2026-03-05", Opens: 17 * 60, Closes: 19 * 60})
	b.keep(models.Steer{Kind: models.SteerDayOff, PersonID: b.ben, Date: "2026-03-11"})
	cleo := testrig.Person(t, b.snap(), "Cleo")
	past, err := b.store.SaveDayOff(context.Background(), models.DayOff{Date: "2026-02-27"})
	require.NoError(t, err)
	var week []models.Opens
	for _, h := range testrig.Week() {
		week = append(week, models.Opens{Weekday: h.Weekday, Opens: h.Opens, Closes: h.Closes})
	}
	for _, c := range []struct {
		change   models.Steer
		code     models.Code
		field    string
		value    string
		sentence string
	}{
		{models.Steer{Kind: "wish"}, models.Invalid, "kind", "wish", `There is no change of the kind "wish".`},
		{models.Steer{Kind: models.SteerDayOff, Date: "soon"}, models.Invalid, "date", "soon", `"soon" is not a day such as 2026-03-31.`},
		{models.Steer{Kind: models.SteerDayOff, Date: "2026-02-27"}, models.Invalid, "date", "2026-02-27", "Fri 27 Feb is past: today is Mon 2 Mar."},
		{models.Steer{Kind: models.SteerDayOff, Date: "2028-02-27"}, models.Invalid, "date", "2028-02-27", "Sun 27 Feb is more than a year ahead."},
		{models.Steer{Kind: models.SteerDayOff, Date: "2026-03-04"}, models.Conflict, "date", "2026-03-04", "Wed 4 Mar cannot be a day off: “Glue up the panel” (Shelf for the hall) is pinned to Wed 4 Mar. Let go of that pin first."},
		{models.Steer{Kind: models.SteerDayOff, Date: "2026-03-13"}, models.Invalid, "date", "2026-03-13", "2026-03-13 is a day off already."},
		{models.Steer{Kind: models.SteerDayOff, Date: "2026-03-10", PersonID: 99}, models.NotFound, "person", "99", "There is no person with number 99."},
		{models.Steer{Kind: models.SteerDayBack}, models.NotFound, "day off", "0", "There is no day off with number 0."},
		{models.Steer{Kind: models.SteerDayBack, DayOffID: past.ID}, models.Invalid, "off", "2026-02-27", "Fri 27 Feb is past: today is Mon 2 Mar."},
		{models.Steer{Kind: models.SteerHours, Date: "2026-03-02", Opens: 6 * 60, Closes: 7 * 60}, models.Invalid, "opens", "6:00–7:00", "The hours 6:00–7:00 of today begin in the past: it is 8:30."},
		{models.Steer{Kind: models.SteerHours, Date: "2026-03-03", Opens: 19 * 60, Closes: 18 * 60}, models.Invalid, "closes", "19:00–18:00", "The hours 19:00–18:00 do not open before they close within one day."},
		{models.Steer{Kind: models.SteerHours, Date: "2026-03-13", Opens: 18 * 60, Closes: 19 * 60}, models.Conflict, "date", "2026-03-13", "Fri 13 Mar is a day off of the whole shop (Fair): take that back first."},
		{models.Steer{Kind: models.SteerHours, PersonID: b.ben, Date: "2026-03-03", Opens: 16 * 60, Closes: 19 * 60}, models.Invalid, "opens", "16:00–19:00", "The hours 16:00–19:00 overlap those of Tue 3 Mar, 12:30–17:00."},
		{models.Steer{Kind: models.SteerHours, PersonID: b.ana, Date: "2026-03-05", Opens: 18 * 60, Closes: 20 * 60}, models.Invalid, "opens", "18:00–20:00", "The hours 18:00–20:00 overlap those that Ana works on Thu 5 Mar, 17:00–19:00."},
		{models.Steer{Kind: models.SteerHours, Date: "2026-03-05", Opens: 18 * 60, Closes: 20 * 60}, models.Invalid, "opens", "18:00–20:00", "The hours 18:00–20:00 overlap those that Ana works on Thu 5 Mar, 17:00–19:00."},
		{models.Steer{Kind: models.SteerHours, PersonID: b.ben, Date: "2026-03-11", Opens: 18 * 60, Closes: 20 * 60}, models.Conflict, "date", "2026-03-11", "Ben is off on Wed 11 Mar: take that back first."},
		{models.Steer{Kind: models.SteerHours, PersonID: cleo, Date: "2026-03-11", Opens: 18 * 60, Closes: 20 * 60}, models.Conflict, "date", "2026-03-11", "Cleo is not there on Wed 11 Mar."},
		{models.Steer{Kind: models.SteerHours, PersonID: 99, Date: "2026-03-11", Opens: 18 * 60, Closes: 20 * 60}, models.NotFound, "person", "99", "There is no person with number 99."},
		{models.Steer{Kind: models.SteerWeek}, models.Invalid, "hours", "", "With these hours the shop would never be open."},
		{models.Steer{Kind: models.SteerWeek, Week: []models.Opens{{Weekday: 1, Opens: 480, Closes: 900}, {Weekday: 1, Opens: 840, Closes: 1020}}}, models.Invalid, "hours", "14:00–17:00", "The hours of Monday overlap: 8:00–15:00 and 14:00–17:00."},
		{models.Steer{Kind: models.SteerWeek, Week: []models.Opens{{Weekday: 1, Opens: 480, Closes: 400}}}, models.Invalid, "hours", "8:00–6:40", "The hours of Monday, 8:00–6:40, do not open before they close within one day."},
		{models.Steer{Kind: models.SteerWeek, Week: week[:len(week)-2]}, models.Conflict, "hours", "Fri 6 Mar", "The shop would be closed then: “Trim the panel” (Shelf for the hall) is pinned to Fri 6 Mar. Let go of that pin first."},
		{models.Steer{Kind: models.SteerWeek, Week: week}, models.Conflict, "hours", "Mon–Fri 8:00–12:00, 12:30–17:00", "These are the hours of the week already: Mon–Fri 8:00–12:00, 12:30–17:00."},
		{models.Steer{Kind: models.SteerDown, StationID: 99}, models.NotFound, "station", "99", "There is no station with number 99."},
		{models.Steer{Kind: models.SteerDown, StationID: jointer, Name: strings.Repeat("x", 1001)}, models.Invalid, "reason", strings.Repeat("x", 1001), "The reason has 1001 characters; at most 1000 can be kept."},
		{models.Steer{Kind: models.SteerHands, Name: "ana", Date: "2026-03-03"}, models.Invalid, "name", "Ana", "Ana works here already."},
		{models.Steer{Kind: models.SteerHands, Name: " ", Date: "2026-03-03"}, models.Invalid, "name", " ", "The name is empty."},
		{models.Steer{Kind: models.SteerHands, Name: "Cleo", Date: "2026-03-10", Until: "2026-03-12"}, models.Invalid, "date", "2026-03-10", "Cleo is there on Thu 12 Mar already."},
		{models.Steer{Kind: models.SteerHands, Name: "Dee", Date: "2026-03-10", Until: "2026-03-09"}, models.Invalid, "until", "2026-03-09", "The last day Mon 9 Mar is before the first, Tue 10 Mar."},
		{models.Steer{Kind: models.SteerStation, StationID: planer, Date: "2026-03-12"}, models.Invalid, "date", "2026-03-12", "“Planer” is closed on Thu 12 Mar already."},
		{models.Steer{Kind: models.SteerStation, StationID: planer, Date: "2026-03-02", Until: "2026-03-04"}, models.Conflict, "date", "2026-03-02", "“Planer” cannot be closed from Mon 2 Mar to Wed 4 Mar: “Plane the boards” is pinned there to Tue 13:00. Let go of that pin first."},
		{models.Steer{Kind: models.SteerStation, StationID: jointer, Date: "2026-03-02"}, models.Conflict, "date", "2026-03-02", "“Jointer” cannot be closed today: “Joint a face and an edge” is in hand there."},
		{models.Steer{Kind: models.SteerLend, ClampClassID: clamps, Count: 11, Date: "2026-03-09"}, models.Invalid, "count", "11", "11 of 600 mm bar clamps cannot be lent: the shop has 10."},
		{models.Steer{Kind: models.SteerLend, ClampClassID: clamps, Count: 8, Date: "2026-03-17"}, models.Invalid, "count", "8", "8 of 600 mm bar clamps cannot be lent: the shop has 10, and 3 of them are lent then already."},
		{models.Steer{Kind: models.SteerLend, ClampClassID: clamps, Count: 6, Date: "2026-03-04"}, models.Conflict, "count", "6", "6 of 600 mm bar clamps cannot be lent: “Glue up the panel” takes 5 and is pinned to Wed 4 Mar."},
		{models.Steer{Kind: models.SteerBorrow, ClampClassID: clamps, Count: 0, Date: "2026-03-04"}, models.Invalid, "count", "0", "The count 0 is not between 1 and 1000."},
		{models.Steer{Kind: models.SteerHold, CommissionID: 99}, models.NotFound, "commission", "99", "There is no commission with number 99."},
		{models.Steer{Kind: models.SteerResume, CommissionID: other}, models.Conflict, "commission", "Second shelf", "“Second shelf” is open already."},
		{models.Steer{Kind: models.SteerWeight, CommissionID: com, Weight: 10}, models.Invalid, "weight", "10", "The weight 10 is not between 1 and 9."},
		{models.Steer{Kind: models.SteerPromise, CommissionID: com, Date: "2026-03-01"}, models.Invalid, "date", "2026-03-01", "Sun 1 Mar is past: today is Mon 2 Mar."},
		{models.Steer{Kind: models.SteerPin, StepID: sand, Date: "2026-03-07"}, models.Invalid, "date", "2026-03-07", "“Sand the shelf” cannot be pinned to Sat 7 Mar: the shop is closed that day."},
		{models.Steer{Kind: models.SteerPin, StepID: sand, Date: "2026-03-02", Timed: true, Opens: 9 * 60}, models.Invalid, "time", "2026-03-02 09:00", "“Sand the shelf” cannot be pinned to 9:00: it can begin Tue 17:12 at the earliest, after “Glue the rails to the panel”."},
		{models.Steer{Kind: models.SteerPin, StepID: b.step("joint").ID, Date: "2026-03-05"}, models.Conflict, "step", "Joint a face and an edge", "“Joint a face and an edge” is in hand: only a step that is not begun can be pinned."},
		{models.Steer{Kind: models.SteerGive, StepID: sand, PersonID: 99}, models.NotFound, "person", "99", "There is no person with number 99."},
		{models.Steer{Kind: models.SteerGlue, CommissionID: com, MaterialID: b.glueNamed("PVA glue")}, models.Conflict, "glue", "PVA glue", "Nothing that is still to be done of “Shelf for the hall” could be done with PVA glue instead."},
	} {
		t.Run(fmt.Sprintf("%s %s", c.change.Kind, c.sentence), func(t *testing.T) {
			before := b.records()
			_, err := b.steer(c.change)
			refused(t, err, c.code, c.sentence)
			var known *models.Error
			require.ErrorAs(t, err, &known)
			assert.Equal(t, c.field, known.Field)
			assert.Equal(t, c.value, known.Value)
			_, tried := b.store.Try(context.Background(), []models.Steer{c.change})
			assert.EqualError(t, tried, c.sentence)
			assert.Equal(t, before, b.records())
		})
	}
}

// A day off that was worked on after all comes back with its reason and when it was noted,
// unless somebody has entered it since, or something is pinned to it by now.
func TestADayOffThatWasTakenBackComesBack(t *testing.T) {
	b := steerBench(t)
	ctx := context.Background()
	was := b.snap().DaysOff[0]
	change := models.Steer{Kind: models.SteerDayBack, DayOffID: was.ID}
	kept := b.keep(change)[0]
	other, err := b.store.SaveDayOff(ctx, models.DayOff{Date: "2026-03-18"})
	require.NoError(t, err)
	require.Equal(t, was.ID, other.ID, "another has its number by now")
	b.clock.Step(24 * time.Hour)
	require.NoError(t, b.store.LetGo(ctx, kept.ID, b.ana))
	days := b.snap().DaysOff
	require.Len(t, days, 2)
	was.ID = days[1].ID
	assert.Equal(t, []models.DayOff{other, was}, days)

	kept = b.keep(models.Steer{Kind: models.SteerDayBack, DayOffID: was.ID})[0]
	again, err := b.store.SaveDayOff(ctx, models.DayOff{Date: was.Date, PersonID: was.PersonID})
	require.NoError(t, err)
	require.NoError(t, b.store.LetGo(ctx, kept.ID, b.ana))
	assert.Equal(t, []models.DayOff{other, again}, b.snap().DaysOff, "it is there already")

	kept = b.keep(models.Steer{Kind: models.SteerDayBack, DayOffID: other.ID})[0]
	b.keep(models.Steer{Kind: models.SteerPin, StepID: b.step("sand").ID, Date: other.Date})
	refused(t, b.store.LetGo(ctx, kept.ID, b.ana), models.Conflict, "Wed 18 Mar cannot be a day off: “Sand the shelf” (Shelf for the hall) is pinned to Wed 18 Mar. Let go of that pin first.")
	assert.Equal(t, []models.DayOff{again}, b.snap().DaysOff)
}

// A day off that was entered long ago for the year after next can be taken back.
func TestADayOffFarAheadIsTakenBack(t *testing.T) {
	b := steerBench(t)
	far, err := b.store.SaveDayOff(context.Background(), models.DayOff{Date: "2028-12-27"})
	require.NoError(t, err)
	b.keep(models.Steer{Kind: models.SteerDayBack, DayOffID: far.ID})
	assert.NotContains(t, b.snap().DaysOff, far)
}

// A day off that was kept is let go alone, whatever has got its number since.
func TestLettingADayOffGoTakesNoOtherAway(t *testing.T) {
	b := steerBench(t)
	ctx := context.Background()
	kept := b.keep(models.Steer{Kind: models.SteerDayOff, Date: "2026-03-04"})[0]
	require.NoError(t, b.store.RemoveDayOff(ctx, kept.Was.ID))
	other, err := b.store.SaveDayOff(ctx, models.DayOff{Date: "2026-03-18"})
	require.NoError(t, err)
	require.Equal(t, kept.Was.ID, other.ID)
	require.NoError(t, b.store.LetGo(ctx, kept.ID, b.ana))
	assert.Contains(t, b.snap().DaysOff, other)
}

// A day off that was kept, taken back and put back is still the first change's, though it
// has another number by then.
func TestADayOffThatCameBackIsLetGoWithItsChange(t *testing.T) {
	b := steerBench(t)
	ctx := context.Background()
	before := b.snap().DaysOff
	for _, person := range []models.ID{0, b.ben} {
		change := models.Steer{Kind: models.SteerDayOff, Date: "2026-03-13", PersonID: person}
		kept := b.keep(change)[0]
		back := b.keep(models.Steer{Kind: models.SteerDayBack, DayOffID: kept.Was.ID})[0]
		others := []models.DayOff{{Date: "2026-03-18"}, {Date: change.Date, PersonID: &b.ana}}
		for i := range others {
			var err error
			others[i], err = b.store.SaveDayOff(ctx, others[i])
			require.NoError(t, err)
		}
		require.Equal(t, kept.Was.ID, others[0].ID, "another has its number by now")
		require.NoError(t, b.store.LetGo(ctx, back.ID, b.ana))
		require.Len(t, b.snap().DaysOff, len(before)+3)

		require.NoError(t, b.store.LetGo(ctx, kept.ID, b.ana))
		assert.ElementsMatch(t, slices.Concat(before, others), b.snap().DaysOff, "not those of another day or person, with the same reason and noted on the same day")
		for _, other := range others {
			require.NoError(t, b.store.RemoveDayOff(ctx, other.ID))
		}
	}
}

// What was changed by hand since is not put back.
func TestLettingGoIsRefusedWhereItWasChangedSince(t *testing.T) {
	b := steerBench(t)
	all := b.oneOfEach()
	ctx := context.Background()
	weight, pin := b.keep(all[models.SteerWeight])[0], b.keep(all[models.SteerPin])[0]
	com := b.snap().Commissions[0]
	com.Weight = 5
	require.NoError(t, b.store.SaveCommission(ctx, com))
	require.NoError(t, b.pin("sand", "2026-03-06 08:00"))
	refused(t, b.store.LetGo(ctx, weight.ID, b.ana), models.Conflict, "“Shelf for the hall” was changed by hand since: change it back there.")
	refused(t, b.store.LetGo(ctx, pin.ID, b.ana), models.Conflict, "“Sand the shelf” was pinned otherwise since: change that on its own screen.")

	hands := b.keep(models.Steer{Kind: models.SteerHands, Name: "Cleo", Date: "2026-03-02"})[0]
	cleo := testrig.Person(t, b.snap(), "Cleo")
	b.tap(models.TapStart, "joint", cleo)
	require.Error(t, b.store.LetGo(ctx, hands.ID, b.ana), "Cleo has something in hand")
	b.tap(models.TapFinish, "joint", cleo)
	require.NoError(t, b.store.LetGo(ctx, hands.ID, b.ana))
	for _, p := range b.snap().People {
		assert.Equal(t, p.Name != "Cleo", p.Active, "who tapped something stays known")
	}
}
