package models_test

import (
	"context"
	"log/slog"
	"os"
	"path/filepath"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func namesIn(t *testing.T, dir string) (names []string) {
	t.Helper()
	there, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range there {
		names = append(names, e.Name())
	}
	return names
}

func TestBackupsAreMadeByTheHour(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	dir := filepath.Join(t.TempDir(), "backups")
	kept := models.NewBackups(b.store, dir, slog.New(slog.DiscardHandler))
	assert.Equal(t, models.BackupStatus{Folder: dir}, kept.Status())
	assert.Zero(t, kept.Due(), "the first is due at once")

	require.NoError(t, kept.Take(ctx))
	first := b.clock.Now()
	assert.Equal(t, []string{"shop-2026-03-02T073000Z.db"}, namesIn(t, dir))
	assert.Equal(t, models.BackupStatus{Folder: dir, Kept: 1, LastGood: &first}, kept.Status())
	b.clock.Step(20 * time.Minute)
	assert.Equal(t, 40*time.Minute, kept.Due())
	b.tap(models.TapStart, "joint", b.ana)
	later := b.clock.Step(2 * time.Hour)
	assert.Zero(t, kept.Due())
	require.NoError(t, kept.Take(ctx))
	assert.Equal(t, models.BackupStatus{Folder: dir, Kept: 2, LastGood: &later}, models.NewBackups(b.store, dir, slog.New(slog.DiscardHandler)).Status(),
		"another run of the program finds them")

	copied, err := models.OpenStore(ctx, filepath.Join(dir, "shop-2026-03-02T095000Z.db"), b.clock.Now)
	require.NoError(t, err)
	defer func() { require.NoError(t, copied.Close()) }()
	assert.Equal(t, models.InHand, testrig.Step(t, testrig.Snapshot(t, copied), "joint").State)
}

func TestABackupThatFailsTakesNoneAway(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	parent := t.TempDir()
	dir := filepath.Join(parent, "backups")
	kept := models.NewBackups(b.store, dir, slog.New(slog.DiscardHandler))
	require.NoError(t, kept.Take(ctx))
	b.clock.Step(time.Hour)
	require.NoError(t, kept.Take(ctx))
	good := b.clock.Now()
	want := namesIn(t, dir)

	// A file in the folder's place, as root may write into every folder.
	require.NoError(t, os.Rename(dir, dir+".away"))
	require.NoError(t, os.WriteFile(dir, nil, 0o600))
	b.clock.Step(5 * 24 * time.Hour)
	failedAt := b.clock.Now()
	require.Error(t, kept.Take(ctx))
	status := kept.Status()
	assert.Equal(t, &good, status.LastGood)
	assert.Equal(t, &failedAt, status.FailedAt)
	assert.Contains(t, status.Failed.String(), "The folder of backups cannot be used: not a directory.")
	assert.Equal(t, 10*time.Minute, kept.Due(), "tried again before the hour")
	assert.Equal(t, want, namesIn(t, dir+".away"))

	require.NoError(t, os.Remove(dir))
	require.NoError(t, os.Rename(dir+".away", dir))
	b.clock.Step(10 * time.Minute)
	assert.Zero(t, kept.Due())
	require.NoError(t, kept.Take(ctx))
	assert.True(t, kept.Status().Failed.Empty())
	assert.Equal(t, []string{want[1], filepath.Base(newestIn(t, dir))}, namesIn(t, dir), "the first of two of a day has had its time")
}

func newestIn(t *testing.T, dir string) string {
	names := namesIn(t, dir)
	return filepath.Join(dir, names[len(names)-1])
}

func TestAClockSetBackDoesNotStopBackups(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	kept := models.NewBackups(b.store, filepath.Join(t.TempDir(), "backups"), slog.New(slog.DiscardHandler))
	b.clock.Step(365 * 24 * time.Hour) // stood wrong, and nobody tapped
	require.NoError(t, kept.Take(ctx))
	b.clock.Step(-364 * 24 * time.Hour)
	assert.Zero(t, kept.Due(), "the last one is ahead of the clock: it is not waited for")
	require.NoError(t, kept.Take(ctx))
	assert.Equal(t, 2, kept.Status().Kept)
	at := b.clock.Now()
	assert.Equal(t, &at, kept.Status().LastGood)
}

func TestHalfMadeBackupsGo(t *testing.T) {
	b := newBench(t)
	dir := filepath.Join(t.TempDir(), "backups")
	for name, age := range map[string]time.Duration{".backup-old": 25 * time.Hour, ".backup-new": time.Hour} {
		half := filepath.Join(dir, name)
		require.NoError(t, os.MkdirAll(half, 0o750))
		require.NoError(t, os.WriteFile(filepath.Join(half, "records"), []byte("half"), 0o600))
		at := b.clock.Now().Add(-age)
		require.NoError(t, os.Chtimes(half, at, at))
	}
	kept := models.NewBackups(b.store, dir, slog.New(slog.DiscardHandler))
	require.NoError(t, kept.Take(context.Background()))
	assert.Equal(t, []string{".backup-new", "shop-2026-03-02T073000Z.db"}, namesIn(t, dir))
}
