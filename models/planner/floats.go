package planner

import (
	"context"
	"sync"
	"time"

	"faceside/models"
	"faceside/models/sequence"
)

// floats returns, of every planned step that is not done, the working minutes by which
// its start may slip while everything else keeps its order, and no commission ends
// later than both the plan and the promise say, no greatest lag is overrun and no pin
// is moved. Links, hands, stations and their setups, clamps, wet and dusty air and the
// shop's hours are all looked at; that another order might leave more room is not.
func (c *course) floats() map[models.ID]int {
	latest, out := c.latest(), map[models.ID]int{}
	for id, l := range c.of {
		out[id], _ = c.floatUpTo(l, latest, never)
	}
	return out
}

// MostFloat is as far, in working minutes, as the float of a single step is looked into:
// screens tell no more than that it is more than a day and a night of shop hours.
const MostFloat = 24*hour + 1

// float is how far a leg may slip, up to MostFloat, and the job that would end too late
// then; "" where something else holds it.
func (c *course) float(l *leg, latest map[*leg]last) (minutes int, job string) {
	once, _ := c.kept.LoadOrStore(l, sync.OnceValues(func() (int, string) { return c.floatUpTo(l, latest, MostFloat) }))
	return once.(func() (int, string))()
}

// floatUpTo is that as far as so many minutes: the fewer the less work.
func (c *course) floatUpTo(l *leg, latest map[*leg]last, most int) (minutes int, job string) {
	rough := min(most, c.roughFloat(l, latest))
	if kept := c.keepsSlots(l, rough); kept < rough {
		return kept, ""
	}
	return rough, latest[l].job
}

// roughFloats is floats but for greatest lags.
func (c *course) roughFloats() map[models.ID]int {
	latest, out := c.latest(), map[models.ID]int{}
	for id, l := range c.of {
		out[id] = c.roughFloat(l, latest)
	}
	return out
}

// roughFloat is float but for greatest lags.
func (c *course) roughFloat(l *leg, latest map[*leg]last) int {
	return max(0, c.line.worked(latest[l].start)-c.line.worked(l.PlanTask.Start))
}

// last is the latest that a leg may be, and the job that would end too late if it
// were later; "" where something else holds it.
type last struct {
	setup, start int
	job          string
}

// latest works back from the ends of the jobs. It goes over the legs until nothing
// changes: a negative lag may lead from a leg to one that starts before it.
func (c *course) latest() map[*leg]last {
	if c == nil {
		return nil
	}
	c.backed.Do(func() { c.lasts = c.workBack() })
	return c.lasts
}

func (c *course) workBack() map[*leg]last {
	all := map[*leg]last{}
	for _, l := range c.legs {
		all[l] = last{setup: never, start: never}
	}
	for changed, rounds := true, 0; changed && rounds <= len(c.legs); rounds++ {
		changed = false
		for i := len(c.legs) - 1; i >= 0; i-- {
			l := c.legs[i]
			if now := c.latestOf(l, all); now != all[l] {
				all[l], changed = now, true
			}
		}
	}
	return all
}

// latestOf is the latest a leg may be, those tied to it being where they are in all.
func (c *course) latestOf(l *leg, all map[*leg]last) last {
	start, attendedEnd := l.by, never
	startJob, endJob := "", ""
	bound := func(by *int, job *string, at int, of string) {
		if at < *by {
			*by, *job = at, of
		}
	}
	if by, ok := c.limit[l.Job]; ok {
		bound(&attendedEnd, &endJob, by-l.Unattended, l.Job)
	}
	for _, t := range l.out {
		after := all[t.after]
		if t.after.immovable { // it is in somebody's hands, or pinned
			after = last{setup: t.after.SetupStart, start: t.after.PlanTask.Start}
		}
		by := after.start - t.lag
		if t.setup {
			by = after.setup - t.lag
		}
		switch t.from {
		case sequence.FromStart:
			bound(&start, &startJob, by, after.job)
		case sequence.FromAttended:
			bound(&attendedEnd, &endJob, by, after.job)
		default:
			bound(&attendedEnd, &endJob, by-l.Unattended, after.job)
		}
	}
	latest := c.back(l, start, attendedEnd)
	latest.job = endJob
	if start < never && c.back(l, never, attendedEnd).start > latest.start {
		latest.job = startJob
	}
	return latest
}

