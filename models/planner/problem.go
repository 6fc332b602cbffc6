package planner

import (
	"faceside/models"
	"faceside/models/sequence"
)

// Problem is what the engine is asked for a snapshot, as a search begins with it: the
// plan before is in it as it was, not timed anew. Records stand in it by their numbers.
func Problem(snap *models.Snapshot) (*sequence.Problem, error) {
	q, err := pose(snap)
	if err != nil {
		return nil, err
	}
	return q.Problem, nil
}
