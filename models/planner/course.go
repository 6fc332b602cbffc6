package planner

import (
	"context"
	"sort"
	"sync"
	"time"

	"faceside/models"
	"faceside/models/sequence"
)

// course is the plan timed anew from now, as a net. What a step hands on
// to a later one ties the two: its links, the hands, the place at a station, the
// clamps, and air that is wet or dusty. Times that keep the ties, the shop's hours
// and the fixed starts keep every rule of the engine: of each resource as much
// passes from task to task as the order needs, so that never more of it is in use.
// Along the ties a step may slip by its float without moving a promise.
type course struct {
	q      *posed
	timed  *sequence.Plan
	line   *timeline
	legs   []*leg // by start
	of     map[models.ID]*leg
	byTask map[string]*leg
	limit  map[string]int // by job, the minute by which it is to end: as timed, as planned or as promised, whichever is last
	ends   map[string]int // by job, as timed
	slots  []slot

	backed sync.Once
	lasts  map[*leg]last // see latest
	spare  sync.Pool     // slips that were handed back
	kept   sync.Map      // floats by leg, delays by delayKey: asked again for each screen
}

// slot is a greatest lag between two legs: the later one starts at most so long
// after a point of the earlier.
type slot struct {
	before, after *leg
	from          sequence.LinkFrom
	most          int
}

// never is later than every minute of a plan.
const never = 1 << 40

// leg is a task of the course, in minutes.
type leg struct {
	*sequence.Task
	sequence.PlanTask
	number    int // its place in the course's legs
	setup     int // working minutes of its station's setup
	by        int // its last start by greatest lags that run already
	immovable bool
	out       []tie
	tied      map[*leg]bool // the legs that it is tied to
}

// tie holds a later leg back until so long after a point of an earlier one.
type tie struct {
	after *leg
	from  sequence.LinkFrom
	lag   int
	setup bool   // it is the beginning of the setup that is held back
	of    string // the resource or the zone that is handed on, "" for a link
}

// newCourse reads the course off a snapshot's plan; nil without one, or where the
// plan's order has no place in the shop as it is now. One schedule, once for all
// who ask it of the same snapshot.
func newCourse(snap *models.Snapshot) *course {
	return keep(snap.Origin(), courseKey{}, func() *course { return makeCourse(snap.Origin()) })
}

func makeCourse(snap *models.Snapshot) *course {
	if snap.Plan == nil || len(snap.Plan.Steps) == 0 {
		return nil
	}
	q, err := pose(snap)
	if err != nil {
		return nil
	}
	timed, err := q.retime()
	if err != nil {
		q.concede()
		timed, err = q.retime()
	}
	for err != nil {
		if !q.unpinAll() && !q.loosenAll() {
			return nil
		}
		timed, err = q.retime()
	}
	return courseOf(q, timed)
}

// concede gives up what the plan does not keep: pins that it moves, and greatest lags
// as far as it overruns them.
func (q *posed) concede() {
	at := map[string]sequence.PlanTask{}
	for _, it := range q.items {
		p := q.snap.Planned(it.ID)
		if p == nil {
			continue
		}
		t := sequence.PlanTask{ID: stepName(it.ID), Start: q.line.minute(p.Start), AttendedEnd: q.line.minute(p.AttendedEnd), End: q.line.minute(p.End)}
		if at[t.ID] = t; it.pinned && t.Start != it.start || it.onDay && !q.asPinned(it, t.Start) {
			q.unpin([]string{t.ID})
		}
	}
	for _, g := range q.lags {
		link := &q.Links[g.index]
		before, after := at[link.Before], at[link.After] // the origin is at 0
		if link.Max != nil {
			*link.Max = max(*link.Max, after.Start-pointAt(&before, link.From))
		}
	}
}

