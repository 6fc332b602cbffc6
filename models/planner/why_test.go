package planner

import (
	"context"
	"fmt"
	"slices"
	"testing"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/sequence"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// without is the problem of a course with some reasons gone, all other steps where they
// are, and one step at another start.
func without(c *course, l *leg, start int, gone []sequence.Reason) *sequence.Problem {
	p := *c.q.Problem
	p.Tasks, p.Resources, p.Previous, p.Objective = slices.Clone(p.Tasks), slices.Clone(p.Resources), nil, sequence.Weights{}
	var mine *sequence.Task
	for i := range p.Tasks {
		t := &p.Tasks[i]
		if t.ID == l.Task.ID {
			mine = t
			continue
		}
		t.Start = new(c.byTask[t.ID].PlanTask.Start)
	}
	p.Links = nil
	for i, link := range c.q.Links {
		if !slices.ContainsFunc(gone, func(r sequence.Reason) bool { return r.Kind == sequence.ByLink && r.Link == i }) {
			p.Links = append(p.Links, link)
		}
	}
	for _, r := range gone {
		k := slices.IndexFunc(p.Resources, func(x sequence.Resource) bool { return x.ID == r.Resource })
		switch r.Kind {
		case sequence.ByRelease:
			mine.Release = 0
		case sequence.ByStart:
			mine.Start = nil
		case sequence.ByResource:
			if p.Resources[k].Setups != nil { // there can be no more than one of it
				mine.Uses = slices.DeleteFunc(slices.Clone(mine.Uses), func(u sequence.Use) bool { return u.Resource == r.Resource })
			} else {
				p.Resources[k].Capacity += 100
			}
		case sequence.BySetup:
			setups := *p.Resources[k].Setups
			setups.Pairs = slices.DeleteFunc(slices.Clone(setups.Pairs), func(pair sequence.Pair) bool { return pair.To == l.Setup.State })
			for i := range p.Tasks {
				if other := p.Tasks[i].Setup; other != nil && other.Resource == r.Resource && other.State != l.Setup.State {
					setups.Pairs = append(setups.Pairs, sequence.Pair{From: other.State, To: l.Setup.State})
				}
			}
			if setups.Initial != nil && *setups.Initial != l.Setup.State {
				setups.Pairs = append(setups.Pairs, sequence.Pair{From: *setups.Initial, To: l.Setup.State})
			}
			setups.Pairs = slices.CompactFunc(slices.SortedFunc(slices.Values(setups.Pairs), comparePairs), func(a, b sequence.Pair) bool { return a.From == b.From && a.To == b.To })
			p.Resources[k].Setups = &setups
		case sequence.ByZone:
			mine.Zone = nil
		}
	}
	p.Tasks = append(p.Tasks, sequence.Task{ID: "now", Start: new(int)})
	p.Links = append(p.Links, sequence.Link{Before: "now", After: mine.ID, From: sequence.FromStart, Min: start, Max: &start})
	return &p
}

func comparePairs(a, b sequence.Pair) int {
	return slices.Compare([]string{a.From, a.To}, []string{b.From, b.To})
}

// hasPlace tells whether a problem has a plan.
func hasPlace(t require.TestingT, p *sequence.Problem) bool {
	require.NoError(t, p.Validate())
	plan, err := sequence.Solve(context.Background(), p, sequence.Options{Work: 5000, Seed: 1})
	require.NoError(t, err)
	require.NotEqual(t, sequence.Unknown, plan.Status)
	if plan.Status == sequence.Infeasible {
		return false
	}
	require.NoError(t, sequence.Check(p, plan))
	return true
}

// checkWhys takes the reasons of steps away, of all that are to be looked at: they can
// then begin sooner, and while one reason is left they cannot. Hours and stations of
// their own are left to the engine's tests.
func checkWhys(t require.TestingT, snap *models.Snapshot, look func() bool) (kinds map[sequence.ReasonKind]int) {
	kinds = map[sequence.ReasonKind]int{}
	c := makeCourse(snap)
	if c == nil {
		return kinds
	}
	for _, l := range c.legs {
		if _, isStep := stepOf(l.Task.ID); !isStep || c.fixed(l) || !look() {
			continue
		}
		why := WhyThen(snap, stepFor(l))
		require.NotNil(t, why)
		holds, known := c.holds(l)
		require.True(t, known, "the course keeps the rules")
		for i, h := range holds {
			own := func(r sequence.Reason) bool { return r.Kind == sequence.ByCalendar || r.Kind == sequence.ByStation }
			for _, r := range h.Reasons {
				kinds[r.Kind]++
			}
			what := fmt.Sprintf("%s at %d, not %d: %v", l.Task.ID, l.PlanTask.Start, h.Earlier, h.Reasons)
			if i == 0 {
				require.NotEmpty(t, why.Held, what)
			}
			require.LessOrEqual(t, len([][]phrase.Phrase{why.Held, why.Kept}[i]), max(1, len(h.Reasons)), what)
			if slices.ContainsFunc(h.Reasons, own) {
				continue
			}
			require.True(t, hasPlace(t, without(c, l, h.Earlier, h.Reasons)), what)
			for k, r := range h.Reasons {
				rest := slices.Delete(slices.Clone(h.Reasons), k, k+1)
				require.False(t, hasPlace(t, without(c, l, h.Earlier, rest)), "%s without %s", what, r.Kind)
			}
		}
		least := min(MostFloat, FloatMin(snap, stepFor(l)))
		for _, room := range why.Rooms {
			require.GreaterOrEqual(t, room.FloatMin, least)
		}
	}
	return kinds
}

func TestReasonsOfAStepHoldIt(t *testing.T) {
	from := threeShelves(t)
	met := map[sequence.ReasonKind]int{}
	rapid.Check(t, func(rt *rapid.T) {
		w, q, answer := walked(rt, from)
		look := func() bool { return rapid.IntRange(0, 5).Draw(rt, "looked at") == 0 }
		for kind, n := range checkWhys(rt, planned(w.snap, q.records(answer, w.snap.At)), look) {
			met[kind] += n
		}
	})
	for _, kind := range []sequence.ReasonKind{sequence.ByRelease, sequence.ByStart, sequence.ByLink, sequence.ByResource, sequence.ByStation, sequence.ByCalendar} {
		assert.NotZero(t, met[kind], "%s", kind)
	}
	t.Log(met)
}

func said(all []phrase.Phrase) []string {
	var out []string
	for _, p := range all {
		out = append(out, p.String())
	}
	return out
}

// told is what is said of why a step is planned for then, in English.
func (r *rig) told(c *models.Commission, key string) []string {
	r.Helper()
	w := WhyThen(r.snap(), r.step(c, key).ID)
	require.NotNil(r, w)
	all := append([]phrase.Phrase{w.Planned}, w.Held...)
	if !w.Nor.Empty() {
		all = append(append(all, w.Nor), w.Kept...)
	}
	return said(all)
}

func TestWhyThenInTheShopsWords(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	coat, dust := job("coat", 20), job("dust", 30)
	coat.Wet, coat.Interruptible, coat.Unattended, coat.Rest = true, false, 240, "drying"
	dust.Dusty, dust.Interruptible = true, false
	room := testrig.Station(t, r.snap(), "finish-room").ID
	coat.StationID, dust.StationID = room, room
	loose := r.lone("Loose", "2026-12-11", inClamps(r, "a"), job("after", 30))
	tight := r.lone("Tight", "2026-12-02", job("before", 270), inClamps(r, "b"), job("fit", 60))
	wet := r.lone("Wet", "2026-12-11", coat)
	dry := r.lone("Dry", "2026-12-01", job("first", 240), dust)
	a := r.take("Shelf A", "2026-12-04")
	r.take("Shelf B", "2026-12-03")
	r.plan()
	for _, c := range []struct {
		com  *models.Commission
		key  string
		want []string
	}{
		{wet, "coat", []string{"Planned 8:00 to 8:20.", "Nothing keeps it from beginning now."}},
		{loose, "a", []string{"Planned 8:20 to 8:50.", "No hands are free before 8:20: “Step coat” (Wet) and “Step first” (Dry)."}},
		{tight, "b", []string{"Planned Wednesday 8:12 to 8:42.", "“Step before” comes before it and is done Wednesday 8:12."}},
		{tight, "fit", []string{"Planned Wednesday 12:42 to 13:42.", "“Step b” is in clamps until Wednesday 12:42."}},
		{dry, "dust", []string{"Planned 12:30 to 13:00.", "The shop opens 12:30.",
			"Nor could it begin before the shop closed, 11:30 at the latest:", "“Step first” comes before it and is done 12:00.",
			"The air of Finish room must be kept free of dust before 12:30: “Step coat” (Wet)."}},
		{a, "plane-rails", []string{"Planned 11:30 to 11:40.", "No hands are free before 11:30: “Step first” (Dry) and “Plane the rails” (Shelf B).",
			"“Planer” is not free before 11:30: “Plane the rails” (Shelf B)."}},
		{a, "glue-frame", []string{"Planned 14:25 to 14:50.", "Too few of 1200 mm bar clamps are free before 14:25: “Glue the rails to the panel” (Shelf B)."}},
		{a, "coat-2", []string{"Planned Wednesday 8:00 to 8:20.", "The shop opens Wednesday 8:00.",
			"Nor could it begin before the shop closed, 16:40 at the latest:", "12\u00a0h must pass after “First coat”, from 16:50 on."}},
	} {
		assert.Equal(t, c.want, r.told(c.com, c.key), "%s of %s", c.key, c.com.Name)
	}
}

// A step that is pinned says so; one behind what is in clamps already, how long that is.
func TestWhyThenOfPinsAndRests(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.lone("One", "2026-12-11", inClamps(r, "a"), job("b", 30), job("c", 30))
	r.do("Ana", c, "a")
	pin := local(t, "2026-12-02 10:00")
	require.NoError(t, r.store.PinStep(ctx, r.step(c, "c").ID, &pin))
	r.plan()
	assert.Equal(t, []string{"Planned 12:30 to 13:00.", "The shop opens 12:30.", "“Step a” is in clamps until 12:30."}, r.told(c, "b"))
	assert.Equal(t, []string{"Planned Wednesday 10:00 to 10:30.", "It is pinned to Wednesday 10:00."}, r.told(c, "c"))
	assert.Nil(t, WhyThen(r.snap(), 4711))
	atRest := WhyThen(r.snap(), r.step(c, "a").ID)
	assert.Empty(t, atRest.Held, "it is where it is")
}

// What is said of an hour is what the engine makes of it, and a promise that is said to
// have room has it as far as is said.
func TestRoomsAreAsPutOff(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	r.take("Shelf A", "2026-12-02")
	r.take("Shelf B", "2026-12-03")
	r.take("Shelf C", "2026-12-11")
	r.plan()
	snap := r.snap()
	looked, missed := 0, 0
	for i := range snap.Steps {
		step := snap.Steps[i].ID
		for _, room := range WhyThen(snap, step).Rooms {
			for _, minutes := range putOffs {
				ends, err := PutOff(snap, step, minutes)
				if err != nil {
					continue
				}
				to := ends[room.CommissionID]
				if minutes == hour && room.Hour != nil {
					assert.Equal(t, to.UTC(), room.Hour.To.UTC(), "%s and %s", snap.Steps[i].Name, room.Name)
				}
				if minutes <= room.FloatMin && !room.Late {
					looked++
					assert.False(t, to.After(room.PromisedBy), "%s by %d, %s", snap.Steps[i].Name, minutes, room.Name)
				} else if to.After(room.PromisedBy) {
					missed++
				}
			}
		}
	}
	assert.Positive(t, looked)
	assert.Positive(t, missed, "promises that nothing moves test nothing")
}

// Where nothing can be done, what cannot be placed together is said in the shop's names.
func TestNoPlanNamesTheSmallestConflict(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	r.lone("First", "2026-12-11", inClamps(r, "a"))
	r.lone("Second", "2026-12-11", inClamps(r, "b"))
	r.lone("Third", "2026-12-11", job("c", 30))
	no := func(change func(tasks []sequence.Task)) string {
		q, err := pose(r.snap())
		require.NoError(t, err)
		change(q.Tasks)
		plan, err := sequence.Solve(ctx, q.Problem, sequence.Options{Work: 5000, Seed: 1})
		require.NoError(t, err)
		require.Equal(t, sequence.Infeasible, plan.Status)
		return q.noPlan(plan).Error()
	}
	end := 400 // both would be in the clamps until 450 and 270 + 270 at best
	assert.Equal(t, "These steps cannot be placed together: “Step a” (First) and “Step b” (Second). More than one of them wants hands, “Benches” and 1200 mm bar clamps. Without any one of them the others have a place.",
		no(func(tasks []sequence.Task) { tasks[0].Deadline, tasks[1].Deadline = &end, &end }))
	assert.Equal(t, "“Step c” (Third) has no place in the shop's hours with what it needs.",
		no(func(tasks []sequence.Task) { tasks[2].Deadline = new(10) }))
}
