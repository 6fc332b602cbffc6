package models

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gorm.io/driver/sqlite"
)

// everySchema is the versions of all migrations, oldest first.
func everySchema(t *testing.T) []int64 {
	t.Helper()
	versions, err := schemas()
	require.NoError(t, err)
	require.NotEmpty(t, versions)
	require.IsIncreasing(t, versions)
	return versions
}

// rawly opens a file as the store's writer does, past the store, for one call.
func rawly(t *testing.T, path string, do func(*sql.DB)) {
	t.Helper()
	db, err := sql.Open(sqlite.DriverName, writerDSN(path))
	require.NoError(t, err)
	db.SetMaxOpenConns(1)
	do(db)
	require.NoError(t, db.Close())
}

// upTo runs the migrations of a folder up to a version.
func upTo(db *sql.DB, files fs.FS, version int64) error {
	p, err := migrationsOf(db, files)
	if err == nil {
		_, err = p.UpTo(context.Background(), version)
	}
	return err
}

func migrationFiles(t *testing.T) fs.FS {
	t.Helper()
	files, err := fs.Sub(migrations, "migrations")
	require.NoError(t, err)
	return files
}

// peopled makes the records of a schema as a shop that came to it from the first one
// had them: each migration, then rows of what it brought.
func peopled(t *testing.T, path string, schema int64) {
	t.Helper()
	rawly(t, path, func(db *sql.DB) {
		for _, version := range everySchema(t) {
			if version > schema {
				return
			}
			require.NoError(t, upTo(db, migrationFiles(t), version))
			rows, err := os.ReadFile(fmt.Sprintf("testdata/schemas/%05d.sql", version))
			require.NoError(t, err, "a migration has rows that fill what it brings, if only a comment that says why not")
			_, err = db.Exec(string(rows))
			require.NoError(t, err, "rows of schema %d", version)
		}
	})
}

// contents are all rows of all tables by column.
func contents(t *testing.T, path string) map[string][]map[string]any {
	t.Helper()
	all := map[string][]map[string]any{}
	rawly(t, path, func(db *sql.DB) {
		for _, table := range textsOf(t, db, "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%' AND name <> 'goose_db_version'") {
			rows, err := db.Query("SELECT * FROM " + table + " ORDER BY rowid")
			require.NoError(t, err)
			columns, err := rows.Columns()
			require.NoError(t, err)
			all[table] = nil
			for rows.Next() {
				values, into := make([]any, len(columns)), make([]any, len(columns))
				for i := range values {
					into[i] = &values[i]
				}
				require.NoError(t, rows.Scan(into...))
				row := map[string]any{}
				for i, name := range columns {
					row[name] = values[i]
				}
				all[table] = append(all[table], row)
			}
			require.NoError(t, errors.Join(rows.Err(), rows.Close()))
		}
	})
	return all
}

// textsOf reads a query of one column.
func textsOf(t *testing.T, db *sql.DB, query string) []string {
	t.Helper()
	all, err := texts(t.Context(), db, query)
	require.NoError(t, err)
	return all
}

// shape is the schema as SQLite keeps it.
func shape(t *testing.T, path string) (all []string) {
	t.Helper()
	rawly(t, path, func(db *sql.DB) {
		all = textsOf(t, db, "SELECT coalesce(sql, name) FROM sqlite_schema WHERE name NOT LIKE 'sqlite_%' ORDER BY type, name")
		assert.Equal(t, []string{"ok"}, textsOf(t, db, "PRAGMA integrity_check"))
		assert.Empty(t, textsOf(t, db, `SELECT "table" FROM pragma_foreign_key_check`))
	})
	return all
}

// holds looks that all that was there before is there.
func holds(t *testing.T, before, after map[string][]map[string]any) {
	t.Helper()
	for table, rows := range before {
		require.Len(t, after[table], len(rows), table)
		for i, row := range rows {
			for column, value := range row {
				assert.Equal(t, value, after[table][i][column], "%s.%s of row %d", table, column, i)
			}
		}
	}
}

// copied copies a database that nobody has open.
func copied(t *testing.T, from string) string {
	t.Helper()
	to := filepath.Join(t.TempDir(), "shop.db")
	require.NoError(t, CopyFile(from, to))
	return to
}