// retime times the plan anew: what the clock has overtaken is put off, with all that
// hangs on it, and nothing is done before the plan has it, so that the screens that
// show the plan and those that show its course agree. Only where that leaves something
// no place it may be.
func (q *posed) retime() (*sequence.Plan, error) {
	p := *q.Problem
	p.Tasks = append([]sequence.Task(nil), p.Tasks...)
	p.Previous = &sequence.Previous{Tolerance: tolerance}
	for i := range p.Tasks {
		t := &p.Tasks[i]
		id, ok := stepOf(t.ID)
		planned := q.snap.Planned(id)
		if !ok || planned == nil || q.byStep[id].fixed() {
			continue
		}
		start := max(0, q.line.minute(planned.Start)) // where a pin was given up it is not the pin
		p.Previous.Starts = append(p.Previous.Starts, sequence.Start{ID: t.ID, Start: start})
		if t.Start == nil {
			t.Release = max(t.Release, start)
		}
	}
	if timed, err := sequence.Retime(context.Background(), &p); err == nil {
		return timed, nil
	}
	return sequence.Retime(context.Background(), q.Problem)
}

// courseOf ties the tasks of a posed problem as one of its plans has them.
func courseOf(q *posed, timed *sequence.Plan) *course {
	c := &course{q: q, timed: timed, line: q.line, of: map[models.ID]*leg{}, byTask: map[string]*leg{}, limit: map[string]int{}, ends: map[string]int{}}
	setups := map[string]int{}
	for _, s := range timed.Setups {
		setups[s.For] = s.Minutes
	}
	for _, t := range timed.Tasks {
		c.byTask[t.ID] = &leg{PlanTask: t, setup: setups[t.ID], by: never, tied: map[*leg]bool{}}
	}
	for i := range q.Tasks {
		t := &q.Tasks[i]
		l := c.byTask[t.ID]
		l.Task, l.immovable = t, t.Start != nil
		c.legs = append(c.legs, l)
		if id, ok := stepOf(t.ID); ok {
			c.of[id] = l
		}
	}
	sort.SliceStable(c.legs, func(a, b int) bool { return c.legs[a].PlanTask.Start < c.legs[b].PlanTask.Start })
	for i, l := range c.legs {
		l.number = i
	}
	for _, j := range timed.Jobs {
		c.ends[j.ID], c.limit[j.ID] = j.End, j.End
	}
	for _, j := range q.Jobs {
		c.limit[j.ID] = max(c.limit[j.ID], *j.Due)
		if id, ok := commissionOf(j.ID); ok {
			if ends, planned := endOfWork(q.snap, id, q.snap.Planned); planned {
				c.limit[j.ID] = max(c.limit[j.ID], c.line.minute(ends))
			}
		}
	}
	for _, l := range q.Links {
		before, after := c.byTask[l.Before], c.byTask[l.After]
		before.bind(tie{after: after, from: l.From, lag: l.Min})
		switch {
		case l.Max == nil:
		case before.immovable:
			after.by = min(after.by, before.point(l.From)+*l.Max)
		default:
			c.slots = append(c.slots, slot{before, after, l.From, *l.Max})
		}
	}
	c.tieUnits()
	c.tieAir()
	return c
}

// legOf is the leg of a step; nil where the course, which may be nil, has none.
func (c *course) legOf(step models.ID) *leg {
	if c == nil {
		return nil
	}
	return c.of[step]
}

// Expected is when a step is going to be done: where the plan has it, or as late as
// the clock has put it since, and not before now. Nil where the plan does not have it.
func Expected(snap *models.Snapshot, step models.ID) *models.PlanStep {
	return newCourse(snap).expected(snap, step)
}

