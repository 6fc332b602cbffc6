package planner

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"faceside/models"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// booked is a time book in which each of so many steps of a kind took so much of its
// estimate, in turn.
func booked(kind string, steps int, ratios ...float64) []models.Outcome {
	var all []models.Outcome
	for i := range steps {
		all = append(all, models.Outcome{CommissionID: models.ID(1 + i/20), Kind: kind, Estimated: 30,
			Actual: int(30 * 60 * ratios[i%len(ratios)])})
	}
	return all
}

func TestAPaceIsLearntFromTheBook(t *testing.T) {
	bare := learnPace(&models.Outcomes{})
	assert.InDelta(t, priorShop, bare.shop.mean, 1e-9)
	assert.InDelta(t, priorSpread, bare.spread, 1e-9)
	assert.InDelta(t, priorStop, bare.stop, 1e-9)

	var before float64
	for _, steps := range []int{2, 20, 200, 2000} {
		p := learnPace(&models.Outcomes{Steps: booked("plane", steps, 1.8, 2.2)})
		assert.Greater(t, p.shop.mean, before, "the more steps say so, the slower the shop")
		before = p.shop.mean
		assert.Less(t, p.shop.mean, math.Log(2))
		assert.Less(t, p.shop.sd, bare.shop.sd, "and the surer")
	}
	p := learnPace(&models.Outcomes{Steps: append(booked("plane", 400, 1.8, 2.2), booked("glue", 400, 0.5, 1.0, 2.0)...)})
	assert.InDelta(t, math.Log(2), p.kinds["plane"].mean, 0.02)
	assert.InDelta(t, 0.1, p.kinds["plane"].spread, 0.03, "what was always alike spreads little")
	assert.InDelta(t, math.Log(2)*math.Sqrt(2./3), p.kinds["glue"].spread, 0.03)
}

func TestARunSaysNothingOfTheSpread(t *testing.T) {
	var run []models.Outcome
	for i := range 40 {
		run = append(run, models.Outcome{Kind: "plane", Estimated: 10, Actual: 10 * 60 * (1 + i%3), Run: fmt.Sprint("run ", i/4)})
	}
	p := learnPace(&models.Outcomes{Steps: run})
	assert.InDelta(t, priorSpread, p.kinds["plane"].spread, 1e-9)
	assert.Greater(t, p.shop.mean, learnPace(&models.Outcomes{}).shop.mean)
}

func TestACommissionThatGoesSlowlyIsExpectedToGoOnSo(t *testing.T) {
	steps := booked("plane", 200, 1)
	for i := range steps {
		steps[i].CommissionID = models.ID(1 + i%10)
		if steps[i].CommissionID == 3 {
			steps[i].Actual *= 2
		}
	}
	p := learnPace(&models.Outcomes{Steps: steps})
	assert.Greater(t, p.ofCommission(3).mean, 0.3)
	assert.Less(t, p.ofCommission(4).mean, 0.0)
	assert.Zero(t, p.ofCommission(77).mean)
	assert.Greater(t, p.ofCommission(77).sd, p.ofCommission(4).sd)
}

func TestTroublesAreExpectedAsOftenAsTheyCame(t *testing.T) {
	p := learnPace(&models.Outcomes{Steps: booked("plane", 900, 1), Stops: []int{600, 600, 600}, Spoiled: 99, Again: 99 * 30})
	assert.InDelta(t, 0.004, p.stop, 1e-9)
	assert.InDelta(t, 0.1, p.spoil, 1e-9)
	assert.InDelta(t, 31, p.again, 1)
}

// What is left of a step in hand takes longer than what it has had already.
func TestTimesOfWhatIsBegunAreAboveWhatIsGone(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	n := normal{math.Log(30), 0.3}
	sum := 0.0
	for range 2000 {
		y := n.drawAbove(rng, 40)
		require.Greater(t, y, math.Log(40))
		sum += math.Exp(y)
	}
	assert.InDelta(t, 47.5, sum/2000, 1.5) // E[T | T > 40] of this lognormal
	assert.InDelta(t, math.Log(330), n.drawAbove(rng, 300), 0.01, "far beyond its estimate nobody knows")
}

func (r *rig) foresee() *Promises {
	r.Helper()
	p, err := r.service.Foresee(ctx)
	require.NoError(r, err)
	return p
}

