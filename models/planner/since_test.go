package planner

import (
	"testing"
	"time"

	"faceside/models"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A step stands with the cause that moved it most to the side where it is now; what no
// cause moved that way, with the clock.
func TestSinceMorningNamesTheCause(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	r.take("Shelf", "2026-12-18")
	first := r.plan()
	r.clock.Step(2 * time.Hour)
	r.plan()
	snap := r.snap()
	step := snap.Plan.Steps[0].StepID
	moved := func(id models.ID, cause models.MoveCause, minutes int) models.PlanMoves {
		return models.PlanMoves{ID: id, At: snap.At, Cause: cause, Moved: map[models.ID]int{step: minutes}}
	}
	clock := moved(9, models.MovedByClock, 5)
	for name, c := range map[string]struct {
		moves []models.PlanMoves
		want  models.ID
	}{
		"the larger":               {[]models.PlanMoves{moved(1, models.MovedByTap, 30), moved(2, models.MovedByTap, 90), clock}, 2},
		"not the other way":        {[]models.PlanMoves{moved(1, models.MovedByTap, -500), moved(2, models.MovedByShop, 20), clock}, 2},
		"the clock where none did": {[]models.PlanMoves{moved(1, models.MovedByTap, -500), clock}, 9},
		"nothing was noted":        {nil, 0},
	} {
		t.Run(name, func(t *testing.T) {
			var of []models.ID
			for _, m := range SinceMorning(snap, first, c.moves).Causes {
				for _, d := range m.Steps {
					if d.StepID == step {
						of = append(of, m.ID)
						assert.Equal(t, 120, d.Minutes)
					}
				}
			}
			assert.Equal(t, []models.ID{c.want}, of)
		})
	}
}

// Whatever the causes, each step that moved stands with one of them, and the steps that
// moved and those that stayed are all that both plans have still to be done.
func TestSinceMorningIsWhole(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	r.take("Shelf", "2026-12-18")
	first := r.plan()
	r.clock.Step(2 * time.Hour)
	now := r.plan()
	snap := r.snap()
	rapid.Check(t, func(t *rapid.T) {
		var moves []models.PlanMoves
		for i := range rapid.IntRange(0, 4).Draw(t, "causes") {
			m := models.PlanMoves{ID: models.ID(i + 1), At: snap.At, Cause: models.MovedByShop, Moved: map[models.ID]int{}}
			for _, ps := range first.Steps {
				m.Moved[ps.StepID] = rapid.IntRange(-300, 300).Draw(t, "minutes")
			}
			moves = append(moves, m)
		}
		s := SinceMorning(snap, first, moves)
		seen := map[models.ID]bool{}
		for _, m := range s.Causes {
			for _, d := range m.Steps {
				require.False(t, seen[d.StepID], "twice")
				seen[d.StepID] = true
				require.Equal(t, s.Moved[d.StepID], d)
			}
		}
		require.Len(t, seen, len(s.Moved))
		require.NotEmpty(t, seen)
		require.Equal(t, len(now.Steps), len(seen)+s.Stayed)
	})
}
