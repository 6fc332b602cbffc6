package main

import (
	"bytes"
	"context"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
)

// people are the names of those who work in the shop kept in dir: what tells one state
// of the records from another here.
func people(t *testing.T, dir string) (names []string) {
	t.Helper()
	store, err := openExisting(context.Background(), dir)
	require.NoError(t, err)
	defer store.Close()
	snap, err := store.Snapshot(context.Background())
	require.NoError(t, err)
	for _, p := range snap.People {
		names = append(names, p.Name)
	}
	return names
}

// hire adds people to the shop kept in dir.
func hire(t *testing.T, dir string, names ...string) {
	t.Helper()
	store, err := openExisting(context.Background(), dir)
	require.NoError(t, err)
	for _, name := range names {
		_, err := store.SavePerson(context.Background(), models.Person{Name: name, Active: true})
		require.NoError(t, err)
	}
	require.NoError(t, store.Close())
}

// backedUp makes a shop with Ana, a backup of that, and has Ben come after it.
func backedUp(t *testing.T) (dir, backupPath string) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), "shop")
	require.NoError(t, prepareFolder(dir))
	store, err := openShop(context.Background(), dir, backupsFolder("", dir))
	require.NoError(t, err)
	require.NoError(t, store.Close())
	hire(t, dir, "Ana")
	backupPath, err = backup(context.Background(), dir, "", backupsFolder("", dir))
	require.NoError(t, err)
	hire(t, dir, "Ben")
	return dir, backupPath
}

func TestRestore(t *testing.T) {
	dir, from := backedUp(t)
	before, err := os.ReadFile(from)
	require.NoError(t, err)
	was := people(t, dir)

	var stdout, stderr bytes.Buffer
	ask := func(answer string, args ...string) int {
		stdout.Reset()
		stderr.Reset()
		return run(append([]string{"restore", "-data", dir, "-from", from}, args...), strings.NewReader(answer), &stdout, &stderr)
	}
	for _, answer := range []string{"", "n\n", "yesterday\n"} {
		assert.Equal(t, exitFailed, ask(answer), "answered %q", answer)
		assert.Contains(t, stderr.String(), "not restored: nothing was changed")
		assert.Equal(t, was, people(t, dir))
	}
	assert.Equal(t, exitOK, ask("y\n"), stderr.String())
	assert.Contains(t, stdout.String(), "Restored "+shopPath(dir)+" from "+from)
	now := people(t, dir)
	assert.Contains(t, now, "Ana")
	assert.NotContains(t, now, "Ben")

	kept := found(t, dir, "replaced-*")
	require.Len(t, kept, 1)
	assert.Equal(t, was, people(t, kept[0]), "what was replaced is a shop of its own")
	after, err := os.ReadFile(from)
	require.NoError(t, err)
	assert.True(t, bytes.Equal(before, after), "the backup stays as it is")
	assert.NoFileExists(t, filepath.Join(dir, restoreMark))
	assert.Empty(t, found(t, dir, restoreCopy))
}

func TestRestoreRefuses(t *testing.T) {
	dir, good := backedUp(t)
	was := people(t, dir)
	damaged := filepath.Join(t.TempDir(), "damaged.db")
	bytesOf, err := os.ReadFile(good)
	require.NoError(t, err)
	for i := len(bytesOf) / 2; i < len(bytesOf)/2+8192; i++ {
		bytesOf[i] = 0xff
	}
	require.NoError(t, os.WriteFile(damaged, bytesOf, 0o600))
	letter := filepath.Join(t.TempDir(), "letter.txt")
	require.NoError(t, os.WriteFile(letter, bytes.Repeat([]byte("a letter to a client "), 100), 0o600))

	for _, tt := range []struct{ name, from, want string }{
		{"no file", filepath.Join(dir, "nothing.db"), "cannot be read"},
		{"a folder", dir, "is no file"},
		{"the records themselves", shopPath(dir), "is the shop's own records"},
		{"a damaged one", damaged, "is not restored, nothing was changed"},
		{"something else", letter, "file is not a database"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var out, stderr bytes.Buffer
			status := run([]string{"restore", "-yes", "-data", dir, "-from", tt.from}, strings.NewReader(""), &out, &stderr)
			assert.Equal(t, exitFailed, status)
			assert.Contains(t, stderr.String(), tt.want)
			assert.Equal(t, was, people(t, dir))
		})
	}
	kept := found(t, dir, "replaced-*")
	assert.Empty(t, kept)
}

