package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models/sequence"
)

// twoCuts has one plan that is best: both cuts at 22 mm first, at 5 + 3 + 2, then
// the one at 45 mm after a setup of 6 minutes.
const twoCuts = `{"version": 1, "horizon": 100,
	"resources": [{"id": "saw", "capacity": 1, "setups": {"initial": "22mm", "default": 6}}],
	"tasks": [{"id": "a", "attended": 5, "setup": {"resource": "saw", "state": "22mm"}},
	          {"id": "b", "attended": 3, "setup": {"resource": "saw", "state": "45mm"}},
	          {"id": "c", "attended": 2, "setup": {"resource": "saw", "state": "22mm"}}],
	"objective": {"makespan": 1}}`

// sequenced runs the command with standard input and returns what it wrote.
func sequenced(t *testing.T, stdin string, args ...string) (status int, stdout, stderr string) {
	t.Helper()
	var out, errs bytes.Buffer
	status = runSequence(args, strings.NewReader(stdin), &out, &errs)
	return status, out.String(), errs.String()
}

func planOf(t *testing.T, text string) *sequence.Plan {
	t.Helper()
	var plan sequence.Plan
	require.NoError(t, json.Unmarshal([]byte(text), &plan))
	return &plan
}

func TestSequenceFromStreamToStream(t *testing.T) {
	status, stdout, stderr := sequenced(t, twoCuts, "-in", "-", "-out", "-", "-work", "200000")
	require.Equal(t, exitOK, status, stderr)
	assert.Empty(t, stderr)
	plan := planOf(t, stdout)
	assert.Equal(t, sequence.Optimal, plan.Status)
	assert.Equal(t, int64(16), plan.Objective)
}

func TestSequenceFromFileToFile(t *testing.T) {
	dir := t.TempDir()
	in, out, link := filepath.Join(dir, "problem.json"), filepath.Join(dir, "plan.json"), filepath.Join(dir, "link.json")
	require.NoError(t, os.WriteFile(in, []byte(twoCuts), 0o600))
	require.NoError(t, os.WriteFile(out, []byte("an older plan, much longer than nothing"), 0o640))
	require.NoError(t, os.Symlink("plan.json", link))
	status, stdout, stderr := sequenced(t, "", "-in", in, "-out", link, "-work", "5000", "-cores", "1", "-seed", "7")
	require.Equal(t, exitOK, status, stderr)
	assert.Empty(t, stdout)
	text, err := os.ReadFile(out)
	require.NoError(t, err)
	plan := planOf(t, string(text))
	assert.Equal(t, int64(16), plan.Objective)
	assert.Equal(t, int64(7), plan.Stats.Seed)
	info, err := os.Lstat(link)
	require.NoError(t, err)
	assert.NotZero(t, info.Mode()&os.ModeSymlink, "the link still is one")
	info, err = os.Stat(out)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o640), info.Mode().Perm())
	assert.Len(t, namesIn(t, dir), 3, "nothing is left beside the plan")
}

func namesIn(t *testing.T, dir string) (names []string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}

func TestSequenceToADevice(t *testing.T) {
	status, stdout, stderr := sequenced(t, twoCuts, "-out", os.DevNull, "-work", "5000")
	assert.Equal(t, exitOK, status, stderr)
	assert.Empty(t, stdout)
	info, err := os.Stat(os.DevNull)
	require.NoError(t, err)
	assert.False(t, info.Mode().IsRegular())
}

func TestSequenceNamesInvalidInput(t *testing.T) {
	cases := []struct{ old, new, line string }{
		{`"attended": 5`, `"attended": -5`, "tasks[0].attended is -5: it must be at least 0"},
		{`"attended": 5`, `"atended": 5`, "tasks[0].atended is 5: there is no such field"},
		{`"id": "c"`, `"id": "a"`, `tasks[2].id is "a": two have this name; each task needs its own`},
		{`"horizon": 100,`, `"horizon": 100`, "no JSON in line 2"},
	}
	out := filepath.Join(t.TempDir(), "plan.json")
	for _, c := range cases {
		status, _, stderr := sequenced(t, strings.Replace(twoCuts, c.old, c.new, 1), "-out", out)
		assert.Equal(t, exitInvalid, status)
		assert.Contains(t, stderr, c.line)
		assert.Equal(t, 1, strings.Count(stderr, "\n"), "one line: %q", stderr)
		assert.NoFileExists(t, out)
	}
}

