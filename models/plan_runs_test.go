package models_test

import (
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
)

// problemOf is a text that takes about so many bytes, packed too.
func problemOf(seed uint64, size int) []byte {
	text := make([]byte, size)
	rng := rand.New(rand.NewPCG(seed, 1))
	for i := range text {
		text[i] = byte(rng.Uint32())
	}
	return text
}

// kept saves a plan and how it was made.
func (b *bench) kept(problem []byte) models.ID {
	b.t.Helper()
	snap := b.snap()
	p := &models.Plan{Origin: snap.At, Revision: snap.Shop.Revision, Status: "feasible", Seed: 7}
	require.NoError(b.t, b.store.SavePlan(context.Background(), p))
	require.NoError(b.t, b.store.KeepRun(context.Background(), models.PlanRun{PlanID: p.ID, Work: 40, Searches: 1, Answer: models.Fingerprint(problem), Program: "abc"}, problem))
	return p.ID
}

func TestRunsAreKept(t *testing.T) {
	b, ctx := newBench(t), context.Background()
	first, second := problemOf(1, 5000), bytes.Repeat([]byte("a problem "), 500)
	ids := []models.ID{b.kept(first), b.kept(first), b.kept(second)}
	runs, err := b.store.Runs(ctx)
	require.NoError(t, err)
	require.Len(t, runs, 3)
	assert.Equal(t, ids[2], runs[0].PlanID, "the newest first")
	assert.Equal(t, runs[1].ProblemID, runs[2].ProblemID, "one problem is kept once")
	assert.NotEqual(t, runs[0].ProblemID, runs[1].ProblemID)
	for i, want := range [][]byte{first, first, second} {
		run, text, err := b.store.Run(ctx, ids[i])
		require.NoError(t, err)
		assert.Equal(t, want, text)
		assert.EqualValues(t, 7, run.Plan.Seed)
		assert.EqualValues(t, 40, run.Work)
	}
	_, _, err = b.store.Run(ctx, 4711)
	assert.Equal(t, models.NotFound, models.CodeOf(err))
}

// Runs go with their plans, and problems with the last run that has them.
func TestOldRunsGo(t *testing.T) {
	b, ctx := newBench(t), context.Background()
	for i := range models.KeptPlans + 5 {
		b.kept(problemOf(uint64(i/2), 100))
	}
	runs, err := b.store.Runs(ctx)
	require.NoError(t, err)
	assert.InDelta(t, models.KeptPlans, len(runs), 3, "one more is spared: the day's first")
	for _, run := range runs {
		_, _, err := b.store.Run(ctx, run.PlanID)
		require.NoError(t, err)
	}
	problems, err := b.store.CountProblems(ctx)
	require.NoError(t, err)
	assert.LessOrEqual(t, problems, int64(len(runs)/2+3))
}

// No more than so many bytes are kept, of the newest.
func TestRunsAreKeptUpToSoManyBytes(t *testing.T) {
	b, ctx := newBench(t), context.Background()
	var ids []models.ID
	const size = models.KeptProblemBytes / 4
	for i := range 6 {
		ids = append(ids, b.kept(problemOf(uint64(i), size+size/10)))
	}
	runs, err := b.store.Runs(ctx)
	require.NoError(t, err)
	var left []models.ID
	for _, run := range runs {
		left = append(left, run.PlanID)
	}
	assert.Equal(t, fmt.Sprint([]models.ID{ids[5], ids[4], ids[3]}), fmt.Sprint(left))
	problems, err := b.store.CountProblems(ctx)
	require.NoError(t, err)
	assert.EqualValues(t, 3, problems)
}
