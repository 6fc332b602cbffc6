package planner

import (
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// pin pins a step to a local time.
func (r *rig) pin(c *models.Commission, key, at string) {
	r.Helper()
	when := local(r.T, at)
	require.NoError(r, r.store.PinStep(ctx, r.step(c, key).ID, &when))
}

// whole is a step that must not be interrupted.
func whole(key string, attended int) models.NewStep {
	st := job(key, attended)
	st.Interruptible = false
	return st
}

func TestPinnedStepStartsThere(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00") // a Tuesday
	a := r.take("Shelf A", "2026-12-08")
	b := r.take("Shelf B", "2026-12-04")
	r.plan()
	r.pin(a, "glue-panel", "2026-12-03 08:00")
	r.pin(b, "plane-rails", "2026-12-02 13:00") // a station with a setup
	p := r.plan()
	assert.Empty(t, p.Note)
	start, done, end := r.placed(p, a, "glue-panel")
	assert.Equal(t, []string{"2026-12-03 08:00", "2026-12-03 08:30", "2026-12-03 09:30"}, []string{start, done, end})
	start, _, _ = r.placed(p, b, "plane-rails")
	assert.Equal(t, "2026-12-02 13:00", start)
	start, _, _ = r.placed(p, b, "plane")
	assert.Less(t, start, "2026-12-01 12:00", "what else wants the planer goes on before it")
	start, _, _ = r.placed(p, a, "trim")
	assert.Equal(t, "2026-12-03 10:30", start)

	require.NoError(t, r.store.PinStep(ctx, r.step(a, "glue-panel").ID, nil))
	start, _, _ = r.placed(r.plan(), a, "glue-panel")
	assert.Less(t, start, "2026-12-02 12:00", "it moves again")
}

func TestPinFarAheadIsWithinThePlan(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.lone("One", "2026-12-04", job("a", 60), job("b", 30))
	r.pin(c, "a", "2027-06-01 08:00")
	p := r.plan()
	assert.Empty(t, p.Note)
	start, _, _ := r.placed(p, c, "b")
	assert.Equal(t, "2027-06-01 09:00", start)
}

func TestPinThatCannotBeKeptIsLoosened(t *testing.T) {
	for name, c := range map[string]struct {
		then  func(r *rig, c *models.Commission)
		start string
		note  string
	}{
		"kept": {func(*rig, *models.Commission) {}, "2026-12-03 08:00", ""},
		"what is before it takes too long": {func(r *rig, c *models.Commission) {
			r.at("2026-12-03 07:45")
		}, "2026-12-03 09:00", "One: “Step b” was pinned to 8:00, but “Step a” before it is not over by then: it is planned for 9:00."},
		"what is before it has just ended": {func(r *rig, c *models.Commission) {
			r.at("2026-12-02 16:30")
			r.do("Ana", c, "a") // and rests overnight
		}, "2026-12-03 08:00", ""},
		"the time has passed": {func(r *rig, c *models.Commission) {
			r.do("Ana", c, "a")
			r.at("2026-12-03 08:20")
		}, "2026-12-03 08:20", "One: “Step b” was pinned to 8:00, but that is past: it is planned for 8:20."},
		"a day off": {func(r *rig, c *models.Commission) {
			_, err := r.store.SaveDayOff(ctx, models.DayOff{Date: "2026-12-03"})
			require.NoError(r, err)
		}, "2026-12-04 08:00", "One: “Step b” was pinned to Thursday 8:00, but the shop is not open for it then: it is planned for Friday 8:00."},
		"shorter hours": {func(r *rig, c *models.Commission) {
			require.NoError(r, r.store.SaveHours(ctx, []models.Hours{{Weekday: time.Tuesday, Opens: 480, Closes: 1020}, {Weekday: time.Wednesday, Opens: 480, Closes: 1020},
				{Weekday: time.Thursday, Opens: 480, Closes: 500}, {Weekday: time.Friday, Opens: 480, Closes: 1020}}))
		}, "2026-12-04 08:00", "One: “Step b” was pinned to Thursday 8:00, but the shop is not open for it then: it is planned for Friday 8:00."},
		"the station is down": {func(r *rig, c *models.Commission) {
			r.do("Ana", c, "a")
			r.at("2026-12-03 07:50")
			testrig.Down(r.T, r.store, "bench")
		}, "2026-12-04 08:00", "One: “Step b” was pinned to 8:00, but it can begin Friday 8:00 at the earliest: it is planned for Friday 8:00."},
		"nobody is there that day": {func(r *rig, c *models.Commission) {
			for _, who := range []string{"Ana", "Ben"} {
				id := testrig.Person(r.T, r.snap(), who)
				_, err := r.store.SaveDayOff(ctx, models.DayOff{Date: "2026-12-03", PersonID: &id})
				require.NoError(r, err)
			}
		}, "2026-12-04 08:00", "One: “Step b” was pinned to Thursday 8:00, but what it needs is taken then: it is planned for Friday 8:00."},
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t, "2026-12-01 08:00")
			commission := r.lone("One", "2026-12-04", whole("a", 60), whole("b", 30))
			r.pin(commission, "b", "2026-12-03 08:00")
			c.then(r, commission)
			p := r.plan()
			start, _, _ := r.placed(p, commission, "b")
			assert.Equal(t, c.start, start)
			if c.note == "" {
				assert.Empty(t, p.Note)
			} else {
				assert.Contains(t, p.Note.String(), c.note)
			}
		})
	}
}

