package sequence

import (
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write the golden traces anew")

// The search goes the same way in every run: testdata/traces says how to read what
// is compared here.
func TestTracesOfTheSearch(t *testing.T) {
	if runtime.GOARCH != "amd64" {
		t.Skip("other processors round the logarithms of the annealing in other ways")
	}
	weeks := func(steps int, seed uint64) *Problem { return shopWeeks(shopSize{2, 8, steps, seed}) }
	again := func() *Problem {
		p := weeks(60, 4)
		plan := solveWith(t, p, Options{Work: 300, Seed: 1})
		return changedBy(p, plan, repairs["a step takes longer"])
	}
	tooShort := instance(t, "ubo10/psp67.sch")
	tooShort.Horizon = 65
	for _, c := range []struct {
		name, of string
		p        *Problem
		work     int64
	}{
		{"job-shop", "a job shop, ft/ft06.jss", instance(t, "ft/ft06.jss"), 20000},
		{"project", "a project, j30/j3029_4.sm", instance(t, "j30/j3029_4.sm"), 40000},
		{"greatest-lags", "a project with greatest lags, ubo10/psp67.sch", instance(t, "ubo10/psp67.sch"), 3000},
		{"no-plan", "a project with greatest lags, ubo10/psp67.sch, within a horizon of 65, in which it has no plan", tooShort, 3000},
		{"one-machine", "one machine with setups, wt_sds/wt_sds_1.instance", instance(t, "wt_sds/wt_sds_1.instance"), 25000},
		{"shop-weeks", "weeks of an invented shop, 60 steps", weeks(60, 4), 10000},
		{"shop-weeks-again", "the same after a step took longer, its plan being the previous one", again(), 10000},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, cores := range []int{1, 2} {
				checkTrace(t, filepath.Join("testdata", "traces", c.name+".txt"), traced(t, c.of, c.p, c.work, cores))
			}
		})
	}
}

// traced is the trace of one run in words.
func traced(t *testing.T, of string, p *Problem, work int64, cores int) string {
	var out strings.Builder
	fmt.Fprintf(&out, "%s; work %d, seed 1\n%10s %12s %12s\n", of, work, "work", "objective", "bound")
	plan, err := Solve(context.Background(), p, Options{Work: work, Seed: 1, Cores: cores, OnStep: func(s Step) {
		fmt.Fprintln(&out, s)
	}})
	require.NoError(t, err)
	require.NoError(t, Check(p, plan))
	fmt.Fprintf(&out, "%s after %d\n", plan.Status, plan.Stats.Schedules)
	return out.String()
}

func checkTrace(t *testing.T, file, got string) {
	if *update {
		require.NoError(t, os.WriteFile(file, []byte(got), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, string(want), got, "if the search was changed on purpose: go test ./models/sequence -run TestTraces -update")
}