// Records that are damaged are what backups are for.
func TestRestoreOverDamagedRecords(t *testing.T) {
	dir, from := backedUp(t)
	require.NoError(t, os.WriteFile(shopPath(dir), bytes.Repeat([]byte("x"), 5000), 0o600))
	require.NoError(t, os.WriteFile(shopPath(dir)+"-wal", []byte("what was left of the log"), 0o600))
	var stdout, stderr bytes.Buffer
	require.Equal(t, exitOK, run([]string{"restore", "-yes", "-data", dir, "-from", from}, strings.NewReader(""), &stdout, &stderr), stderr.String())
	assert.Contains(t, stdout.String(), "cannot be read, so what they have beyond the backup cannot be told")
	assert.Contains(t, people(t, dir), "Ana")
	kept := found(t, dir, "replaced-*")
	require.Len(t, kept, 1)
	log, err := os.ReadFile(shopPath(kept[0]) + "-wal")
	require.NoError(t, err)
	assert.Equal(t, "what was left of the log", string(log))
}

func TestRestoreIntoAnEmptyFolder(t *testing.T) {
	_, from := backedUp(t)
	dir := filepath.Join(t.TempDir(), "another box", "shop")
	var stdout, stderr bytes.Buffer
	require.Equal(t, exitOK, run([]string{"restore", "-yes", "-data", dir, "-from", from}, strings.NewReader(""), &stdout, &stderr), stderr.String())
	assert.Contains(t, stdout.String(), "keeps no shop yet")
	assert.Contains(t, people(t, dir), "Ana")
}

func TestOneProgramHasAShop(t *testing.T) {
	dir, from := backedUp(t)
	address, stop := startProgram(t, serving(dir))
	inUse := "is in use by process " // and which
	var stdout, stderr bytes.Buffer
	assert.Equal(t, exitFailed, run([]string{"restore", "-yes", "-data", dir, "-from", from}, strings.NewReader(""), &stdout, &stderr))
	assert.Contains(t, stderr.String(), inUse)
	assert.Contains(t, stderr.String(), "serving on "+address)
	err := serving(dir)(context.Background(), &stdout)
	require.ErrorContains(t, err, inUse, "a second server")
	status := run([]string{"backup", "-data", dir}, nil, &stdout, &stderr)
	assert.Equal(t, exitOK, status, "a backup is made while it is served")
	require.NoError(t, stop())
	assert.Contains(t, people(t, dir), "Ben")
	h, err := holdFolder(dir, "testing")
	require.NoError(t, err, "the server let it go")
	require.NoError(t, h.release())
}

// restorePoints are all that a restore passes, in their order.
var restorePoints = []string{"checked", "marked", "kept", "cleared", "swapped", "ended"}

// The child of TestRestoreIsKilled: the program, killed as a power cut would when it
// passes a point.
func TestRestoreChild(t *testing.T) {
	point := os.Getenv("FACESIDE_KILL_AT")
	if point == "" {
		t.Skip("is started by TestRestoreIsKilled")
	}
	r := &restore{dir: os.Getenv("FACESIDE_KILL_DATA"), from: os.Getenv("FACESIDE_KILL_FROM"), now: time.Now(), out: os.Stdout, at: func(done string) {
		if done == point {
			_ = syscall.Kill(os.Getpid(), syscall.SIGKILL)
			select {} // until it comes
		}
	}}
	t.Fatal("was not killed: ", r.run(context.Background()))
}

