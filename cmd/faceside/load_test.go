package main

import (
	"context"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
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
	program, err := os.Executable()
	require.NoError(t, err)
	r, err := load(context.Background(), c, program)
	require.NoError(t, err)
	assert.Zero(t, r.lost, "acknowledged and not in the journal")
	assert.Zero(t, r.doubled)
	assert.NoError(t, r.astray)
	return r
}

func TestLoadCountsEveryTap(t *testing.T) {
	r := press(t, loadConfig{span: 2 * time.Second})
	assert.Empty(t, r.refused)
	assert.Len(t, r.answered, 120)
	assert.Len(t, r.seen, 120*5, "on each of the other tablets")
	assert.Zero(t, r.unseen+r.foreign)
	assert.Positive(t, r.peak)
	assert.NotEmpty(t, r.drawn)
}

// What was acknowledged is there although the server was killed among the taps.
func TestNoAcknowledgedTapIsLostInACrash(t *testing.T) {
	r := press(t, loadConfig{span: 2 * time.Second, crash: true})
	assert.NotEmpty(t, r.answered)
	assert.LessOrEqual(t, r.foreign, 3, "a maker each may have sent one that was not answered")
}

func TestLoadSaysWhatIsMissed(t *testing.T) {
	slow := []time.Duration{tapLimit + 1}
	for name, c := range map[string]struct {
		report loadReport
		want   string
	}{
		"lost":    {loadReport{lost: 1}, "1 acknowledged taps are not in the journal"},
		"doubled": {loadReport{doubled: 2}, "2 taps are in the journal twice"},
		"slow":    {loadReport{answered: slow}, "the 99th percentile of a tap's answer is over 50ms"},
		"late":    {loadReport{seen: []time.Duration{seenLimit + 1}}, "the 99th percentile of a tap's telling is over 250ms"},
		"large":   {loadReport{peak: memoryLimit + 1}, "the server took 257 MiB"},
		"refused": {loadReport{refused: map[string]int{"why": 3}}, "3 taps were refused"},
	} {
		assert.Equal(t, []string{c.want}, c.report.missed(), name)
	}
	assert.Empty(t, (&loadReport{answered: []time.Duration{tapLimit}}).missed())
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
		"-for 1h0m0s is not":         func(c *loadConfig) string { c.span = time.Hour; return "5/s" },
		`-address "0.0.0.0:1" is no`: func(c *loadConfig) string { c.address = "0.0.0.0:1"; return "5/s" },
	} {
		c := good
		assert.ErrorContains(t, c.check(change(&c)), want)
	}
}

func TestAstrayFindsAStepThatDoesNotFollow(t *testing.T) {
	step, person := models.ID(7), models.ID(1)
	start := models.Tap{Seq: 1, Kind: models.TapStart, StepID: &step, PersonID: person, At: time.Unix(0, 0)}
	snap := &models.Snapshot{Steps: []models.Step{{ID: step, State: models.InHand}}}
	require.NoError(t, astray(snap, []models.Tap{start}))
	wrong := &models.Snapshot{Steps: []models.Step{{ID: step, State: models.Todo}}}
	require.ErrorContains(t, astray(wrong, []models.Tap{start}), "step 7 does not stand as its taps say")
}
