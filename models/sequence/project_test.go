package sequence

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// drawProject draws a tiny project: up to six resources, so that some need a
// second word of the grid, and links with lags.
func drawProject(t *rapid.T) *Problem {
	p := &Problem{Version: Version, Objective: Weights{Makespan: 1}}
	unit := rapid.SampledFrom([]int{1, 2}).Draw(t, "unit")
	resources := rapid.IntRange(1, 6).Draw(t, "resources")
	for r := range resources {
		p.Resources = append(p.Resources, Resource{ID: fmt.Sprint("r", r), Capacity: rapid.IntRange(1, 3).Draw(t, "capacity")})
	}
	n := rapid.IntRange(3, 5).Draw(t, "tasks")
	for i := range n {
		least := 0
		if i == 0 {
			least = 1 // where nothing takes time there is nothing to search
		}
		task := Task{ID: fmt.Sprint("t", i), Attended: unit * rapid.IntRange(least, 2).Draw(t, "attended")}
		if i > 0 && rapid.Bool().Draw(t, "rests") {
			task.Unattended = unit
		}
		for r := range resources {
			if amount := rapid.IntRange(0, p.Resources[r].Capacity).Draw(t, "amount"); amount > 0 && task.Attended > 0 {
				task.Uses = append(task.Uses, Use{Resource: p.Resources[r].ID, Amount: amount, During: All})
			}
		}
		p.Tasks = append(p.Tasks, task)
		p.Horizon += task.Attended + task.Unattended + unit
		for b := range i {
			if rapid.IntRange(0, 3).Draw(t, "link") == 0 {
				p.Links = append(p.Links, Link{Before: p.Tasks[b].ID, After: task.ID, Min: unit * rapid.IntRange(0, 1).Draw(t, "lag")})
			}
		}
	}
	return p
}

// Breeding alone finds what brute force finds.
func TestProjectsEqualBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProject(t)
		var stop atomic.Bool
		m := compile(p, &stop)
		first := newImprover(m, 1)
		first.begin(&stop, func() bool { return true })
		require.NotNil(t, first.best)
		require.NotNil(t, newProject(m, first.best, 1), "the search takes it for no project")
		want := bruteForce(p)
		got := solveWith(t, p, Options{Work: 500, Seed: 1, WithoutExact: true})
		require.Equal(t, want.Objective, got.Objective)
	})
}

// What is no plain project is left to the general search.
func TestWhatIsNoProjectIsLeft(t *testing.T) {
	due := 10
	for what, change := range map[string]func(p *Problem){
		"tardiness":     func(p *Problem) { p.Objective.Tardiness = 1 },
		"flow":          func(p *Problem) { p.Objective.Flow = 1 },
		"a release":     func(p *Problem) { p.Tasks[0].Release = 1 },
		"a deadline":    func(p *Problem) { p.Tasks[0].Deadline = &due },
		"a fixed start": func(p *Problem) { p.Tasks[0].Start = new(int) },
		"greatest lag":  func(p *Problem) { p.Links[0].Max = &due },
		"overlap":       func(p *Problem) { p.Links[0].From = FromStart },
		"part of a use": func(p *Problem) { p.Tasks[0].Unattended = 5; p.Tasks[0].Uses[0].During = Attended },
		"a calendar": func(p *Problem) {
			p.Calendars = map[string][]Window{"day": {{0, 60}}}
			p.Resources[0].Calendar = "day"
		},
	} {
		p := &Problem{Version: Version, Horizon: 100, Objective: Weights{Makespan: 1},
			Resources: []Resource{{ID: "r", Capacity: 1}}, Links: []Link{{Before: "a", After: "b"}}}
		for _, id := range []string{"a", "b", "c"} {
			p.Tasks = append(p.Tasks, Task{ID: id, Attended: 5, Uses: []Use{{Resource: "r", Amount: 1, During: Attended}}})
		}
		for _, plain := range []bool{true, false} {
			if !plain {
				change(p)
			}
			var stop atomic.Bool
			m := compile(p, &stop)
			im := newImprover(m, 1)
			im.begin(&stop, func() bool { return true })
			require.NotNil(t, im.best, what)
			assert.Equal(t, plain, newProject(m, im.best, 1) != nil, what)
		}
	}
}

// A grid of packed words finds the place that counting finds.
func TestGridPlacesAsCountingDoes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		resources := rapid.IntRange(1, 9).Draw(t, "resources")
		m := &model{}
		for range resources {
			m.resources = append(m.resources, station{capacity: rapid.SampledFrom([]int{1, 2, 5, mostRoom}).Draw(t, "capacity")})
		}
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		for range 12 {
			var w work
			for r := range resources {
				w.uses = append(w.uses, hold{res: r, amount: rng.IntN(m.resources[r].capacity + 1)})
			}
			m.tasks = append(m.tasks, w)
		}
		g := newGrid(m, 200)
		for range 2 { // anew, and once more after clear
			g.clear()
			var used [200][9]int
			for task := range m.tasks {
				at, takes := rng.IntN(20), rng.IntN(6)
				want := slowPlace(m, &used, task, at, takes)
				require.Equal(t, want, g.place(task, at, takes))
			}
		}
	})
}

func slowPlace(m *model, used *[200][9]int, task, at, takes int) int {
	full := func(u int) bool {
		return slices.ContainsFunc(m.tasks[task].uses, func(h hold) bool { return used[u][h.res]+h.amount > m.resources[h.res].capacity })
	}
	for u := at; u < at+takes; u++ {
		if full(u) {
			at = u + 1
		}
	}
	for u := at; u < at+takes; u++ {
		for _, h := range m.tasks[task].uses {
			used[u][h.res] += h.amount
		}
	}
	return at
}

func BenchmarkProject(b *testing.B) {
	p := instance(b, "j30/j3029_4.sm")
	var stop atomic.Bool
	m := compile(p, &stop)
	im := newImprover(m, 1)
	im.begin(&stop, func() bool { return true })
	search := newProject(m, im.best, 1)
	search.run(&budget{work: 5000, stop: &stop})
	b.ReportAllocs()
	began := search.spent
	for b.Loop() {
		search.run(&budget{work: 100, stop: &stop})
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(search.spent-began), "ns/schedule")
}