func TestSequenceProvesInfeasible(t *testing.T) {
	cycle := strings.Replace(twoCuts, `"objective"`, `"links": [{"before": "a", "after": "b"}, {"before": "b", "after": "a"}], "objective"`, 1)
	out := filepath.Join(t.TempDir(), "plan.json")
	status, _, stderr := sequenced(t, cycle, "-out", out, "-work", "5000")
	require.Equal(t, exitInfeasible, status, stderr)
	text, err := os.ReadFile(out)
	require.NoError(t, err)
	plan := planOf(t, string(text))
	assert.Equal(t, sequence.Infeasible, plan.Status)
	assert.ElementsMatch(t, []string{"a", "b"}, plan.Conflict)
}

func TestSequenceFails(t *testing.T) {
	dir := t.TempDir()
	cases := map[string]struct {
		args []string
		says string
	}{
		"no problem":      {[]string{"-in", filepath.Join(dir, "none.json")}, "opening the problem"},
		"no folder":       {[]string{"-out", filepath.Join(dir, "none", "plan.json"), "-work", "100"}, "making room for " + filepath.Join(dir, "none", "plan.json")},
		"a folder":        {[]string{"-out", dir, "-work", "100"}, "opening the place of the plan"},
		"no seconds":      {[]string{"-seconds", "0"}, "-seconds is 0"},
		"not a number":    {[]string{"-seconds", "NaN"}, "-seconds is NaN"},
		"negative work":   {[]string{"-work", "-1"}, "-work is -1"},
		"no searches":     {[]string{"-searches", "-1"}, "-searches is -1: it must be between 0 and 256"},
		"many searches":   {[]string{"-searches", "257"}, "-searches is 257: it must be between 0 and 256"},
		"no cores":        {[]string{"-cores", "0"}, "-cores is 0"},
		"unknown flag":    {[]string{"-speed", "9"}, "-speed"},
		"a word too many": {[]string{"problem.json"}, "problem.json"},
	}
	for name, c := range cases {
		status, stdout, stderr := sequenced(t, twoCuts, c.args...)
		assert.Equal(t, exitFailed, status, name)
		assert.Contains(t, stderr, c.says, name)
		assert.Empty(t, stdout, name)
	}
	assert.Empty(t, namesIn(t, dir), "nothing is half written")
	status, _, stderr := sequenced(t, "", "-h")
	assert.Equal(t, exitOK, status)
	assert.Contains(t, stderr, "-seconds")
}

func TestWorkAloneGivesTheSamePlan(t *testing.T) {
	problem := hardProblem(t)
	plans := make([]*sequence.Plan, 2)
	for i, cores := range []string{"1", "2"} {
		status, stdout, stderr := sequenced(t, problem, "-work", "2000", "-seed", "3", "-cores", cores)
		require.Equal(t, exitOK, status, stderr)
		plans[i] = planOf(t, stdout)
	}
	assert.Equal(t, plans[0].Tasks, plans[1].Tasks)
	assert.Equal(t, plans[0].Objective, plans[1].Objective)
}

// Whatever was found when somebody interrupts the search is written.
func TestSequenceInterrupted(t *testing.T) {
	kept := make(chan os.Signal, 1)
	signal.Notify(kept, os.Interrupt) // so that the signal never ends the tests
	defer signal.Stop(kept)
	p, err := sequence.Read(strings.NewReader(hardProblem(t)))
	require.NoError(t, err)
	interrupted := false
	plan, err := solveUntilInterrupted(p, sequence.Options{Work: 1 << 50, Seed: 1, Cores: 1, OnPlan: func(*sequence.Plan) {
		if !interrupted {
			interrupted = true
			assert.NoError(t, syscall.Kill(os.Getpid(), syscall.SIGINT))
		}
	}})
	require.NoError(t, err)
	assert.Equal(t, sequence.Feasible, plan.Status)
	assert.NoError(t, sequence.Check(p, plan))
}

