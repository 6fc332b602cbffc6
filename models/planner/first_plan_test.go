package planner_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"syscall"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/planner"
	"faceside/seed"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// filled is the demo's shop with so many open steps and no plan yet; what there is more
// of is done, the first steps first.
func filled(t testing.TB, steps int) *models.Snapshot {
	t.Helper()
	start, err := seed.DemoStartOn("2026-11-24")
	require.NoError(t, err)
	store, err := models.OpenStore(t.Context(), filepath.Join(t.TempDir(), "shop.db"), seed.NewDemoClock(start).Now)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, store.Close()) })
	require.NoError(t, seed.Fill(t.Context(), store, steps))
	snap, err := store.Snapshot(t.Context())
	require.NoError(t, err)
	for i := range snap.Steps[:len(snap.Steps)-steps] {
		snap.Steps[i].State, snap.Steps[i].FinishedAt, snap.Steps[i].DoneAt = models.Done, &snap.At, &snap.At
	}
	return snap
}

// BenchmarkFirstPlan is what a first plan of the demo's shop costs by the number of
// open steps: the problem posed, and the engine's first answer.
func BenchmarkFirstPlan(b *testing.B) {
	for _, steps := range []int{50, 100, 300, 600, 1500} {
		b.Run(fmt.Sprintf("%d-steps", steps), func(b *testing.B) {
			snap := filled(b, steps)
			b.ReportAllocs()
			for b.Loop() {
				require.NoError(b, planner.FirstPlan(b.Context(), snap))
			}
			b.ReportMetric(float64(len(snap.Commissions)), "commissions")
		})
	}
}

// A first plan of 1,500 steps takes a second of a processor at most, and no more than
// 300 MiB from the system: all that a process of its own ever had, the shop's records,
// the patterns and the runtime's share included.
func TestFirstPlanOfManySteps(t *testing.T) {
	const asked = "FACESIDE_MEASURE_FIRST_PLAN"
	if os.Getenv(asked) != "" {
		snap := filled(t, 1500)
		before := processor(t)
		require.NoError(t, planner.FirstPlan(t.Context(), snap))
		took := processor(t) - before
		var stats runtime.MemStats
		runtime.ReadMemStats(&stats)
		fmt.Printf("measured %d %d\n", took, stats.Sys)
		return
	}
	child := exec.Command(os.Args[0], "-test.run=^TestFirstPlanOfManySteps$")
	child.Env = append(os.Environ(), asked+"=1", "GOGC=100", "GOMEMLIMIT=off")
	out, err := child.CombinedOutput()
	require.NoError(t, err, "%s", out)
	var took time.Duration
	var bytes uint64
	_, err = fmt.Sscanf(string(out), "measured %d %d", &took, &bytes)
	require.NoError(t, err, "%s", out)
	t.Logf("%s of a processor, %d MiB from the system", took.Round(time.Millisecond), bytes>>20)
	assert.LessOrEqual(t, took, time.Second)
	assert.LessOrEqual(t, bytes, uint64(300<<20))
}

// processor is how long this process had a processor.
func processor(t testing.TB) time.Duration {
	t.Helper()
	var used syscall.Rusage
	require.NoError(t, syscall.Getrusage(syscall.RUSAGE_SELF, &used))
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}
