package planner

import (
	"fmt"
	"sort"
	"time"

	"faceside/models"
)

// Gate is a step whose unattended time keeps other steps waiting: the sooner
// its attended part is done (the gate is closed), the sooner they can go on.
type Gate struct {
	StepID   models.ID
	Holds    []models.ID // all steps behind it that are not done, any number of links away
	HoldsMin int         // attended minutes of those
	Opens    []models.ID // those of them that follow it directly
	CloseBy  time.Time   // when it should be closed so that the plan holds; zero: not in the plan
	Why      string      // completes "Close it by ...", e.g. "before closing time 17:00: the night then takes its 4 h in clamps"
	Promise  models.ID   // the commission that is late if it is not
}

// waitedOut is how long those that follow a step must be kept waiting for it to be a
// gate. A shorter wait (glue size, a first wash of shellac) is spent at the bench:
// clearing up and laying out the next step fill it, nobody plans a closing time around
// it, and between long cures it would only lengthen the list. Half an hour is the
// shortest that common glues ask for in clamps (common practice, no source).
const waitedOut = 30

// Gates returns the gates of all open commissions that are still to be closed,
// those first that must be closed first. O(gates × links).
func Gates(snap *models.Snapshot, at time.Time) []Gate {
	cal := localCalendar(snap)
	var all []Gate
	for i := range snap.Steps {
		st := &snap.Steps[i]
		c := snap.Commission(st.CommissionID)
		if s := standOf(st, at); st.Unattended == 0 || keepsWaiting(snap, st) < waitedOut || s == over || s == atRest || c == nil || c.State != models.Open {
			continue
		}
		if g := gateOf(snap, st, at); len(g.Holds) > 0 {
			g.close(snap, cal, at)
			all = append(all, g)
		}
	}
	sort.SliceStable(all, func(a, b int) bool {
		x, y := &all[a], &all[b]
		if !x.CloseBy.Equal(y.CloseBy) {
			return !x.CloseBy.IsZero() && (y.CloseBy.IsZero() || x.CloseBy.Before(y.CloseBy))
		}
		return x.HoldsMin > y.HoldsMin
	})
	return all
}

// keepsWaiting is how many minutes pass from the end of a step's attended part until
// the last of those that follow it directly may start.
func keepsWaiting(snap *models.Snapshot, st *models.Step) int {
	longest := 0
	for _, l := range snap.After(st.ID) {
		switch l.From {
		case models.FromAttended:
			longest = max(longest, l.MinLag)
		case models.FromStart:
			longest = max(longest, l.MinLag-st.Attended)
		default:
			longest = max(longest, st.Unattended+l.MinLag)
		}
	}
	return longest
}

// gateOf finds what a step holds.
func gateOf(snap *models.Snapshot, st *models.Step, at time.Time) Gate {
	g := Gate{StepID: st.ID, Promise: st.CommissionID}
	seen := map[models.ID]bool{st.ID: true}
	for queue := []models.ID{st.ID}; len(queue) > 0; queue = queue[1:] {
		for _, l := range snap.After(queue[0]) {
			after := snap.Step(l.AfterID)
			if after == nil || seen[after.ID] || standOf(after, at) == over {
				continue
			}
			seen[after.ID] = true
			queue = append(queue, after.ID)
			g.Holds = append(g.Holds, after.ID)
			g.HoldsMin += after.Attended
			if l.BeforeID == st.ID {
				g.Opens = append(g.Opens, after.ID)
			}
		}
	}
	return g
}

// close says by when the gate should be closed: as late as the plan of those
// that follow it directly allows, but in shop hours.
func (g *Gate) close(snap *models.Snapshot, cal *calendar, at time.Time) {
	st := snap.Step(g.StepID)
	latest, first := latestClose(snap, st)
	planned := snap.Planned(st.ID)
	if first == nil || planned == nil {
		g.Why = count(len(g.Holds), "step") + " " + waits(len(g.Holds)) + " for it"
		return
	}
	if latest.Before(planned.AttendedEnd) {
		latest = planned.AttendedEnd
	}
	g.CloseBy = latest
	rest := minuteWords(st.Unattended) + " " + st.Rest
	shut, reopens := cal.lastClosing(latest)
	if !shut.IsZero() && !shut.Before(planned.AttendedEnd) {
		g.CloseBy = shut
		g.Why = beforeClosing(shut, reopens, at, cal.Zone, rest)
		return
	}
	g.Why = fmt.Sprintf("so that it is %s when %s is planned, %s", ready(st.Rest), quoted(first.Step), clockWords(first.start, at, cal.Zone))
}

// follower is a step that follows a gate, and where the plan has it.
type follower struct {
	*models.Step
	start time.Time
}

// latestClose returns the latest end of a step's attended part that lets those
// that follow it directly start as planned, and which of them it is that says so.
func latestClose(snap *models.Snapshot, st *models.Step) (latest time.Time, first *follower) {
	for _, l := range snap.After(st.ID) {
		after, p := snap.Step(l.AfterID), snap.Planned(l.AfterID)
		if after == nil || p == nil || l.From == models.FromStart || !toPlace(after, snap.At) {
			continue
		}
		lag := l.MinLag
		if l.From != models.FromAttended {
			lag += st.Unattended
		}
		by := p.Start.Add(-time.Duration(lag) * time.Minute)
		if first == nil || by.Before(latest) {
			latest, first = by, &follower{after, p.Start}
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

// beforeClosing is the reason to close a gate by closing time or by a break.
func beforeClosing(shut, reopens, at time.Time, loc *time.Location, rest string) string {
	when := clockWords(shut, at, loc)
	day := shut.In(loc)
	switch next := reopens.In(loc); {
	case sameDay(day, next):
		return fmt.Sprintf("before the break at %s: the break then takes its %s", when, rest)
	case sameDay(day.AddDate(0, 0, 1), next):
		return fmt.Sprintf("before closing time %s: the night then takes its %s", when, rest)
	}
	return fmt.Sprintf("before closing time %s: the closed days then take its %s", when, rest)
}

// ready is how a step is when its rest is over.
func ready(rest string) string {
	switch rest {
	case "in clamps":
		return "out of clamps"
	case "drying":
		return "dry"
	}
	return "rested"
}

func waits(n int) string {
	if n == 1 {
		return "waits"
	}
	return "wait"
}
