package planner

import (
	"sort"
	"time"

	"faceside/models"
)

// course is a plan as a net: what follows what by links, on stations and in
// people's hands. Along it a delay spreads; against it float is found. It counts
// working minutes; that an uncut step must fit into an opening, and clamps and
// air, it does not look at.
type course struct {
	snap  *models.Snapshot
	line  *timeline
	legs  []*leg // by start
	of    map[models.ID]*leg
	limit map[models.ID]int // by commission, the minute by which it is to end: as planned or as promised, whichever is later
}

// leg is a planned step that is not done, in minutes.
type leg struct {
	*models.Step
	start, attendedEnd, end int // as planned; start not before now
	setup, worked           int // working minutes before start, and from start to attendedEnd
	next, previous          []*leg
	before                  []tie // links from other legs
	at                      int   // its place among the legs
}

// tie is a link from an earlier leg.
type tie struct {
	*leg
	from string
	lag  int
}

// newCourse reads the course off a snapshot's plan; nil without one. O(n log n).
func newCourse(snap *models.Snapshot) *course {
	if snap.Plan == nil || len(snap.Plan.Steps) == 0 {
		return nil
	}
	cal := localCalendar(snap)
	c := &course{snap: snap, of: map[models.ID]*leg{}, limit: map[models.ID]int{}}
	last := snap.At
	for _, p := range snap.Plan.Steps {
		if p.End.After(last) {
			last = p.End
		}
	}
	c.line = cal.timeline(snap.At.Truncate(time.Minute), cal.minutes(snap.At, last), 14)
	for i := range snap.Plan.Steps {
		p := &snap.Plan.Steps[i]
		if st := snap.Step(p.StepID); st != nil && standOf(st, snap.At) != over {
			c.legs = append(c.legs, c.leg(st, p))
		}
	}
	sort.SliceStable(c.legs, func(a, b int) bool { return c.legs[a].start < c.legs[b].start })
	for i, l := range c.legs {
		l.at = i
		for _, link := range snap.Before(l.ID) {
			if b := c.of[link.BeforeID]; b != nil {
				l.before = append(l.before, tie{b, link.From, link.MinLag})
			}
		}
	}
	c.chain()
	for i := range snap.Commissions {
		com := &snap.Commissions[i]
		by, err := cal.promised(com.PromisedOn)
		if ends, ok := endOfWork(snap, com.ID); ok && (err != nil || ends.After(by)) {
			by = ends
		}
		c.limit[com.ID] = c.line.minute(by)
	}
	return c
}

func (c *course) leg(st *models.Step, p *models.PlanStep) *leg {
	l := &leg{Step: st, start: max(0, c.line.minute(p.Start)), attendedEnd: max(0, c.line.minute(p.AttendedEnd)), end: max(0, c.line.minute(p.End))}
	l.setup = c.line.worked(l.start) - c.line.worked(max(0, c.line.minute(p.SetupStart)))
	l.worked = c.line.worked(l.attendedEnd) - c.line.worked(l.start)
	c.of[st.ID] = l
	return l
}

// chain notes what follows what on stations of one place and in people's hands.
func (c *course) chain() {
	type where struct {
		station bool
		id      models.ID
	}
	behind := map[where]*leg{}
	for _, l := range c.legs {
		var places []where
		if s := c.snap.Station(l.StationID); s != nil && l.worked > 0 && (s.Places <= 1 || l.SetupID != nil) {
			places = append(places, where{true, s.ID})
		}
		for _, person := range c.snap.Planned(l.ID).PersonIDs {
			places = append(places, where{false, person})
		}
		for _, p := range places {
			if b := behind[p]; b != nil {
				b.next, l.previous = append(b.next, l), append(l.previous, b)
			}
			behind[p] = l
		}
	}
}

// Floats returns FloatMin of every planned step that is not done, nil without a plan.
func Floats(snap *models.Snapshot) map[models.ID]int {
	c := newCourse(snap)
	if c == nil {
		return nil
	}
	return c.floats()
}

// FloatMin returns the working minutes by which a step's start may slip before
// its commission, or another that comes after it by links, at a station or in
// somebody's hands, ends later than both the plan and the promise say. 0 where
// the step is not in the plan. O(steps log steps); Floats does all steps at once.
func FloatMin(snap *models.Snapshot, step models.ID) int { return Floats(snap)[step] }

