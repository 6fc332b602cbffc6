package sequence

import (
	"fmt"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// threeTied are three tasks of three hours on one machine; no two of them begin more
// than so many minutes apart.
func threeTied(apart int) *Problem {
	p := &Problem{Version: Version, Horizon: 1_000_000, Objective: Weights{Makespan: 1}, Resources: []Resource{{ID: "saw", Capacity: 1}}}
	for i := range 3 {
		id := fmt.Sprint("t", i)
		p.Tasks = append(p.Tasks, Task{ID: id, Attended: 180, Uses: []Use{{"saw", 1, Attended}}})
		for b := range i {
			before := fmt.Sprint("t", b)
			p.Links = append(p.Links,
				Link{Before: before, After: id, From: FromStart, Min: -apart, Max: &apart})
		}
	}
	return p
}

// Any two of three find a place near each other and all of them do not: that shows
// without a search through the horizon, and they are named.
func TestATieWithoutPlanShowsAtOnce(t *testing.T) {
	p := threeTied(359)
	p.Tasks = append(p.Tasks, Task{ID: "free", Attended: 60, Uses: []Use{{"saw", 1, Attended}}})
	plan := solveWith(t, p, Options{Work: 1, Seed: 1})
	assert.Equal(t, Infeasible, plan.Status)
	assert.Zero(t, plan.Stats.Schedules)
	assert.ElementsMatch(t, []string{"t0", "t1", "t2"}, plan.Conflict)
	assert.True(t, plan.Irreducible)

	p = threeTied(360)
	plan = solveWith(t, p, Options{Work: 1000, Seed: 1})
	assert.Equal(t, Optimal, plan.Status)
	assert.EqualValues(t, 540, plan.Objective)
}

// A tie holds tasks that hang on no hours and no setups, and no others.
func TestTies(t *testing.T) {
	p := threeTied(100)
	p.Calendars = map[string][]Window{"day": {{0, 480}}}
	p.Resources = append(p.Resources, Resource{ID: "hands", Capacity: 1, Calendar: "day"}, Resource{ID: "press", Capacity: 1, Setups: &Setups{}})
	for id, change := range map[string]func(*Task){
		"early": func(t *Task) { t.Release = 50 },
		"hours": func(t *Task) { t.Uses = append(t.Uses, Use{"hands", 1, Attended}) },
		"setup": func(t *Task) { t.Setup = &SetupNeed{"press", "wide"} },
		"loose": func(*Task) {},
	} {
		task := Task{ID: id, Attended: 10}
		change(&task)
		p.Tasks = append(p.Tasks, task)
		link := Link{Before: "t0", After: id, From: FromStart}
		if id != "loose" {
			link.Max = new(100)
		}
		p.Links = append(p.Links, link)
	}
	require.NoError(t, p.Validate())
	m := compile(p, nil)
	ties := m.ties()
	require.Len(t, ties, 1)
	var tied []string
	for _, i := range ties[0] {
		tied = append(tied, m.tasks[i].id)
	}
	assert.ElementsMatch(t, []string{"t0", "t1", "t2", "early"}, tied)
}

// The first plan does not wait for a look at very many tasks.
func TestATieOfManyTasksIsLeftToTheSearch(t *testing.T) {
	for n, ties := range map[int]int{mostTied: 1, mostTied + 1: 0} {
		p := plain(n)
		for k := 1; k < n; k++ {
			p.Links = append(p.Links, Link{Before: p.Tasks[k-1].ID, After: p.Tasks[k].ID, Max: new(10)})
		}
		require.NoError(t, p.Validate())
		assert.Len(t, compile(p, nil).ties(), ties, "%d tasks", n)
	}
}

// A tie is called broken if and only if its tasks have no plan by brute force, where
// nothing but links and resources is in their way.
func TestTiesEqualBruteForce(t *testing.T) {
	seen := map[bool]int{}
	rapid.Check(t, func(t *rapid.T) {
		p := drawProject(t)
		p.Links = nil
		n := rapid.IntRange(2, 4).Draw(t, "tied")
		p.Tasks = p.Tasks[:min(n, len(p.Tasks))]
		for i := range p.Tasks {
			for b := range i {
				if i > 1 && rapid.IntRange(0, 3).Draw(t, "link") == 0 {
					continue
				}
				least := rapid.IntRange(-4, 2).Draw(t, "least")
				most := least + rapid.IntRange(0, 5).Draw(t, "room")
				p.Links = append(p.Links, Link{Before: p.Tasks[b].ID, After: p.Tasks[i].ID, From: FromStart, Min: least, Max: &most})
			}
		}
		p.Horizon = 14
		require.NoError(t, p.Validate())
		var stop atomic.Bool
		m := compile(p, &stop)
		if m.broken != nil {
			return
		}
		want := false
		for _, tie := range m.ties() {
			want = want || bruteForce(subProblem(p, tie)) == nil
		}
		seen[want]++
		require.Equal(t, want, m.brokenTie(p) != nil)
	})
	assert.Positive(t, seen[true], "none was broken")
	assert.Positive(t, seen[false], "all were broken")
}
