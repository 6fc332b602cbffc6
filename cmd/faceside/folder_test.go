package main

import (
	"bytes"
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Whatever the umask of who starts the program: nobody else reads the records, what
// SQLite keeps beside them, or a backup.
func TestAShopIsForItsOwnersEyes(t *testing.T) {
	before := syscall.Umask(0)
	defer syscall.Umask(before)
	dir := filepath.Join(t.TempDir(), "shop")
	backups := filepath.Join(t.TempDir(), "backups")
	require.NoError(t, prepareFolder(dir))
	held, err := holdFolder(dir, "a test")
	require.NoError(t, err)
	defer held.release()
	store, err := openShop(context.Background(), dir, backups)
	require.NoError(t, err)
	defer store.Close()
	_, err = backup(context.Background(), dir, "", backups)
	require.NoError(t, err)

	var seen []string
	for _, folder := range []string{dir, backups} {
		err := filepath.WalkDir(folder, func(path string, e fs.DirEntry, err error) error {
			require.NoError(t, err)
			info, err := e.Info()
			require.NoError(t, err)
			assert.Zero(t, info.Mode().Perm()&0o077, "%s has mode %#o", path, info.Mode().Perm())
			seen = append(seen, e.Name())
			return nil
		})
		require.NoError(t, err)
	}
	assert.Subset(t, seen, []string{"shop", shopFile, shopFile + "-wal", shopFile + "-shm", holdFile, "backups"})
	assert.Len(t, seen, 7, "and one backup")

	var notes bytes.Buffer
	require.NoError(t, warnIfOpen(&notes, dir, backups, filepath.Join(dir, "not there yet")))
	assert.Empty(t, notes.String())
	require.NoError(t, os.Chmod(backups, 0o750))
	require.NoError(t, warnIfOpen(&notes, dir, backups))
	assert.Contains(t, notes.String(), "can enter the folder "+backups+" (its mode is 0750)")
	assert.NotContains(t, notes.String(), "folder "+dir)
}
