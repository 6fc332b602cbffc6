package planner

import (
	"time"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/sequence"
)

// close says by when the gate should be closed: as late as the plan of what waits
// for it, for its clamps or for its air allows and no promise, pin or greatest lag
// has to give, at a time at which the shop's hours let it be closed.
func (g *Gate) close(snap *models.Snapshot, cal *calendar, at time.Time, c *course) {
	st := snap.Step(g.StepID)
	by, first := wantedBy(snap, st, c)
	planned := c.expected(snap, st.ID)
	if first == nil || planned == nil {
		g.Why = phrase.Of("%d steps wait for it", len(g.Holds))
		return
	}
	closes := planned.AttendedEnd
	by = later(by, closes)
	if l := c.legOf(st.ID); l != nil {
		start := max(l.PlanTask.Start, c.back(l, never, c.line.minute(by)).start)
		by = c.line.time(c.line.forward(start, l.Attended))
		if g.latest(c, c.line.worked(start)-c.line.worked(l.PlanTask.Start)) {
			by, first = g.Latest, nil
		}
	}
	g.CloseBy = by
	if shut, reopens := cal.lastClosing(by); !shut.IsZero() && !shut.Before(closes) {
		g.CloseBy, g.Why = shut, beforeClosing(shut, reopens, at, cal.Zone, st)
		return
	}
	if first == nil {
		g.ToTheLast, g.Why = true, g.keeps(snap, cal, at)
		return
	}
	g.Why = first.why(st, at, cal.Zone)
}

// latest says until when the gate can be closed without moving a promise, and whose,
// where that is before it is put off by so many working minutes; it tells whether it is.
func (g *Gate) latest(c *course, most int) bool {
	l, latest := c.legOf(g.StepID), c.latest()
	if l == nil || latest[l].start < l.PlanTask.Start {
		return false
	}
	float, job := c.floatUpTo(l, latest, most)
	if float == most {
		return false
	}
	slipped := c.line.placed(l, 0, c.line.forward(l.PlanTask.Start, float))
	g.Latest = c.line.time(slipped.AttendedEnd)
	if id, ok := commissionOf(job); ok {
		g.Promise, g.Moves, g.Late = id, true, c.late(job)
	} else {
		g.Gives = c.gives(l, float+1)
	}
	return true
}

// keeps is the reason to close a gate by its latest time.
func (g *Gate) keeps(snap *models.Snapshot, cal *calendar, at time.Time) phrase.Phrase {
	com := snap.Commission(g.Promise)
	switch {
	case !g.Moves || com == nil:
		if why := g.Gives.keeps(snap, at, cal.Zone); !why.Empty() {
			return why
		}
		return phrase.Of("%d steps wait for it", len(g.Holds))
	case g.Late:
		return phrase.Of("so that “%s”, late already, gets no later", com.Name)
	}
	by, err := cal.promised(com.PromisedOn)
	if err != nil { // then the plan has no such job
		return phrase.Of("%d steps wait for it", len(g.Holds))
	}
	return phrase.Of("so that “%[1]s” keeps its promise, %[2]s", com.Name, clockWords(by, at, cal.Zone))
}

// follower is a step that follows a gate, when it is expected to start, and what it
// gets from the gate: clamps, air, or "" where a link is all.
type follower struct {
	*models.Step
	start time.Time
	of    string
}

// why is the reason to close a gate for a follower.
func (f *follower) why(gate *models.Step, at time.Time, loc *time.Location) phrase.Phrase {
	when := clockWords(f.start, at, loc)
	switch {
	case isClamps(f.of):
		return phrase.Of("so that its clamps are free when %[1]s is planned, %[2]s", quoted(f.Step), when)
	case f.of != "":
		return phrase.Of("so that it is dry before %[1]s raises dust there, %[2]s", quoted(f.Step), when)
	}
	return phrase.Of("so that it is %[1]s when %[2]s is planned, %[3]s", ready(gate.Rest), quoted(f.Step), when)
}

