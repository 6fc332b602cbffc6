package models_test

import (
	"database/sql"
	"fmt"
	"syscall"
	"testing"

	"faceside/models"
	"faceside/models/testrig"
	"faceside/models/testrig/disk"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// taps has a step taken up and put down so many times more, and marks each answer.
func (p *powered) taps(times int) {
	p.t.Helper()
	for range times {
		p.tapped++
		r := models.TapRequest{ID: fmt.Sprintf("tap-%d", p.tapped), Kind: []models.TapKind{models.TapPutDown, models.TapStart}[p.tapped%2], StepID: 1}
		require.NoError(p.t, p.tapping(r)())
		p.disk.Mark(r.ID)
	}
}

// fileOpen opens the file past the store, as another program would, and returns how to
// close it.
func (p *powered) fileOpen(options string) (db *sql.DB, shut func()) {
	p.t.Helper()
	db, err := sql.Open("sqlite3", "file:"+p.path()+"?"+options)
	require.NoError(p.t, err)
	db.SetMaxOpenConns(1)
	require.NoError(p.t, db.QueryRow("SELECT count(*) FROM taps").Scan(new(int)))
	return db, func() { assert.NoError(p.t, db.Close()) }
}

// partly brings a part of the log into the file: somebody reads what was meanwhile.
func (p *powered) partly() {
	p.t.Helper()
	testrig.Commission(p.t, p.store, "Bench", "2026-04-10") // pages that are not written again
	reads, shut := readsThrough(p.t, p.bench)
	defer shut()
	p.taps(10)
	require.NoError(p.t, p.store.Shorten(1))
	length, there := p.log()
	require.True(p.t, 0 < there && there < length, "%d of %d", there, length)
	require.NoError(p.t, reads.Rollback())
}

func (p *powered) log() (length, there int) {
	p.t.Helper()
	length, there, err := p.store.Log()
	require.NoError(p.t, err)
	return length, there
}

// partlyLost has the sync fail with which the rest is brought over.
func (p *powered) partlyLost() {
	p.t.Helper()
	p.partly()
	p.disk.Fail(disk.Fault{Call: disk.Sync, File: "shop.db", From: 1, Times: 1, Error: syscall.EIO})
	require.Error(p.t, p.store.Shorten(1))
	require.Equal(p.t, 1, p.disk.Failed())
	p.disk.Fail(disk.Fault{})
}

// onlyGrows taps, and the log is begun anew at no tap.
func (p *powered) onlyGrows(taps int) {
	p.t.Helper()
	for range taps {
		was, _ := p.log()
		require.NoError(p.t, p.store.Shorten(1))
		p.taps(1)
		length, _ := p.log()
		require.Greater(p.t, length, was)
	}
}

// openAgain opens the records once they were closed.
func (p *powered) openAgain() {
	p.t.Helper()
	p.open()
	p.note()
}

// begunAnew brings all over and taps: the log is begun anew.
func (p *powered) begunAnew() {
	p.t.Helper()
	was, _ := p.log()
	require.NoError(p.t, p.store.Shorten(1))
	p.taps(1)
	length, _ := p.log()
	assert.Less(p.t, length, was)
	require.NoError(p.t, p.store.LogShortened())
	p.taps(9)
}

const (
	failedTold = "The disk failed when what was tapped was to be brought from the log of the records into their file."
	othersTold = "Another program had the records open when Faceside was started, so that their log is only added to"
)

// What was brought over in part is not synced. Where the sync of the rest fails, the disk
// may have lost both, and the log has the one copy until the records are opened again.
func TestASyncOfTheFileFailsAfterAPartWasBroughtOver(t *testing.T) {
	t.Parallel()
	p := newPowered(t, disk.Watch, shopFile(t, 1))
	p.note()
	told := 0
	p.store.WhenLogKept(func(why error) {
		told++
		assert.ErrorContains(t, why, "bring the log into the file (PASSIVE): disk I/O error")
	})
	p.partlyLost()
	assert.Equal(t, 1, told)
	require.ErrorContains(t, p.store.LogShortened(), failedTold)
	p.onlyGrows(10)
	length, _ := p.log()
	_, shut := p.fileOpen("mode=ro") // as a backup has it; it is closed last
	p.close()
	shut()
	p.openAgain()
	again, there := p.log()
	assert.Equal(t, length, again, "the log outlived the store")
	assert.Zero(t, there, "and all of it is brought over again")
	p.begunAnew()
	p.close()
	p.cutLosesNothing(t, 60)
}

// A program that looks into the records may write and bring the log over by itself, as
// SQLite does; the log is not begun anew for that.
func TestAnotherProgramBringsALogOverThatIsKept(t *testing.T) {
	t.Parallel()
	p := newPowered(t, disk.Watch, shopFile(t, 1))
	p.note()
	p.partlyLost()
	db, shut := p.fileOpen("mode=rw&_busy_timeout=1")
	for range 3 {
		_, err := db.Exec("PRAGMA wal_checkpoint(TRUNCATE)")
		require.NoError(t, err)
		p.onlyGrows(3)
	}
	shut()
	p.close()
	p.cutLosesNothing(t, 30)
}

// Whoever has the records open while a server ends whose log is kept, and another begins,
// hands on what counts as brought over.
func TestALogThatIsKeptIsKeptByTheNextServer(t *testing.T) {
	t.Parallel()
	p := newPowered(t, disk.Watch, shopFile(t, 1))
	p.note()
	p.partlyLost()
	_, shut := p.fileOpen("mode=ro")
	p.close()
	p.openAgain()
	require.ErrorContains(t, p.store.LogShortened(), othersTold)
	told := 0
	p.store.WhenLogKept(func(error) { told++ })
	assert.Equal(t, 1, told, "of what was before")
	p.onlyGrows(10)
	shut()
	p.close()
	p.openAgain()
	p.begunAnew()
	p.close()
	p.cutLosesNothing(t, 60)
}
