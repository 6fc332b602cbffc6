package sequence

import (
	"slices"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// orderOf is the search for the order of a week's jobs, before its first schedule.
func orderOf(t *testing.T, p *Problem, stop *atomic.Bool) *jobOrder {
	im := newImprover(compile(p, stop), 1)
	im.begin(stop, func() bool { return true })
	require.NotNil(t, im.jobs)
	return im.jobs
}

// A local search ends where no job in another place makes the plan better, and weeks of
// many commissions are much better then than by any rule.
func TestNoJobInAnotherPlaceIsBetter(t *testing.T) {
	p := shopWeek{Number: 2, Steps: 300}.problem()
	o := orderOf(t, p, &atomic.Bool{})
	rules := o.im.best.value.cost
	for o.begun == 0 || o.idle < o.moves() {
		require.True(t, o.step())
	}
	assert.Less(t, 2*o.im.best.value.cost, rules)

	d := newDecoder(o.im.d.m)
	costOf := func(order []int) int64 {
		var list []int
		for _, j := range order {
			list = append(list, o.tasks[0][j]...)
		}
		require.True(t, d.decode(list))
		return d.value().cost
	}
	assert.Equal(t, o.cost, costOf(o.order))
	for from, j := range o.order {
		for to := range o.order {
			moved := slices.Insert(slices.Delete(slices.Clone(o.order), from, from+1), to, j)
			assert.LessOrEqual(t, o.cost, costOf(moved), "job %d from %d to %d", j, from, to)
		}
	}
}

// It ends after its share of the work, and the annealing begins with the best list.
func TestTheOrderOfJobsIsSearchedForAWhile(t *testing.T) {
	im := orderOf(t, shopWeek{Number: 2, Steps: 300}.problem(), &atomic.Bool{}).im
	im.jobs.left = 60
	im.run(&budget{work: 59, stop: &atomic.Bool{}})
	require.NotNil(t, im.jobs)
	im.run(&budget{work: 1, stop: &atomic.Bool{}})
	require.Nil(t, im.jobs)
	require.True(t, im.d.decode(im.list))
	assert.Equal(t, im.best.value, im.d.value())
	assert.Equal(t, im.worth(im.best.value), im.at)
}

// Where no order has a plan, here as all has stopped, none is kept, and all tasks stay.
func TestOrdersThatHaveNoPlan(t *testing.T) {
	var stop atomic.Bool
	o := orderOf(t, shopWeek{Number: 2, Steps: 300}.problem(), &stop)
	before, jobs := o.im.best, slices.Clone(o.order)
	stop.Store(true)
	for range 4 * o.moves() {
		o.step()
	}
	assert.Greater(t, o.begun, 2)
	assert.Same(t, before, o.im.best)
	assert.ElementsMatch(t, jobs, o.order)
}

func TestWhereTheOrderOfJobsIsNotSearched(t *testing.T) {
	many := func() *Problem { return shopWeek{Number: 2, Steps: 300}.problem() }
	seen := many()
	seen.Previous = &Previous{Starts: []Start{{ID: seen.Tasks[0].ID, Start: 480}}}
	last := many()
	last.Objective = Weights{Makespan: 1}
	each := many()
	each.Jobs = nil
	for i := range each.Tasks {
		each.Tasks[i].Job = each.Tasks[i].ID
		each.Jobs = append(each.Jobs, Job{ID: each.Tasks[i].ID, Weight: 1})
	}
	for name, p := range map[string]*Problem{
		"few jobs": shopWeek{Number: 2, Steps: 100}.problem(), "people have seen a plan": seen,
		"the last end counts": last, "each task is a job": each,
	} {
		require.NoError(t, p.Validate(), name)
		assert.Nil(t, newJobOrder(newImprover(compile(p, nil), 1)), name)
	}
	assert.NotNil(t, newJobOrder(newImprover(compile(many(), nil), 1)))
}
