package main

import (
	"bytes"
	"context"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/seed"
)

// The demo's comparison, as the README shows it: the plan beside two rules, and
// never later than either.
func TestCompareTheDemo(t *testing.T) {
	var stdout, stderr bytes.Buffer
	status := run([]string{"sequence", "-compare", "-start", demoDay, "-seconds", "2"}, strings.NewReader(""), &stdout, &stderr)
	require.Equal(t, exitOK, status, stderr.String())
	lines := strings.Split(strings.TrimSpace(stdout.String()), "\n")
	require.Len(t, lines, 6, stdout.String())
	assert.Regexp(t, `^Ninth Plank, Tuesday 24 November 2026, 10:20: 5 open commissions, \d+ steps left$`, lines[0])
	columns := regexp.MustCompile(`^ +(\d+) +(\d+) +(\d+\.\d) +(\d+\.\d) +(\w+ \d+ \w+ \d\d:\d\d) +(\S.*)$`)
	late := map[string]float64{}
	var ways []string
	for _, line := range lines[3:] {
		found := columns.FindStringSubmatch(line)
		require.NotNil(t, found, line)
		days, err := strconv.ParseFloat(found[3], 64)
		require.NoError(t, err)
		late[found[6]] = days
		ways = append(ways, found[6])
	}
	require.Len(t, late, 3)
	for _, way := range ways[1:] {
		assert.LessOrEqual(t, late[ways[0]], late[way], "%s is less late than the plan", way)
	}
}

func TestCompareAShopInAFolder(t *testing.T) {
	ctx := context.Background()
	start, err := seed.DemoStart(time.Now()) // a shop in a folder goes by the real clock
	require.NoError(t, err)
	dir := t.TempDir()
	store, _, err := demoShop(ctx, dir, seed.NewDemoClock(start), start)
	require.NoError(t, err)
	require.NoError(t, store.Close())
	var stdout bytes.Buffer
	require.NoError(t, compare(ctx, dir, start, time.Second, &stdout))
	assert.Contains(t, stdout.String(), "Ninth Plank")

	err = compare(ctx, t.TempDir(), start, time.Second, &stdout)
	require.ErrorContains(t, err, "keeps no shop")
}
