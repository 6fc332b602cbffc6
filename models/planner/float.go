package planner

import (
	"sort"

	"faceside/models"
)

// FloatMin returns the working minutes by which a step's start may slip before
// its commission, or one that comes after it at a station or in somebody's
// hands, ends later than both the plan and the promise say. 0 where the step is
// not in the plan. O(steps log steps); Floats does all steps in the same time.
func FloatMin(snap *models.Snapshot, step models.ID) int { return Floats(snap)[step] }

// Floats returns FloatMin of every planned step that is not done: a pass from
// the end of the plan to its beginning over the links and over what follows on
// the same station and in the same hands, in the plan's order.
func Floats(snap *models.Snapshot) map[models.ID]int {
	if snap.Plan == nil || len(snap.Plan.Steps) == 0 {
		return nil
	}
	f := newFloats(snap)
	out := map[models.ID]int{}
	for _, p := range f.order {
		start := f.line.minute(p.Start)
		out[p.StepID] = max(0, f.line.worked(f.latest[p.StepID])-f.line.worked(max(0, start)))
	}
	return out
}

// floats is the pass backwards through a plan.
type floats struct {
	snap   *models.Snapshot
	line   *timeline
	order  []*models.PlanStep  // by start
	next   map[models.ID][]int // positions in order of what follows in the same place or hands
	limit  map[models.ID]int   // minute by which a commission is to end
	latest map[models.ID]int   // latest start of each step
}

func newFloats(snap *models.Snapshot) *floats {
	cal := localCalendar(snap)
	f := &floats{snap: snap, next: map[models.ID][]int{}, limit: map[models.ID]int{}, latest: map[models.ID]int{}}
	last := snap.At
	for i := range snap.Plan.Steps {
		p := &snap.Plan.Steps[i]
		if st := snap.Step(p.StepID); st != nil && standOf(st, snap.At) != over {
			f.order = append(f.order, p)
		}
		if p.End.After(last) {
			last = p.End
		}
	}
	sort.SliceStable(f.order, func(a, b int) bool { return f.order[a].Start.Before(f.order[b].Start) })
	f.line = cal.timeline(snap.At, cal.minutes(snap.At, last), 14)
	for i := range snap.Commissions {
		c := &snap.Commissions[i]
		by, err := cal.promised(c.PromisedOn)
		if ends, ok := endOfWork(snap, c.ID); ok && (err != nil || ends.After(by)) {
			by = ends
		}
		f.limit[c.ID] = f.line.minute(by)
	}
	f.chain()
	for i := len(f.order) - 1; i >= 0; i-- {
		f.latest[f.order[i].StepID] = f.latestStart(f.order[i])
	}
	return f
}

// chain notes what follows what on stations of one place and in people's hands.
func (f *floats) chain() {
	behind := map[[2]models.ID]models.ID{} // last step seen at a station (0, id) or in hands (1, id)
	for i, p := range f.order {
		st := f.snap.Step(p.StepID)
		var keys [][2]models.ID
		if s := f.snap.Station(st.StationID); s != nil && (s.Places <= 1 || st.SetupID != nil) {
			keys = append(keys, [2]models.ID{0, s.ID})
		}
		for _, person := range p.PersonIDs {
			keys = append(keys, [2]models.ID{1, person})
		}
		for _, k := range keys {
			if b, ok := behind[k]; ok {
				f.next[b] = append(f.next[b], i)
			}
			behind[k] = p.StepID
		}
	}
}

// latestStart is the latest minute at which a step may start, those behind it
// having theirs already.
func (f *floats) latestStart(p *models.PlanStep) int {
	st := f.snap.Step(p.StepID)
	worked := f.line.worked(f.line.minute(p.AttendedEnd)) - f.line.worked(max(0, f.line.minute(p.Start)))
	rest := int(p.End.Sub(p.AttendedEnd).Minutes())
	attendedEnd := f.limit[st.CommissionID] - rest
	latest := 1 << 40
	for _, l := range f.snap.After(st.ID) {
		start, ok := f.latest[l.AfterID]
		if !ok {
			continue
		}
		switch l.From {
		case models.FromStart:
			latest = min(latest, start-l.MinLag)
		case models.FromAttended:
			attendedEnd = min(attendedEnd, start-l.MinLag)
		default:
			attendedEnd = min(attendedEnd, start-l.MinLag-rest)
		}
	}
	for _, i := range f.next[st.ID] {
		q := f.order[i]
		if start, ok := f.latest[q.StepID]; ok {
			setup := f.line.worked(f.line.minute(q.Start)) - f.line.worked(max(0, f.line.minute(q.SetupStart)))
			attendedEnd = min(attendedEnd, f.line.back(start, setup))
		}
	}
	return min(latest, f.line.back(attendedEnd, worked))
}
