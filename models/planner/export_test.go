package planner

import (
	"context"
	"time"

	"faceside/models"
	"faceside/models/sequence"
)

// PutOff is when each commission ends if a step starts so many working minutes later
// than planned and everything else keeps its order: the problem is posed from the
// records and timed by the engine, nothing is taken from a course.
func PutOff(snap *models.Snapshot, step models.ID, minutes int) (map[models.ID]time.Time, error) {
	q, err := pose(snap)
	if err != nil {
		return nil, err
	}
	for i := range q.Previous.Starts {
		kept := &q.Previous.Starts[i]
		if kept.ID == stepName(step) {
			kept.Start = q.line.forward(kept.Start, minutes)
			q.put(kept.ID, kept.Start)
		}
	}
	timed, err := sequence.Retime(context.Background(), q.Problem)
	if err != nil {
		return nil, err
	}
	ends := map[models.ID]time.Time{}
	for _, j := range timed.Jobs {
		if id, ok := commissionOf(j.ID); ok {
			ends[id] = q.line.time(j.End)
		}
	}
	return ends, nil
}

// put lets a task start at a minute at the earliest.
func (q *posed) put(task string, release int) {
	for i := range q.Tasks {
		if t := &q.Tasks[i]; t.ID == task {
			t.Start, t.Release = nil, release
		}
	}
}

// Floats are the floats of all planned steps that are not done, nil without a plan.
func Floats(snap *models.Snapshot) map[models.ID]int {
	if c := newCourse(snap); c != nil {
		return c.floats()
	}
	return nil
}

// FloatMin is the float of one step, 0 where it is not in the plan.
func FloatMin(snap *models.Snapshot, step models.ID) int { return Floats(snap)[step] }

// Delay is what comes of putting one step off, nothing where it is not in the plan.
func Delay(snap *models.Snapshot, step models.ID, minutes int) Delayed {
	c := newCourse(snap)
	if c == nil || c.of[step] == nil {
		return Delayed{}
	}
	return c.delay(step, minutes, c.floats()[step])
}

// FirstPlan poses the problem of a snapshot and searches for a first plan, no better one.
func FirstPlan(ctx context.Context, snap *models.Snapshot) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	o := options{onPlan: func(*posed, *sequence.Plan) { cancel() }}
	_, _, err := solve(ctx, snap, o)
	return err
}
