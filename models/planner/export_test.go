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
