package planner

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"faceside/models"
)

// Promises are the dates that can be promised, of many weeks in which the order of
// work is played as it may turn out (promise_play.go): step times drawn from the
// shop's own time book, troubles as often as they were recorded.
type Promises struct {
	Plan   models.ID // whose order was played, 0 for one that is not stored
	At     time.Time // the moment played from
	Plays  int
	Booked int // finished steps in the time book they were drawn from
	of     map[models.ID]*Promise
	weigh  map[models.ID]Weighs // by step
}

// Weighs is how much a step matters in the weeks played.
type Weighs struct {
	StepID models.ID
	// Moves is in what part of the weeks, from 0 to 1, an hour more on the step would have
	// moved a promise: with the attended part of it over an hour of shop time later, and
	// all else done in the order of that week, some commission would have been complete
	// later than it was and than it is promised for.
	Moves float64
	// Most is the commission whose promise that was most often, MostMoves in what part of
	// the weeks; 0 for none.
	Most      models.ID
	MostMoves float64
}

// Promise is when one commission was complete in the weeks played.
type Promise struct {
	origin time.Time
	ends   []int32 // minutes from the origin, the earliest first; beyond: never within the hours looked at
}

// beyond is the end of a commission that found no place within the calendar.
const beyond = math.MaxInt32

// Confidences are those that dates are told for.
var Confidences = []int{50, 80, 95}

// Of returns the promise of a commission; nil where it was not played.
func (p *Promises) Of(commission models.ID) *Promise {
	if p == nil {
		return nil
	}
	return p.of[commission]
}

// By returns the first moment by which the commission was complete in so many of a
// hundred weeks; false where there is none within the hours looked at.
func (p *Promise) By(confidence int) (time.Time, bool) {
	k := (len(p.ends)*confidence+99)/100 - 1
	if k < 0 || p.ends[k] == beyond {
		return time.Time{}, false
	}
	return p.origin.Add(time.Duration(p.ends[k]) * time.Minute), true
}

// Day returns the first day, YYYY-MM-DD by the shop's calendar, that can be promised
// with so much confidence: at its closing time the commission is complete.
func (p *Promise) Day(snap *models.Snapshot, confidence int) (string, bool) {
	by, ok := p.By(confidence)
	if !ok {
		return "", false
	}
	cal := localCalendar(snap)
	for i := 0; i <= reach; i++ {
		if day := cal.Day(by, i); len(day) > 0 && !day[len(day)-1].To.Before(by) {
			return cal.Date(day[0].From), true
		}
	}
	return "", false
}

// Holds returns in what part of the weeks played the commission is complete by a
// moment, from 0 to 1.
func (p *Promise) Holds(by time.Time) float64 {
	minute := by.Sub(p.origin) / time.Minute
	return float64(sort.Search(len(p.ends), func(i int) bool { return int64(p.ends[i]) > int64(minute) })) / float64(len(p.ends))
}

// PromisedBy is closing time of the day a commission is promised for, or the last
// one before it; false where the date cannot be read.
func PromisedBy(snap *models.Snapshot, c *models.Commission) (time.Time, bool) {
	by, err := localCalendar(snap).promised(c.PromisedOn)
	return by, err == nil
}

// Weighs returns how much a step matters; false where no weeks were played with it.
func (p *Promises) Weighs(step models.ID) (Weighs, bool) {
	if p == nil {
		return Weighs{}, false
	}
	w, played := p.weigh[step]
	return w, played
}

// Heaviest returns the steps an hour more on which would have moved a promise in at
// least such a part of the weeks played, the first one in most.
func (p *Promises) Heaviest(least float64) []Weighs {
	if p == nil {
		return nil
	}
	var all []Weighs
	for _, w := range p.weigh {
		if w.Moves >= least {
			all = append(all, w)
		}
	}
	slices.SortFunc(all, func(a, b Weighs) int {
		return cmp.Or(cmp.Compare(b.Moves, a.Moves), cmp.Compare(b.MostMoves, a.MostMoves), cmp.Compare(a.StepID, b.StepID))
	})
	return all
}

// playing says how many weeks to play, and how.
type playing struct {
	plays int
	cores int
	seed  int64
	pause func(context.Context) // after a stretch of work; nil: none
}

// foresee plays the order of a snapshot's plan from the snapshot's moment on.
func foresee(ctx context.Context, snap *models.Snapshot, turned *models.Outcomes, o playing) (*Promises, error) {
	q, err := pose(snap)
	if err != nil {
		return nil, err
	}
	played, err := q.weeks(learnPace(turned)).play(ctx, o)
	if err != nil {
		return nil, fmt.Errorf("playing the order of work: %w", err)
	}
	all := &Promises{At: q.line.origin, Plays: o.plays, Booked: len(turned.Steps), of: map[models.ID]*Promise{}, weigh: map[models.ID]Weighs{}}
	if snap.Plan != nil {
		all.Plan = snap.Plan.ID
	}
	jobs := make([]models.ID, len(q.Jobs))
	for j := range q.Jobs {
		if id, ok := commissionOf(q.Jobs[j].ID); ok {
			jobs[j] = id
			all.of[id] = &Promise{origin: q.line.origin, ends: played.ends[j]}
		}
	}
	for t := range q.Tasks {
		if id, ok := stepOf(q.Tasks[t].ID); ok && q.byStep[id].left > 0 {
			all.weigh[id] = weighs(id, played.moved[t], jobs, o.plays)
		}
	}
	return all, nil
}

// weighs tells how much a step matters of the weeks in which it moved each job's promise.
func weighs(step models.ID, moved []int32, jobs []models.ID, plays int) Weighs {
	w := Weighs{StepID: step}
	for j, n := range moved {
		part := float64(n) / float64(plays)
		if w.Moves += part; part > w.MostMoves {
			w.Most, w.MostMoves = jobs[j], part
		}
	}
	return w
}
