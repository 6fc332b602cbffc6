package planner

import (
	"sort"
	"time"

	"faceside/models"
)

// SameSetup returns the steps that can start now at the same station under the
// same setup as a step, whichever commission they belong to, in the order of
// the plan; the step itself is among them if it can start. None where the step
// needs no setup.
func SameSetup(snap *models.Snapshot, step models.ID, at time.Time) []models.ID {
	st := snap.Step(step)
	if st == nil || st.SetupID == nil {
		return nil
	}
	b := newBench(snap, at)
	var all []*models.Step
	for i := range snap.Steps {
		other := &snap.Steps[i]
		if other.SetupID != nil && *other.SetupID == *st.SetupID && other.StationID == st.StationID && b.offered(other) && b.linksAllow(other) {
			all = append(all, other)
		}
	}
	sort.SliceStable(all, func(x, y int) bool { return b.before(all[x], all[y]) })
	ids := make([]models.ID, len(all))
	for i, other := range all {
		ids[i] = other.ID
	}
	return ids
}
