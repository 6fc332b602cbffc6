package sequence

import (
	"context"
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// solveWith solves a problem with a fixed amount of work and checks the plan.
func solveWith(t require.TestingT, p *Problem, o Options) *Plan {
	plan, err := Solve(context.Background(), p, o)
	require.NoError(t, err)
	if plan.Status != Unknown {
		if err := Check(p, plan); err != nil {
			problem, _ := json.Marshal(p)
			text, _ := json.Marshal(plan)
			require.NoError(t, err, "problem %s\nplan %s", problem, text)
		}
	}
	return plan
}

// The exact search finds what brute force finds, on thousands of tiny problems with
// every feature of the contract.
func TestSolveEqualsBruteForce(t *testing.T) {
	for range 30 { // each draws a hundred
		rapid.Check(t, func(t *rapid.T) {
			p := drawProblem(t)
			want := bruteForce(p)
			got := solveWith(t, p, Options{Work: 20000, Seed: 1})
			text, err := json.Marshal(p)
			require.NoError(t, err)
			if want == nil {
				require.Equal(t, Infeasible, got.Status, "%s", text)
				return
			}
			require.Equal(t, Optimal, got.Status, "%s", text)
			require.Equal(t, want.Objective, got.Objective, "%s", text)
		})
	}
}

// withoutTimes leaves of a plan what does not depend on how fast the machine is.
func withoutTimes(plan *Plan) Plan {
	p := *plan
	p.Trace, p.Stats.Seconds, p.Stats.Searches = nil, 0, 0
	return p
}

func TestSameSeedAndWorkGiveTheSamePlan(t *testing.T) {
	problems := map[string]*Problem{
		"shop weeks": shopWeeks(shopSize{people: 2, stations: 8, steps: 100, seed: 5}),
		"job shop":   instance(t, "ft/ft10.jss"), "project": instance(t, "j30/j3029_4.sm"),
		"one machine": instance(t, "wt_sds/wt_sds_1.instance"), "infeasible": instance(t, "ubo10/psp27.sch"),
	}
	for name, p := range problems {
		t.Run(name, func(t *testing.T) {
			first := solveWith(t, p, Options{Work: 3000, Seed: 7, Cores: 1})
			for _, cores := range []int{1, 2, 4} {
				again := solveWith(t, p, Options{Work: 3000, Seed: 7, Cores: cores})
				assert.Equal(t, withoutTimes(first), withoutTimes(again), "on %d cores", cores)
			}
		})
	}
}

func TestPlansComeBetterAndBetter(t *testing.T) {
	p := shopWeeks(shopSize{people: 2, stations: 8, steps: 100, seed: 3})
	var seen []int64
	plan := solveWith(t, p, Options{Work: 2000, Cores: 2, OnPlan: func(plan *Plan) {
		require.NoError(t, Check(p, plan))
		seen = append(seen, plan.Objective)
	}})
	require.Greater(t, len(seen), 1)
	for i := 1; i < len(seen); i++ {
		assert.Less(t, seen[i], seen[i-1])
	}
	assert.Equal(t, seen[len(seen)-1], plan.Objective)
	require.Len(t, plan.Trace, len(seen))
}

// A first plan is promised within 20 ms for 100 steps and 500 ms for 1,500, on a core of
// its own: the best of some tries counts.
func TestFirstPlanIsQuick(t *testing.T) {
	for steps, promised := range map[int]time.Duration{100: 20 * time.Millisecond, 300: 100 * time.Millisecond, 1500: 500 * time.Millisecond} {
		for number := 1; number <= 3; number++ {
			p := shopWeek{Number: number, Steps: steps}.problem()
			best := time.Hour
			for try := 0; try < 10 && best > promised/2; try++ {
				first, took := mended(t, p)
				require.Equal(t, Feasible, first.Status)
				best = min(best, took)
			}
			t.Logf("%d steps: %v", steps, best)
			assert.LessOrEqual(t, best, promised, "%d steps", steps)
		}
	}
}

// Cancelling is promised within 20 ms; on a busy machine the test allows more
// and tries again, so that it fails only if the search really does not listen.
func TestCancelledSearchReturnsItsBestPlan(t *testing.T) {
	for _, size := range []shopSize{{2, 8, 300, 1}, {3, 12, 1500, 1}} {
		p := shopWeeks(size)
		fastest := time.Hour
		for try := 0; try < 5 && fastest > 20*time.Millisecond; try++ {
			ctx, cancel := context.WithCancel(context.Background())
			cancelled := make(chan time.Time, 1)
			plan, err := Solve(ctx, p, Options{Limit: time.Minute, Cores: 2, OnPlan: func(*Plan) {
				if len(cancelled) == 0 {
					cancelled <- time.Now()
					cancel()
				}
			}})
			require.NoError(t, err)
			fastest = min(fastest, time.Since(<-cancelled))
			require.Equal(t, Feasible, plan.Status)
			require.NoError(t, Check(p, plan))
			cancel()
		}
		assert.Less(t, fastest, 50*time.Millisecond, "%d steps", size.steps)
	}
}

func TestCancelledBeforeItBegins(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	p := shopWeeks(shopSize{people: 1, stations: 6, steps: 40, seed: 1})
	plan, err := Solve(ctx, p, Options{})
	require.NoError(t, err)
	if plan.Status == Unknown {
		assert.Empty(t, plan.Tasks)
		return
	}
	require.NoError(t, Check(p, plan))
}

// Problems that are valid but have no plan, and the tasks that say why.
func TestInfeasibleProblemsNameAConflict(t *testing.T) {
	number := func(n int) *int { return &n }
	hands := Resource{ID: "hands", Capacity: 2, Calendar: "shop"}
	base := func(tasks []Task, links ...Link) *Problem {
		p := &Problem{Version: Version, Horizon: 2000, Calendars: map[string][]Window{"shop": {{480, 720}, {780, 1020}}},
			Resources: []Resource{hands, {ID: "clamps", Capacity: 3}}, Tasks: tasks, Links: links}
		for i := range 6 { // others, which have nothing to do with it
			p.Tasks = append(p.Tasks, Task{ID: fmt.Sprintf("other-%d", i), Attended: 10})
		}
		return p
	}
	handsFor := []Use{{Resource: "hands", Amount: 1, During: Attended}}
	cases := map[string]struct {
		p    *Problem
		want []string
	}{
		"a cycle of links": {base([]Task{{ID: "a", Attended: 5}, {ID: "b", Attended: 5}, {ID: "c", Attended: 5}},
			Link{Before: "a", After: "b"}, Link{Before: "b", After: "c"}, Link{Before: "c", After: "a"}), []string{"a", "b", "c"}},
		"more clamps than there are": {base([]Task{{ID: "a", Attended: 5, Uses: []Use{{Resource: "clamps", Amount: 4, During: All}}}}), []string{"a"}},
		"longer than every window":   {base([]Task{{ID: "a", Attended: 241, Uses: handsFor}}), []string{"a"}},
		"a deadline too early": {base([]Task{{ID: "a", Attended: 100, Uses: handsFor}, {ID: "b", Attended: 100, Uses: handsFor, Deadline: number(650)}},
			Link{Before: "a", After: "b"}), []string{"a", "b"}},
		"three on two": {base([]Task{{ID: "a", Attended: 200, Uses: handsFor, Deadline: number(720)}, {ID: "b", Attended: 200, Uses: handsFor, Deadline: number(720)},
			{ID: "c", Attended: 200, Uses: handsFor, Deadline: number(720)}}), []string{"a", "b", "c"}},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			require.NoError(t, c.p.Validate())
			plan := solveWith(t, c.p, Options{Work: 5000})
			require.Equal(t, Infeasible, plan.Status)
			assert.ElementsMatch(t, c.want, plan.Conflict)
		})
	}
}

