package planner

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// gate returns the gate of a step.
func (r *rig) gate(c *models.Commission, key string) Gate {
	r.Helper()
	id := r.step(c, key).ID
	for _, g := range GatesToTheLast(r.snap(), r.clock.Now()) {
		if g.StepID == id {
			return g
		}
	}
	require.Failf(r, "no such gate", "%q", key)
	return Gate{}
}

// glued is a glue-up that may not be cut: so long in hand, so long in clamps.
func glued(r *rig, key string, attended, rest int) models.NewStep {
	st := inClamps(r, key)
	st.Attended, st.Unattended = attended, rest
	return st
}

// A gate that is closed before the break cures while nobody is there: it is told so,
// and how much of its time in clamps that takes.
func TestGateBeforeTheBreak(t *testing.T) {
	for _, c := range []struct {
		rest int
		why  string
	}{
		{30, "before the break at 12:00: the break then takes its 30\u00a0min in clamps"},
		{45, "before the break at 12:00: the break then takes 30\u00a0min of its 45\u00a0min in clamps"},
	} {
		r := newRig(t, "2026-12-01 11:20")
		one := r.lone("One", "2026-12-01", glued(r, "glue", 40, c.rest), job("join", 60))
		r.plan()
		g := r.gate(one, "glue")
		assert.Equal(t, c.why, g.Why.String())
		assert.True(t, g.CloseBy.Equal(local(t, "2026-12-01 12:00")))
	}
}

// checkGates closes each gate as late as it says: by then the plan keeps every rule,
// promise, pin and greatest lag, and what follows it starts when it is planned. A
// minute later the reason that is given is no longer so.
func checkGates(t require.TestingT, snap *models.Snapshot) {
	s := newSlips(t, snap)
	if s == nil {
		return
	}
	for _, g := range GatesToTheLast(snap, snap.At) {
		st, l := snap.Step(g.StepID), s.legOf(g.StepID)
		if g.CloseBy.IsZero() || l == nil {
			continue
		}
		by := s.line.minute(g.CloseBy)
		minutes := max(0, s.line.worked(s.back(l, never, by).start)-s.line.worked(l.PlanTask.Start))
		what := fmt.Sprintf("%s by %s, at the latest %s, %s; %d min later", st.Key, g.CloseBy, g.Latest, g.Why, minutes)
		assert.False(t, !g.Latest.IsZero() && g.CloseBy.After(g.Latest), what)
		require.Equal(t, by, s.slip(l, minutes).of(l).AttendedEnd, what)
		if !s.fixed(l) && !g.Latest.IsZero() {
			s.keeps(l, minutes, what)
		}
		more := s.slip(l, minutes+1)
		closed := s.line.time(more.of(l).AttendedEnd)
		require.True(t, closed.After(g.CloseBy), what)
		shut, _ := localCalendar(snap).lastClosing(g.CloseBy)
		switch {
		case strings.HasPrefix(g.Why.Format(), "before"):
			assert.True(t, shut.Equal(g.CloseBy), what)
		case g.ToTheLast:
			assert.NotEmpty(t, more.harm(l), what)
			assert.True(t, g.Moves || g.Gives != (Gives{}), "it is named what has to give: %s: %s", more.harm(l), what)
		default:
			assert.True(t, keepsWaitingAt(snap, s.course, st, closed), what)
		}
	}
}

// Gates and what comes next hold together also when the clock has run on and the plan
// that people see is still the one from before.
func TestGatesAndTimesOfAPlanThatHasAged(t *testing.T) {
	from := threeShelves(t)
	rapid.Check(t, func(rt *rapid.T) {
		w, q, answer := walked(rt, from)
		snap := planned(w.snap, q.records(answer, w.snap.At))
		snap.At = snap.At.Add(time.Duration(rapid.IntRange(0, 3*60*60).Draw(rt, "seconds")) * time.Second)
		checkGates(rt, snap)
		checkQueues(rt, snap)
		for _, p := range snap.People {
			checkSoonest(rt, snap, p.ID)
		}
	})
}

