package main

import (
	"context"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

// init lets the tests' own program be the server that is measured.
func init() {
	if os.Getenv(loadServerMark) != "" {
		os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
	}
}

// press runs the load command for a moment; how quick it is is not looked at here.
func press(t *testing.T, c loadConfig) *loadReport {
	t.Helper()
	c.tablets, c.makers, c.rate, c.address = 6, 3, 60, "127.0.0.1:0"
	var err error
	c.program, err = os.Executable()
	require.NoError(t, err)
	r, err := load(context.Background(), c)
	require.NoError(t, err)
	assert.Zero(t, r.lost, "acknowledged and not in the journal")
	assert.Zero(t, r.doubled)
	assert.NoError(t, r.astray)
	return r
}

func TestLoadCountsEveryTap(t *testing.T) {
	r := press(t, loadConfig{span: 2 * time.Second, stalled: 2})
	assert.Empty(t, r.refused)
	assert.Equal(t, 120, r.answered.n)
	assert.Equal(t, 120*5, r.seen.n, "on each of the other tablets")
	assert.Equal(t, 6, r.back.n, "all came back and were served")
	assert.Zero(t, r.unseen+r.foreign)
	assert.Positive(t, r.peak)
	assert.Positive(t, r.drawn.n)
}

func TestLoadSignedIn(t *testing.T) {
	r := press(t, loadConfig{span: time.Second, stalled: 1, signedIn: true})
	assert.Empty(t, r.refused)
	assert.Equal(t, 60, r.answered.n)
	assert.Equal(t, 6, r.back.n, "all came back and were served")
	assert.Zero(t, r.unseen+r.foreign+r.broken+r.failed)
	var out strings.Builder
	r.compareTo(r, &out)
	assert.Contains(t, out.String(), "tap p50 × 1.00, p99 × 1.00; the server's processor time × 1.00")
}

// What was acknowledged is there although the server was killed among the taps.
func TestNoAcknowledgedTapIsLostInACrash(t *testing.T) {
	r := press(t, loadConfig{span: 2 * time.Second, crash: true})
	assert.Positive(t, r.answered.n)
	assert.LessOrEqual(t, r.foreign, 3, "a maker each may have sent one that was not answered")
}

func TestLoadSaysWhatIsMissed(t *testing.T) {
	of := func(all ...time.Duration) (s spread) {
		for _, d := range all {
			s.add(d)
		}
		return s
	}
	for name, c := range map[string]struct {
		report loadReport
		want   string
	}{
		"lost":    {loadReport{tally: tally{lost: 1}}, "1 acknowledged taps are not in the journal"},
		"doubled": {loadReport{tally: tally{doubled: 2}}, "2 taps are in the journal twice"},
		"slow":    {loadReport{answered: of(0, 0, tapLimit+1)}, "the 99th percentile of a tap's answer is over 50ms"},
		"slower":  {loadReport{answered: of(tapMiddle + 1)}, "the median of a tap's answer is over 10ms"},
		"late":    {loadReport{seen: of(seenLimit + 1)}, "the 99th percentile of a tap's telling is over 250ms"},
		"away":    {loadReport{config: loadConfig{tablets: 3}, back: of(1, 1)}, "of 3 tablets that came back at once 1 were not served"},
		"back":    {loadReport{back: of(1, backLimit+time.Millisecond)}, "the last of the tablets that came back at once was served after 2.001s, not within 2s"},
		"large":   {loadReport{peak: memoryLimit + 1}, "the server took 257 MiB"},
		"refused": {loadReport{refused: map[string]int{"why": 3}}, "3 taps were refused"},
	} {
		assert.Equal(t, []string{c.want}, c.report.missed(), name)
	}
	assert.Empty(t, (&loadReport{answered: of(tapMiddle, tapMiddle, tapLimit), back: of(backLimit)}).missed())
}

func TestSpread(t *testing.T) {
	var s spread
	assert.Zero(t, s.percentile(0.99), "of nothing")
	for i := range 1000 {
		s.add(time.Duration(i+1) * time.Millisecond)
	}
	s.add(2 * spreadEnd)
	assert.Equal(t, 501*time.Millisecond, s.percentile(0.5))
	assert.Equal(t, 991*time.Millisecond, s.percentile(0.99))
	assert.Equal(t, 2*spreadEnd, s.percentile(1))
	assert.Equal(t, "p50 501.0 ms, p99 991.0 ms, most 120000.0 ms", s.String())
}

func TestReckonFindsWhatIsNotAsAcknowledged(t *testing.T) {
	ctx := context.Background()
	store := testrig.Shop(t, testrig.Monday())
	testrig.Commission(t, store, "Shelf", "2026-06-30")
	snap := testrig.Snapshot(t, store)
	for id, key := range map[string]string{"one": "Ana", "two": "Ben"} {
		_, err := store.Tap(ctx, models.TapRequest{ID: id, Kind: models.TapSet, StationID: testrig.Station(t, snap, "planer").ID, PersonID: testrig.Person(t, snap, key)})
		require.NoError(t, err)
	}
	for _, c := range []struct {
		acknowledged []string
		want         tally
	}{
		{[]string{"one", "two"}, tally{rows: 2}},
		{[]string{"one", "two", "three"}, tally{rows: 2, lost: 1}},
		{[]string{"two"}, tally{rows: 2, foreign: 1}},
	} {
		is, journal, err := reckon(ctx, store, c.acknowledged)
		require.NoError(t, err)
		assert.Equal(t, c.want, is)
		assert.Len(t, journal, 2)
	}
}

func TestLoadIsBounded(t *testing.T) {
	good := loadConfig{tablets: 200, makers: 50, span: time.Minute, address: "127.0.0.1:0"}
	require.NoError(t, good.check("500/s"))
	assert.InDelta(t, 500, good.rate, 0)
	for want, change := range map[string]func(c *loadConfig) string{
		`-taps "500" is no rate`:     func(*loadConfig) string { return "500" },
		`-taps "1e9/s" is no rate`:   func(*loadConfig) string { return "1e9/s" },
		`-taps "NaN/s" is no rate`:   func(*loadConfig) string { return "NaN/s" },
		"-tablets 1001 is not":       func(c *loadConfig) string { c.tablets = 1001; return "5/s" },
		"-makers 50 is not":          func(c *loadConfig) string { c.tablets = 49; return "5/s" },
		"-stalled 801 is not from 0": func(c *loadConfig) string { c.stalled = 801; return "5/s" },
		"-for 1h0m0s is not":         func(c *loadConfig) string { c.span = time.Hour; return "5/s" },
		`-address "0.0.0.0:1" is no`: func(c *loadConfig) string { c.address = "0.0.0.0:1"; return "5/s" },
	} {
		c := good
		assert.ErrorContains(t, c.check(change(&c)), want)
	}
}
