package planner

import (
	"sort"
	"time"

	"faceside/models"
	"faceside/models/phrase"
)

// keep is Snapshot.Keep with the type of what is kept. Many screens are drawn of
// one snapshot, and what they all ask is worked out once.
func keep[T any](snap *models.Snapshot, key any, work func() T) T {
	return snap.Keep(key, func() any { return work() }).(T)
}

// The keys of what is kept.
type (
	courseKey   struct{}
	calendarKey struct{}
	orderKey    struct{}
	gatesKey    struct{ at time.Time }
	waitsKey    struct{ at time.Time }

	toTheLastKey struct{ at time.Time }
)

// waits is what the links of those steps that are not begun or put down wait for, in
// a sentence; none for a step that waits for nothing.
func waits(snap *models.Snapshot, at time.Time) map[models.ID]phrase.Phrase {
	return keep(snap, waitsKey{at}, func() map[models.ID]phrase.Phrase {
		all := map[models.ID]phrase.Phrase{}
		for i := range snap.Steps {
			if st := &snap.Steps[i]; st.State == models.Todo || st.State == models.PutDown {
				if w := snap.WaitsFor(st.ID, at); len(w) > 0 {
					all[st.ID] = w[0].Sentence
				}
			}
		}
		return all
	})
}

// planOrder is the steps of a snapshot in the order of its plan.
func planOrder(b *bench) []*models.Step {
	return keep(b.snap, orderKey{}, func() []*models.Step {
		all := make([]*models.Step, 0, len(b.snap.Steps))
		for i := range b.snap.Steps {
			if st := &b.snap.Steps[i]; b.snap.Commission(st.CommissionID) != nil {
				all = append(all, st)
			}
		}
		sort.SliceStable(all, func(x, y int) bool { return b.before(all[x], all[y]) })
		return all
	})
}