// back returns the latest that a leg may be if it must start and be attended to by
// certain minutes: in shop hours, and whole where it must not be cut.
func (c *course) back(l *leg, start, attendedEnd int) last {
	switch {
	case l.Attended == 0:
		start = min(start, attendedEnd)
		return last{setup: start, start: start}
	case l.Interruptible:
		start = min(c.line.lastOpen(start), c.line.back(attendedEnd, l.Attended))
		return last{setup: c.line.back(start, l.setup), start: start}
	}
	start = c.line.wholeBack(min(attendedEnd, start+l.Attended), l.Attended)
	for {
		if setup, ok := c.line.setupBefore(start, l.setup); ok || start < 0 {
			return last{setup: setup, start: start}
		}
		opens := c.line.windows[c.line.window(start)][0]
		if start > opens {
			start = opens // the setup then ends the opening before
		} else {
			start = c.line.wholeBack(opens, l.Attended)
		}
	}
}

// Slip is what a delay does to a commission.
type Slip struct {
	CommissionID models.ID
	Name         string
	From, To     time.Time // when it ends by the plan, and when it would then
	PromisedBy   time.Time
}

// Delayed is what comes of a delay.
type Delayed struct {
	Slips []Slip // the open commissions that then end later, in order of promise
	Stuck bool   // something other than a promise would have to give; nothing is known of ends
	Gives Gives  // what that is
}

// delay says what comes of it if a step starts so many working minutes later than
// planned (or than now, where its start is past) and everything else keeps its order
// as far as it can, under all rules of the engine. Nothing where the delay is within
// the step's float.
func (c *course) delay(step models.ID, minutes, float int) Delayed {
	if minutes <= float {
		return Delayed{}
	}
	once, _ := c.kept.LoadOrStore(delayKey{step, minutes}, sync.OnceValue(func() Delayed { return c.delayed(step, minutes) }))
	return once.(func() Delayed)()
}

// delayKey is a delay of a step.
type delayKey struct {
	step    models.ID
	minutes int
}

func (c *course) delayed(step models.ID, minutes int) Delayed {
	timed, err := sequence.Retime(context.Background(), c.putOff(c.of[step], minutes))
	if err != nil {
		return Delayed{Stuck: true, Gives: c.gives(c.of[step], minutes)}
	}
	var d Delayed
	ends := map[string]int{}
	for _, j := range timed.Jobs {
		ends[j.ID] = j.End
	}
	for _, f := range Forecasts(c.q.snap) {
		job := commissionName(f.CommissionID)
		from := max(c.ends[job], c.line.minute(f.Ends))
		if to := ends[job]; to > from {
			d.Slips = append(d.Slips, Slip{CommissionID: f.CommissionID, Name: f.Name,
				From: c.line.time(from), To: c.line.time(to), PromisedBy: f.PromisedBy})
		}
	}
	return d
}

// Stake is what hangs on a step being done now.
type Stake struct {
	Planned  bool
	FloatMin int     // see floats; up to MostFloat
	Hour     Delayed // what comes of it if it waits, or takes, an hour longer
	Gate     *Gate   // nil where it is none
}

// StakeOf says what hangs on a step that is not begun, put down or in hand. Two
// schedules.
func StakeOf(snap *models.Snapshot, step models.ID, at time.Time) Stake {
	c := newCourse(snap)
	l := c.legOf(step)
	if l == nil {
		return Stake{}
	}
	s := Stake{Planned: true}
	s.FloatMin, _ = c.float(l, c.latest())
	s.Hour = c.delay(step, hour, s.FloatMin)
	for _, g := range Gates(snap.Origin(), at) {
		if g.StepID == step {
			s.Gate = &g
		}
	}
	return s
}

// putOff is the problem with one step not to start before so many working minutes
// after it does; one in somebody's hands takes as much longer.
func (c *course) putOff(l *leg, minutes int) *sequence.Problem {
	p := *c.q.Problem
	p.Tasks = append([]sequence.Task(nil), p.Tasks...)
	p.Previous = &sequence.Previous{Tolerance: tolerance}
	for _, other := range c.legs {
		start := other.PlanTask.Start
		if other == l {
			start = c.line.forward(start, minutes)
		}
		p.Previous.Starts = append(p.Previous.Starts, sequence.Start{ID: other.Task.ID, Start: start})
	}
	for i := range p.Tasks {
		t := &p.Tasks[i]
		switch {
		case t.ID != l.Task.ID:
		case t.Attended == 0:
			t.Unattended += minutes // it is at rest
		case c.fixed(l):
			t.Attended += minutes
		default:
			t.Start, t.Release = nil, c.line.forward(l.PlanTask.Start, minutes)
		}
	}
	return &p
}

// fixed tells whether a leg is in hand or at rest.
func (c *course) fixed(l *leg) bool {
	id, ok := stepOf(l.Task.ID)
	return ok && c.q.byStep[id].fixed()
}

// late tells whether a job ends after its promise as timed.
func (c *course) late(job string) bool {
	for _, j := range c.q.Jobs {
		if j.ID == job {
			return c.ends[job] > *j.Due
		}
	}
	return false
}
