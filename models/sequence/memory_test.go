package sequence

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The engine promises to need at most 200 MiB for 1,500 steps. What is measured is all
// that a process of its own ever had from the system in a few seconds of search on two
// cores, the runtime's share and what it keeps in reserve included. Some of these
// problems are too large for the complete search, which then takes no part.
func TestMemoryOfManySteps(t *testing.T) {
	const asked, promised = "FACESIDE_MEASURE_MEMORY", 200 << 20
	problems := heavyProblems(t)
	if name := os.Getenv(asked); name != "" {
		_, err := Solve(context.Background(), problems[name], Options{Limit: 3 * time.Second, Seed: 1, Cores: 2})
		require.NoError(t, err)
		var stats runtime.MemStats
		runtime.ReadMemStats(&stats)
		fmt.Printf("measured %d\n", stats.Sys)
		return
	}
	for _, name := range []string{"shop weeks of 1500", "a project of 1500", "a job shop of 1000", "one machine of 1500", "a wet zone of 1500"} {
		child := exec.Command(os.Args[0], "-test.run=^TestMemoryOfManySteps$")
		child.Env = append(os.Environ(), asked+"="+name, "GOGC=100", "GOMEMLIMIT=off")
		out, err := child.CombinedOutput()
		require.NoError(t, err, "%s", out)
		_, after, found := strings.Cut(string(out), "measured ")
		require.True(t, found, "%s", out)
		bytes, err := strconv.Atoi(strings.Fields(after)[0])
		require.NoError(t, err)
		t.Logf("%s: %d MiB from the system", name, bytes>>20)
		assert.LessOrEqual(t, bytes, promised, name)
	}
}