// wantedBy returns the latest end of a step's attended part that lets those that wait
// for it, for its clamps or for dry air start when they are expected to, and which of
// them it is that says so.
func wantedBy(snap *models.Snapshot, st *models.Step, c *course) (latest time.Time, first *follower) {
	note := func(id models.ID, lag int, of string) {
		after, p := snap.Step(id), c.expected(snap, id)
		if after == nil || p == nil || !toPlace(after, snap.At) {
			return
		}
		if by := p.Start.Add(-time.Duration(lag) * time.Minute); first == nil || by.Before(latest) {
			latest, first = by, &follower{after, p.Start, of}
		}
	}
	for _, l := range snap.After(st.ID) {
		switch l.From {
		case models.FromStart:
		case models.FromAttended:
			note(l.AfterID, l.MinLag, "")
		default:
			note(l.AfterID, l.MinLag+st.Unattended, "")
		}
	}
	if l := c.legOf(st.ID); l != nil && first != nil {
		for _, t := range l.out {
			if id, ok := stepOf(t.after.Task.ID); ok && t.of != "" && t.from == sequence.FromEnd {
				note(id, st.Unattended, t.of)
			}
		}
	}
	return latest, first
}

// lastClosing returns the end of the last opening before a time at which the
// shop is closed or just closing, and when it opens again; zero where the shop
// is open at that time.
func (c *calendar) lastClosing(t time.Time) (shut, reopens time.Time) {
	o, ok := c.next(t)
	if ok && o.From.Before(t) {
		return time.Time{}, time.Time{}
	}
	for i := 0; i >= -reach && !c.empty; i-- {
		day := c.Day(t, i)
		for k := len(day) - 1; k >= 0; k-- {
			if !day[k].To.After(t) {
				return day[k].To, o.From
			}
		}
	}
	return time.Time{}, time.Time{}
}

// beforeClosing is the reason to close a gate by closing time or by a break: how
// much of its rest then passes while nobody is there.
func beforeClosing(shut, reopens, at time.Time, loc *time.Location, st *models.Step) phrase.Phrase {
	when, rest, state := clockWords(shut, at, loc), minuteWords(st.Unattended), restKeys[st.Rest].Of()
	closed := int(reopens.Sub(shut) / time.Minute)
	day, next := shut.In(loc), reopens.In(loc)
	switch {
	case sameDay(day, next) && closed >= st.Unattended:
		return phrase.Of("before the break at %[1]s: the break then takes its %[2]s %[3]s", when, rest, state)
	case sameDay(day, next):
		return phrase.Of("before the break at %[1]s: the break then takes %[2]s of its %[3]s %[4]s", when, minuteWords(closed), rest, state)
	case closed < st.Unattended && sameDay(day.AddDate(0, 0, 1), next):
		return phrase.Of("before closing time %[1]s: the night then takes %[2]s of its %[3]s %[4]s", when, minuteWords(closed), rest, state)
	case sameDay(day.AddDate(0, 0, 1), next):
		return phrase.Of("before closing time %[1]s: the night then takes its %[2]s %[3]s", when, rest, state)
	case closed < st.Unattended:
		return phrase.Of("before closing time %[1]s: the closed days then take %[2]s of its %[3]s %[4]s", when, minuteWords(closed), rest, state)
	}
	return phrase.Of("before closing time %[1]s: the closed days then take its %[2]s %[3]s", when, rest, state)
}

// restKeys are the ways in which a step can rest.
var restKeys = map[string]phrase.Key{"in clamps": "in clamps", "drying": "drying", "resting": "resting"}

// ready is how a step is when its rest is over.
func ready(rest string) phrase.Phrase {
	switch rest {
	case "in clamps":
		return phrase.Of("out of clamps")
	case "drying":
		return phrase.Of("dry")
	}
	return phrase.Of("rested")
}