// Two pins that were good apart, until the bench had one place.
func TestOfTwoPinsThatCollideTheEarlierStays(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	one, two := r.lone("One", "2026-12-04", whole("a", 60)), r.lone("Two", "2026-12-04", whole("a", 60))
	r.pin(one, "a", "2026-12-03 08:00")
	r.pin(two, "a", "2026-12-03 08:30")
	s := *testrig.Station(t, r.snap(), "bench")
	require.Greater(t, s.Places, 1)
	s.Places = 1
	_, err := r.store.SaveStation(ctx, s)
	require.NoError(t, err)
	p := r.plan()
	start, _, _ := r.placed(p, one, "a")
	assert.Equal(t, "2026-12-03 08:00", start)
	start, _, _ = r.placed(p, two, "a")
	assert.Equal(t, "2026-12-03 09:00", start)
	assert.Equal(t, "Two: “Step a” was pinned to Thursday 8:30, but what it needs is taken then: it is planned for Thursday 9:00.", p.Note.String())
}

func TestReasonsTellOfPins(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.lone("One", "2026-12-04", whole("a", 60), whole("b", 30))
	r.pin(c, "a", "2026-12-02 08:00")
	r.pin(c, "b", "2026-12-03 08:00")
	r.plan()
	all := Next(r.snap(), 0, r.clock.Now())
	require.Len(t, all, 2)
	assert.Equal(t, "It is pinned to Wednesday 8:00.", all[0].Why.String())
	assert.True(t, all[0].Ready, "nothing keeps it from being taken earlier")
	assert.Equal(t, "It waits for “Step a”. It is pinned to Thursday 8:00.", all[1].Why.String())

	r.at("2026-12-03 08:10")
	r.plan()
	all = Next(r.snap(), 0, r.clock.Now())
	assert.Equal(t, "It was pinned to Wednesday 8:00; the plan has it at 8:10.", all[0].Why.String())
}

func TestStepTakenBeforeItsPinIsInHand(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.lone("One", "2026-12-04", whole("a", 60))
	r.pin(c, "a", "2026-12-02 08:00")
	r.tap(models.TapStart, "Ana", c, "a")
	p := r.plan()
	assert.Empty(t, p.Note)
	start, _, _ := r.placed(p, c, "a")
	assert.Equal(t, "2026-12-01 08:00", start)
}

// The ways without a search keep pins too.
func TestCompareKeepsPins(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	a := r.take("Shelf A", "2026-12-08")
	r.take("Shelf B", "2026-12-04")
	r.pin(a, "glue-panel", "2026-12-07 08:00")
	all, err := Compare(ctx, r.snap(), 50*time.Millisecond)
	require.NoError(t, err)
	require.Len(t, all, 3)
	for _, o := range all {
		assert.True(t, o.Completion.After(local(t, "2026-12-07 09:30")), "%s: what follows the pinned glue-up comes after it", o.Way)
	}
}