func TestEverySchemaIsBroughtUpToDate(t *testing.T) {
	all := everySchema(t)
	fresh := filepath.Join(t.TempDir(), "fresh.db")
	peopled(t, fresh, all[len(all)-1])
	want := shape(t, fresh)
	for _, schema := range all {
		t.Run(fmt.Sprint(schema), func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "shop.db")
			peopled(t, path, schema)
			before := contents(t, path)
			for table, rows := range before {
				if schema == all[len(all)-1] {
					assert.NotEmpty(t, rows, "%s has rows here", table)
				}
			}
			backups := filepath.Join(t.TempDir(), "backups")
			s, err := OpenStore(context.Background(), path, time.Now, BackedUp(backups))
			require.NoError(t, err)
			snap, err := s.Snapshot(context.Background())
			require.NoError(t, err)
			assert.Equal(t, "Elder Yard", snap.Shop.Name)
			assert.Len(t, snap.People, 3)
			require.NoError(t, s.Close())

			assert.Equal(t, want, shape(t, path), "as a new shop's")
			holds(t, before, contents(t, path))
			kept, err := backupsIn(backups)
			require.NoError(t, err)
			if schema == all[len(all)-1] {
				assert.Empty(t, kept, "nothing went on")
				return
			}
			require.Len(t, kept, 1)
			assert.Equal(t, schema, kept[0].schema)
			assert.Equal(t, before, contents(t, filepath.Join(backups, kept[0].name)), "the backup has what there was")
		})
	}
}

// brokenOff is a migration with a statement that fails after its first n; false where it
// has no more than n.
func brokenOff(text string, n int) (string, bool) {
	const end = "\nSELECT * FROM broken_off;\n"
	inside, seen := false, 0
	lines := strings.SplitAfter(text, "\n")
	for i, line := range lines {
		switch trimmed := strings.TrimSpace(line); {
		case strings.HasPrefix(trimmed, "-- +goose StatementBegin"):
			inside = true
			continue
		case strings.HasPrefix(trimmed, "-- +goose StatementEnd"):
			inside = false
		case inside, strings.HasPrefix(trimmed, "--"), !strings.HasSuffix(strings.SplitN(trimmed, " --", 2)[0], ";"):
			continue
		}
		if seen++; seen == n {
			return strings.Join(lines[:i+1], "") + end, slices.ContainsFunc(lines[i+1:], func(l string) bool { return strings.Contains(l, ";") })
		}
	}
	return "", false
}

// A migration that is broken off after any of its statements has changed nothing, and is
// done whole by the next start.
func TestABrokenMigrationIsResumed(t *testing.T) {
	all := everySchema(t)
	names, err := fs.Glob(migrations, "migrations/*.sql")
	require.NoError(t, err)
	broken := 0
	for i, to := range all[1:] {
		path := filepath.Join(t.TempDir(), "shop.db")
		peopled(t, path, all[i])
		before, shapeBefore := contents(t, path), shape(t, path)
		text, err := fs.ReadFile(migrations, names[i+1])
		require.NoError(t, err)
		whole := copied(t, path)
		rawly(t, whole, func(db *sql.DB) { require.NoError(t, upTo(db, migrationFiles(t), to)) })
		want, shapeWant := contents(t, whole), shape(t, whole)
		for n := 1; ; n++ {
			spoiled, more := brokenOff(string(text), n)
			if spoiled == "" {
				require.Greater(t, n, 1, names[i+1])
				break
			}
			broken++
			rawly(t, path, func(db *sql.DB) {
				require.ErrorContains(t, upTo(db, fstest.MapFS{filepath.Base(names[i+1]): {Data: []byte(spoiled)}}, to), "broken_off", "%s after %d", names[i+1], n)
			})
			require.Equal(t, before, contents(t, path))
			require.Equal(t, shapeBefore, shape(t, path))
			if !more {
				break
			}
		}
		rawly(t, path, func(db *sql.DB) { require.NoError(t, upTo(db, migrationFiles(t), to)) })
		if to != 22 { // draws the shop's number by chance
			assert.Equal(t, want, contents(t, path))
		}
		assert.Equal(t, shapeWant, shape(t, path))
	}
	assert.Greater(t, broken, 50, "statements")
}
