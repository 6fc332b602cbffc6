package sequence

import (
	"context"
	"flag"
	"fmt"
	"maps"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// repairs are what happens to a plan in a shop: changes that leave the plan's starts
// as the previous ones.
var repairs = map[string]func(p *Problem, plan *Plan){
	"a step takes longer": func(p *Problem, plan *Plan) { p.Tasks[len(p.Tasks)/3].Attended += 45 },
	"a station is down":   func(p *Problem, plan *Plan) { stationDown(p, plan) },
	"a step is tapped":    func(p *Problem, plan *Plan) { tapped(p, plan) },
}

// stationDown closes the station of the plan's middle setup for four hours.
func stationDown(p *Problem, plan *Plan) {
	s := plan.Setups[len(plan.Setups)/2]
	r := slices.IndexFunc(p.Resources, func(r Resource) bool { return r.ID == s.Resource })
	p.Calendars["repaired"] = []Window{{0, s.Start}, {s.Start + 240, p.Horizon}}
	p.Resources[r].Calendar = "repaired"
}

// tapped says that all that starts before the plan's middle setup is where it is, and
// that what is set up then was begun twenty minutes later than planned.
func tapped(p *Problem, plan *Plan) {
	s := plan.Setups[len(plan.Setups)/3]
	at := placedIn(plan)[s.For].Start
	for i := range p.Tasks {
		start := placedIn(plan)[p.Tasks[i].ID].Start
		if start < at {
			p.Tasks[i].Start = &start
		} else {
			p.Tasks[i].Release = at + 20
		}
	}
}

func placedIn(plan *Plan) map[string]PlanTask {
	at := map[string]PlanTask{}
	for _, t := range plan.Tasks {
		at[t.ID] = t
	}
	return at
}

// changedBy is the problem after a change, the plan being what people have seen.
func changedBy(p *Problem, plan *Plan, change func(*Problem, *Plan)) *Problem {
	next := previousOf(p, plan)
	next.Tasks, next.Resources = slices.Clone(p.Tasks), slices.Clone(p.Resources)
	next.Calendars = map[string][]Window{"shop": p.Calendars["shop"]}
	change(next, plan)
	return next
}

// firstOf is the first plan that Solve shows.
func firstOf(t require.TestingT, p *Problem, o Options) *Plan {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	var first *Plan
	o.OnPlan = func(plan *Plan) {
		if first == nil {
			first = plan
		}
		cancel()
	}
	_, err := Solve(ctx, p, o)
	require.NoError(t, err)
	require.NotNil(t, first)
	require.NoError(t, Check(p, first))
	return first
}

// The first plan after a change is no worse than the old order timed anew, and moves
// fewer steps than a plan made afresh; with time it becomes better.
func TestRepairMovesFewSteps(t *testing.T) {
	few, many := int64(0), int64(0)
	for seed := uint64(1); seed <= 2; seed++ {
		p := shopWeeks(shopSize{2, 8, 150, seed})
		plan := solveWith(t, p, Options{Work: 1500, WithoutExact: true})
		for name, change := range repairs {
			next := changedBy(p, plan, change)
			require.NoError(t, next.Validate())
			first := firstOf(t, next, Options{WithoutExact: true})
			kept, err := Retime(context.Background(), next)
			require.NoError(t, err)
			later := solveWith(t, next, Options{Work: 500, WithoutExact: true})
			alone := *next
			alone.Previous, alone.Objective.Moved = nil, 0
			fresh := solveWith(t, &alone, Options{Work: 500, WithoutExact: true})
			moved, afresh := Measure(next, first).Moved, Measure(next, fresh).Moved
			t.Logf("seed %d, %s: %d of %d steps moved at first, %d later, %d afresh", seed, name, moved, len(p.Tasks), Measure(next, later).Moved, afresh)
			assert.LessOrEqual(t, first.Objective, kept.Objective, name)
			assert.LessOrEqual(t, later.Objective, first.Objective, name)
			assert.Less(t, moved, afresh, name)
			few, many = few+moved, many+afresh
		}
	}
	assert.LessOrEqual(t, 2*few, many)
}

// Where keeping the order leaves every task a place, Solve has a plan at once,
// whatever changed, and with more work one that is no worse.
func TestRepairWhereverTheOrderHasAPlace(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		plan := solveWith(t, p, Options{Work: 60, Seed: 1})
		if plan.Status == Unknown || plan.Status == Infeasible {
			return
		}
		next := previousOf(p, plan)
		next.Objective.Moved = rapid.Int64Range(0, 60).Draw(t, "weight of moved")
		next.Tasks = slices.Clone(p.Tasks)
		next.Horizon += rapid.IntRange(0, 20).Draw(t, "more time")
		task := &next.Tasks[rapid.IntRange(0, len(p.Tasks)-1).Draw(t, "changed")]
		task.Attended += rapid.IntRange(0, 3).Draw(t, "longer by")
		task.Release += rapid.IntRange(0, 5).Draw(t, "later by")
		if rapid.Bool().Draw(t, "not planned before") {
			next.Previous.Starts = next.Previous.Starts[1:]
		}
		kept, err := Retime(context.Background(), next)
		if err != nil {
			return
		}
		first := firstOf(t, next, Options{Work: 1, WithoutExact: true})
		later := solveWith(t, next, Options{Work: 200, Seed: 1})
		require.LessOrEqual(t, later.Objective, first.Objective)
		if kept.Stats.Schedules == 1 { // else it is another order by now
			require.LessOrEqual(t, first.Objective, kept.Objective)
		}
	})
}

