package disk

import (
	"bytes"
	"database/sql"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"

	"github.com/mattn/go-sqlite3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func openFile(t *testing.T, folder, options string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite3", "file:"+filepath.Join(folder, "shop.db")+"?"+options)
	require.NoError(t, err)
	db.SetMaxOpenConns(1)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	return db
}

func run(t *testing.T, db *sql.DB, statements ...string) {
	t.Helper()
	for _, s := range statements {
		_, err := db.Exec(s)
		require.NoError(t, err, s)
	}
}

// What is written down, done again, is what stands on the real disk.
func TestTheRecordIsWhatHappened(t *testing.T) {
	for _, mode := range []string{"WAL", "DELETE", "TRUNCATE"} {
		t.Run(mode, func(t *testing.T) {
			folder := t.TempDir()
			d := Watch(t, folder)
			db := openFile(t, folder, "_journal_mode="+mode+"&_synchronous=FULL")
			run(t, db, "CREATE TABLE x (y)", "INSERT INTO x WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n LIMIT 300) SELECT randomblob(900) FROM n")
			run(t, db, "DELETE FROM x WHERE rowid > 20", "VACUUM", "INSERT INTO x VALUES (1)")
			cuts := d.Cuts()
			require.NoError(t, cuts.To(d.Len()))
			whole := cuts.Whole()
			assert.NotEmpty(t, whole["shop.db"])
			there, err := os.ReadDir(folder)
			require.NoError(t, err)
			for _, e := range there {
				if filepath.Ext(e.Name()) == ".db-shm" {
					continue
				}
				content, err := os.ReadFile(filepath.Join(folder, e.Name()))
				require.NoError(t, err)
				assert.Equal(t, content, whole[e.Name()], e.Name())
				delete(whole, e.Name())
			}
			assert.Empty(t, whole, "no file more than there is")
		})
	}
}

// Before the first sync a cut can leave anything, after it no less than what was
// synced; a folder's entry needs a sync as well.
func TestWhatACutLeaves(t *testing.T) {
	f := &file{name: "log"}
	old, later := bytes.Repeat([]byte("o"), 3*sector), bytes.Repeat([]byte("l"), 2*sector)
	d := &Disk{events: []event{
		{kind: made, file: f}, {kind: wrote, file: f, data: old}, {kind: synced, file: f},
		{kind: synced, file: f, folder: true}, {kind: wrote, file: f, at: sector, data: later}, {kind: cutTo, file: f, at: sector},
	}}
	ways := func(at int) []string {
		seen := map[string]bool{}
		draw := rand.New(rand.NewPCG(1, uint64(at)))
		for range 400 {
			cuts := d.Cuts()
			require.NoError(t, cuts.To(at))
			left, there := cuts.Off(draw)["log"]
			says := "none"
			if there {
				says = ""
				for i := 0; i < len(left); i += sector {
					says += string(left[i])
				}
			}
			seen[says] = true
		}
		return slices.Collect(maps.Keys(seen))
	}
	unsynced := ways(2)
	for _, want := range []string{"none", "", "ooo"} {
		assert.Contains(t, unsynced, want)
	}
	assert.ElementsMatch(t, []string{"none", "ooo"}, ways(3), "the contents are there, the name may not be")
	assert.ElementsMatch(t, []string{"ooo"}, ways(4))
	assert.ElementsMatch(t, []string{"ooo", "olo", "ool", "oll"}, ways(5), "each sector by itself")
	assert.ElementsMatch(t, []string{"ooo", "olo", "ool", "oll", "o"}, ways(6))
}

// What a sync that failed had to bring to the disk is never sure to be there.
func TestAFailedSyncMayLoseForGood(t *testing.T) {
	f := &file{name: "log", content: []byte("..")}
	byteAt := func(at int64, b byte) event { return event{kind: wrote, file: f, at: at, data: []byte{b}} }
	d := &Disk{first: []*file{f}, events: []event{byteAt(0, 'a'), {kind: syncFailed, file: f}, byteAt(1, 'b'), {kind: synced, file: f}}}
	seen := map[string]bool{}
	for seed := range uint64(60) {
		cuts := d.Cuts()
		require.NoError(t, cuts.To(4))
		seen[string(cuts.Off(rand.New(rand.NewPCG(seed, 0)))["log"])] = true
	}
	assert.Equal(t, map[string]bool{"ab": true, ".b": true}, seen)
}