// keepsWaitingAt tells whether a step that is closed at a time keeps any from starting
// when it is expected to.
func keepsWaitingAt(snap *models.Snapshot, c *course, st *models.Step, closed time.Time) bool {
	for i := range snap.Steps {
		after := &snap.Steps[i]
		p := c.expected(snap, after.ID)
		if p == nil || after.ID == st.ID {
			continue
		}
		dry := closed.Add(time.Duration(st.Unattended) * time.Minute)
		for _, l := range snap.After(st.ID) {
			point := dry
			if l.From == models.FromAttended {
				point = closed
			}
			if l.AfterID == after.ID && l.From != models.FromStart && p.Start.Before(point.Add(time.Duration(l.MinLag)*time.Minute)) {
				return true
			}
		}
		wants := len(snap.ClampsOf(st.ID)) > 0 && len(snap.ClampsOf(after.ID)) > 0 || st.Wet && after.Dusty
		if wants && p.Start.After(c.expected(snap, st.ID).Start) && p.Start.Before(dry) {
			return true
		}
	}
	return false
}

// With its clamps out on another glue-up a gate says on which, and until when.
func TestGateWhoseClampsAreOut(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	first := r.lone("First", "2026-12-04", inClamps(r, "a"), job("after", 60))
	second := r.lone("Second", "2026-12-04", inClamps(r, "b"), job("join", 60))
	r.plan()
	g := r.gate(second, "b")
	require.Len(t, g.Clamps, 1)
	assert.Equal(t, 6, g.Clamps[0].Free)
	assert.Nil(t, g.Clamps[0].Waits)

	r.tap(models.TapStart, "Ana", first, "a")
	r.plan()
	asked := r.gate(second, "b").Clamps[0]
	assert.Equal(t, 0, asked.Free)
	require.NotNil(t, asked.Waits)
	assert.Equal(t, "a", asked.Waits.Key)
	assert.True(t, asked.Until.IsZero(), "it is in hand: nobody knows yet")
	assert.Equal(t, 6, r.gate(first, "a").Clamps[0].Free, "what it holds itself is its own")

	r.at("2026-12-01 08:30")
	r.tap(models.TapFinish, "Ana", first, "a")
	r.plan()
	asked = r.gate(second, "b").Clamps[0]
	assert.Equal(t, []int{6, 0}, []int{asked.Takes, asked.Free})
	assert.True(t, asked.Until.Equal(local(t, "2026-12-01 12:30")))
	assert.False(t, asked.Over)

	r.at("2026-12-01 12:40")
	r.plan()
	asked = r.gate(second, "b").Clamps[0]
	assert.True(t, asked.Over, "they hang on the piece until somebody takes them off")
	r.tap(models.TapOut, "Ana", first, "a")
	assert.Equal(t, 6, r.gate(second, "b").Clamps[0].Free)
}

// Where the clamps are wanted elsewhere before the next step of its own piece is
// planned, the gate is closed for the clamps.
func TestGateIsClosedForItsClamps(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	loose := r.lone("Loose", "2026-12-11", inClamps(r, "a"), job("fit", 60))
	r.lone("Tight", "2026-12-02", job("before", 270), glued(r, "b", 30, 120), job("close", 60))
	snap, day := r.snap(), local(t, "2026-12-03 08:00")
	for i := range snap.Steps {
		if snap.Steps[i].Key == "fit" {
			snap.Steps[i].PinnedAt = &day // it is fitted on another day
		}
	}
	q, answer := checkPosed(t, snap)
	snap = planned(snap, q.records(answer, snap.At))
	gates := Gates(snap, snap.At)
	require.NotEmpty(t, gates)
	g := gates[0]
	assert.Equal(t, r.step(loose, "a").ID, g.StepID)
	assert.True(t, g.CloseBy.Equal(local(t, "2026-12-01 09:00")), "%s", g.CloseBy)
	assert.Equal(t, "so that its clamps are free when “Step b” is planned, 13:00", g.Why.String())
}

