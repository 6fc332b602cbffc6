package planner

import (
	"slices"
	"sort"
	"time"

	"faceside/models"
	"faceside/models/phrase"
)

// Gate is a step whose unattended time keeps other steps waiting: the sooner
// its attended part is done (the gate is closed), the sooner they can go on.
type Gate struct {
	StepID    models.ID
	Holds     []models.ID   // all steps behind it that are not done, any number of links away
	HoldsMin  int           // attended minutes of those
	Opens     []models.ID   // those of them that follow it directly
	CloseBy   time.Time     // when it should be closed so that the plan holds; zero: not in the plan
	Why       phrase.Phrase // completes "Close it by ...", e.g. "before closing time 17:00: the night then takes its 4 h in clamps"
	Latest    time.Time     // closed later, it moves a promise, a pin or a greatest lag while the rest keeps its order; never before CloseBy; zero: not known, or not asked for
	ToTheLast bool          // CloseBy is Latest, and Why says what has to give after it
	Promise   models.ID     // the commission that then is late; its own where it is something else that moves
	Moves     bool          // it is that promise; else what Gives says
	Gives     Gives
	Late      bool // that commission is late already
	Clamps    []ClampsAsked
}

// waitedOut is how long those that follow a step must be kept waiting for it to be a
// gate. A shorter wait (glue size, a first wash of shellac) is spent at the bench:
// clearing up and laying out the next step fill it, nobody plans a closing time around
// it, and between long cures it would only lengthen the list. Half an hour is the
// shortest that common glues ask for in clamps (common practice, no source).
const waitedOut = 30

// Gates returns the gates of all open commissions that are still to be closed,
// those first that must be closed first. O(gates × links), and a slip of the plan or
// two for those that can wait, where it has greatest lags.
// It is shared and must not be changed.
func Gates(snap *models.Snapshot, at time.Time) []Gate {
	return keep(snap, gatesKey{at}, func() []Gate { return findGates(snap, at, newCourse(snap)) })
}

// GatesToTheLast is Gates with all their latest times, which take more slips.
func GatesToTheLast(snap *models.Snapshot, at time.Time) []Gate {
	return keep(snap, toTheLastKey{at}, func() []Gate {
		c, all := newCourse(snap), slices.Clone(Gates(snap, at))
		for i := range all {
			all[i].latest(c, never)
		}
		return all
	})
}

// findGates finds the gates along a course, which may be nil.
func findGates(snap *models.Snapshot, at time.Time, c *course) []Gate {
	cal, rack := localCalendar(snap), RackOf(snap, at)
	var all []Gate
	for i := range snap.Steps {
		st := &snap.Steps[i]
		com := snap.Commission(st.CommissionID)
		if s := standOf(st, at); st.Unattended == 0 || keepsWaiting(snap, st) < waitedOut || s == over || s == atRest || com == nil || com.State != models.Open {
			continue
		}
		if g := gateOf(snap, st, at); len(g.Holds) > 0 {
			g.close(snap, cal, at, c)
			g.Clamps = rack.needs(snap, st)
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
