package sequence

import (
	"bytes"
	"context"
	"slices"
	"testing"

	_ "faceside/models/testrig/sameseed"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// smallPlan is a plan of the small problem worked out by hand: the setup to
// 22 mm from 480, the rails planed from 488, the top glued as soon as they are.
func smallPlan() *Plan {
	return &Plan{Version: 1, Status: Feasible, Objective: 10*8 + 1*788, Bound: 0,
		Tasks:  []PlanTask{{"glue-top", 513, 513, 548, 788}, {"plane-rails", 480, 488, 513, 513}},
		Jobs:   []PlanJob{{"bench-for-the-hall", 788, 0}},
		Setups: []PlanSetup{{"planer", "45mm", "22mm", 480, 8, "plane-rails"}}}
}

func TestCheckAcceptsAPlanWorkedOutByHand(t *testing.T) {
	p := mustRead(t, small)
	require.NoError(t, Check(p, smallPlan()))
	assert.Equal(t, Terms{Setup: 8, Flow: 788, Makespan: 788, Moved: 1}, Measure(p, smallPlan()))
}

// Each case changes the problem, the plan, or both, and expects a complaint.
func TestCheckNamesTheRuleThatIsBroken(t *testing.T) {
	rails := func(plan *Plan) *PlanTask { return &plan.Tasks[1] }
	top := func(plan *Plan) *PlanTask { return &plan.Tasks[0] }
	cases := []struct {
		name   string
		change func(p *Problem, plan *Plan)
		says   string
	}{
		{"version", func(_ *Problem, plan *Plan) { plan.Version = 2 }, "version"},
		{"status", func(_ *Problem, plan *Plan) { plan.Status = Unknown }, `status "unknown"`},
		{"optimal", func(_ *Problem, plan *Plan) { plan.Status = Optimal }, "status: the plan says optimal"},
		{"bound", func(_ *Problem, plan *Plan) { plan.Bound = 869 }, "bound: 869"},
		{"objective", func(_ *Problem, plan *Plan) { plan.Objective-- }, "objective: it is 868, the plan says 867"},
		{"task missing", func(_ *Problem, plan *Plan) { plan.Tasks = plan.Tasks[:1] }, `task "plane-rails" 0 times`},
		{"task twice", func(_ *Problem, plan *Plan) { plan.Tasks = append(plan.Tasks, plan.Tasks[0]) }, `task "glue-top" 2 times`},
		{"no task", func(_ *Problem, plan *Plan) { top(plan).ID = "lunch" }, `"lunch", which is no task`},
		{"order of times", func(_ *Problem, plan *Plan) { rails(plan).AttendedEnd = 487 }, "order of times"},
		{"before the origin", func(_ *Problem, plan *Plan) { rails(plan).SetupStart = -1 }, "order of times"},
		{"attended too short", func(_ *Problem, plan *Plan) { rails(plan).AttendedEnd-- }, "24 working minutes"},
		{"runs through lunch", func(_ *Problem, plan *Plan) {
			*top(plan) = PlanTask{"glue-top", 700, 700, 735, 975}
		}, "20 working minutes"},
		{"cut but not interruptible", func(_ *Problem, plan *Plan) {
			*top(plan) = PlanTask{"glue-top", 700, 700, 795, 1035}
		}, `interruption: task "glue-top"`},
		{"attended end in the break", func(p *Problem, plan *Plan) {
			p.Tasks[0].Interruptible = true
			*top(plan) = PlanTask{"glue-top", 685, 685, 750, 990}
		}, `done at 720, but its attended_end is 750`},
		{"starts in the break", func(p *Problem, plan *Plan) {
			p.Tasks[0].Interruptible = true
			*top(plan) = PlanTask{"glue-top", 750, 750, 815, 1055}
		}, "no working minute"},
		{"no attended time but a span", func(p *Problem, plan *Plan) {
			p.Tasks[0].Attended, p.Tasks[0].Uses = 0, []Use{{"hands", 1, Attended}}
			*top(plan) = PlanTask{"glue-top", 720, 720, 780, 1020}
		}, "it" + "s attended_end 780 is not its start 720"},
		{"setup of a task without", func(_ *Problem, plan *Plan) { top(plan).SetupStart-- }, `task "glue-top" needs none`},
		{"unattended", func(_ *Problem, plan *Plan) { top(plan).End++ }, `unattended time: task "glue-top"`},
		{"release", func(p *Problem, _ *Plan) { p.Tasks[0].Release = 514 }, "release"},
		{"deadline", func(p *Problem, _ *Plan) { p.Tasks[0].Deadline = new(787) }, "deadline"},
		{"fixed start", func(p *Problem, _ *Plan) { p.Tasks[0].Start = new(514) }, "start: task"},
		{"horizon", func(p *Problem, _ *Plan) { p.Horizon = 787 }, "horizon"},
		{"link, least lag", func(p *Problem, _ *Plan) { p.Links[0].Min = 1 }, "less than 1 minutes after the end 513"},
		{"link, greatest lag", func(p *Problem, _ *Plan) { p.Links[0].Max = new(-1) }, "more than -1 minutes after the end 513"},
		{"link from start", func(p *Problem, _ *Plan) { p.Links[0].From, p.Links[0].Min = FromStart, 26 }, "after the start 488"},
		{"link from attended", func(p *Problem, _ *Plan) {
			p.Links[0] = Link{Before: "glue-top", After: "plane-rails", From: FromAttended}
		}, "after the attended_end 548"},
		{"clamps", func(p *Problem, _ *Plan) { p.Resources[2].Capacity = 4 }, `5 of "clamps-900" are used at 513`},
		{"clamps while curing", func(p *Problem, plan *Plan) {
			p.Links, p.Tasks[1].Uses = nil, []Use{{"hands", 1, Attended}, {"clamps-900", 8, All}}
			*rails(plan) = PlanTask{"plane-rails", 642, 650, 675, 675}
			plan.Setups[0].Start = 642
		}, `13 of "clamps-900" are used at 650`},
		{"hands of the setup", func(p *Problem, _ *Plan) { p.Resources[1].Setups.Hands.Amount = 3 }, `3 of "hands" are used at 480`},
		{"hands of both", func(p *Problem, plan *Plan) {
			p.Links = nil
			*top(plan) = PlanTask{"glue-top", 480, 480, 515, 755}
		}, `3 of "hands" are used at 480`},
		{"setup left out", func(_ *Problem, plan *Plan) { rails(plan).SetupStart = 488 }, "needs 8 minutes"},
		{"setup too early", func(_ *Problem, plan *Plan) {
			*rails(plan) = PlanTask{"plane-rails", 479, 488, 513, 513}
		}, "that of task \"plane-rails\" begins at 480"},
		{"setup cut", func(p *Problem, plan *Plan) {
			p.Tasks[1].Interruptible = false
			*rails(plan) = PlanTask{"plane-rails", 714, 782, 807, 807}
			*top(plan) = PlanTask{"glue-top", 807, 807, 842, 1082}
		}, "interruption: task \"plane-rails\" cannot be interrupted, but its setup"},
		{"setup not listed", func(_ *Problem, plan *Plan) { plan.Setups = nil }, "does not list that of task"},
		{"setup listed wrongly", func(_ *Problem, plan *Plan) { plan.Setups[0].From = "22mm" }, "from \"22mm\""},
		{"setup listed twice", func(_ *Problem, plan *Plan) { plan.Setups = append(plan.Setups, plan.Setups[0]) }, "lists two"},
		{"setup listed for nothing", func(_ *Problem, plan *Plan) {
			plan.Setups = append(plan.Setups, PlanSetup{For: "glue-top"})
		}, "no task that needs a setup"},
		{"setup listed in the same state", func(p *Problem, plan *Plan) {
			p.Resources[1].Setups.Initial = new("22mm")
			rails(plan).SetupStart = 488
			plan.Setups[0] = PlanSetup{"planer", "22mm", "22mm", 488, 0, "plane-rails"}
		}, "which needs none"},
		{"two on one station", func(p *Problem, plan *Plan) {
			p.Tasks[0].Setup = &SetupNeed{"planer", "22mm"}
			p.Tasks[0].Uses, p.Links = nil, nil
			*top(plan) = PlanTask{"glue-top", 500, 500, 535, 775}
		}, `station "planer": task "glue-top" occupies it from 500, but task "plane-rails" until 513`},
		{"zone", func(p *Problem, plan *Plan) {
			p.Tasks[1].Zone, p.Tasks[1].Setup, p.Links = &ZoneUse{"finish-room", Dusty}, nil, nil
			*rails(plan) = PlanTask{"plane-rails", 787, 787, 812, 812}
		}, `zone "finish-room": task "glue-top" is wet in [513, 788) while task "plane-rails" raises dust`},
		{"job end", func(_ *Problem, plan *Plan) { plan.Jobs[0].End++ }, "jobs: job"},
		{"job late", func(p *Problem, _ *Plan) { p.Jobs[0].Due = new(700) }, "is 88 minutes late"},
		{"job late in its calendar", func(p *Problem, _ *Plan) {
			p.Jobs[0].Due, p.Jobs[0].Calendar = new(700), "shop"
		}, "is 28 minutes late"},
		{"job missing", func(_ *Problem, plan *Plan) { plan.Jobs = nil }, "does not list job"},
		{"job twice", func(_ *Problem, plan *Plan) { plan.Jobs = append(plan.Jobs, plan.Jobs[0]) }, "twice"},
		{"no job", func(_ *Problem, plan *Plan) { plan.Jobs = append(plan.Jobs, PlanJob{ID: "lunch"}) }, `"lunch", which is no job`},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			p, plan := mustRead(t, small), smallPlan()
			c.change(p, plan)
			assert.ErrorContains(t, Check(p, plan), c.says)
		})
	}
}

