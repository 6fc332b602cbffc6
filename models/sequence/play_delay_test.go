package sequence

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// drawDelays draws a play in which everything is bound to some job that is due, and
// nothing to a minute.
func drawDelays(t *rapid.T) (p *Problem, plan []Start, turns []Turn) {
	p, plan, turns = drawPlay(t)
	for j := range p.Jobs {
		p.Jobs[j].Due = new(rapid.IntRange(0, 120).Draw(t, "due"))
	}
	for i := range p.Tasks {
		task := &p.Tasks[i]
		if task.Start = nil; len(p.Jobs) > 0 && task.Job == "" {
			task.Job = p.Jobs[0].ID
		}
		task.Interruptible = task.Interruptible && len(p.Calendars) == 1 // no resource is used in its gaps then
		if task.Attended == 0 {
			task.Setup, task.Zone = nil, nil // it would have its station for no time at all, and raise no dust
		}
		for k := range task.Uses {
			if task.Uses[k].During = All; task.Interruptible || len(task.Uses) > 1 {
				task.Uses[k].During = Attended // nothing is wanted for a rest alone
			}
		}
	}
	for i := range p.Links {
		p.Links[i].Min = max(0, p.Links[i].Min)
	}
	return p, plan, turns
}

// All tasks at the latest that a play leaves them are a plan again, by the independent
// checker, and no job ends later than it is due or than it did. So what is marked by no
// delay may be delayed; and Floats, which keep more of an order, mark what is.
func TestDelaysKeepTheOrderOfAPlay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, plan, turns := drawDelays(t)
		pl := newPlayer(t, p, plan)
		if len(p.Jobs) == 0 || !pl.Play(turns) {
			return
		}
		jobs := make([]int, len(p.Tasks))
		minutes := rapid.IntRange(1, 12).Draw(t, "minutes")
		pl.Delayed(minutes, jobs)
		played := pl.played()
		played.Status = Feasible
		q := turnedOut(p, turns)
		late := atLatest(q, played, func(task int) int {
			_, start, _ := pl.delays.begins(pl, task)
			return start
		})
		require.NoError(t, Check(q, late))
		for j, job := range late.Jobs {
			require.LessOrEqual(t, job.End, max(*p.Jobs[j].Due, played.Jobs[j].End))
		}
		rooms, err := Floats(q, played)
		require.NoError(t, err)
		for i, job := range jobs {
			room := never
			for _, f := range rooms[i].Floats {
				room = min(room, pl.clock().worked(pl.m.tasks[i].attEnd(f.Latest))-pl.clock().worked(pl.s.att[i]))
			}
			if job >= 0 {
				require.Less(t, room, minutes, "task %d", i)
			}
		}
	})
}

// Two cuts on one saw, then a glue-up that is due when it is dry: by hand.
func TestDelaysByHand(t *testing.T) {
	hands := []Use{{Resource: "hands", Amount: 1, During: Attended}}
	p := &Problem{Version: Version, Horizon: 5000, Calendars: map[string][]Window{"shop": {{480, 720}, {780, 1020}, {1920, 2160}}},
		Resources: []Resource{{ID: "hands", Capacity: 1, Calendar: "shop"}},
		Jobs:      []Job{{ID: "stool", Due: new(1000), Weight: 1}, {ID: "box", Due: new(3000), Weight: 1}},
		Tasks: []Task{
			{ID: "cut", Job: "stool", Attended: 60, Uses: hands},
			{ID: "other cut", Job: "box", Attended: 60, Uses: hands},
			{ID: "glue", Job: "stool", Attended: 30, Unattended: 240, Uses: hands},
			{ID: "tidy", Attended: 30, Uses: hands},
		},
		Links: []Link{{Before: "cut", After: "glue"}}, Objective: Weights{Tardiness: 1, Flow: 1}}
	pl := newPlayer(t, p, []Start{{"cut", 480}, {"other cut", 540}, {"glue", 600}, {"tidy", 630}})
	jobs := make([]int, len(p.Tasks))
	turn := func(cut int, minutes int) []int {
		require.True(t, pl.Play([]Turn{{Attended: cut}, {Attended: 60}, {Attended: 30, Unattended: 240}, {Attended: 30}}))
		pl.Delayed(minutes, jobs)
		return jobs
	}
	// The glue-up is over at 630 and must be by 760, or as it begins before the break, by
	// 720: a delay of 90 minutes is within that.
	assert.Equal(t, []int{-1, -1, -1, -1}, turn(60, 90))
	assert.Equal(t, []int{0, 0, 0, -1}, turn(60, 91), "the other cut has the hands in between")
	// The first cut takes two hours: only 30 minutes are left.
	assert.Equal(t, []int{0, 0, 0, -1}, turn(120, 60))
	assert.Equal(t, []int{-1, -1, -1, -1}, turn(120, 30))
	// It takes so long that the rest is done after the break and the stool is late: any
	// delay of that makes it later, of the first cut one that reaches beyond the break.
	assert.Equal(t, []int{-1, 0, 0, -1}, turn(230, 10))
	assert.Equal(t, []int{0, 0, 0, -1}, turn(230, 11))
}

// A task that stood still before it began passes a delay on only as far as that.
func TestDelaysOfWhatStoodStill(t *testing.T) {
	p := &Problem{Version: Version, Horizon: 1000, Jobs: []Job{{ID: "box", Due: new(300), Weight: 1}}, Resources: []Resource{{ID: "hands", Capacity: 2}},
		Tasks: []Task{{ID: "cut", Job: "box", Attended: 60, Uses: []Use{{"hands", 1, Attended}}}, {ID: "join", Job: "box", Attended: 60, Uses: []Use{{"hands", 1, Attended}}}},
		Links: []Link{{Before: "cut", After: "join"}}, Objective: Weights{Tardiness: 1}}
	pl := newPlayer(t, p, []Start{{"cut", 0}, {"join", 60}})
	jobs := make([]int, 2)
	require.True(t, pl.Play([]Turn{{Attended: 60}, {Attended: 60, Wait: 100}})) // over at 220
	pl.Delayed(80, jobs)
	assert.Equal(t, []int{-1, -1}, jobs)
	pl.Delayed(81, jobs)
	assert.Equal(t, []int{0, 0}, jobs)
}

func TestDelaysDoNotAllocate(t *testing.T) {
	p := shopWeeks(shopSize{2, 8, 100, 1})
	_, pl := planned(t, p, Options{Work: 20, Seed: 1})
	turns, jobs := drawnTurns(p, rand.New(rand.NewPCG(1, 2))), make([]int, len(p.Tasks))
	require.True(t, pl.Play(turns))
	pl.Delayed(60, jobs)
	require.Zero(t, testing.AllocsPerRun(20, func() { pl.Delayed(60, jobs) }))
	assert.NotEqual(t, -1, jobs[0])
}

// BenchmarkDelays is what they take beside the play that they are told of.
func BenchmarkDelays(b *testing.B) {
	p := shopWeeks(shopSize{2, 8, 300, 2})
	_, pl := planned(b, p, Options{Work: 20, Seed: 1})
	turns, jobs := drawnTurns(p, rand.New(rand.NewPCG(1, 2))), make([]int, len(p.Tasks))
	b.Run("play", func(b *testing.B) {
		for b.Loop() {
			pl.Play(turns)
		}
	})
	b.Run("delays", func(b *testing.B) {
		for b.Loop() {
			pl.Delayed(60, jobs)
		}
	})
}
