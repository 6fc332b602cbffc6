package sequence

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var (
	tableWeeks = flag.String("weeks", "", "weeks of an invented shop to set beside the peers, as `STEPS:FROM-TO,...` (60:1-10,100:1-5): solve them all and write a table")
	peerLimit  = flag.Duration("peer-limit", time.Minute, "time for each peer on each week of -weeks")
	peerNames  = flag.String("peers", "chuffed,chuffed-free,gecode,highs,cbc", "which peers")
)

// peerIDs are the peers by the names that people use, as solve.mjs calls them.
var peerIDs = map[string]string{"chuffed": chuffed, "chuffed-free": chuffed + "+free", "gecode": gecode,
	"highs": "org.minizinc.mip.highs", "cbc": "org.minizinc.mip.coin-bc"}

// TestPeerTable sets the search beside the peers over weeks of an invented shop. The
// table is written after each week; what the file already has under the same
// conditions is not done again, so that a run that was broken off goes on from there.
func TestPeerTable(t *testing.T) {
	if *tableWeeks == "" {
		t.Skip("wants -weeks WEEKS -to FILE")
	}
	require.NotEmpty(t, *tableTo, "-to names the file of the table")
	peersOrSkip(t)
	table := &peerTable{peers: strings.Split(*peerNames, ",")}
	for _, name := range table.peers {
		require.Contains(t, peerIDs, name, "-peers")
	}
	weeks, err := parseWeeks(*tableWeeks)
	require.NoError(t, err)
	require.NoError(t, table.resume(*tableTo))
	for _, w := range weeks {
		if !table.has(w) {
			table.rows = append(table.rows, table.row(t, w))
			require.NoError(t, table.write(*tableTo, time.Now()))
		}
	}
}

// parseWeeks reads 60:1-10,100:3.
func parseWeeks(text string) ([]shopWeek, error) {
	var weeks []shopWeek
	for part := range strings.SplitSeq(text, ",") {
		steps, numbers, _ := strings.Cut(part, ":")
		from, to, several := strings.Cut(numbers, "-")
		if !several {
			to = from
		}
		var n [3]int
		for i, field := range []string{steps, from, to} {
			var err error
			if n[i], err = strconv.Atoi(field); err != nil || n[i] < 1 {
				return nil, fmt.Errorf("-weeks is %q: %q is not STEPS:FROM-TO", text, part)
			}
		}
		for number := n[1]; number <= n[2]; number++ {
			weeks = append(weeks, shopWeek{Number: number, Steps: n[0]})
		}
	}
	return weeks, nil
}

// peerTable is the table: a row a week, its cells as they are written.
type peerTable struct {
	peers []string
	rows  [][]string
}

// row solves one week. Every plan passes the checker.
func (table *peerTable) row(t *testing.T, w shopWeek) []string {
	p := w.problem()
	plan := solveWith(t, p, Options{Limit: *tableLimit, Cores: *tableCores, Seed: 1})
	require.NotEqual(t, Unknown, plan.Status, "week %v", w)
	dates := "loose"
	if w.tight() {
		dates = "tight"
	}
	shop := fmt.Sprintf("%d, %d, %d, %d, %s", w.size().people, w.size().stations, len(p.Jobs), len(p.Tasks), dates)
	cells := []string{w.String(), shop, cell(plan), strconv.FormatInt(plan.Bound, 10)}
	best := int64(-1)
	for _, name := range table.peers {
		said, theirs, err := askPeer(context.Background(), t.TempDir(), p, peerIDs[name], *peerLimit)
		switch {
		case err != nil:
			t.Logf("week %v, %s: %v", w, name, err)
			cells = append(cells, "failed")
			continue
		case theirs == nil:
			cells = append(cells, "none")
			continue
		}
		require.NoError(t, Check(p, theirs), "week %v, %s", w, name)
		theirs.Trace = said.Trace
		cells = append(cells, cell(theirs))
		if best < 0 || theirs.Objective < best {
			best = theirs.Objective
		}
	}
	return append(cells, beside(plan.Objective, best))
}

// cell is an objective and when it was reached, with a star where it was proved.
func cell(plan *Plan) string {
	text := strconv.FormatInt(plan.Objective, 10)
	if plan.Status == Optimal {
		text += "*"
	}
	if n := len(plan.Trace); n > 0 {
		text += fmt.Sprintf(" (%.1f s)", plan.Trace[n-1].Seconds)
	}
	return text
}

