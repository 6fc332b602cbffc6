package sequence

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The tasks of a conflict have no plan by brute force, and all but any one of them
// have one.
func TestConflictsAreIrreducible(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		plan := solveWith(t, p, Options{Work: 20000, Seed: 1})
		if plan.Status != Infeasible {
			return
		}
		require.True(t, plan.Irreducible)
		var tasks []int
		for i := range p.Tasks {
			if slices.Contains(plan.Conflict, p.Tasks[i].ID) {
				tasks = append(tasks, i)
			}
		}
		require.Nil(t, bruteForce(subProblem(p, tasks)), "%v", plan.Conflict)
		for i := range tasks {
			if less := slices.Delete(slices.Clone(tasks), i, i+1); len(less) > 0 {
				require.NotNil(t, bruteForce(subProblem(p, less)), "%v without %s", plan.Conflict, p.Tasks[tasks[i]].ID)
			}
		}
	})
}

// A conflict among many is found too; one that there was no time to make smaller is
// not called irreducible.
func TestConflictsAmongMany(t *testing.T) {
	plan := solveWith(t, clash(300), Options{Work: 5000})
	require.Equal(t, Infeasible, plan.Status)
	assert.ElementsMatch(t, []string{"t11", "t14"}, plan.Conflict)
	assert.True(t, plan.Irreducible)

	p := clash(40)
	s := &solver{o: Options{Seed: 1}, m: compile(p, nil)}
	s.stop.Store(true)
	all, irreducible := s.conflict(p)
	assert.Len(t, all, len(p.Tasks))
	assert.False(t, irreducible)
}