// What the contract allows and a hasty checker would reject.
func TestCheckAllows(t *testing.T) {
	cases := []struct {
		name   string
		change func(p *Problem, plan *Plan)
	}{
		{"an interruptible task through lunch, its hands given back", func(p *Problem, plan *Plan) {
			p.Tasks[0].Interruptible = true
			plan.Tasks[0] = PlanTask{"glue-top", 700, 700, 795, 1035}
		}},
		{"a setup before lunch, the work after it", func(p *Problem, plan *Plan) {
			p.Tasks[1].Interruptible = false
			plan.Tasks[1] = PlanTask{"plane-rails", 712, 780, 805, 805}
			plan.Tasks[0] = PlanTask{"glue-top", 805, 805, 840, 1080}
			plan.Setups[0].Start = 712
		}},
		{"an uncut task across touching windows", func(p *Problem, plan *Plan) {
			p.Calendars["shop"] = []Window{{720, 1020}, {480, 720}}
			plan.Tasks[0] = PlanTask{"glue-top", 700, 700, 735, 975}
		}},
		{"a task in hand when the hours end", func(p *Problem, plan *Plan) {
			p.Tasks[0].Interruptible, p.Tasks[0].Start = true, new(750)
			plan.Tasks[0] = PlanTask{"glue-top", 750, 750, 815, 1055}
		}},
		{"no attended time in the break", func(p *Problem, plan *Plan) {
			p.Tasks[0].Attended, p.Tasks[0].Unattended = 0, 240
			plan.Tasks[0] = PlanTask{"glue-top", 750, 750, 750, 990}
		}},
		{"the station listed in the uses as well", func(p *Problem, _ *Plan) {
			p.Tasks[1].Uses = append(p.Tasks[1].Uses, Use{"planer", 1, Attended})
		}},
		{"a change of state that takes no time, listed", func(p *Problem, plan *Plan) {
			p.Resources[1].Setups.Initial = nil
			plan.Tasks[1].SetupStart = 488
			plan.Setups[0] = PlanSetup{"planer", "", "22mm", 488, 0, "plane-rails"}
		}},
		{"a change of state that takes no time, left out", func(p *Problem, plan *Plan) {
			p.Resources[1].Setups.Initial = nil
			plan.Tasks[1].SetupStart, plan.Setups = 488, nil
		}},
		{"a bound that meets the objective", func(p *Problem, plan *Plan) { plan.Bound = 868 }},
		{"tasks that take no time on one station in one minute", func(p *Problem, plan *Plan) {
			p.Resources[1].Setups.Pairs = []Pair{{"45mm", "a", 0}, {"a", "b", 0}, {"b", "22mm", 8}}
			for _, state := range []string{"b", "a"} { // listed against the order in which they work
				p.Tasks = append(p.Tasks, Task{ID: state, Setup: &SetupNeed{"planer", state}})
				plan.Tasks = append(plan.Tasks, PlanTask{state, 480, 480, 480, 480})
			}
			plan.Setups[0].From = "b"
		}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			p, plan := mustRead(t, small), smallPlan()
			c.change(p, plan)
			require.NoError(t, p.Validate())
			plan.Jobs[0].End = max(plan.Tasks[0].End, plan.Tasks[1].End)
			plan.Objective = p.Objective.Of(Measure(p, plan))
			if plan.Bound > 0 {
				plan.Bound = plan.Objective
			}
			assert.NoError(t, Check(p, plan))
		})
	}
}