func TestDispatchRefusesARuleThatThereIsNot(t *testing.T) {
	_, err := Dispatch(context.Background(), shopWeeks(shopSize{people: 1, stations: 6, steps: 20, seed: 1}), "by-the-moon")
	require.ErrorContains(t, err, "by-the-moon")
}

// previousOf makes a plan the previous plan of a problem.
func previousOf(p *Problem, plan *Plan) *Problem {
	next := *p
	next.Previous = &Previous{Tolerance: 15}
	next.Objective.Moved = 60
	for _, t := range plan.Tasks {
		next.Previous.Starts = append(next.Previous.Starts, Start{ID: t.ID, Start: t.Start})
	}
	return &next
}

// Planned again without a change, the first plan is the previous one; after a
// change of one task it is at least as good as the previous order timed anew.
func TestPlanningAgainIsStable(t *testing.T) {
	p := shopWeeks(shopSize{people: 2, stations: 8, steps: 150, seed: 9})
	plan := solveWith(t, p, Options{Work: 1500, WithoutExact: true})
	same := previousOf(p, plan)
	again := solveWith(t, same, Options{Work: 1, WithoutExact: true})
	assert.LessOrEqual(t, again.Objective, plan.Objective)

	changed := previousOf(p, plan)
	changed.Tasks = append([]Task(nil), p.Tasks...)
	changed.Tasks[len(changed.Tasks)/2].Attended += 45
	kept, err := Retime(context.Background(), changed)
	require.NoError(t, err)
	first := solveWith(t, changed, Options{Work: 1, WithoutExact: true})
	later := solveWith(t, changed, Options{Work: 3000, WithoutExact: true})
	assert.LessOrEqual(t, first.Objective, kept.Objective)
	assert.LessOrEqual(t, later.Objective, first.Objective)
}