// changedWeeks are weeks with a plan that was worked on a little, each changed in every way.
func changedWeeks(t require.TestingT, weeks, steps int, work int64) (changed []*Problem, names []string) {
	for number := 1; number <= weeks; number++ {
		w := shopWeek{Number: number, Steps: steps}
		p := w.problem()
		plan := solveWith(t, p, Options{Work: work, WithoutExact: true})
		for _, name := range slices.Sorted(maps.Keys(repairs)) {
			changed, names = append(changed, changedBy(p, plan, repairs[name])), append(names, fmt.Sprintf("week %v, %s", w, name))
		}
	}
	return changed, names
}

// mended is how long it takes from a changed problem to the first plan that Solve shows.
func mended(t require.TestingT, p *Problem) (first *Plan, took time.Duration) {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	began := time.Now()
	_, err := Solve(ctx, p, Options{OnPlan: func(plan *Plan) {
		if first == nil {
			first, took = plan, time.Since(began)
		}
		cancel()
	}})
	require.NoError(t, err)
	require.NotNil(t, first)
	return first, took
}

// A repair is promised within 10 ms on a core of its own. What others take of a busy
// machine is left out by the best of many tries.
func TestRepairIsQuick(t *testing.T) {
	const promised = 10 * time.Millisecond
	changed, names := changedWeeks(t, 6, 300, 100)
	var sum, worst time.Duration
	for i, p := range changed {
		best := time.Hour
		for try := 0; try < 40 && best > promised/2; try++ {
			first, took := mended(t, p)
			best = min(best, took)
			if try == 0 {
				require.NoError(t, Check(p, first), names[i])
			}
		}
		assert.LessOrEqual(t, best, promised, names[i])
		sum, worst = sum+best, max(worst, best)
	}
	t.Logf("%d changes of weeks of 300 steps: %v in the mean, %v at worst", len(changed), sum/time.Duration(len(changed)), worst)
}

var repairWeeks = flag.Int("repairs", 0, "how many `WEEKS` to change in every way, for TestRepairTable")

// TestRepairTable prints, for weeks of 300 steps whose plan was worked on for long, how
// soon and how near the first plan after a change is, and what more work makes of it.
func TestRepairTable(t *testing.T) {
	if *repairWeeks == 0 {
		t.Skip("wants -repairs WEEKS")
	}
	changed, names := changedWeeks(t, *repairWeeks, 300, 4000)
	fmt.Println("| change | ms | moved | order kept | moved after 500 schedules | gain % | afresh |\n|---|---|---|---|---|---|---|")
	var sum, worst time.Duration
	for i, p := range changed {
		first, took := mended(t, p)
		require.NoError(t, Check(p, first), names[i])
		sum, worst = sum+took, max(worst, took)
		kept, err := Retime(context.Background(), p)
		require.NoError(t, err)
		later := solveWith(t, p, Options{Work: 500, WithoutExact: true})
		alone := *p
		alone.Previous, alone.Objective.Moved = nil, 0
		fresh := solveWith(t, &alone, Options{Work: 500, WithoutExact: true})
		fmt.Printf("| %s | %.1f | %d | %d | %d | %.2f | %d |\n", names[i], took.Seconds()*1000, Measure(p, first).Moved, Measure(p, kept).Moved,
			Measure(p, later).Moved, 100*float64(first.Objective-later.Objective)/float64(first.Objective), Measure(p, fresh).Moved)
	}
	fmt.Printf("\n%d changes: %v in the mean, %v at worst\n", len(changed), sum/time.Duration(len(changed)), worst)
}

// BenchmarkRepair is the time from a changed problem to a first plan near the previous
// one, and the worst of them.
func BenchmarkRepair(b *testing.B) {
	for _, steps := range []int{100, 300, 1500} {
		changed, _ := changedWeeks(b, 3, steps, 100)
		b.Run(fmt.Sprintf("%d-steps", steps), func(b *testing.B) {
			b.ReportAllocs()
			worst := time.Duration(0)
			for k := 0; b.Loop(); k++ {
				_, took := mended(b, changed[k%len(changed)])
				worst = max(worst, took)
			}
			b.ReportMetric(worst.Seconds()*1000, "worst-ms")
		})
	}
}