// expected is Expected by a course, which may be nil.
func (c *course) expected(snap *models.Snapshot, step models.ID) *models.PlanStep {
	planned := snap.Planned(step)
	if planned == nil {
		return nil
	}
	p, now := *planned, snap.At.Truncate(time.Minute)
	if l := c.legOf(step); l != nil {
		p.SetupStart, p.Start, p.AttendedEnd, p.End = c.line.time(l.SetupStart), c.line.time(l.PlanTask.Start), c.line.time(l.AttendedEnd), c.line.time(l.End)
		return &p
	}
	p.SetupStart, p.Start, p.AttendedEnd, p.End = later(p.SetupStart, now), later(p.Start, now), later(p.AttendedEnd, now), later(p.End, now)
	return &p
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

func (l *leg) bind(t tie) {
	l.out = append(l.out, t)
	l.tied[t.after] = true
}

// point is when a point of the leg is, as timed.
func (l *leg) point(from sequence.LinkFrom) int { return pointAt(&l.PlanTask, from) }

func pointAt(t *sequence.PlanTask, from sequence.LinkFrom) int {
	switch from {
	case sequence.FromStart:
		return t.Start
	case sequence.FromAttended:
		return t.AttendedEnd
	}
	return t.End
}

// holding is a use of a resource from a point of a leg to another.
type holding struct {
	*leg
	from   int
	setup  bool // from the beginning of its setup, not of the step
	until  sequence.LinkFrom
	amount int
}

// unit is one of a resource: a person, a place, a clamp.
type unit struct {
	free  int // since when
	last  *leg
	until sequence.LinkFrom
}

// tieUnits hands each unit of each resource on from one holding to the next.
func (c *course) tieUnits() {
	held := map[string][]holding{}
	for _, l := range c.legs {
		for r, h := range c.holdings(l) {
			held[r] = append(held[r], h...)
		}
	}
	for _, r := range c.q.Resources {
		all, units := held[r.ID], make([]unit, r.Capacity)
		sort.SliceStable(all, func(a, b int) bool { return all[a].from < all[b].from })
		for _, h := range all {
			h.take(r.ID, units)
		}
	}
}

// holdings lists what a leg holds, by resource.
func (c *course) holdings(l *leg) map[string][]holding {
	all := map[string][]holding{}
	add := func(resource string, h holding) {
		if l.point(h.until) > h.from && h.amount > 0 {
			all[resource] = append(all[resource], h)
		}
	}
	for _, u := range l.Uses {
		until := sequence.FromAttended
		if u.During == sequence.All {
			until = sequence.FromEnd
		}
		add(u.Resource, holding{leg: l, from: l.PlanTask.Start, until: until, amount: u.Amount})
	}
	if l.Setup != nil {
		add(l.Setup.Resource, holding{leg: l, from: l.SetupStart, setup: true, until: sequence.FromAttended, amount: 1})
	}
	if l.setup > 0 {
		add(handsName, holding{leg: l, from: l.SetupStart, setup: true, until: sequence.FromStart, amount: 1})
	}
	return all
}

// take gives a holding as many units as it needs: the leg's own first, then those of
// legs that it follows anyway, then those that are free longest, so that what comes
// before has most room to slip.
func (h *holding) take(resource string, units []unit) {
	rank := func(u *unit) int {
		switch {
		case u.free > h.from:
			return 3 // in use
		case u.last == h.leg:
			return 0
		case u.last != nil && u.last.tied[h.leg]:
			return 1
		}
		return 2
	}
	sort.SliceStable(units, func(a, b int) bool {
		x, y := rank(&units[a]), rank(&units[b])
		return x < y || x == y && units[a].free < units[b].free
	})
	for i := range units[:min(h.amount, len(units))] {
		u := &units[i]
		if u.last != nil && u.last != h.leg {
			u.last.bind(tie{after: h.leg, from: u.until, setup: h.setup, of: resource})
		}
		*u = unit{free: h.point(h.until), last: h.leg, until: h.until}
	}
}

// tieAir keeps wet and dusty legs of a zone in their order.
func (c *course) tieAir() {
	wet, dusty := map[string][]*leg{}, map[string][]*leg{}
	for _, l := range c.legs {
		switch {
		case l.Zone == nil:
		case l.Zone.Kind == sequence.Wet:
			wet[l.Zone.Name] = append(wet[l.Zone.Name], l)
		default:
			dusty[l.Zone.Name] = append(dusty[l.Zone.Name], l)
		}
	}
	for zone := range wet {
		for _, w := range wet[zone] {
			for _, d := range dusty[zone] {
				if d.AttendedEnd <= w.PlanTask.Start {
					d.bind(tie{after: w, from: sequence.FromAttended, of: zone})
				} else {
					w.bind(tie{after: d, from: sequence.FromEnd, of: zone})
				}
			}
		}
	}
}
