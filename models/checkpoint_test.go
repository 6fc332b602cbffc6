package models_test

import (
	"context"
	"database/sql"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

// setter taps that the planer is set, so often as wanted.
func setter(t *testing.T, b *bench) (tap func() (length, there int)) {
	planer, n := testrig.Station(t, b.snap(), "planer").ID, 0
	return func() (length, there int) {
		n++
		_, err := b.store.Tap(context.Background(), models.TapRequest{ID: fmt.Sprint("set-", n), Kind: models.TapSet, StationID: planer, PersonID: b.ana})
		require.NoError(t, err)
		length, there, err = b.store.Log()
		require.NoError(t, err)
		return length, there
	}
}

// untilAnew taps until the log, so long now, begins from its front, and returns how long
// it was.
func untilAnew(t *testing.T, tap func() (length, there int), longest int) int {
	t.Helper()
	for range 5000 {
		length, _ := tap()
		if length < longest {
			return longest
		}
		longest = length
	}
	require.Fail(t, "the log is never begun anew", "it is %d pages long", longest)
	return 0
}

func TestTheLogIsShortenedBesideTheTaps(t *testing.T) {
	b := newBench(t)
	b.store.ShortenLog(60, 1000)
	tap := setter(t, b)
	assert.GreaterOrEqual(t, untilAnew(t, tap, 0), 60, "it is let grow that far")
	untilAnew(t, tap, 0)
}

// Who reads for long keeps what came since out of the file, and nobody from tapping.
func TestTheLogWaitsForWhoReads(t *testing.T) {
	b := newBench(t)
	b.store.ShortenLog(60, 1000)
	tap := setter(t, b)
	tap()
	reads, shut := readsThrough(t, b)
	defer shut()
	taps := func() (n int) {
		require.NoError(t, reads.QueryRow("SELECT count(*) FROM taps").Scan(&n))
		return n
	}
	before := taps()
	length := 0
	for length < 300 {
		was := length
		length, _ = tap()
		require.Greater(t, length, was, "it is not begun anew while somebody reads what is in it")
	}
	assert.Equal(t, before, taps(), "who reads sees one moment")
	require.NoError(t, reads.Rollback())
	untilAnew(t, tap, length)
}

// Where the log is longer than it should ever be, it is begun anew as soon as nobody
// reads what is in it, and not only when there is much more to bring over.
func TestALongLogIsBegunAnewSoon(t *testing.T) {
	b := newBench(t)
	b.store.ShortenLog(1000, 100)
	tap := setter(t, b)
	length := 0
	for length < 200 {
		length, _ = tap()
	}
	reads, shut := readsThrough(t, b)
	require.NoError(t, b.store.Shorten(1))
	tap()
	require.NoError(t, reads.Rollback())
	shut()
	afterwards := func() (length, there int) {
		b.store.Settle()
		return tap()
	}
	longest := untilAnew(t, afterwards, length)
	assert.Less(t, longest, length+100)
}

// readsThrough begins to read what is there now.
func readsThrough(t testing.TB, b *bench) (reads *sql.Tx, shut func()) {
	t.Helper()
	reader, err := sql.Open("sqlite3", "file:"+b.store.Path()+"?mode=ro")
	require.NoError(t, err)
	reads, err = reader.Begin()
	require.NoError(t, err)
	require.NoError(t, reads.QueryRow("SELECT count(*) FROM taps").Scan(new(int)))
	return reads, func() { require.NoError(t, reader.Close()) }
}
