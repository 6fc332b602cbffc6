package models_test

import (
	"context"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestJournalFilters(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	other := testrig.Commission(t, b.store, "Other", "2026-03-25")
	b.do("joint", "plane") // taps 1 to 4
	planer := testrig.Station(t, b.snap(), "planer").ID
	_, err := b.store.Tap(ctx, models.TapRequest{ID: b.id(), Kind: models.TapSet, StationID: planer, PersonID: b.ben})
	require.NoError(t, err)
	whole, err := b.store.CommissionSnapshot(ctx, other.ID)
	require.NoError(t, err)
	_, err = b.store.Tap(ctx, models.TapRequest{ID: b.id(), Kind: models.TapStart, StepID: whole.Steps[0].ID, PersonID: b.ben})
	require.NoError(t, err)
	_, err = b.undo(4, b.ana) // tap 7, of the same step as tap 4
	require.NoError(t, err)

	for name, c := range map[string]struct {
		filter models.JournalFilter
		want   []int64
	}{
		"all":                 {models.JournalFilter{}, []int64{1, 2, 3, 4, 5, 6, 7}},
		"one step":            {models.JournalFilter{StepID: b.step("plane").ID}, []int64{3, 4, 7}},
		"one commission":      {models.JournalFilter{CommissionID: other.ID}, []int64{6}},
		"since":               {models.JournalFilter{AfterSeq: 5}, []int64{6, 7}},
		"limited":             {models.JournalFilter{AfterSeq: 1, Limit: 2}, []int64{2, 3}},
		"the newest":          {models.JournalFilter{Newest: 2}, []int64{6, 7}},
		"the newest of it":    {models.JournalFilter{StepID: b.step("plane").ID, Newest: 2}, []int64{4, 7}},
		"nobody's commission": {models.JournalFilter{CommissionID: 99}, nil},
	} {
		taps, err := b.store.Journal(ctx, c.filter)
		require.NoError(t, err)
		var seqs []int64
		for _, tap := range taps {
			seqs = append(seqs, tap.Seq)
		}
		assert.Equal(t, c.want, seqs, name)
	}
	whole, err = b.store.CommissionSnapshot(ctx, other.ID)
	require.NoError(t, err)
	require.Len(t, whole.LastTaps, 1, "only its own")
	assert.Equal(t, int64(6), whole.LastTaps[0].Seq)
}

func TestLastTapsAreTheNewestThatCount(t *testing.T) {
	b := newBench(t)
	for range 60 {
		b.clock.Step(time.Minute)
		b.tap(models.TapStart, "joint", b.ana)
		b.tap(models.TapPutDown, "joint", b.ana)
	}
	_, err := b.undo(120, b.ana)
	require.NoError(t, err)
	last := b.snap().LastTaps
	require.Len(t, last, 50)
	assert.Equal(t, int64(119), last[0].Seq, "newest first, without what was taken back")
	assert.Equal(t, int64(70), last[49].Seq)
}
