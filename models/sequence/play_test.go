package sequence

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// drawPlay draws a problem without what a play may overrun, a plan of some of its
// tasks and a turn for each.
func drawPlay(t *rapid.T) (p *Problem, plan []Start, turns []Turn) {
	p = drawProblem(t)
	p.Horizon *= 50
	for name, windows := range p.Calendars {
		for day := 1; day < 40; day++ { // time enough for every turn
			for _, w := range windows[:len(windows):len(windows)] {
				p.Calendars[name] = append(p.Calendars[name], Window{w[0] + 50*day, w[1] + 50*day})
			}
		}
	}
	place := map[string]int{}
	for i := range p.Tasks {
		task := &p.Tasks[i]
		place[task.ID] = i
		if rapid.Bool().Draw(t, "was in the plan") {
			plan = append(plan, Start{task.ID, rapid.IntRange(0, 60).Draw(t, "planned")})
		}
		task.Deadline, task.Start = nil, nil
		turns = append(turns, Turn{Attended: rapid.IntRange(1, 6).Draw(t, "attended turns out"), Unattended: rapid.IntRange(1, 6).Draw(t, "unattended turns out")})
	}
	p.Links = slices.DeleteFunc(p.Links, func(l Link) bool { return place[l.Before] >= place[l.After] })
	waits := map[string]bool{}
	for i := range p.Links {
		p.Links[i].Max, waits[p.Links[i].After] = nil, true
	}
	for i := range p.Tasks {
		if task := &p.Tasks[i]; !waits[task.ID] && task.Setup == nil && rapid.IntRange(0, 3).Draw(t, "given") == 3 {
			task.Start, task.Release = new(rapid.IntRange(0, 30).Draw(t, "starts")), 0
		}
	}
	return p, plan, turns
}

// turnedOut is a problem with the times of its turns for the estimates.
func turnedOut(p *Problem, turns []Turn) *Problem {
	q := *p
	q.Tasks = slices.Clone(p.Tasks)
	for i := range q.Tasks {
		if q.Tasks[i].Attended > 0 {
			q.Tasks[i].Attended = turns[i].Attended
		}
		if q.Tasks[i].Unattended > 0 {
			q.Tasks[i].Unattended = turns[i].Unattended
		}
	}
	return &q
}

func newPlayer(t require.TestingT, p *Problem, plan []Start) *Player {
	pl, err := NewPlayer(p, plan)
	require.NoError(t, err)
	return pl
}

// played is the last play as a plan.
func (pl *Player) played() *Plan {
	a := &answer{start: slices.Clone(pl.s.start), setup: slices.Clone(pl.s.setup), from: make([]int, len(pl.s.start)), seq: pl.s.seq}
	pl.m.nameStates(a)
	a.value = pl.m.value(a.start, pl.s.end, a.setup, make([]int, len(pl.m.jobs)))
	return pl.m.plan(a)
}

// A play is a plan of the problem as it turned out, by the independent checker.
func TestPlaysKeepTheRules(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, plan, turns := drawPlay(t)
		pl := newPlayer(t, p, plan)
		if rapid.Bool().Draw(t, "what presses goes first") {
			pl = pl.Pressing(rapid.Float64Range(0, 1).Draw(t, "part"))
		}
		for range 2 { // a player forgets what it played
			if !pl.Play(turns) {
				return // something never fits: more of a resource than there is, a step longer than any window
			}
			played := pl.played()
			played.Status = Feasible
			q := turnedOut(p, turns)
			for i := range q.Tasks {
				if given := q.Tasks[i].Start; given != nil && *given != played.Tasks[i].Start {
					require.Greater(t, played.Tasks[i].Start, *given)
					q.Tasks[i].Start, q.Tasks[i].Release = nil, *given
				}
			}
			require.NoError(t, Check(q, played))
		}
	})
}

// A greatest lag may be said as a negative least one the other way round, and closes a
// circle then. It is kept where the play comes to it: what is first waits for nothing. A
// negative lag that closes none is kept as all others are.
func TestNegativeLagsInACircleLetAPlayBegin(t *testing.T) {
	p := plain(4)
	p.Links = []Link{{Before: "t0", After: "t1"}, {Before: "t1", After: "t2"}, {Before: "t2", After: "t0", Min: -100}, {Before: "t2", After: "t3", Min: -5}}
	turns := []Turn{{Attended: 90}, {Attended: 20}, {Attended: 30}, {Attended: 1}}
	for _, plan := range [][]Start{nil, {{"t3", 0}, {"t2", 1}, {"t1", 2}, {"t0", 3}}} {
		pl := newPlayer(t, p, plan)
		require.True(t, pl.Play(turns))
		require.Equal(t, []int{0, 90, 110, 135}, pl.s.start)
		jobs := make([]int, len(turns))
		pl.Delayed(30, jobs)
		require.True(t, pl.Pressing(0.5).Play(turns))
	}
}

