package models_test

import (
	"context"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// when reads "2026-03-03 08:00" as a time in the shop's zone.
func when(t testing.TB, text string) *time.Time {
	t.Helper()
	zone, err := time.LoadLocation(testrig.Zone)
	require.NoError(t, err)
	at, err := time.ParseInLocation("2006-01-02 15:04", text, zone)
	require.NoError(t, err)
	return &at
}

// pin pins a step to a local time.
func (b *bench) pin(key, at string) error {
	b.t.Helper()
	return b.store.PinStep(context.Background(), b.step(key).ID, when(b.t, at))
}

func TestPinIsKeptAndTakenBack(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	var told []models.Change
	defer b.store.OnChange(func(c models.Change) { told = append(told, c) })()
	was := b.snap().Shop.Revision

	at := when(t, "2026-03-05 13:00").Add(25*time.Second + time.Millisecond)
	require.NoError(t, b.store.PinStep(ctx, b.step("trim").ID, &at))
	pin, pinned := b.step("trim").Pinned()
	assert.True(t, pinned)
	assert.Equal(t, *when(t, "2026-03-05 13:00"), pin.In(when(t, "2026-03-05 13:00").Location()), "to the minute")
	assert.Equal(t, time.UTC, pin.Location())
	assert.Equal(t, []models.Change{{Revision: was + 1, Kind: models.ChangedCommission}}, told)

	require.NoError(t, b.pin("trim", "2026-03-05 13:00"))
	assert.Len(t, told, 1, "the same again changes nothing")
	require.NoError(t, b.pin("trim", "2026-03-06 08:00"))
	assert.Equal(t, *when(t, "2026-03-06 08:00"), b.step("trim").PinnedAt.In(when(t, "2026-03-06 08:00").Location()))

	require.NoError(t, b.store.PinStep(ctx, b.step("trim").ID, nil))
	_, pinned = b.step("trim").Pinned()
	assert.False(t, pinned)
	require.NoError(t, b.store.PinStep(ctx, b.step("trim").ID, nil))
	assert.Len(t, told, 3)
	assert.Equal(t, was+3, b.snap().Shop.Revision)

	refused(t, b.store.PinStep(ctx, 999, &at), models.NotFound, "There is no step with number 999.")
}

// A pin is volatile: a store that has read the commission before sees it, and so
// does one that opens the file anew.
func TestPinIsInEverySnapshot(t *testing.T) {
	b := newBench(t)
	id := b.snap().Commissions[0].ID
	require.NoError(t, b.pin("sand", "2026-03-05 13:00"))
	own, err := b.store.CommissionSnapshot(context.Background(), id)
	require.NoError(t, err)
	_, pinned := own.Step(b.step("sand").ID).Pinned()
	assert.True(t, pinned)
	require.NoError(t, b.store.PinStep(context.Background(), b.step("sand").ID, nil))
	assert.Nil(t, b.step("sand").PinnedAt)
}

func TestBegunStepIsNotPinned(t *testing.T) {
	b := newBench(t)
	require.NoError(t, b.pin("joint", "2026-03-03 08:00"))
	start := b.tap(models.TapStart, "joint", b.ana) // earlier than it was pinned to
	_, pinned := b.step("joint").Pinned()
	assert.False(t, pinned)
	refused(t, b.pin("joint", "2026-03-03 09:00"), models.Conflict, "“Joint a face and an edge” is in hand: only a step that is not begun can be pinned.")

	_, err := b.undo(start.Tap.Seq, b.ana)
	require.NoError(t, err)
	at, pinned := b.step("joint").Pinned()
	assert.True(t, pinned, "as if it had never been started")
	assert.Equal(t, when(t, "2026-03-03 08:00").UTC(), at)

	b.do("joint")
	_, pinned = b.step("joint").Pinned()
	assert.False(t, pinned)
	refused(t, b.pin("joint", "2026-03-04 09:00"), models.Conflict, "“Joint a face and an edge” is done: only a step that is not begun can be pinned.")
	require.NoError(t, b.store.PinStep(context.Background(), b.step("joint").ID, nil), "to let go is always possible")
}

// A new step is not pinned, whatever it was copied from.
func TestNewStepsAreNotPinned(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	n := testrig.NewCommission(t, b.store, "Second", "2026-03-20")
	n.Pieces[0].Steps[0].PinnedAt = when(t, "2026-03-05 08:00")
	second, err := b.store.TakeCommission(ctx, n)
	require.NoError(t, err)
	assert.Nil(t, b.snap().Step(b.stepOf("Second", "joint")).PinnedAt)

	sand := b.stepOf("Second", "sand")
	require.NoError(t, b.store.PinStep(ctx, sand, when(t, "2026-03-05 13:00")))
	require.NoError(t, b.store.EditCommission(ctx, second.ID, 0, []models.Edit{
		models.SplitStep{StepID: sand, Attended: 10, FirstName: "Sand coarse", SecondName: "Sand fine"}}, nil))
	pinned := map[string]bool{}
	for _, st := range b.snap().StepsOf(second.ID) {
		_, pinned[st.Name] = st.Pinned()
	}
	assert.True(t, pinned["Sand coarse"])
	assert.False(t, pinned["Sand fine"])
}

func TestPinsThatCannotBe(t *testing.T) {
	for name, c := range map[string]struct {
		before        func(b *bench)
		key, at, says string
		code          models.Code
	}{
		"past": {key: "joint", at: "2026-03-02 08:29", says: "“Joint a face and an edge” cannot be pinned to 8:29: that is past."},
		"far":  {key: "joint", at: "2027-03-05 08:00", says: "“Joint a face and an edge” cannot be pinned to 5 Mar 8:00: that is more than a year ahead."},
		"before opening": {key: "joint", at: "2026-03-03 07:59",
			says: "“Joint a face and an edge” cannot be pinned to Tue 7:59: the shop is closed then; that day it is open 08:00–12:00 and 12:30–17:00."},
		"in the break": {key: "joint", at: "2026-03-03 12:00",
			says: "“Joint a face and an edge” cannot be pinned to Tue 12:00: the shop is closed then; that day it is open 08:00–12:00 and 12:30–17:00."},
		"on a Sunday": {key: "joint", at: "2026-03-08 09:00", says: "“Joint a face and an edge” cannot be pinned to Sun 9:00: the shop is closed then."},
		"on a day off": {before: func(b *bench) { b.off("2026-03-03", 0, "fair") }, key: "joint", at: "2026-03-03 09:00",
			says: "“Joint a face and an edge” cannot be pinned to Tue 9:00: that is a day off (fair)."},
		"into the break": {key: "glue-panel", at: "2026-03-03 11:31",
			says: "“Glue up the panel” cannot be pinned to Tue 11:31: it takes 30 min without a break and the shop closes at Tue 12:00."},
		"before what is not done": {key: "rip", at: "2026-03-02 09:00", // 20 and 15 min before it
			says: "“Rip the boards” cannot be pinned to 9:00: it can begin 9:05 at the earliest, after “Plane the boards”."},
		"before a rest is over": {before: func(b *bench) { b.do("joint", "plane", "rip", "glue-panel") }, key: "trim", at: "2026-03-02 10:29",
			says: "“Trim the panel” cannot be pinned to 10:29: it can begin 10:30 at the earliest, after “Glue up the panel”."},
		"before a pin": {before: func(b *bench) { require.NoError(b.t, b.pin("rip", "2026-03-04 08:00")) }, key: "glue-panel", at: "2026-03-04 08:09",
			says: "“Glue up the panel” cannot be pinned to Wed 8:09: it can begin Wed 8:10 at the earliest, after “Rip the boards”."},
		"after a pin": {before: func(b *bench) { require.NoError(b.t, b.pin("glue-panel", "2026-03-04 08:00")) }, key: "rip", at: "2026-03-03 16:55",
			says: "“Rip the boards” cannot be pinned to Tue 16:55: “Glue up the panel” after it is pinned to Wed 8:00 and could then begin Wed 8:05 at the earliest."},
		"after a recoat window": {before: func(b *bench) {
			b.do("joint", "plane", "plane-rails", "rip", "glue-panel")
			b.clock.Step(3 * time.Hour)
			b.do("trim", "glue-frame")
			b.clock.Step(2 * time.Hour)
			b.do("sand", "coat-1") // 13:30 on Monday
		}, key: "coat-2", at: "2026-03-04 13:31",
			says: "“Second coat” cannot be pinned to Wed 13:31: it must begin by Wed 13:30, after “First coat” (the recoat window)."},
		"at a station that is taken": {before: func(b *bench) { require.NoError(b.t, b.pin("plane", "2026-03-04 08:00")) }, key: "plane-rails", at: "2026-03-04 08:14",
			says: "“Plane the rails” cannot be pinned to Wed 8:14: Planer is kept until Wed 8:15 by “Plane the boards”, which is pinned to Wed 8:00."},
		"with too few people that day": {before: func(b *bench) { b.off("2026-03-04", b.ana, ""); b.off("2026-03-04", b.ben, "") }, key: "joint", at: "2026-03-04 09:00",
			says: "“Joint a face and an edge” cannot be pinned to Wed 9:00: it takes 1 person and nobody is there that day."},
		"beside too many": {before: func(b *bench) {
			b.off("2026-03-04", b.ana, "")
			require.NoError(b.t, b.pin("plane", "2026-03-04 08:00"))
		}, key: "rip", at: "2026-03-04 08:15", says: ""},
		"beside another where one person is there": {before: func(b *bench) {
			b.off("2026-03-04", b.ana, "")
			testrig.Commission(b.t, b.store, "Second", "2026-03-20")
			require.NoError(b.t, b.store.PinStep(context.Background(), b.stepOf("Second", "joint"), when(b.t, "2026-03-04 08:00")))
		}, key: "plane", at: "2026-03-04 08:19", says: "“Plane the boards” cannot be pinned to Wed 8:19: with what is pinned beside it, it takes 2 people and 1 is there."},
		"with more clamps than the rack has": {before: func(b *bench) {
			testrig.Commission(b.t, b.store, "Second", "2026-03-20")
			require.NoError(b.t, b.store.PinStep(context.Background(), b.stepOf("Second", "glue-frame"), when(b.t, "2026-03-05 08:00")))
		}, key: "glue-frame", at: "2026-03-05 09:24", says: "“Glue the rails to the panel” cannot be pinned to Thu 9:24: with what is pinned beside it, it takes 8 of 1200 mm bar clamps and 6 are there."},
		"of a held commission": {before: func(b *bench) {
			c := b.snap().Commissions[0]
			c.State = models.Held
			require.NoError(b.t, b.store.SaveCommission(context.Background(), c))
		}, key: "joint", at: "2026-03-03 09:00", code: models.Conflict,
			says: "The commission “Shelf for the hall” is held: its steps are not planned, so none is pinned."},
		"at the last minute":     {key: "joint", at: "2026-03-02 08:30"},
		"up to the break":        {key: "glue-panel", at: "2026-03-03 11:30"},
		"when a rest is over":    {before: func(b *bench) { b.do("joint", "plane", "rip", "glue-panel") }, key: "trim", at: "2026-03-02 10:30"},
		"behind at its station":  {before: func(b *bench) { require.NoError(b.t, b.pin("plane", "2026-03-04 08:00")) }, key: "plane-rails", at: "2026-03-04 08:15"},
		"when clamps come back":  {before: func(b *bench) { b.second("glue-frame", "2026-03-05 08:00") }, key: "glue-frame", at: "2026-03-05 09:25"},
		"on the same day, apart": {before: func(b *bench) { b.second("joint", "2026-03-04 08:00") }, key: "joint", at: "2026-03-04 08:20"},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t)
			b.t = t
			if c.before != nil {
				c.before(b)
			}
			was := b.snap().Shop.Revision
			err := b.pin(c.key, c.at)
			if c.says == "" {
				require.NoError(t, err)
				return
			}
			if c.code == "" {
				c.code = models.Invalid
			}
			refused(t, err, c.code, c.says)
			assert.Nil(t, b.step(c.key).PinnedAt)
			assert.Equal(t, was, b.snap().Shop.Revision)
		})
	}
}

// off adds a day off; 0: for the whole shop.
func (b *bench) off(date string, who models.ID, reason string) {
	b.t.Helper()
	d := models.DayOff{Date: date, Reason: reason}
	if who != 0 {
		d.PersonID = &who
	}
	_, err := b.store.SaveDayOff(context.Background(), d)
	require.NoError(b.t, err)
}

// second takes another commission and pins a step of it.
func (b *bench) second(key, at string) {
	b.t.Helper()
	testrig.Commission(b.t, b.store, "Second", "2026-03-20")
	require.NoError(b.t, b.store.PinStep(context.Background(), b.stepOf("Second", key), when(b.t, at)))
}

// stepOf finds a step by its commission's name and its key.
func (b *bench) stepOf(commission, key string) models.ID {
	b.t.Helper()
	snap := b.snap()
	for _, st := range snap.Steps {
		if st.Key == key && snap.Commission(st.CommissionID).Name == commission {
			return st.ID
		}
	}
	require.Failf(b.t, "no such step", "%q of %q", key, commission)
	return 0
}