func TestCheckOfWhatIsInfeasible(t *testing.T) {
	p := mustRead(t, small)
	assert.NoError(t, Check(p, &Plan{Version: 1, Status: Infeasible, Conflict: []string{"glue-top", "plane-rails"}}))
	assert.ErrorContains(t, Check(p, &Plan{Version: 1, Status: Infeasible}), "conflict")
	assert.ErrorContains(t, Check(p, &Plan{Version: 1, Status: Infeasible, Conflict: []string{"lunch"}}), "lunch")
}

// The oracle's plans pass the checker, and the checker finds the same objective.
func TestCheckAcceptsWhatTheOracleFinds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		require.NoError(t, p.Validate())
		plan := bruteForce(p)
		if plan == nil {
			t.SkipNow()
		}
		require.NoError(t, Check(p, plan))
		require.Equal(t, plan.Objective, p.Objective.Of(Measure(p, plan)))
	})
}

// For any starts, the checker takes the plan that follows from them if and only
// if the oracle finds one with these starts.
func TestCheckAndOracleAgreeOnAnyStarts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		starts := drawStarts(t, p)
		oracle, plan := bruteForceAt(p, starts), follow(p, starts)
		if plan == nil {
			require.Nil(t, oracle, "the starts leave no room")
			return
		}
		err := Check(p, plan)
		if oracle == nil {
			require.Error(t, err)
			return
		}
		require.NoError(t, err)
		require.Equal(t, oracle.Objective, plan.Objective)
	})
}