// The player skips what it need not look at, and never decides otherwise for it: it
// plays like one that looks at every ready task in every minute something begins.
func TestPlayersPlayByTheirRule(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, plan, turns := drawPlay(t)
		for i := range turns {
			turns[i].Wait = max(0, rapid.IntRange(-10, 12).Draw(t, "wait"))
		}
		pl, slow := newPlayer(t, p, plan), newPlayer(t, p, plan)
		ahead := rapid.SampledFrom([]int{0, 5, 20, never}).Draw(t, "ahead")
		pl.KeepWithin(ahead)
		slow.KeepWithin(ahead)
		require.Equal(t, slow.playSlowly(turns), pl.Play(turns))
		require.Equal(t, slow.s.start, pl.s.start)
		require.Equal(t, slow.s.setup, pl.s.setup)
	})
}

func (pl *Player) playSlowly(turns []Turn) bool {
	pl.begin(turns)
	pl.putGiven()
	var ready []int
	held := make([]int, len(turns))
	for t := range pl.waits {
		if pl.waits[t] == 0 && pl.starts[t] < 0 {
			ready = append(ready, t)
		}
	}
	for len(ready) > 0 {
		bestAt, bestBegin, best := never, never, -1
		now := pl.now
		for i, t := range ready {
			pl.now = max(pl.turn(pl.rank[t]), held[t])
			at, begin := pl.first(t)
			pl.now = now
			if begin < bestBegin || begin == bestBegin && begin < never && pl.rank[t] < pl.rank[ready[best]] {
				bestAt, bestBegin, best = at, begin, i
			}
		}
		if best < 0 {
			break
		}
		pl.now = bestBegin
		t := ready[best]
		if pl.pause[t] > 0 {
			held[t], pl.pause[t] = pl.now+pl.pause[t], 0
			continue
		}
		ready = slices.Delete(ready, best, best+1)
		pl.s.put(t, bestAt)
		pl.placed++
		for _, a := range pl.after[t] {
			if pl.waits[a]--; pl.waits[a] == 0 && pl.starts[a] < 0 {
				ready = append(ready, int(a))
			}
		}
	}
	return pl.placed == len(turns)
}

// Nobody in a play knows what is to come: whatever a task turns out to take, all
// that was begun before it is begun in the same minutes.
func TestPlaysDoNotLookAhead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, plan, turns := drawPlay(t)
		one, two := newPlayer(t, p, plan), newPlayer(t, p, plan)
		ahead := rapid.SampledFrom([]int{0, 5, 20, never}).Draw(t, "ahead")
		one.KeepWithin(ahead)
		two.KeepWithin(ahead)
		x := rapid.IntRange(0, len(turns)-1).Draw(t, "task")
		if p.Tasks[x].Start != nil {
			return // what is given is known beforehand
		}
		other := slices.Clone(turns)
		other[x] = Turn{Attended: rapid.IntRange(1, 9).Draw(t, "else"), Unattended: rapid.IntRange(1, 9).Draw(t, "else at rest")}
		if !one.Play(turns) || !two.Play(other) {
			return
		}
		begunOne, _ := one.started(x)
		begunTwo, _ := two.started(x)
		for i := range turns {
			a, _ := one.started(i)
			b, _ := two.started(i)
			if until := min(begunOne, begunTwo); a < until || b < until {
				require.Equal(t, a, b, "task %d before task %d", i, x)
			}
		}
	})
}

// The ordinary decoder knows all times beforehand. Given the order in which a play
// began things it does nothing later, where no setups tie the tasks to their order.
func TestThePlansOfPlaysAreInTheDecodersReach(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, plan, turns := drawPlay(t)
		for i := range p.Tasks {
			p.Tasks[i].Setup, p.Tasks[i].Start = nil, nil
		}
		pl := newPlayer(t, p, plan)
		if !pl.Play(turns) {
			return
		}
		d := newDecoder(compile(turnedOut(p, turns), nil))
		list := d.m.sortedBy(func(i int) [2]int { return [2]int{pl.s.start[i], pl.rank[i]} })
		require.True(t, d.decode(list))
		for i := range d.start {
			require.LessOrEqual(t, d.start[i], pl.s.start[i])
		}
	})
}

// A stool that is due soon and a box that is not, planned in the other order. The box
// could wait 800 minutes and the stool, which is planned 100 later, 200: from a sixth of
// that on the stool goes first.
func TestWhatPressesGoesFirst(t *testing.T) {
	hands := []Use{{Resource: "hands", Amount: 1, During: Attended}}
	p := &Problem{Version: Version, Horizon: 5000, Resources: []Resource{{ID: "hands", Capacity: 1}},
		Jobs:      []Job{{ID: "stool", Due: new(400), Weight: 1}, {ID: "box", Due: new(900), Weight: 1}},
		Tasks:     []Task{{ID: "box", Job: "box", Attended: 100, Uses: hands}, {ID: "stool", Job: "stool", Attended: 100, Uses: hands}},
		Objective: Weights{Tardiness: 1, Flow: 1}}
	planned := newPlayer(t, p, []Start{{"box", 0}, {"stool", 100}})
	for part, first := range map[float64]int{0: 0, 0.1: 0, 0.2: 1, 1: 1} {
		pl := planned.Pressing(part)
		require.True(t, pl.Play([]Turn{{Attended: 100}, {Attended: 100}}))
		require.Zero(t, pl.s.start[first], "%g", part)
	}
}

