package models_test

import (
	"context"
	"flag"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"

	"faceside/models"
	"faceside/models/testrig"
	"faceside/models/testrig/disk"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var everyCall = flag.Bool("every-call", false, "have each call to the disk fail in turn, and not only some of them")

// job prepares one thing that somebody does with the records, and returns how to do it.
// Done twice it is the same done again, as a tablet sends a tap again.
type job func(p *powered, n int) func() error

// jobs are what is done while the disk fails.
var jobs = map[string]job{
	"a tap": func(p *powered, n int) func() error {
		kind := []models.TapKind{models.TapPutDown, models.TapStart}[n%2]
		return p.tapping(models.TapRequest{ID: fmt.Sprintf("tap-%d", n), Kind: kind, StepID: 1, Tablet: "t1", Queued: &models.Queued{Queue: "q", Number: int64(n)}})
	},
	"an undo": func(p *powered, n int) func() error {
		tap := fmt.Sprintf("tap-%d", n)
		require.NoError(p.t, p.tapping(models.TapRequest{ID: tap, Kind: models.TapStart, StepID: 1})())
		return p.tapping(models.TapRequest{ID: fmt.Sprintf("undo-%d", n), Kind: models.TapUndo, UndoesID: tap})
	},
	"a commission": func(p *powered, n int) func() error {
		c := testrig.NewCommission(p.t, p.store, fmt.Sprintf("Bench %d", n), "2026-04-10")
		return func() error {
			_, err := p.store.TakeCommission(context.Background(), c)
			return err
		}
	},
	"a plan": func(p *powered, _ int) func() error {
		plan := planOf(p.snap())
		return func() error { return p.store.SavePlan(context.Background(), plan) }
	},
	"a backup": func(p *powered, n int) func() error {
		return func() error {
			return p.store.Backup(context.Background(), filepath.Join(p.folder, fmt.Sprintf("copy-%d.db", n)))
		}
	},
}

// tapping is a tap of Ana's.
func (p *powered) tapping(r models.TapRequest) func() error {
	r.PersonID = 1
	return func() error {
		_, err := p.store.Tap(context.Background(), r)
		return err
	}
}

// troubles are what a disk can answer to a call. One that is full stays so until
// somebody makes room; other calls fail once.
func troubles(call disk.Call) map[string]disk.Fault {
	all := map[string]disk.Fault{"fails": {Call: call, Times: 1, Error: syscall.EIO}}
	if call == disk.Write {
		all["full"] = disk.Fault{Call: call, Error: syscall.ENOSPC}
		all["full in the midst"] = disk.Fault{Call: call, Error: syscall.ENOSPC, Short: true}
	}
	return all
}

// Whichever call to the disk fails, what is refused is not there, also after a start
// anew, unless it is there whole; what was not refused is there; and once the disk works
// again so does the store.
func TestADiskThatFails(t *testing.T) {
	t.Parallel()
	records := shopFile(t, 1)
	for name, j := range jobs {
		t.Run(name, func(t *testing.T) {
			f := failing{job: j, records: records}
			defer func() { f.close() }()
			for _, call := range slices.Sorted(maps.Keys(disk.Calls)) {
				troubles := troubles(disk.Calls[call])
				for _, how := range slices.Sorted(maps.Keys(troubles)) {
					calls, refused := f.each(t, call+" "+how, troubles[how])
					assert.True(t, refused > 0 || disk.Calls[call] != disk.Write, "it came to no write")
					t.Logf("%s %s: refused at %d of the %d calls that were tried", call, how, refused, calls)
				}
			}
		})
	}
}

// failing is a shop in which one job is done again and again.
type failing struct {
	*powered
	records []byte // of the shop at first
	job     job
	n       int // how often it was done
}

// anew begins with the shop at first again before it has grown much, and where no more is
// brought from the log into the file.
func (f *failing) anew(t *testing.T) {
	t.Helper()
	if f.powered != nil && f.n < 20 && f.store.LogShortened() == nil {
		return
	}
	if f.powered != nil {
		f.close()
	}
	f.powered, f.n = newPowered(t, disk.Unsynced, f.records), 0
}

// each has the calls of one sort fail in turn, until the job does not come to so many.
func (f *failing) each(t *testing.T, what string, fault disk.Fault) (calls, refused int) {
	t.Helper()
	for fault.From = 1; ; fault.From = next(fault.From) {
		hit, err := f.fail(t, fmt.Sprintf("%s, call %d", what, fault.From), fault)
		if !hit {
			return calls, refused
		}
		calls++
		if err != nil {
			refused++
		}
	}
}

// next is the next call that is to fail: each, or more and more seldom.
func next(call int) int {
	if *everyCall {
		return call + 1
	}
	return call * 2
}

// fail does the job while a call to the disk fails, and says whether it came to that call.
func (f *failing) fail(t *testing.T, what string, fault disk.Fault) (hit bool, refusal error) {
	t.Helper()
	f.anew(t)
	f.n++
	do := f.job(f.powered, f.n)
	before := f.says()
	f.disk.Fail(fault)
	refusal = do()
	_ = f.store.Shorten(1) // nothing that was done hangs on it
	hit = f.disk.Failed() > 0
	f.disk.Fail(disk.Fault{})
	now, anew := f.says(), f.startedAnew(t)
	if refusal != nil {
		require.True(t, hit, "%s: refused without a reason: %v", what, refusal)
		want := models.DiskFails
		if fault.Error == syscall.ENOSPC {
			want = models.DiskFull
		}
		if said := models.Details(refusal); !strings.Contains(said, "the copy is damaged") && !strings.Contains(said, "output file already exists") { // all that SQLite says of a copy it could not read, or not measure
			assert.Equal(t, want, models.CodeOf(refusal), "%s: %s", what, said)
		}
		assert.Equal(t, before, now, "%s: refused, and nothing is changed", what)
		require.NoError(t, do(), "%s: the disk works again", what)
		now = f.says()
	}
	if anew != before {
		assert.Equal(t, now, anew, "%s: whole or not at all", what)
	} else {
		assert.True(t, refusal != nil || before == now, "%s: not refused, and not there after a start anew", what)
	}
	return hit, refusal
}

// startedAnew is what the records would say after a start anew; the store goes on.
func (p *powered) startedAnew(t *testing.T) string {
	t.Helper()
	folder := t.TempDir()
	disk.Unsynced(t, folder)
	for _, name := range []string{"shop.db", "shop.db-wal"} {
		content, err := os.ReadFile(filepath.Join(p.folder, name))
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(folder, name), content, 0o600))
	}
	v := p.seen(folder, 0)
	require.NoError(t, v.damaged)
	return v.digest
}