// Until when a gate can be closed without moving a promise, and whose promise it is.
func TestGateSaysWhosePromiseHangsOnIt(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	loose := r.lone("Loose", "2026-12-11", inClamps(r, "a"), job("after", 30))
	tight := r.lone("Tight", "2026-12-02", job("before", 270), inClamps(r, "b"), job("fit", 60))
	r.plan()
	g := r.gate(loose, "a")
	assert.True(t, g.Latest.Equal(local(t, "2026-12-01 17:00")), "%s", g.Latest)
	assert.Equal(t, tight.ID, g.Promise, "it wants the same clamps")
	assert.Equal(t, tight.ID, r.gate(tight, "b").Promise)
}

// Where it is no promise that a late gate spoils it is named what has to give.
func TestGateNamesWhatHasToGive(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	one := r.lone("One", "2026-12-18", glued(r, "a", 30, 120), whole("b", 30))
	r.pin(one, "b", "2026-12-03 08:00")
	r.plan()
	g := r.gate(one, "a")
	assert.False(t, g.Moves)
	assert.Equal(t, r.step(one, "b").ID, g.Gives.StepID)
	assert.True(t, g.Gives.At.Equal(local(t, "2026-12-03 08:00")))
	assert.True(t, g.Latest.Equal(local(t, "2026-12-02 17:00")), "%s: the night before takes its two hours in clamps", g.Latest)
	assert.Equal(t, "so that “Step b” can start when it is pinned, Thursday 8:00", g.Gives.keeps(r.snap(), r.clock.Now(), local(t, "2026-12-01 08:00").Location()).String())

	snap := r.snap()
	for from, point := range map[string]string{models.FromEnd: "the end of", models.FromAttended: "the work on", models.FromStart: "the start of"} {
		gives := Gives{StepID: r.step(one, "b").ID, After: r.step(one, "a").ID, From: from, Within: 24 * 60}
		assert.Equal(t, "so that “Step b” starts within 24\u00a0h of "+point+" “Step a”", gives.keeps(snap, snap.At, time.UTC).String())
	}
	assert.Equal(t, "so that the work does not run into the time off of Ana, 17:00",
		Gives{Off: testrig.Person(t, snap, "Ana"), At: local(t, "2026-12-01 17:00")}.keeps(snap, snap.At, local(t, "2026-12-01 17:00").Location()).String())
	assert.Empty(t, Gives{}.keeps(snap, snap.At, time.UTC))
}

func TestRack(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	rack := RackOf(r.snap(), r.clock.Now())
	require.Len(t, rack, 3)
	for _, class := range rack {
		assert.Equal(t, class.Count, class.Free)
		assert.Empty(t, class.Out)
	}
	c := r.take("Shelf", "2026-12-08")
	glue := r.lone("One", "2026-12-04", inClamps(r, "a"))
	r.do("Ana", c, "joint", "plane", "rip")
	r.do("Ben", c, "glue-panel")
	r.tap(models.TapStart, "Ana", glue, "a")
	rack = RackOf(r.snap(), r.clock.Now())
	free := map[string]int{}
	for _, class := range rack {
		free[class.Key] = class.Free
	}
	assert.Equal(t, map[string]int{"bar-600": 5, "bar-1200": 0, "f-300": 16}, free)
	out := rack[0].Out
	require.Len(t, out, 1)
	assert.Equal(t, "glue-panel", out[0].Step.Key)
	assert.True(t, out[0].Until.Equal(*r.step(c, "glue-panel").RestEndsAt))
	r.at("2026-12-01 16:00")
	rack = RackOf(r.snap(), r.clock.Now())
	assert.True(t, rack[0].Out[0].Over)
	assert.Equal(t, 5, rack[0].Free, "they are on the piece until a person says otherwise")
	r.tap(models.TapOut, "Ben", c, "glue-panel")
	assert.Equal(t, 10, RackOf(r.snap(), r.clock.Now())[0].Free)
}
