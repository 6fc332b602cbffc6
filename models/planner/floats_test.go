package planner

import (
	"fmt"
	"testing"

	"faceside/models"
	"faceside/models/sequence"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// harm says what a slip costs, "" if nothing.
func (s *slipped) harm(first *leg) string {
	for _, l := range s.legs {
		at := s.of(l)
		limit, has := s.limit[l.Job]
		switch {
		case has && at.End > limit:
			return l.Task.ID + " ends after " + l.Job + " is to"
		case at.Start > l.by:
			return l.Task.ID + " overruns a greatest lag"
		case l.immovable && l != first && at.Start != l.PlanTask.Start:
			return l.Task.ID + " is fixed and moves"
		}
	}
	if !s.inTime(s, s) {
		return "a greatest lag is overrun"
	}
	return ""
}

// plan writes the slipped course as the engine would, for its checker.
func (s *slipped) plan(p *sequence.Problem, timed *sequence.Plan) *sequence.Plan {
	out := &sequence.Plan{Version: sequence.Version, Status: sequence.Feasible}
	ends, placed := map[string]int{}, map[string]sequence.PlanTask{}
	for _, l := range s.legs {
		at := s.of(l)
		out.Tasks, placed[at.ID] = append(out.Tasks, at), at
		ends[l.Job] = max(ends[l.Job], at.End)
	}
	for _, j := range p.Jobs {
		late := max(0, s.line.worked(ends[j.ID])-s.line.worked(*j.Due))
		out.Jobs = append(out.Jobs, sequence.PlanJob{ID: j.ID, End: ends[j.ID], Tardiness: late})
	}
	for _, setup := range timed.Setups {
		setup.Start = placed[setup.For].SetupStart
		out.Setups = append(out.Setups, setup)
	}
	return out
}

// slips is the plan of a snapshot as it slips, and the engine's checker looks on.
type slips struct {
	require.TestingT
	*course
	timed *sequence.Plan
}

// newSlips is nil where the plan's order has no place in the shop as it is.
func newSlips(t require.TestingT, snap *models.Snapshot) *slips {
	c := makeCourse(snap)
	if c == nil {
		return nil
	}
	timed, err := c.q.retime()
	require.NoError(t, err)
	c.q.Objective = sequence.Weights{} // the checker is asked about rules, not about worth
	return &slips{t, c, timed}
}

// keeps wants every rule kept and nobody harmed when a leg that is to be placed is put
// off by so many working minutes.
func (s *slips) keeps(l *leg, minutes int, what string) {
	slipped, problem := s.slip(l, minutes), *s.q.Problem
	if l.immovable { // a pin, moved on purpose
		problem.Tasks = append([]sequence.Task(nil), problem.Tasks...)
		for i := range problem.Tasks {
			if problem.Tasks[i].ID == l.Task.ID {
				problem.Tasks[i].Start = nil
			}
		}
	}
	require.Empty(s, slipped.harm(l), what)
	require.NoError(s, sequence.Check(&problem, slipped.plan(&problem, s.timed)), what)
}

// checkFloats slips each step by its float and less: the engine's checker finds
// every rule kept, and no commission is later than the plan or the promise has it.
// A minute more does harm.
func checkFloats(t require.TestingT, snap *models.Snapshot, draw func(most int) int) {
	s := newSlips(t, snap)
	if s == nil {
		return
	}
	for id, float := range s.floats() {
		l := s.of[id]
		if s.fixed(l) || l.Job == "" {
			continue // it is where it is, or nobody waits for it
		}
		for _, minutes := range []int{draw(float), float} {
			s.keeps(l, minutes, fmt.Sprintf("%s by %d of %d", snap.Step(id).Key, minutes, float))
		}
		assert.NotEmpty(t, s.slip(l, float+1).harm(l), "%s by %d", snap.Step(id).Key, float+1)
	}
}

// A slip within the float keeps every rule, clamps and air among them, and every
// promise, whatever has become of the shop.
func TestFloatsAreTrueInTheCheckersEyes(t *testing.T) {
	from := threeShelves(t)
	rapid.Check(t, func(rt *rapid.T) {
		w, q, answer := walked(rt, from)
		checkFloats(rt, planned(w.snap, q.records(answer, w.snap.At)), func(most int) int {
			return rapid.IntRange(0, most).Draw(rt, "slip")
		})
	})
}

// Two glue-ups of different commissions want the same clamps: the float of the first
// ends where the second would get them too late.
func TestFloatKnowsClamps(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	loose := r.lone("Loose", "2026-12-11", inClamps(r, "a"))
	tight := r.lone("Tight", "2026-12-02", job("before", 270), inClamps(r, "b"), job("fit", 60))
	p := r.plan()
	start, _, end := r.placed(p, loose, "a")
	require.Equal(t, []string{"2026-12-01 08:00", "2026-12-01 12:30"}, []string{start, end})
	start, _, end = r.placed(p, tight, "b")
	require.Equal(t, []string{"2026-12-01 13:00", "2026-12-01 17:30"}, []string{start, end})

	// b must be closed by 12:00 on the 2nd to be out by 16:00 and fitted by 17:00, so
	// it must have its clamps by 11:30: a must be closed by 17:00 on the 1st.
	snap, a := r.snap(), r.step(loose, "a").ID
	assert.Equal(t, 480, FloatMin(snap, a))
	assert.Equal(t, Delayed{}, Delay(snap, a, 480))
	d := Delay(snap, a, 481) // the other order is then taken, as one would at the rack
	require.Len(t, d.Slips, 1)
	assert.Equal(t, "Loose", d.Slips[0].Name)
	assert.False(t, d.Slips[0].To.After(d.Slips[0].PromisedBy))

	class := *snap.Clamp(snap.ClampsOf(a)[0].ClampClassID)
	class.Count = 12
	_, err := r.store.SaveClampClass(ctx, class)
	require.NoError(t, err)
	assert.Greater(t, FloatMin(r.snap(), a), 3000, "with clamps for both its own promise alone counts")
}

// Dust waits until what is wet is dry: the float of a coat is the dust's, too.
func TestFloatKnowsTheAir(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	coat, dust := job("coat", 20), job("dust", 30)
	coat.Wet, coat.Interruptible, coat.Unattended, coat.Rest = true, false, 240, "drying"
	dust.Dusty, dust.Interruptible = true, false
	room := testrig.Station(t, r.snap(), "finish-room").ID
	coat.StationID, dust.StationID = room, room
	wet := r.lone("Wet", "2026-12-11", coat)
	tight := r.lone("Tight", "2026-12-01", job("before", 270), dust)
	p := r.plan()
	start, _, _ := r.placed(p, wet, "coat")
	require.Equal(t, "2026-12-01 08:00", start)
	start, _, _ = r.placed(p, tight, "dust")
	require.Equal(t, "2026-12-01 13:00", start)
	assert.Equal(t, 220, FloatMin(r.snap(), r.step(wet, "coat").ID), "dry by 16:30, so closed by the break at 12:00")
}