func TestCallsFail(t *testing.T) {
	folder := t.TempDir()
	d := Watch(t, folder)
	db := openFile(t, folder, "_journal_mode=WAL&_synchronous=FULL")
	run(t, db, "CREATE TABLE x (y)")
	for name, c := range map[string]struct {
		fault Fault
		code  sqlite3.ErrNo
		errno syscall.Errno
	}{
		"full":  {Fault{Call: Write, From: 1, Error: syscall.ENOSPC}, sqlite3.ErrFull, 0},
		"short": {Fault{Call: Write, From: 1, Error: syscall.ENOSPC, Short: true}, sqlite3.ErrFull, 0},
		"write": {Fault{Call: Write, From: 2, Error: syscall.EIO}, sqlite3.ErrIoErr, syscall.EIO},
		"sync":  {Fault{Call: Sync, From: 1, Error: syscall.EIO}, sqlite3.ErrIoErr, syscall.EIO},
	} {
		d.Fail(c.fault)
		_, err := db.Exec("INSERT INTO x VALUES (randomblob(9000))")
		var said sqlite3.Error
		require.ErrorAs(t, err, &said, name)
		assert.Equal(t, c.code, said.Code, name)
		assert.Equal(t, c.errno, said.SystemErrno, name)
		assert.Positive(t, d.Failed(), name)
		d.Fail(Fault{})
		run(t, db, "INSERT INTO x VALUES (1)")
	}
	var rows int
	require.NoError(t, db.QueryRow("SELECT count(*) FROM x").Scan(&rows))
	assert.Equal(t, 4, rows)
}

// A sync that fails is told once to each who has that file open, and to nobody of another.
func TestASyncThatFailsIsToldToAllWhoHaveTheFileOpen(t *testing.T) {
	folder := t.TempDir()
	d := Unsynced(t, folder)
	one, other := openFile(t, folder, "_synchronous=FULL"), openFile(t, folder, "_synchronous=FULL")
	run(t, one, "CREATE TABLE x (y)")
	insert := func(db *sql.DB) error {
		_, err := db.Exec("INSERT INTO x VALUES (1)")
		return err
	}
	require.NoError(t, insert(other))
	d.Fail(Fault{Call: Sync, File: "shop.db", From: 1, Times: 1, Error: syscall.EIO})
	for _, db := range []*sql.DB{one, other} {
		var said sqlite3.Error
		require.ErrorAs(t, insert(db), &said)
		assert.Equal(t, sqlite3.ErrIoErrFsync, said.ExtendedCode)
		assert.Equal(t, syscall.EIO, said.SystemErrno)
		require.NoError(t, insert(db), "once")
	}
	assert.Equal(t, 1, d.Failed())
	d.Fail(Fault{Call: Sync, File: "shop.db", From: 1, Times: 1, Error: syscall.EIO})
	require.Error(t, insert(one))
	d.Fail(Fault{})
	require.NoError(t, insert(other), "nobody is owed anything any more")
	d.Fail(Fault{Call: Sync, File: "shop.db-wal", From: 1, Error: syscall.EIO})
	require.NoError(t, insert(one), "there is no such file")
}

// The program never has it beneath its records.
func TestTheProgramIsWithoutIt(t *testing.T) {
	files := 0
	require.NoError(t, filepath.WalkDir("../../..", func(path string, e fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case e.IsDir() && e.Name() == "node_modules":
			return fs.SkipDir
		case filepath.Ext(path) != ".go" || strings.HasSuffix(path, "_test.go"):
			return nil
		}
		files++
		parsed, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		for _, i := range parsed.Imports {
			assert.NotEqual(t, `"faceside/models/testrig/disk"`, i.Path.Value, path)
		}
		return nil
	}))
	assert.Greater(t, files, 100, "all of it was looked at")
}
