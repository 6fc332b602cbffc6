package sequence

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The published instances and the sources of their values are told in
// testdata/README.md. The budgets are amounts of work, not of time, so that the
// outcome does not depend on how busy the machine is.

func TestJobShopsOfFisherAndThompson(t *testing.T) {
	work := map[string]int64{"ft/ft06.jss": 20000, "ft/ft10.jss": 400000, "ft/ft20.jss": 100000}
	for _, k := range bestKnown(t, "ft") {
		t.Run(k.File, func(t *testing.T) {
			t.Parallel()
			if testing.Short() && k.Best > 100 {
				t.Skip("takes seconds")
			}
			plan := solveWith(t, instance(t, k.File), Options{Work: work[k.File], Seed: 4})
			assert.Equal(t, k.Best, plan.Objective)
			assert.LessOrEqual(t, plan.Bound, k.Best, "a bound above the optimum")
			if k.File != "ft/ft10.jss" {
				assert.Equal(t, Optimal, plan.Status, "less work than this proves it")
			}
		})
	}
}

func TestProjectsOfJ30(t *testing.T) {
	proved := 0
	for _, k := range bestKnown(t, "j30") {
		plan := solveWith(t, instance(t, k.File), Options{Work: 80000, Seed: 1})
		assert.Equal(t, k.Best, plan.Objective, k.File)
		assert.LessOrEqual(t, plan.Bound, k.Best, "%s: a bound above the optimum", k.File)
		if plan.Status == Optimal {
			proved++
		}
	}
	assert.GreaterOrEqual(t, proved, 18, "of 20 proved optimal")
}

func TestProjectsWithGreatestLags(t *testing.T) {
	for _, k := range bestKnown(t, "ubo10") {
		plan := solveWith(t, instance(t, k.File), Options{Work: 20000, Seed: 1})
		if k.Unsat {
			assert.Equal(t, Infeasible, plan.Status, k.File)
			continue
		}
		assert.Equal(t, Optimal, plan.Status, k.File)
		assert.Equal(t, k.Best, plan.Objective, k.File)
	}
}

func TestJobShopsWithSetups(t *testing.T) {
	for _, k := range bestKnown(t, "bt") {
		plan := solveWith(t, instance(t, k.File), Options{Work: 60000, Seed: 1})
		assert.LessOrEqual(t, float64(plan.Objective), 1.05*float64(k.Best), k.File)
		assert.LessOrEqual(t, plan.Bound, k.Best, "%s: a bound above a known plan", k.File)
	}
}

// Where all go one after the other the exact search decides orders alone; deciding
// starts as well it came to no end here.
func TestJobShopWithSetupsIsProved(t *testing.T) {
	plan := solveWith(t, instance(t, "bt/t2-ps01.dat"), Options{Work: 150000, Seed: 1})
	assert.Equal(t, Optimal, plan.Status)
	assert.EqualValues(t, 798, plan.Objective)
}

// Weighted tardiness on one machine with setups: the search must beat the best
// known way of doing without one, and come near what is known to be possible.
func TestSetupsAndTardinessBeatTheDispatchingRule(t *testing.T) {
	best := map[string]int64{}
	for _, k := range knownIn(t, "testdata/wt_sds/best-known.csv") {
		best[k.File] = k.Best
	}
	for n, above := range map[int]float64{1: 1.5, 11: 1.5, 59: 1.1, 83: 1.01, 107: 1.01} {
		file := fmt.Sprintf("wt_sds_%d.instance", n)
		p := instance(t, "wt_sds/"+file)
		peer := atcs(t, p)
		plan := solveWith(t, p, Options{Work: 1000000, Seed: 1, WithoutExact: true})
		t.Logf("%s: rule %d, search %d, best known %d", file, peer, plan.Objective, best[file])
		assert.Less(t, plan.Objective, peer, file)
		require.Positive(t, best[file])
		assert.LessOrEqual(t, float64(plan.Objective), above*float64(best[file]), file)
	}
}

// atcs is the weighted tardiness of the sequence that the rule Apparent
// Tardiness Cost with Setups makes (Lee, Bhaskaran, Pinedo, "A heuristic to
// minimize the total weighted tardiness with sequence-dependent setups", IIE
// Transactions 29, 1997), its two parameters set from the instance as the
// authors give it (from memory).
func atcs(t *testing.T, p *Problem) int64 {
	m := compile(p, nil)
	c := m.resources[0].setups
	n := float64(len(m.tasks))
	meanP, meanS, meanD, minD, maxD := 0.0, 0.0, 0.0, math.Inf(1), 0.0
	for i := range m.tasks {
		due := float64(m.jobs[m.tasks[i].job].due)
		meanP += float64(m.tasks[i].att) / n
		meanD += due / n
		minD, maxD = min(minD, due), max(maxD, due)
		for j := range m.tasks {
			if i != j {
				meanS += float64(c.minutes[m.tasks[i].state][m.tasks[j].state]) / (n * (n - 1))
			}
		}
	}
	eta := meanS / meanP
	length := n * (meanP + meanS*(0.4+10/(n*n)-eta/7))
	tau, spread := 1-meanD/length, (maxD-minD)/length
	k1 := 4.5 + spread
	if spread > 0.5 {
		k1 = 6 - 2*spread
	}
	k2 := max(0.01, tau/(2*math.Sqrt(eta)))
	done := make([]bool, len(m.tasks))
	now, state, total := 0, c.initial, int64(0)
	for range m.tasks {
		best, bestIndex := -1, -1.0
		for i := range m.tasks {
			w := &m.tasks[i]
			if done[i] {
				continue
			}
			job := &m.jobs[w.job]
			slack := max(0, float64(job.due-w.att-now))
			index := float64(job.weight) / float64(w.att) * math.Exp(-slack/(k1*meanP)) *
				math.Exp(-float64(setupFrom(c, state, w.state))/(k2*meanS))
			if index > bestIndex {
				best, bestIndex = i, index
			}
		}
		require.GreaterOrEqual(t, best, 0)
		w := &m.tasks[best]
		now += setupFrom(c, state, w.state) + w.att
		state, done[best] = w.state, true
		total += m.jobs[w.job].weight * int64(m.jobs[w.job].tardiness(now))
	}
	return total
}

func setupFrom(c *changes, from, to int) int {
	if from < 0 {
		return 0
	}
	return c.minutes[from][to]
}
