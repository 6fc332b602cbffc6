package models_test

import (
	"context"
	"fmt"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// waitingWriters opens a store whose file another program has locked, so that
// all who write wait and are then committed together.
func waitingWriters(t *testing.T) (store *models.Store, path string, letGo func()) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "shop.db")
	store, err := open(t, path)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, store.Close()) })
	other := raw(t, path)
	other.SetMaxOpenConns(1)
	_, err = other.Exec("BEGIN IMMEDIATE")
	require.NoError(t, err)
	return store, path, func() {
		_, err := other.Exec("COMMIT")
		require.NoError(t, err)
	}
}

// Of many who write at once each is refused alone, and nobody is told before
// what they did is there for all to see.
func TestWhoWritesTogetherIsRefusedAlone(t *testing.T) {
	const many = 40
	store, path, letGo := waitingWriters(t)
	twin, err := open(t, path)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, twin.Close()) })
	var revisions []int64
	store.OnChange(func(c models.Change) { // in the order of the commits, one after the other
		revisions = append(revisions, c.Revision)
		snap, err := twin.Snapshot(context.Background())
		assert.NoError(t, err)
		assert.GreaterOrEqual(t, snap.Shop.Revision, c.Revision, "told before the commit")
	})
	saved := make([]models.Person, many)
	errs := make([]error, many)
	var all sync.WaitGroup
	for i := range many {
		all.Go(func() {
			name := fmt.Sprintf("P %d", i/2)
			if i%4 == 3 {
				name = "P 0" // there is one already, or this is the one
			}
			saved[i], errs[i] = store.SavePerson(context.Background(), models.Person{Name: name, Active: true})
		})
	}
	letGo()
	all.Wait()
	snap := testrig.Snapshot(t, store)
	there := map[string]models.ID{}
	for _, p := range snap.People {
		there[p.Name] = p.ID
	}
	accepted := 0
	for i := range many {
		if errs[i] != nil {
			assert.Equal(t, models.Invalid, models.CodeOf(errs[i]), "%v", errs[i])
			continue
		}
		accepted++
		assert.Equal(t, saved[i].ID, there[saved[i].Name], "acknowledged and there")
	}
	assert.Len(t, snap.People, accepted, "nothing of what was refused")
	require.Len(t, revisions, accepted)
	for i, r := range revisions {
		assert.Equal(t, snap.Shop.Revision-int64(accepted-1-i), r, "counted one by one")
	}
}

// A writer that gives up while it waits changes nothing; the others are not held up.
func TestWhoGivesUpWaitingChangesNothing(t *testing.T) {
	store, _, letGo := waitingWriters(t)
	first := make(chan error, 1)
	go func() {
		_, err := store.SavePerson(context.Background(), models.Person{Name: "Ana", Active: true})
		first <- err
	}()
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Millisecond)
	defer cancel()
	second := make(chan error, 1)
	go func() {
		_, err := store.SavePerson(ctx, models.Person{Name: "Ben", Active: true})
		second <- err
	}()
	<-ctx.Done()
	letGo()
	require.NoError(t, <-first)
	if err := <-second; err != nil { // it may have got the turn before it gave up
		require.ErrorIs(t, err, context.DeadlineExceeded)
		assert.Len(t, testrig.Snapshot(t, store).People, 1)
	}
}
