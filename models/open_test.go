package models_test

import (
	"cmp"
	"context"
	"database/sql"
	"os"
	"path/filepath"
	"testing"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// raw opens a store's file past the store, with the checks the store turns on.
func raw(t *testing.T, path string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite3", "file:"+path+"?_busy_timeout=5000&_foreign_keys=ON")
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	return db
}

func open(t *testing.T, path string) (*models.Store, error) {
	t.Helper()
	return models.OpenStore(context.Background(), path, testrig.Monday().Now)
}

func TestOpenTwice(t *testing.T) {
	path := filepath.Join(t.TempDir(), "with # ? % and ü.db")
	uid := ""
	for range 2 { // on nothing, and on what it made
		store, err := open(t, path)
		require.NoError(t, err)
		snap := testrig.Snapshot(t, store)
		assert.Equal(t, models.Shop{ID: 1, Name: "Workshop", TimeZone: "UTC", Units: "mm", Fraction: 16, TemperatureC: 21, HumidityPct: 50, Language: "en", UID: cmp.Or(uid, snap.Shop.UID)}, snap.Shop)
		uid = snap.Shop.UID
		require.NoError(t, store.Close())
	}
	_, err := os.Stat(path)
	require.NoError(t, err, "the file has the name that was asked for")
}

func TestRecordsOutliveTheProgram(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	store, err := open(t, path)
	require.NoError(t, err)
	_, err = store.SavePerson(context.Background(), models.Person{Name: "Ana", Active: true})
	require.NoError(t, err)
	// Not closed: another opens the file as after a crash.
	again, err := open(t, path)
	require.NoError(t, err)
	assert.Equal(t, "Ana", testrig.Snapshot(t, again).People[0].Name)
	require.NoError(t, again.Close())
	require.NoError(t, store.Close())
}

func TestOpenRefuses(t *testing.T) {
	dir := t.TempDir()
	newer := filepath.Join(dir, "newer.db")
	store, err := open(t, newer)
	require.NoError(t, err)
	require.NoError(t, store.Close())
	_, err = raw(t, newer).Exec("INSERT INTO goose_db_version (version_id, is_applied) VALUES (99, 1)")
	require.NoError(t, err)
	_, err = open(t, newer)
	require.ErrorContains(t, err, "the file has schema 99 and this program knows only up to")

	other := filepath.Join(dir, "other.db")
	_, err = raw(t, other).Exec("CREATE TABLE songs (title TEXT)")
	require.NoError(t, err)
	_, err = open(t, other)
	require.ErrorContains(t, err, "the file is a database of something else")

	text := filepath.Join(dir, "text.db")
	require.NoError(t, os.WriteFile(text, []byte("a letter to a client, long enough to be no header of a database file at all ..........."), 0o600))
	_, err = open(t, text)
	require.ErrorContains(t, err, "file is not a database")

	_, err = open(t, filepath.Join(dir, "no folder", "shop.db"))
	require.ErrorContains(t, err, "open the records in")
}

func TestWritersTakeTurnsWithOtherPrograms(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	store, err := open(t, path)
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	other := raw(t, path)
	other.SetMaxOpenConns(1)
	_, err = other.Exec("BEGIN IMMEDIATE")
	require.NoError(t, err)
	done := make(chan error, 1)
	go func() {
		_, err := store.SavePerson(context.Background(), models.Person{Name: "Ana", Active: true})
		done <- err
	}()
	assert.Empty(t, testrig.Snapshot(t, store).People, "a reader does not wait for a writer")
	_, err = other.Exec("COMMIT")
	require.NoError(t, err)
	require.NoError(t, <-done, "the store waited for the lock")
}

func TestBrokenOffBeforeItsTurn(t *testing.T) {
	store := testrig.Shop(t, testrig.Monday())
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := store.SavePerson(ctx, models.Person{Name: "Cleo", Active: true})
	refused(t, err, models.Internal, "Could not save the person: it was broken off. Nothing was changed.")
	require.ErrorIs(t, err, context.Canceled)
	assert.Len(t, testrig.Snapshot(t, store).People, 2)
	_, err = store.Snapshot(ctx)
	require.ErrorIs(t, err, context.Canceled)
}

func TestClosedStoreSaysSo(t *testing.T) {
	store, err := open(t, filepath.Join(t.TempDir(), "shop.db"))
	require.NoError(t, err)
	require.NoError(t, store.Close())
	_, err = store.Snapshot(context.Background())
	refused(t, err, models.Internal, "Could not read the records. Nothing was changed.")
}

func TestBackup(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	b.tap(models.TapStart, "joint", b.ana)
	want := b.snap()
	path := filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, b.store.Backup(ctx, path))
	b.tap(models.TapFinish, "joint", b.ana) // not in the copy

	copied, err := models.OpenStore(ctx, path, b.clock.Now)
	require.NoError(t, err)
	defer func() { require.NoError(t, copied.Close()) }()
	got := testrig.Snapshot(t, copied)
	assert.Equal(t, want.Steps, got.Steps)
	assert.Equal(t, want.LastTaps, got.LastTaps)
	assert.Equal(t, want.Shop, got.Shop)

	refused(t, b.store.Backup(ctx, path), models.Invalid, "There is a file at "+path+" already: a backup never writes over one.")
	nowhere := filepath.Join(t.TempDir(), "no folder", "copy.db")
	refused(t, b.store.Backup(ctx, nowhere), models.Invalid, "No backup can be written to "+nowhere+": no such file or directory.")
	left, err := os.ReadDir(filepath.Dir(path))
	require.NoError(t, err)
	for _, f := range left {
		assert.NotContains(t, f.Name(), ".backup", "nothing is left lying about")
	}
}
