package disk

import (
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
)

// Disk is what a folder's files are kept on: all that SQLite does to them is
// written down in order. It is safe for use by many goroutines.
type Disk struct {
	mu     sync.Mutex
	folder string
	silent bool    // nothing is written down
	first  []*file // what was there at first
	byName map[string]*file
	events []event
	fault  Fault
	calls  int // of the fault's sort, since it was set
	hit    int // that failed
}

// file is one file for as long as it is there: a name can stand for several, one
// after the other.
type file struct {
	name    string // within the folder
	content []byte // at first
}

// event is one thing that happened.
type event struct {
	kind   kind
	file   *file
	at     int64  // where it was written, or the size it was cut to
	data   []byte // what was written
	folder bool   // the folder was synced with it
	sure   bool   // a later sync brought it to the disk, one before it failed
	mark   string
}

type kind int

const (
	made kind = iota
	wrote
	cutTo
	synced
	syncFailed
	removed
	marked
)

// Watch has all that SQLite does in a folder written down from now on, until the
// test ends. No file in it may be open.
func Watch(t testing.TB, folder string) *Disk {
	t.Helper()
	require.NoError(t, register())
	d := &Disk{folder: named(t, folder), byName: map[string]*file{}}
	there, err := os.ReadDir(d.folder)
	require.NoError(t, err)
	for _, e := range there {
		if !e.Type().IsRegular() {
			continue
		}
		path := filepath.Join(d.folder, e.Name())
		content, err := os.ReadFile(path)
		require.NoError(t, err)
		f := &file{name: e.Name(), content: content}
		d.first, d.byName[path] = append(d.first, f), f
	}
	d.watch(t)
	return d
}

// Unsynced is a folder whose files are thrown away: nothing is written down, and SQLite
// waits for no disk.
func Unsynced(t testing.TB, folder string) *Disk {
	t.Helper()
	require.NoError(t, register())
	d := &Disk{folder: named(t, folder), silent: true, byName: map[string]*file{}}
	d.watch(t)
	return d
}

// named is a folder as SQLite names its files.
func named(t testing.TB, folder string) string {
	t.Helper()
	folder, err := filepath.EvalSymlinks(folder)
	require.NoError(t, err)
	return folder
}

func (d *Disk) watch(t testing.TB) {
	t.Helper()
	opened.mu.Lock()
	defer opened.mu.Unlock()
	require.NotContains(t, opened.watched, d.folder, "the folder is watched already")
	opened.watched[d.folder] = d
	t.Cleanup(func() {
		opened.mu.Lock()
		defer opened.mu.Unlock()
		delete(opened.watched, d.folder)
	})
}

// diskOf is the disk that a file is on, nil where nobody watches.
func diskOf(path string) *Disk {
	opened.mu.Lock()
	defer opened.mu.Unlock()
	for folder, d := range opened.watched {
		if strings.HasPrefix(path, folder+string(filepath.Separator)) {
			return d
		}
	}
	return nil
}

// Mark writes down that something came about, such as an answer.
func (d *Disk) Mark(what string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.note(event{kind: marked, mark: what})
}

// Len is how many things were written down.
func (d *Disk) Len() int {
	d.mu.Lock()
	defer d.mu.Unlock()
	return len(d.events)
}

// Marked is what had come about before an event.
func (d *Disk) Marked(before int) []string {
	d.mu.Lock()
	defer d.mu.Unlock()
	var all []string
	for _, e := range d.events[:before] {
		if e.kind == marked {
			all = append(all, e.mark)
		}
	}
	return all
}

func (d *Disk) note(e event) {
	if !d.silent {
		d.events = append(d.events, e)
	}
}

func (d *Disk) make(path string) *file {
	f := &file{name: strings.TrimPrefix(path, d.folder+string(filepath.Separator))}
	d.byName[path] = f
	d.note(event{kind: made, file: f})
	return f
}

func (d *Disk) remove(path string, syncFolder bool) {
	if f := d.byName[path]; f != nil {
		delete(d.byName, path)
		d.note(event{kind: removed, file: f, folder: syncFolder})
	}
}