// hardProblem is one saw with sixty cuts of six thicknesses for as many
// commissions, too much to be proved optimal in a test.
func hardProblem(t *testing.T) string {
	t.Helper()
	random := rand.New(rand.NewPCG(1, 2))
	p := &sequence.Problem{Version: 1, Horizon: 10000, Objective: sequence.Weights{Tardiness: 1, Setup: 1},
		Resources: []sequence.Resource{{ID: "saw", Capacity: 1, Setups: &sequence.Setups{Default: 20}}}}
	for i := range 60 {
		id, due := fmt.Sprintf("cut%d", i), random.IntN(2000)
		p.Jobs = append(p.Jobs, sequence.Job{ID: id, Due: &due, Weight: 1 + random.IntN(9)})
		p.Tasks = append(p.Tasks, sequence.Task{ID: id, Job: id, Attended: 10 + random.IntN(40),
			Setup: &sequence.SetupNeed{Resource: "saw", State: fmt.Sprintf("%dmm", 10+random.IntN(6))}})
	}
	var text bytes.Buffer
	require.NoError(t, sequence.WriteProblem(&text, p))
	return text.String()
}

// The trace is the same in every run, and the plan is not mixed with it.
func TestSequenceTrace(t *testing.T) {
	var traces []string
	for range 2 {
		status, stdout, stderr := sequenced(t, hardProblem(t), "-work", "3000", "-seed", "3", "-trace")
		require.Equal(t, exitOK, status, stderr)
		plan := planOf(t, stdout)
		lines := strings.Split(strings.TrimSpace(stderr), "\n")
		last := strings.Fields(lines[len(lines)-1])
		require.Len(t, last, 3)
		assert.Equal(t, strconv.FormatInt(plan.Objective, 10), last[1])
		assert.Equal(t, strconv.FormatInt(plan.Bound, 10), last[2])
		traces = append(traces, stderr)
	}
	assert.Equal(t, traces[0], traces[1])
}

// Of the three cuts the first starts at 0, the second waits for the saw and the third
// for its setup. For a problem without a plan nothing is written.
func TestSequenceWhy(t *testing.T) {
	file := filepath.Join(t.TempDir(), "why.json")
	status, stdout, stderr := sequenced(t, twoCuts, "-why", file, "-work", "100")
	require.Equal(t, exitOK, status, stderr)
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	var said struct {
		Whys  []sequence.Why
		Rooms []sequence.Room
	}
	require.NoError(t, json.Unmarshal(text, &said))
	require.Len(t, said.Whys, 3)
	require.Len(t, said.Rooms, 3)
	last := said.Whys[1]
	assert.Equal(t, planOf(t, stdout).Tasks[1].Start, last.Start)
	require.Len(t, last.Holds, 1)
	require.Len(t, last.Holds[0].Reasons, 1)
	reason := last.Holds[0].Reasons[0]
	assert.Equal(t, sequence.BySetup, reason.Kind)
	assert.Equal(t, "saw", reason.Resource)
	assert.Equal(t, last.Start, reason.Earliest)

	none := filepath.Join(t.TempDir(), "none.json")
	status, _, stderr = sequenced(t, strings.Replace(twoCuts, `"horizon": 100`, `"horizon": 5`, 1), "-why", none, "-work", "5000")
	require.Equal(t, exitInfeasible, status, stderr)
	assert.NoFileExists(t, none)
	status, stdout, stderr = sequenced(t, twoCuts, "-why", "-", "-work", "100")
	assert.Equal(t, exitFailed, status)
	assert.Contains(t, stderr, "-why")
	assert.Empty(t, stdout)
	status, _, stderr = sequenced(t, twoCuts, "-why", filepath.Join(none, "why.json"), "-work", "100")
	assert.Equal(t, exitFailed, status)
	assert.Contains(t, stderr, "none.json")
}
