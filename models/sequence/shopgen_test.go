package sequence

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

// shopSize says what kind of shop weeks to invent.
type shopSize struct {
	people, stations, steps int
	seed                    uint64
}

// shopWeek names one of the weeks that the engine is measured with: the number
// settles the people, one to three, the stations, six to twelve, and whether dates
// are promised tightly. It has so many steps, and those that its last commission
// has beyond them.
type shopWeek struct{ Number, Steps int }

func (w shopWeek) String() string { return fmt.Sprintf("%d:%d", w.Steps, w.Number) }

func (w shopWeek) size() shopSize {
	return shopSize{people: 1 + w.Number%3, stations: 6 + w.Number%7, steps: w.Steps, seed: uint64(w.Number)}
}

// tight weeks promise so early that some dates are hard to keep, the others leave room.
func (w shopWeek) tight() bool { return w.Number%2 == 1 }

func (w shopWeek) problem() *Problem {
	p := shopWeeks(w.size())
	for i := range p.Jobs {
		if w.tight() {
			*p.Jobs[i].Due = *p.Jobs[i].Due * 6 / 10
		}
	}
	return p
}

// of says what is in a week, as tables do: people, stations, commissions, steps and dates.
func (w shopWeek) of(p *Problem) string {
	dates := "loose"
	if w.tight() {
		dates = "tight"
	}
	return fmt.Sprintf("%d, %d, %d, %d, %s", w.size().people, w.size().stations, len(p.Jobs), len(p.Tasks), dates)
}

var (
	printWeek  = flag.Int("week", 0, "the `NUMBER` of a week of an invented shop, for TestPrintWeek")
	printSteps = flag.Int("steps", 60, "its steps")
)

// TestPrintWeek writes a week as a problem file, for whoever wants to look at one.
func TestPrintWeek(t *testing.T) {
	if *printWeek == 0 || *tableTo == "" {
		t.Skip("wants -week NUMBER -to FILE")
	}
	f, err := os.Create(*tableTo)
	require.NoError(t, err)
	require.NoError(t, WriteProblem(f, shopWeek{*printWeek, *printSteps}.problem()))
	require.NoError(t, f.Close())
}

// shopWeeks invents a shop problem: commissions that go through milling,
// joinery, glue-ups that cure in clamps, shaping, sanding and coats with recoat
// windows, over shop hours with a lunch break. Figures are made up to look like
// a small furniture shop; they come from no source.
func shopWeeks(size shopSize) *Problem {
	g := &shopGen{rng: rand.New(rand.NewPCG(size.seed, 17)), size: size}
	g.p = &Problem{Version: Version, Calendars: map[string][]Window{}, Zones: []string{"finish-room"},
		Objective: Weights{Tardiness: 1000, Setup: 10, Flow: 1}}
	weeks := 4 + size.steps*40/(size.people*2400)*2
	g.p.Horizon = weeks * 7 * 1440
	for day := 0; day < weeks*7; day++ {
		if day%7 < 5 {
			at := day * 1440
			g.p.Calendars["shop"] = append(g.p.Calendars["shop"], Window{at + 480, at + 720}, Window{at + 765, at + 1020})
		}
	}
	g.resources()
	for len(g.p.Tasks) < size.steps {
		g.commission()
	}
	return g.p
}

type shopGen struct {
	rng      *rand.Rand
	size     shopSize
	p        *Problem
	machines []string   // stations with setups
	states   [][]string // of each
}

func (g *shopGen) between(lo, hi int) int { return lo + g.rng.IntN(hi-lo+1) }

func (g *shopGen) resources() {
	g.p.Resources = []Resource{
		{ID: "hands", Capacity: g.size.people, Calendar: "shop"},
		{ID: "bench", Capacity: g.size.people + 1},
		{ID: "clamps-600", Capacity: g.between(10, 16)}, {ID: "clamps-900", Capacity: g.between(8, 14)},
		{ID: "clamps-1200", Capacity: g.between(6, 12)}, {ID: "drying-rack", Capacity: g.between(3, 6)},
	}
	for s := 0; s < g.size.stations; s++ {
		r := Resource{ID: fmt.Sprintf("station-%d", s), Capacity: 1}
		if s%4 != 3 {
			var states []string
			for k := g.between(3, 7); k > 0; k-- {
				states = append(states, fmt.Sprintf("state-%d", k))
			}
			r.Setups = &Setups{Initial: &states[0], Default: g.between(8, 20), Hands: &Amount{Resource: "hands", Amount: 1}}
			for k := range states {
				if next := states[(k+1)%len(states)]; next != states[k] {
					r.Setups.Pairs = append(r.Setups.Pairs, Pair{From: states[k], To: next, Minutes: g.between(3, 8)})
				}
			}
			g.machines, g.states = append(g.machines, r.ID), append(g.states, states)
		}
		g.p.Resources = append(g.p.Resources, r)
	}
}