// beside says how our objective stands to the best of the peers, -1 where they have none.
func beside(ours, best int64) string {
	switch {
	case best < 0:
		return "no peer"
	case ours == best:
		return "same"
	}
	return fmt.Sprintf("%+.1f %%", 100*float64(ours-best)/float64(max(1, best)))
}

func (table *peerTable) has(w shopWeek) bool {
	return slices.ContainsFunc(table.rows, func(row []string) bool { return row[0] == w.String() })
}

// conditions are what must be alike in all rows of a table.
func (table *peerTable) conditions() string {
	return fmt.Sprintf("Faceside: %v on %d of %d cores (%s), seed 1. Peers: %v each, a thread each (WebAssembly under Node), the time in which "+
		"MiniZinc takes the model apart counted; nothing told to one of another.", *tableLimit, *tableCores, runtime.NumCPU(), runtime.GOARCH, *peerLimit)
}

func (table *peerTable) header() string {
	return "| week | people, stations, commissions, steps, dates | Faceside | its bound | " + strings.Join(table.peers, " | ") + " | beside the best peer |"
}

// resume takes over the rows of a table that was made under the same conditions.
func (table *peerTable) resume(file string) error {
	text, err := os.ReadFile(file)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	if !strings.Contains(string(text), table.conditions()) || !strings.Contains(string(text), table.header()) {
		return fmt.Errorf("%s was made under other conditions; write to another file, or take it away", file)
	}
	for line := range strings.Lines(string(text)) {
		if row := strings.Split(strings.Trim(strings.TrimSpace(line), "| "), " | "); len(row) == len(table.peers)+5 && strings.Contains(row[0], ":") {
			table.rows = append(table.rows, row)
		}
	}
	return nil
}

// write writes the table whole.
func (table *peerTable) write(file string, now time.Time) error {
	var out strings.Builder
	fmt.Fprintf(&out, "# Beside general solvers\n\nWeeks of an invented shop (`shopgen_test.go`), named steps:number (a commission is never cut off, so that there are some more). A figure is the objective of a plan that the checker "+
		"accepted, less is better, with the seconds until it was found; a star says that it was proved optimal, \"none\" that no plan was found, \"failed\" that the solver gave up.\n\n"+
		"%s One run, last written on %s.\n\n%s\n|%s\n", table.conditions(), now.Format("2 January 2006"), table.header(), strings.Repeat("---|", len(table.peers)+5))
	counts := map[string]int{}
	for _, row := range table.rows {
		fmt.Fprintf(&out, "| %s |\n", strings.Join(row, " | "))
		counts[stands(row[len(row)-1])]++
	}
	fmt.Fprintf(&out, "\n%d weeks: better than every peer on %d, the same on %d, worse on %d; no peer had a plan on %d.\n",
		len(table.rows), counts["better"], counts["same"], counts["worse"], counts["no peer"])
	return os.WriteFile(file, []byte(out.String()), 0o644)
}

func stands(beside string) string {
	switch beside[0] {
	case '-':
		return "better"
	case '+':
		return "worse"
	}
	return beside
}

// A table that was broken off goes on with its own rows, and only under its own conditions.
func TestPeerTableGoesOn(t *testing.T) {
	file := filepath.Join(t.TempDir(), "table.md")
	begun := peerTable{peers: []string{"chuffed", "gecode"}, rows: [][]string{
		{"60:1", "2, 7, 3, 71, tight", "120 (0.5 s)", "100", "140 (3.1 s)", "none", beside(120, 140)},
		{"60:2", "3, 8, 4, 66, loose", "90* (0.1 s)", "90", "failed", "90* (7.0 s)", beside(90, 90)},
	}}
	require.NoError(t, begun.write(file, time.Date(2026, 11, 28, 0, 0, 0, 0, time.UTC)))
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Contains(t, string(text), "2 weeks: better than every peer on 1, the same on 1, worse on 0; no peer had a plan on 0.")

	again := peerTable{peers: begun.peers}
	require.NoError(t, again.resume(file))
	assert.Equal(t, begun.rows, again.rows)
	weeks, err := parseWeeks("60:2-3,100:7")
	require.NoError(t, err)
	require.Equal(t, []shopWeek{{2, 60}, {3, 60}, {7, 100}}, weeks)
	assert.True(t, again.has(weeks[0]))
	assert.False(t, again.has(weeks[1]))

	other := peerTable{peers: []string{"gecode"}}
	assert.ErrorContains(t, other.resume(file), "other conditions")
	for _, wrong := range []string{"60", "60:", "60:0", "a:1", "60:1-b"} {
		_, err := parseWeeks(wrong)
		assert.Error(t, err, wrong)
	}
}