// drawStarts draws starts near those of an optimal plan, or anywhere.
func drawStarts(t *rapid.T, p *Problem) []int {
	starts := make([]int, len(p.Tasks))
	best := bruteForce(p)
	for i := range starts {
		if best != nil && rapid.IntRange(0, 3).Draw(t, "keep") > 0 {
			starts[i] = best.Tasks[i].Start + rapid.SampledFrom([]int{0, 0, 1, -1, 2}).Draw(t, "shift")
		} else {
			starts[i] = rapid.IntRange(0, p.Horizon).Draw(t, "anywhere")
		}
	}
	return starts
}

// follow builds the plan that follows from the starts, whether it keeps the
// rules or not: the tasks of a station in the order of their starts, setups
// and attended time in working minutes. It returns nil where time runs out.
func follow(p *Problem, starts []int) *Plan {
	plan := &Plan{Version: Version, Status: Feasible}
	c := newChecker(p, plan)
	for i := range p.Tasks {
		t, h, at := &p.Tasks[i], c.attendedHours(&p.Tasks[i]), starts[i]
		for h.minutes(starts[i], at) < t.Attended {
			if at++; at > 4*p.Horizon {
				return nil
			}
		}
		plan.Tasks = append(plan.Tasks, PlanTask{t.ID, starts[i], starts[i], at, at + t.Unattended})
	}
	for _, r := range p.Resources {
		if r.Setups != nil && !followStation(c, r, plan) {
			return nil
		}
	}
	c = newChecker(p, plan)
	plan.Jobs, plan.Objective = c.jobs(), p.Objective.Of(c.terms())
	return plan
}

// followStation adds the setups of one station.
func followStation(c *checker, r Resource, plan *Plan) bool {
	var order []int
	for i := range c.p.Tasks {
		if s := c.p.Tasks[i].Setup; s != nil && s.Resource == r.ID {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int {
		if x, y := plan.Tasks[a], plan.Tasks[b]; x.Start != y.Start {
			return x.Start - y.Start
		}
		return plan.Tasks[a].AttendedEnd - plan.Tasks[b].AttendedEnd
	})
	costs, h, state := newTariff(r.Setups), c.setupHours(r.ID), ""
	if r.Setups.Initial != nil {
		state = *r.Setups.Initial
	}
	for _, i := range order {
		pt, to := &plan.Tasks[i], c.p.Tasks[i].Setup.State
		minutes := costs.minutes(state, to)
		for h.minutes(pt.SetupStart, pt.Start) < minutes {
			if pt.SetupStart--; pt.SetupStart < 0 {
				return false
			}
		}
		if minutes > 0 {
			plan.Setups = append(plan.Setups, PlanSetup{r.ID, state, to, pt.SetupStart, minutes, pt.ID})
		}
		state = to
	}
	return true
}

// One number of a right plan changed makes it wrong.
func TestCheckFindsAnyNumberChanged(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		plan := bruteForce(p)
		if plan == nil {
			t.SkipNow()
		}
		numbers := []*int{}
		for i := range plan.Tasks {
			pt := &plan.Tasks[i]
			numbers = append(numbers, &pt.SetupStart, &pt.Start, &pt.AttendedEnd, &pt.End)
		}
		for i := range plan.Jobs {
			numbers = append(numbers, &plan.Jobs[i].End, &plan.Jobs[i].Tardiness)
		}
		for i := range plan.Setups {
			numbers = append(numbers, &plan.Setups[i].Start, &plan.Setups[i].Minutes)
		}
		*rapid.SampledFrom(numbers).Draw(t, "number") += rapid.SampledFrom([]int{-3, -1, 1, 2}).Draw(t, "by")
		require.Error(t, Check(p, plan))
	})
}

// Problems drawn at random are read as they were written.
func TestDrawnProblemsSurviveWriting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		var text, same bytes.Buffer
		require.NoError(t, WriteProblem(&text, p))
		again, err := Read(bytes.NewReader(text.Bytes()))
		require.NoError(t, err)
		require.NoError(t, WriteProblem(&same, again))
		require.Equal(t, text.String(), same.String())
	})
}

func BenchmarkCheck(b *testing.B) {
	p := shopWeeks(shopSize{people: 3, stations: 12, steps: 1500, seed: 3})
	plan, err := Dispatch(context.Background(), p, EarliestPromise)
	require.NoError(b, err)
	for b.Loop() {
		require.NoError(b, Check(p, plan))
	}
}
