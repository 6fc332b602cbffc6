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
	peerOurs   = flag.Bool("ours", false, "of the weeks that the table has, do our own part anew")
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
		switch at := table.at(w); {
		case at < 0:
			table.rows = append(table.rows, table.row(t, w))
		case *peerOurs:
			table.rows[at] = table.oursAnew(t, w, table.rows[at])
		default:
			continue
		}
		require.NoError(t, table.write(*tableTo, time.Now()))
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
	cells := append([]string{w.String(), w.of(p)}, ours(t, w, p)...)
	for _, name := range table.peers {
		cells = append(cells, theirs(t, w, p, name))
	}
	return append(cells, beside(objectiveIn(cells[oursAt]), bestOf(cells[peersAt:])))
}

// Where a row has our own plan, and where its peers begin.
const oursAt, peersAt = 2, 4

// ours are the cells of our own plan and its bound.
func ours(t *testing.T, w shopWeek, p *Problem) []string {
	plan := solveWith(t, p, Options{Limit: *tableLimit, Cores: *tableCores, Seed: 1})
	require.NotEqual(t, Unknown, plan.Status, "week %v", w)
	return []string{cell(plan), strconv.FormatInt(plan.Bound, 10)}
}

// oursAnew keeps the peers of a row: what they find does not hang on our search.
func (table *peerTable) oursAnew(t *testing.T, w shopWeek, row []string) []string {
	row = slices.Replace(slices.Clone(row), oursAt, peersAt, ours(t, w, w.problem())...)
	peers := row[peersAt : len(row)-1]
	row[len(row)-1] = beside(objectiveIn(row[oursAt]), bestOf(peers))
	return row
}

// theirs is the cell of a peer.
func theirs(t *testing.T, w shopWeek, p *Problem, name string) string {
	said, plan, err := askPeer(context.Background(), t.TempDir(), p, peerIDs[name], *peerLimit)
	switch {
	case err != nil:
		t.Logf("week %v, %s: %v", w, name, err)
		return "failed"
	case plan == nil:
		return "none"
	}
	require.NoError(t, Check(p, plan), "week %v, %s", w, name)
	plan.Trace = said.Trace
	return cell(plan)
}

// objectiveIn reads the objective of a cell, -1 where it has none.
func objectiveIn(cell string) int64 {
	digits, _, _ := strings.Cut(strings.ReplaceAll(cell, "*", " "), " ")
	objective, err := strconv.ParseInt(digits, 10, 64)
	if err != nil {
		return -1
	}
	return objective
}

// bestOf is the least objective of cells, -1 where none has one.
func bestOf(cells []string) int64 {
	best := int64(-1)
	for _, c := range cells {
		if objective := objectiveIn(c); objective >= 0 && (best < 0 || objective < best) {
			best = objective
		}
	}
	return best
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

// at finds the row of a week, -1 where there is none.
func (table *peerTable) at(w shopWeek) int {
	return slices.IndexFunc(table.rows, func(row []string) bool { return row[0] == w.String() })
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
	assert.Equal(t, 1, again.at(weeks[0]))
	assert.Equal(t, -1, again.at(weeks[1]))
	for cell, want := range map[string]int64{"120 (0.5 s)": 120, "90* (0.1 s)": 90, "7*": 7, "none": -1, "failed": -1} {
		assert.Equal(t, want, objectiveIn(cell), cell)
	}
	assert.Equal(t, int64(90), bestOf([]string{"failed", "140 (3.1 s)", "90* (7.0 s)"}))

	other := peerTable{peers: []string{"gecode"}}
	assert.ErrorContains(t, other.resume(file), "other conditions")
	for _, wrong := range []string{"60", "60:", "60:0", "a:1", "60:1-b"} {
		_, err := parseWeeks(wrong)
		assert.Error(t, err, wrong)
	}
}
