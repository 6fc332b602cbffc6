package sequence

import (
	"fmt"
	"os"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Weeks of 60 steps: of the first so many numbers those with a step more at most. Most
// have more than that, as a commission is never cut off.
const (
	sixtyNumbers = 400
	sixtySteps   = 60
	sixtyMore    = 1
)

// TestSixtyTable solves every week of 60 steps, whoever is there to do it, and writes a
// table of what was proved.
func TestSixtyTable(t *testing.T) {
	if *tableTo == "" || *tableWeeks != "" || *setsOf != "" {
		t.Skip("wants -to FILE and -limit TIME, no -weeks and no -sets")
	}
	var rows strings.Builder
	var all, proved [4]int // by people
	for number := 1; number <= sixtyNumbers; number++ {
		w := shopWeek{Number: number, Steps: sixtySteps}
		p := w.problem()
		if len(p.Tasks) > sixtySteps+sixtyMore {
			continue
		}
		plan := solveWith(t, p, Options{Limit: *tableLimit, Cores: *tableCores, Seed: 1})
		require.NotEqual(t, Unknown, plan.Status, "week %v", w)
		people := w.size().people
		if all[people]++; plan.Status == Optimal {
			proved[people]++
		}
		fmt.Fprintf(&rows, "| %v | %s | %s | %d | %.1f |\n", w, w.of(p), starred(plan.Objective, plan.Status), plan.Bound, plan.Stats.Seconds)
	}
	text := fmt.Sprintf("# Weeks of 60 steps\n\nWeeks of an invented shop (`shopgen_test.go`), named steps:number: of the first %d numbers all that have %d steps or %d. A figure is the objective of a plan that the checker accepted, less is better; a star says that it was proved optimal.\n\n"+
		"Faceside: %v on %d of %d cores (%s), seed 1. Written on %s.\n\n"+
		"| week | people, stations, commissions, steps, dates | objective | bound | s |\n|---|---|---|---|---|\n%s\n"+
		"Proved optimal: %d of %d of one person, %d of %d of two, %d of %d of three.\n",
		sixtyNumbers, sixtySteps, sixtySteps+sixtyMore, *tableLimit, *tableCores, runtime.NumCPU(), runtime.GOARCH, time.Now().Format("2 January 2006"),
		rows.String(), proved[1], all[1], proved[2], all[2], proved[3], all[3])
	require.NoError(t, os.WriteFile(*tableTo, []byte(text), 0o644))
}