func TestRestoreIsKilled(t *testing.T) {
	for _, state := range []string{"with a log", "damaged"} {
		for i, point := range restorePoints {
			t.Run(state+", "+point, func(t *testing.T) {
				dir, from := backedUp(t)
				was := people(t, dir)
				switch state {
				case "with a log":
					was = append(was, "Cleo")
					leaveALog(t, dir, "Cleo")
				case "damaged":
					require.NoError(t, os.WriteFile(shopPath(dir), []byte("no database"), 0o600))
					require.NoError(t, os.WriteFile(shopPath(dir)+"-wal", []byte("its log"), 0o600))
				}
				killRestore(t, dir, from, point)

				h, err := holdFolder(dir, "testing") // as the next server would
				require.NoError(t, err)
				require.NoError(t, h.release())
				assert.NoFileExists(t, filepath.Join(dir, restoreMark))
				assert.Empty(t, found(t, dir, restoreCopy))
				kept := found(t, dir, "replaced-*")
				there := dir
				if i >= slices.Index(restorePoints, "swapped") {
					now := people(t, dir)
					assert.Contains(t, now, "Ana")
					assert.NotContains(t, now, "Ben")
					require.Len(t, kept, 1)
					there = kept[0]
				} else {
					assert.Empty(t, kept)
				}
				if state == "damaged" {
					log, err := os.ReadFile(shopPath(there) + "-wal")
					require.NoError(t, err)
					assert.Equal(t, "its log", string(log))
					return
				}
				assert.Equal(t, was, people(t, there), "the records before are whole")
			})
		}
	}
}

// Whoever opens the records after a restore that was broken off has them whole, also
// where it is no server.
func TestABackupAfterARestoreThatWasKilled(t *testing.T) {
	dir, from := backedUp(t)
	was := append(people(t, dir), "Cleo")
	leaveALog(t, dir, "Cleo")
	killRestore(t, dir, from, "cleared")
	require.NoFileExists(t, shopPath(dir)+"-wal", "the records are without their log")
	copied := t.TempDir()
	_, err := backup(context.Background(), dir, shopPath(copied), "")
	require.NoError(t, err)
	assert.Equal(t, was, people(t, copied))
	assert.Equal(t, was, people(t, dir))
}

// killRestore restores in a process of its own that is killed at a point.
func killRestore(t *testing.T, dir, from, point string) {
	t.Helper()
	child := exec.Command(os.Args[0], "-test.run=^TestRestoreChild$")
	child.Env = append(os.Environ(), "FACESIDE_KILL_AT="+point, "FACESIDE_KILL_DATA="+dir, "FACESIDE_KILL_FROM="+from)
	out, err := child.CombinedOutput()
	require.ErrorContains(t, err, "signal: killed", string(out))
}

// leaveALog has somebody come to the shop in dir, and leaves the files as a kill would:
// what was written last stands in the log alone.
func leaveALog(t *testing.T, dir, name string) {
	t.Helper()
	store, err := openExisting(context.Background(), dir)
	require.NoError(t, err)
	_, err = store.SavePerson(context.Background(), models.Person{Name: name, Active: true})
	require.NoError(t, err)
	twin := t.TempDir()
	for _, end := range []string{"", "-wal"} {
		require.NoError(t, models.CopyFile(shopPath(dir)+end, shopPath(twin)+end))
	}
	require.NoError(t, store.Close())
	for _, end := range []string{"", "-wal"} {
		require.NoError(t, os.Rename(shopPath(twin)+end, shopPath(dir)+end))
	}
}

func found(t *testing.T, dir, pattern string) []string {
	t.Helper()
	all, err := filepath.Glob(filepath.Join(dir, pattern))
	require.NoError(t, err)
	return all
}

// serving is the command serve on the shop kept in dir.
func serving(dir string) func(context.Context, io.Writer) error {
	return func(ctx context.Context, stdout io.Writer) error {
		return serve(ctx, loopback(dir), stdout, io.Discard)
	}
}