// Two players side by side play alike, and given starts are kept where they can be.
func TestPlayersBesideEachOther(t *testing.T) {
	p := shopWeeks(shopSize{2, 8, 60, 5})
	away := 1940
	p.Tasks = append(p.Tasks, Task{ID: "away", Attended: 200, Start: &away, Uses: []Use{{Resource: "hands", Amount: 1, During: Attended}}})
	pl := newPlayer(t, p, nil)
	other := pl.Beside()
	turns, others := drawnTurns(p, rand.New(rand.NewPCG(1, 2))), drawnTurns(p, rand.New(rand.NewPCG(3, 4)))
	turns[len(turns)-1].Attended, others[len(turns)-1].Attended = 200, 240
	require.True(t, pl.Play(turns))
	require.True(t, other.Play(others))
	require.True(t, other.Play(turns))
	require.Equal(t, pl.s.start, other.s.start)
	require.Equal(t, away, pl.s.start[len(p.Tasks)-1])
}

func TestAPlayersOrderIsOfItsTasks(t *testing.T) {
	p := shopWeeks(shopSize{2, 8, 20, 5})
	_, err := NewPlayer(p, []Start{{p.Tasks[0].ID, 480}, {"nobody", 480}})
	require.ErrorContains(t, err, `"nobody"`)
	_, err = NewPlayer(p, []Start{{p.Tasks[0].ID, 480}, {p.Tasks[0].ID, 900}})
	require.ErrorContains(t, err, p.Tasks[0].ID)
}

// drawnTurns has attended times turn out up to twice what was estimated.
func drawnTurns(p *Problem, rng *rand.Rand) []Turn {
	turns := make([]Turn, len(p.Tasks))
	for i, t := range p.Tasks {
		turns[i] = Turn{Attended: t.Attended/2 + rng.IntN(t.Attended*3/2+1), Unattended: t.Unattended}
	}
	return turns
}

// planned is a plan and a player of it.
func planned(t require.TestingT, p *Problem, o Options) (*Plan, *Player) {
	plan := solveWith(t, p, o)
	var begins []Start
	for _, task := range plan.Tasks {
		begins = append(begins, Start{task.ID, task.SetupStart})
	}
	return plan, newPlayer(t, p, begins)
}

// Where everything takes what was estimated and no task goes before its turn, the
// plan is what is played.
func TestAPlanThatIsKeptToIsPlayedAsItIs(t *testing.T) {
	for week := 1; week <= 6; week++ {
		p := shopWeek{week, 60}.problem()
		plan, pl := planned(t, p, Options{Work: 500, Seed: 1, WithoutExact: true})
		pl.KeepWithin(0)
		var turns []Turn
		for _, task := range p.Tasks {
			turns = append(turns, Turn{Attended: task.Attended, Unattended: task.Unattended})
		}
		require.True(t, pl.Play(turns))
		cost, ok := pl.Cost()
		require.True(t, ok)
		var want int64
		for j, job := range plan.Jobs {
			want += p.Objective.Flow*int64(job.End) + p.Objective.Tardiness*int64(p.Jobs[j].Weight*job.Tardiness)
		}
		require.Equal(t, want, cost, "week %d", week)
	}
}

func TestPlaysDoNotAllocate(t *testing.T) {
	p := shopWeeks(shopSize{2, 8, 100, 1})
	_, pl := planned(t, p, Options{Work: 20, Seed: 1})
	turns := drawnTurns(p, rand.New(rand.NewPCG(1, 2)))
	require.True(t, pl.Play(turns))
	require.Zero(t, testing.AllocsPerRun(20, func() { pl.Play(turns) }))
}

// BenchmarkPlay is one play of a planned week.
func BenchmarkPlay(b *testing.B) {
	for _, size := range []shopSize{{2, 8, 100, 1}, {2, 8, 300, 2}, {3, 12, 1500, 3}} {
		p := shopWeeks(size)
		_, pl := planned(b, p, Options{Work: 20, Seed: 1})
		var turns [][]Turn
		for k := range 16 {
			turns = append(turns, drawnTurns(p, rand.New(rand.NewPCG(1, uint64(k)))))
		}
		b.Run(fmt.Sprintf("%d-steps", size.steps), func(b *testing.B) {
			b.ReportAllocs()
			for k := 0; b.Loop(); k++ {
				pl.Play(turns[k%len(turns)])
			}
		})
	}
}
