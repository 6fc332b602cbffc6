package sequence

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var (
	tableOf      = flag.String("set", "", "a folder of published instances with their best-known.csv: solve them all and print a table")
	tableLimit   = flag.Duration("limit", 10*time.Second, "time for each instance of -set, each week of -weeks")
	tableCores   = flag.Int("cores", 2, "cores for each instance of -set, each week of -weeks")
	tableEvery   = flag.Int("every", 1, "of -set only one in so many, to look ahead; a table wants 1")
	tableTo      = flag.String("to", "", "the file that a table or a week is written to; empty: standard output, for -set alone")
	tableWithout = flag.String("without", "", "improve or exact: the search to leave out")
)

// TestTable solves a whole set of published instances and prints what it found
// beside the best known values.
func TestTable(t *testing.T) {
	if *tableOf == "" {
		t.Skip("wants -set FOLDER")
	}
	out := os.Stdout
	if *tableTo != "" {
		f, err := os.Create(*tableTo)
		require.NoError(t, err)
		defer func() { require.NoError(t, f.Close()) }()
		out = f
	}
	var sum tableSum
	fmt.Fprintf(out, "| instance | best known | found | bound | status | gap %% | above critical path %% | s to best | s |\n|---|---|---|---|---|---|---|---|---|\n")
	for i, k := range knownIn(t, filepath.Join(*tableOf, "best-known.csv")) {
		if i%*tableEvery == 0 {
			fmt.Fprint(out, sum.row(t, k))
		}
	}
	fmt.Fprintf(out, "\n%s\n", sum.line())
}

// tableSum is what a table adds up to.
type tableSum struct {
	all, best, better, proved, found, solvable int
	gaps, above                                float64
	worst                                      float64
}

func (s *tableSum) row(t *testing.T, k known) string {
	p := instanceFile(t, filepath.Join(*tableOf, k.File))
	o := Options{Limit: *tableLimit, Cores: *tableCores, Seed: 1, WithoutImprove: *tableWithout == "improve", WithoutExact: *tableWithout == "exact"}
	plan := solveWith(t, p, o)
	s.all++
	if plan.Status == Optimal || plan.Status == Infeasible {
		s.proved++
	}
	if k.Unsat {
		assert.NotContains(t, []Status{Optimal, Feasible}, plan.Status, "%s: a plan for what is said to have none", k.File)
		return fmt.Sprintf("| %s | none | | | %s | | | | %.2f |\n", k.File, plan.Status, plan.Stats.Seconds)
	}
	s.solvable++
	if plan.Status == Infeasible || plan.Status == Unknown {
		assert.NotEqual(t, Infeasible, plan.Status, "%s: said to have no plan", k.File)
		return fmt.Sprintf("| %s | %d | | %d | %s | | | | %.2f |\n", k.File, k.Best, plan.Bound, plan.Status, plan.Stats.Seconds)
	}
	s.found++
	if plan.Objective <= k.Best {
		s.best++
	}
	if plan.Objective < k.Best {
		s.better++
		assert.True(t, k.Open, "%s: %d is below the optimum %d", k.File, plan.Objective, k.Best)
	}
	gap := 100 * float64(plan.Objective-k.Best) / float64(max(1, k.Best))
	path := float64(max(1, criticalPath(p)))
	above := 100 * (float64(plan.Objective) - path) / path
	s.gaps, s.above, s.worst = s.gaps+gap, s.above+above, max(s.worst, gap)
	last := 0.0
	if n := len(plan.Trace); n > 0 {
		last = plan.Trace[n-1].Seconds
	}
	return fmt.Sprintf("| %s | %d | %d | %d | %s | %.2f | %.1f | %.2f | %.2f |\n",
		k.File, k.Best, plan.Objective, plan.Bound, plan.Status, gap, above, last, plan.Stats.Seconds)
}

func (s *tableSum) line() string {
	n := float64(max(1, s.found))
	return fmt.Sprintf("%d instances, %v each, %d cores: %d of %d that have a plan got one; %d at the best known value or below (%d below); "+
		"%d closed (%.1f %%); mean gap %.3f %%, worst %.2f %%; mean above the critical path %.2f %%.",
		s.all, *tableLimit, *tableCores, s.found, s.solvable, s.best, s.better, s.proved, 100*float64(s.proved)/float64(max(1, s.all)),
		s.gaps/n, s.worst, s.above/n)
}

// criticalPath is the latest earliest end by links alone.
func criticalPath(p *Problem) int {
	m := compile(p, nil)
	longest := 0
	for _, e := range m.minEnd {
		longest = max(longest, e)
	}
	return longest
}
