package planner

import (
	"time"

	"faceside/models"
)

// stand is how a step enters the problem.
type stand int

const (
	over   stand = iota // done: it leaves only releases and bounds for those after it
	free                // to be placed, whole
	begun               // to be placed, with what is left of it
	held                // in hand: it is where it is
	atRest              // its attended part is done and its rest runs
)

// toPlace tells whether a step is still to be placed in time.
func toPlace(st *models.Step, at time.Time) bool {
	s := standOf(st, at)
	return s == free || s == begun
}

// leastLeft is the attended minutes a step in hand is still given when it has
// taken as long as was estimated: nobody knows how long it will be.
const leastLeft = 5

// standOf says how a step enters a problem posed at a time.
func standOf(st *models.Step, at time.Time) stand {
	switch st.State {
	case models.Done:
		return over
	case models.AtRest:
		if st.RestEndsAt == nil || !st.RestEndsAt.After(at) {
			return over // the clock says so; nobody has to
		}
		return atRest
	case models.InHand:
		return held
	case models.PutDown, models.InTrouble:
		if st.Interruptible && st.Worked > 0 {
			return begun
		}
	}
	return free
}

// left returns the attended minutes still to do of a step that is not in hand.
// What was worked on one that must not be interrupted does not count then.
func left(st *models.Step, at time.Time) int {
	worked := 0
	switch standOf(st, at) {
	case over, atRest:
		return 0
	case held, begun:
		worked = st.Worked / 60
	}
	return leftAfter(st, worked)
}

func leftAfter(st *models.Step, worked int) int {
	return max(st.Attended-worked, min(leastLeft, st.Attended))
}

// left is left for steps in hand too.
func (q *posed) left(st *models.Step) int {
	if _, _, ok := q.snap.Running(st); !ok {
		return left(st, q.at)
	}
	return leftAfter(st, q.worked(st))
}

// worked returns the attended minutes that a step has had so far: in a run only its
// share of the time since it was counted last is its own.
func (q *posed) worked(st *models.Step) int {
	since, part, ok := q.snap.Running(st)
	if !ok {
		return st.Worked / 60
	}
	return st.Worked/60 + int(part*float64(handsOn(since, q.at, q.cal)))
}

// handsOn returns the minutes worked between two times: those of the shop's
// hours, or all of them if work began while it was closed.
func handsOn(from, to time.Time, c *calendar) int {
	if start, ok := c.open(from); ok && start.Equal(from) {
		return c.minutes(from, to)
	}
	return max(0, int(to.Sub(from)/time.Minute))
}

// pointOf returns the time that a link measures from, where it is known
// already because the earlier step has got so far.
func pointOf(l models.Link, before *models.Step, at time.Time) (time.Time, bool) {
	s := standOf(before, at)
	switch l.From {
	case "start":
		if before.StartedAt != nil && s != free {
			return *before.StartedAt, true
		}
	case "attended":
		if before.FinishedAt != nil && (s == over || s == atRest) {
			return *before.FinishedAt, true
		}
	default:
		if s == atRest {
			return *before.RestEndsAt, true
		}
	}
	if s == over {
		return before.Ended(at)
	}
	return time.Time{}, false
}