// add appends a task behind others and returns its id.
func (g *shopGen) add(job string, t Task, behind ...string) string {
	t.ID, t.Job = fmt.Sprintf("%s/%d", job, len(g.p.Tasks)), job
	t.Uses = append(t.Uses, Use{Resource: "hands", Amount: 1, During: Attended})
	g.p.Tasks = append(g.p.Tasks, t)
	for _, b := range behind {
		g.p.Links = append(g.p.Links, Link{Before: b, After: t.ID})
	}
	return t.ID
}

// machining is a step on a station with or without setups.
func (g *shopGen) machining(job string, behind ...string) string {
	t := Task{Attended: g.between(8, 50), Interruptible: true}
	if k := g.rng.IntN(len(g.machines) + 1); k < len(g.machines) {
		states := g.states[k]
		t.Setup = &SetupNeed{Resource: g.machines[k], State: states[g.rng.IntN(len(states))]}
	} else {
		t.Uses = []Use{{Resource: "bench", Amount: 1, During: Attended}}
	}
	if g.rng.IntN(4) == 0 {
		t.Zone = &ZoneUse{Name: "finish-room", Kind: Dusty}
	}
	return g.add(job, t, behind...)
}

// glueUp closes clamps around parts that come from a few machining steps each.
func (g *shopGen) glueUp(job string, behind ...string) string {
	class := []string{"clamps-600", "clamps-900", "clamps-1200"}[g.rng.IntN(3)]
	return g.add(job, Task{Attended: g.between(15, 45), Unattended: []int{30, 60, 240, 480, 1440}[g.rng.IntN(5)],
		Uses: []Use{{Resource: class, Amount: g.between(2, 6), During: All}, {Resource: "bench", Amount: 1, During: Attended}}}, behind...)
}

// coats are wet steps in the finish room with a recoat window between them.
func (g *shopGen) coats(job, behind string) string {
	last := ""
	for k := g.between(2, 4); k > 0; k-- {
		id := g.add(job, Task{Attended: g.between(15, 40), Unattended: g.between(4, 12) * 30,
			Zone: &ZoneUse{Name: "finish-room", Kind: Wet}, Uses: []Use{{Resource: "drying-rack", Amount: 1, During: All}}})
		if last == "" {
			g.p.Links = append(g.p.Links, Link{Before: behind, After: id})
		} else {
			most := g.between(3, 5) * 1440
			g.p.Links = append(g.p.Links, Link{Before: last, After: id, Max: &most})
		}
		last = id
	}
	return last
}

func (g *shopGen) commission() {
	job := fmt.Sprintf("commission-%d", len(g.p.Jobs))
	var assemblies []string
	for k := g.between(1, 3); k > 0; k-- {
		var parts []string
		for n := g.between(1, 4); n > 0; n-- {
			id := g.machining(job)
			for m := g.between(0, 3); m > 0; m-- {
				id = g.machining(job, id)
			}
			parts = append(parts, id)
		}
		assemblies = append(assemblies, g.machining(job, g.glueUp(job, parts...)))
	}
	whole := g.machining(job, g.glueUp(job, assemblies...))
	g.add(job, Task{Attended: g.between(10, 60), Interruptible: true}, g.coats(job, whole))
	// Days that the work promised so far takes, setups and weekends counted.
	days := g.totalWork() * 5 / 4 * 7 / 5 / (480 * g.size.people)
	due := (5 + days*g.between(8, 18)/10) * 1440
	g.p.Jobs = append(g.p.Jobs, Job{ID: job, Due: &due, Weight: g.between(1, 3), Calendar: "shop"})
}

func (g *shopGen) totalWork() int {
	sum := 0
	for _, t := range g.p.Tasks {
		sum += t.Attended
	}
	return sum
}