func (c *course) floats() map[models.ID]int {
	latest, out := map[*leg]int{}, map[models.ID]int{}
	for i := len(c.legs) - 1; i >= 0; i-- {
		l := c.legs[i]
		latest[l] = c.latestStart(l, latest)
		out[l.ID] = max(0, c.line.worked(latest[l])-c.line.worked(l.start))
	}
	return out
}

// latestStart is the latest minute at which a leg may start, those behind it
// having theirs already.
func (c *course) latestStart(l *leg, latest map[*leg]int) int {
	rest := l.end - l.attendedEnd
	start, attendedEnd := never, c.limit[l.CommissionID]-rest
	for _, link := range c.snap.After(l.ID) {
		after, ok := latest[c.of[link.AfterID]]
		if !ok {
			continue
		}
		switch by := after - link.MinLag; link.From {
		case models.FromStart:
			start = min(start, by)
		case models.FromAttended:
			attendedEnd = min(attendedEnd, by)
		default:
			attendedEnd = min(attendedEnd, by-rest)
		}
	}
	for _, n := range l.next {
		if after, ok := latest[n]; ok {
			attendedEnd = min(attendedEnd, c.line.back(after, n.setup))
		}
	}
	return min(start, c.line.back(attendedEnd, l.worked))
}

// never is later than every minute of a plan.
const never = 1 << 40

// Slip is what a delay does to a commission.
type Slip struct {
	CommissionID models.ID
	Name         string
	From, To     time.Time // when it ends by the plan, and when it would then
	PromisedBy   time.Time
}

// Delay says which open commissions end later if a step starts so many working
// minutes later than planned (or than now, where its start is past) and all that
// follows it is put off no more than it must be. In order of promise; none where
// the step is not in the plan. O(steps log steps).
func Delay(snap *models.Snapshot, step models.ID, minutes int) []Slip {
	c := newCourse(snap)
	if c == nil || c.of[step] == nil {
		return nil
	}
	return c.delay(step, minutes, Forecasts(snap))
}

func (c *course) delay(step models.ID, minutes int, forecasts []Forecast) []Slip {
	ends := c.spread(step, minutes)
	var slips []Slip
	for _, f := range forecasts {
		if to := c.line.time(ends[f.CommissionID]); to.After(f.Ends) {
			slips = append(slips, Slip{CommissionID: f.CommissionID, Name: f.Name, From: f.Ends, To: to, PromisedBy: f.PromisedBy})
		}
	}
	return slips
}

// place is where a leg is after a delay.
type place struct {
	late                    bool
	start, attendedEnd, end int
}

// spread returns when each commission ends if a step starts later. O(steps + links).
func (c *course) spread(step models.ID, minutes int) map[models.ID]int {
	places, ends := make([]place, len(c.legs)), map[models.ID]int{}
	for i, l := range c.legs {
		p := place{start: l.start, attendedEnd: l.attendedEnd, end: l.end}
		if l.ID == step {
			p.start = c.line.forward(p.start, minutes)
		}
		if p.start = max(p.start, c.pushed(l, places)); p.start > l.start {
			p.late = true
			p.attendedEnd = c.line.forward(p.start, l.worked)
			p.end = p.attendedEnd + l.end - l.attendedEnd
		}
		places[i] = p
		ends[l.CommissionID] = max(ends[l.CommissionID], p.end)
	}
	return ends
}

// pushed returns the earliest start that the delayed legs before a leg leave it; 0 if none does.
func (c *course) pushed(l *leg, places []place) int {
	earliest := 0
	for _, t := range l.before {
		b := &places[t.at]
		if !b.late {
			continue
		}
		point := b.end
		switch t.from {
		case models.FromStart:
			point = b.start
		case models.FromAttended:
			point = b.attendedEnd
		}
		earliest = max(earliest, point+t.lag)
	}
	for _, previous := range l.previous {
		if b := &places[previous.at]; b.late {
			earliest = max(earliest, c.line.forward(b.attendedEnd, l.setup))
		}
	}
	return earliest
}
