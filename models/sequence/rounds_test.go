package sequence

import (
	"context"
	"math/rand/v2"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// requireAgain looks that the work a plan names makes the plan again.
func requireAgain(t require.TestingT, p *Problem, plan *Plan, cores int) {
	again := solveWith(t, p, Options{Work: plan.Stats.Work, Seed: plan.Stats.Seed, Searches: plan.Stats.Searches, Cores: cores})
	require.Equal(t, withoutTimes(plan), withoutTimes(again), "work %d, on %d cores", plan.Stats.Work, cores)
}

// However a search was ended, each plan that it told of, and the last one, is the same
// again with the work it names, on one core and on two.
func TestAPlanIsTheSameAgain(t *testing.T) {
	week := func(steps int) *Problem { return shopWeek{Number: 3, Steps: steps}.problem() }
	base := week(60)
	mended := changedBy(base, solveWith(t, base, Options{Work: 400, Seed: 1}), repairs["a station is down"])
	rng := rand.New(rand.NewPCG(11, 12))
	for name, p := range map[string]*Problem{
		"weeks of 20": week(20), "weeks of 60": base, "weeks of 160": week(160), "weeks of 60 mended": mended,
		"greatest lags": instance(t, "ubo10/psp67.sch"),
	} {
		for _, cores := range []int{1, 2} {
			var told []*Plan
			ctx, cancel := context.WithTimeout(context.Background(), time.Duration(20+rng.IntN(180))*time.Millisecond)
			last, err := Solve(ctx, p, Options{Limit: time.Minute, Seed: 5, Cores: cores, OnPlan: func(plan *Plan) { told = append(told, plan) }})
			cancel()
			require.NoError(t, err)
			require.NotEmpty(t, told, name)
			if last.Stats.Work == 0 { // on a machine that slow it was broken off before the first plan
				continue
			}
			requireAgain(t, p, last, 3-cores)
			for _, k := range []int{0, rng.IntN(len(told))} {
				requireAgain(t, p, told[k], cores)
			}
		}
	}
}

// So it is with every feature of the contract, and wherever whoever has seen enough ends
// the search.
func TestAPlanOfAnyProblemIsTheSameAgain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		ctx, cancel := context.WithCancel(context.Background())
		defer cancel()
		left := rapid.IntRange(0, 6).Draw(t, "plans and steps seen")
		seen := func() {
			if left--; left <= 0 {
				cancel()
			}
		}
		cores := rapid.IntRange(1, 3).Draw(t, "cores")
		plan, err := Solve(ctx, p, Options{Limit: time.Minute, Seed: 2, Cores: cores, OnPlan: func(*Plan) { seen() }, OnStep: func(Step) { seen() }})
		require.NoError(t, err)
		if plan.Stats.Work > 0 && (plan.Status == Feasible || plan.Status == Optimal) {
			requireAgain(t, p, plan, 1+cores%2)
		}
	})
}

// What a round that was broken off had found is left out, unless there is nothing else.
func TestARoundThatIsBrokenOffIsLeftOut(t *testing.T) {
	s := &solver{}
	s.m = compile(shopWeek{Number: 3, Steps: 60}.problem(), &s.stop)
	s.open()
	before, spent := s.best, s.spent
	require.NotNil(t, before)
	s.workers = []worker{&breaking{worker: s.workers[0], s: s}}
	s.rounds()
	require.True(t, s.stop.Load())
	better, _, _ := s.workers[0].found()
	require.Less(t, better.value.cost, before.value.cost)
	assert.Same(t, before, s.best)
	assert.Equal(t, spent, s.plan().Stats.Work)

	s.best, s.trace = nil, nil
	s.broken(s.workers...)
	assert.Same(t, better, s.best)
	assert.Zero(t, s.plan().Stats.Work, "it cannot be made again")
}

// A search that had no share of the work that counts has no say, whatever it knows from
// the beginning: neither where the round was broken off in it, nor when that work is done
// again.
func TestARoundThatIsBrokenOffBehindTheFirstSearch(t *testing.T) {
	s, p := &solver{}, shopWeek{Number: 3, Steps: 100}.problem()
	s.m = compile(p, &s.stop)
	s.bound = s.m.lowerBound()
	s.open()
	begun := s.spent
	_, bound, _ := s.workers[1].found()
	require.Greater(t, bound, s.bound)
	s.workers[1] = &breaking{worker: s.workers[1], s: s}
	s.rounds()
	plan := s.plan()
	require.Greater(t, plan.Stats.Work, begun)
	require.Less(t, plan.Bound, bound)
	requireAgain(t, p, plan, 1)
}

// Nor is a schedule that was broken off work done, be it the last one of its share: made
// to the end it might have been better.
func TestAScheduleThatIsBrokenOffIsNoWorkDone(t *testing.T) {
	var stop atomic.Bool
	im := newImprover(compile(shopWeek{Number: 2, Steps: 60}.problem(), &stop), 1)
	im.begin(&stop, func() bool { return true })
	require.Equal(t, int64(3), im.run(&budget{work: 3, stop: &atomic.Bool{}}))
	stop.Store(true)
	im.d.dirty, im.d.base.known = true, false // so that all of it is made
	require.Equal(t, int64(0), im.run(&budget{work: 1, stop: &atomic.Bool{}}))
}

// breaking is a worker in whose first round all stops.
type breaking struct {
	worker
	s *solver
}

func (b *breaking) run(to *budget) int64 {
	b.worker.run(&budget{work: to.work - 1, stop: &b.s.stop})
	b.s.stop.Store(true)
	return to.work - 1
}

// Where a special search makes the plans those of the first moment, and those of a given
// work, can be made again.
func TestPlansOfSpecialSearches(t *testing.T) {
	for _, name := range []string{"ft/ft10.jss", "j30/j3029_4.sm", "wt_sds/wt_sds_1.instance"} {
		p := instance(t, name)
		plan := solveWith(t, p, Options{Work: 30_000, Seed: 3, Cores: 2})
		require.Positive(t, plan.Stats.Work, name)
		requireAgain(t, p, plan, 1)
		ctx, cancel := context.WithTimeout(context.Background(), 50*time.Millisecond)
		timed, err := Solve(ctx, p, Options{Limit: time.Minute, Seed: 3})
		cancel()
		require.NoError(t, err)
		if timed.Stats.Work > 0 {
			requireAgain(t, p, timed, 1)
		}
	}
}
