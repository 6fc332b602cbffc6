package models_test

import (
	"context"
	"fmt"
	"testing"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// bench is a shop with one commission and what the tests of taps do at it.
type bench struct {
	t        testing.TB
	clock    *testrig.Clock
	store    *models.Store
	ana, ben models.ID
	taps     int
}

func newBench(t testing.TB) *bench {
	t.Helper()
	clock := testrig.Monday()
	b := &bench{t: t, clock: clock, store: testrig.Shop(t, clock)}
	testrig.Commission(t, b.store, "Shelf for the hall", "2026-03-20")
	snap := b.snap()
	b.ana, b.ben = testrig.Person(t, snap, "Ana"), testrig.Person(t, snap, "Ben")
	return b
}

func (b *bench) snap() *models.Snapshot { return testrig.Snapshot(b.t, b.store) }

func (b *bench) step(key string) *models.Step { return testrig.Step(b.t, b.snap(), key) }

// id makes the next tap's id.
func (b *bench) id() string {
	b.taps++
	return fmt.Sprintf("tap-%04d", b.taps)
}

// try taps a step and returns what came of it.
func (b *bench) try(kind models.TapKind, key string, who models.ID) (models.TapResult, error) {
	return b.store.Tap(context.Background(), models.TapRequest{ID: b.id(), Kind: kind, StepID: b.step(key).ID, PersonID: who, Tablet: "t1"})
}

// tap taps a step and must succeed.
func (b *bench) tap(kind models.TapKind, key string, who models.ID) models.TapResult {
	b.t.Helper()
	r, err := b.try(kind, key, who)
	require.NoError(b.t, err)
	return r
}

// do starts and finishes steps one after another.
func (b *bench) do(keys ...string) {
	b.t.Helper()
	for _, key := range keys {
		b.tap(models.TapStart, key, b.ana)
		b.tap(models.TapFinish, key, b.ana)
	}
}

// undo takes a tap back.
func (b *bench) undo(seq int64, who models.ID) (models.TapResult, error) {
	return b.store.Tap(context.Background(), models.TapRequest{ID: b.id(), Kind: models.TapUndo, Undoes: seq, PersonID: who})
}

// refused checks that err is a refusal with that code and exactly that sentence.
func refused(t testing.TB, err error, code models.Code, sentence string) {
	t.Helper()
	require.Error(t, err)
	assert.Equal(t, code, models.CodeOf(err))
	assert.Equal(t, sentence, err.Error())
	assert.NotContains(t, err.Error(), "constraint", "a sentence for people, not the database's")
}
