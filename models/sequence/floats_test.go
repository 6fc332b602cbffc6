package sequence

import (
	"context"
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// requireFloats moves all tasks to their latest starts for one job after the other:
// each time that is a plan, and the job ends as it should.
func requireFloats(t require.TestingT, p *Problem, plan *Plan) (room int) {
	rooms, err := Floats(p, plan)
	require.NoError(t, err)
	require.Len(t, rooms, len(p.Tasks))
	for k := range rooms[0].Floats {
		job := rooms[0].Floats[k].Job
		late := atLatest(p, plan, func(task int) int { return rooms[task].Floats[k].Latest })
		if err := Check(p, late); err != nil {
			problem, _ := json.Marshal(p)
			require.NoError(t, err, "job %s\n%s\n%v\n%v", job, problem, plan.Tasks, rooms)
		}
		for i, j := range p.Jobs {
			if j.ID == job {
				require.LessOrEqual(t, late.Jobs[i].End, max(*j.Due, plan.Jobs[i].End))
			}
		}
		for task := range rooms {
			later := rooms[task].Floats[k].Latest - placedIn(plan)[rooms[task].Task].Start
			require.GreaterOrEqual(t, later, 0)
			room += later
		}
	}
	return room
}

// atLatest is the plan with every task started at another time, in the same order.
func atLatest(p *Problem, plan *Plan, start func(task int) int) *Plan {
	c, late := newChecker(p, plan), *plan
	late.Tasks, late.Setups = nil, nil
	setups := map[string]PlanSetup{}
	for _, s := range plan.Setups {
		setups[s.For] = s
	}
	for i := range p.Tasks {
		t, at := &p.Tasks[i], start(i)
		pt := PlanTask{ID: t.ID, SetupStart: at, Start: at, AttendedEnd: at}
		if t.Attended > 0 {
			pt.AttendedEnd = forward(c.attendedHours(t), at, t.Attended)
		}
		pt.End = pt.AttendedEnd + t.Unattended
		if s := setups[t.ID]; s.Minutes > 0 {
			pt.SetupStart = backward(c.setupHours(s.Resource), at, s.Minutes)
			s.Start = pt.SetupStart
			late.Setups = append(late.Setups, s)
		}
		late.Tasks = append(late.Tasks, pt)
	}
	late.Jobs = newChecker(p, &late).jobs()
	late.Objective, late.Bound, late.Status = p.Objective.Of(Measure(p, &late)), 0, Feasible
	return &late
}

func TestFloatsKeepTheRules(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		p.Horizon += rapid.IntRange(0, 30).Draw(t, "more time")
		plan := solveWith(t, p, Options{Work: 60, Seed: 1, WithoutExact: true})
		if plan.Status == Optimal || plan.Status == Feasible {
			requireFloats(t, p, plan)
		}
	})
}

func TestFloatsInShopWeeks(t *testing.T) {
	for seed := uint64(1); seed <= 3; seed++ {
		p := shopWeeks(shopSize{people: 1 + int(seed)%2, stations: 7, steps: 60, seed: seed})
		plan, err := Dispatch(context.Background(), p, EarliestPromise)
		require.NoError(t, err)
		assert.Positive(t, requireFloats(t, p, plan))
	}
}

// Two cuts on one saw, then a glue-up: what each may slip against each due time, by hand.
func TestFloatsByHand(t *testing.T) {
	due := func(n int) *int { return &n }
	p := &Problem{Version: Version, Horizon: 2000, Calendars: map[string][]Window{"shop": {{480, 720}, {780, 1020}}},
		Resources: []Resource{{ID: "hands", Capacity: 1, Calendar: "shop"}},
		Jobs:      []Job{{ID: "early", Due: due(700), Weight: 1}, {ID: "late", Due: due(1000), Weight: 1}},
		Tasks: []Task{
			{ID: "cut", Job: "early", Attended: 60, Uses: []Use{{"hands", 1, Attended}}},
			{ID: "other cut", Job: "late", Attended: 60, Uses: []Use{{"hands", 1, Attended}}},
			{ID: "glue", Job: "late", Attended: 30, Unattended: 120, Uses: []Use{{"hands", 1, Attended}}},
		},
		Links: []Link{{Before: "other cut", After: "glue"}}, Objective: Weights{Tardiness: 1, Flow: 1}}
	plan := solveWith(t, p, Options{Work: 500})
	require.Equal(t, []int{480, 540, 600}, []int{plan.Tasks[0].Start, plan.Tasks[1].Start, plan.Tasks[2].Start})
	rooms, err := Floats(p, plan)
	require.NoError(t, err)
	// The glue-up is to be closed by 880, so it starts at 850; the other cut at 790 or,
	// as it must not be cut by the break, still at 790; the first one before the break.
	assert.Equal(t, []Float{{"early", 640}, {"late", 660}}, rooms[0].Floats)
	assert.Equal(t, Float{"late", 790}, rooms[1].Floats[1])
	assert.Equal(t, Float{"late", 850}, rooms[2].Floats[1])
}
