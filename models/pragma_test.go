package models

import (
	"context"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestPragmasAreReadBack(t *testing.T) {
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "shop.db")
	s, err := OpenStore(ctx, path, time.Now)
	require.NoError(t, err)
	require.NoError(t, s.Close())

	for name, c := range map[string]struct{ dsn, want string }{
		"busy_timeout": {strings.Replace(writerDSN(path), "_busy_timeout=5000", "_busy_timeout=7", 1), `pragma busy_timeout is "7", not "5000"`},
		"synchronous":  {strings.Replace(writerDSN(path), "_synchronous=FULL", "_synchronous=NORMAL", 1), `pragma synchronous is "1", not "2"`},
		"foreign_keys": {strings.Replace(writerDSN(path), "_foreign_keys=ON", "_foreign_keys=OFF", 1), `pragma foreign_keys is "0", not "1"`},
		"query_only":   {readerDSN(path), `pragma query_only is "1", not "0"`},
		"journal_mode": {strings.Replace(writerDSN(path), "_journal_mode=WAL", "_journal_mode=DELETE", 1), `pragma journal_mode is "delete", not "wal"`},
	} {
		g, err := pool(ctx, c.dsn, 1, pragmas("0"))
		require.ErrorContains(t, err, c.want, name)
		db, err := g.DB()
		require.NoError(t, err)
		require.NoError(t, db.Close())
	}
}

func TestReadersCannotWrite(t *testing.T) {
	s, err := OpenStore(context.Background(), filepath.Join(t.TempDir(), "shop.db"), time.Now)
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	for _, statement := range []string{"UPDATE shop SET name = 'x'", "DELETE FROM shop", "CREATE TABLE x (y)"} {
		assert.Error(t, s.r.Exec(statement).Error, statement)
	}
	w, err := s.w.DB()
	require.NoError(t, err)
	assert.Equal(t, 1, w.Stats().MaxOpenConnections)
}

func TestDirectionOfLock(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	s, err := OpenStore(context.Background(), path, time.Now)
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	tx := s.w.Begin() // has written nothing yet
	require.NoError(t, tx.Error)
	quick := strings.Replace(writerDSN(path), "_busy_timeout=5000", "_busy_timeout=1", 1)
	want := pragmas("0")
	want["busy_timeout"] = "1"
	g, err := pool(context.Background(), quick, 1, want)
	require.NoError(t, err)
	assert.ErrorContains(t, g.Begin().Error, "database is locked", "the lock is taken when the transaction begins")
	require.NoError(t, tx.Rollback().Error)
	db, err := g.DB()
	require.NoError(t, err)
	require.NoError(t, db.Close())
}