func TestPromisesOfAPlan(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	bench := r.take("Hall bench", "2026-12-11")
	stool := r.take("Stool", "2026-12-02")
	plan := r.plan()
	p := r.foresee()
	assert.Equal(t, plan.ID, p.Plan)
	assert.Same(t, p, r.service.Promises())
	for _, c := range []*models.Commission{bench, stool} {
		one := p.Of(c.ID)
		half, ok := one.By(50)
		require.True(t, ok)
		most, _ := one.By(80)
		nearlyAll, _ := one.By(95)
		assert.True(t, half.Before(most) && most.Before(nearlyAll), "%s %s %s", half, most, nearlyAll)
		for _, confidence := range Confidences {
			by, _ := one.By(confidence)
			assert.GreaterOrEqual(t, one.Holds(by), float64(confidence)/100)
			assert.Less(t, one.Holds(by.Add(-time.Minute)), float64(confidence)/100)
			day, ok := one.Day(r.snap(), confidence)
			require.True(t, ok)
			closing, ok := PromisedBy(r.snap(), &models.Commission{PromisedOn: day})
			require.True(t, ok)
			assert.False(t, closing.Before(by), "at closing time of %s it is ready since %s", day, by)
		}
	}
	by, _ := PromisedBy(r.snap(), bench)
	late, _ := PromisedBy(r.snap(), stool)
	assert.Greater(t, p.Of(bench.ID).Holds(by), 0.9)
	assert.Less(t, p.Of(stool.ID).Holds(late), 0.1)
	assert.Nil(t, p.Of(99))
	assert.Nil(t, (*Promises)(nil).Of(bench.ID))
}

// The same plan, book and moment give the same promises on any number of cores.
func TestPromisesAreRepeatable(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.take("Hall bench", "2026-12-11")
	r.plan()
	var all []*Promises
	for _, cores := range []int{1, 2} {
		p, err := foresee(ctx, r.snap(), &models.Outcomes{}, playing{plays: 300, cores: cores, seed: 7})
		require.NoError(t, err)
		all = append(all, p)
	}
	assert.Equal(t, all[0].Of(c.ID).ends, all[1].Of(c.ID).ends)
}

// heldBy is by when a commission is complete in 80 of 100 played weeks.
func (r *rig) heldBy(id models.ID, o *models.Outcomes) time.Time {
	r.Helper()
	p, err := foresee(ctx, r.snap(), o, playing{plays: 600, cores: 1})
	require.NoError(r, err)
	at, ok := p.Of(id).By(80)
	require.True(r, ok)
	return at
}

// Steps that took longer so far put the dates off.
func TestPromisesFollowTheBook(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.take("Hall bench", "2026-12-11")
	r.plan()
	quick, slow := r.heldBy(c.ID, &models.Outcomes{Steps: booked("plane", 100, 0.7)}), r.heldBy(c.ID, &models.Outcomes{Steps: booked("plane", 100, 2)})
	assert.True(t, quick.Before(slow), "%s %s", quick, slow)
}

func TestPromisesAreBrokenOff(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	r.take("Hall bench", "2026-12-11")
	r.plan()
	ended, cancel := context.WithCancel(ctx)
	cancel()
	_, err := foresee(ended, r.snap(), &models.Outcomes{}, playing{plays: 100})
	require.ErrorIs(t, err, context.Canceled)
}

// A step in hand that is over its time puts the promise off.
func TestPromisesWithWorkUnderWay(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.lone("Box", "2026-12-11", job("saw", 60), job("plane", 60))
	r.plan()
	before, _ := r.foresee().Of(c.ID).By(50)
	r.tap(models.TapStart, "Ana", c, "saw")
	r.clock.Step(2 * time.Hour)
	r.plan()
	after, _ := r.foresee().Of(c.ID).By(50)
	assert.True(t, after.After(before), "it takes twice as long already: %s %s", before, after)
}

// A plan that stands is played by itself, and whoever asked hears of it.
func TestTheServiceForesees(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	r.service = New(r.store, quiet(), Options{Work: work, Seed: 1, ForeseeAfter: time.Millisecond})
	heard := make(chan struct{}, 1)
	r.service.OnPromises(func() { heard <- struct{}{} })
	running, cancel := context.WithCancel(ctx)
	done := make(chan error, 1)
	go func() { done <- r.service.Run(running) }()
	c := r.take("Hall bench", "2026-12-11")
	<-heard
	assert.NotNil(t, r.service.Promises().Of(c.ID))
	cancel()
	require.NoError(t, <-done)
}
