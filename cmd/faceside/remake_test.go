package main

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models/planner"
)

// remade runs the command on a folder.
func remade(t *testing.T, args ...string) (status int, out, problems string) {
	t.Helper()
	var stdout, stderr bytes.Buffer
	status = run(append([]string{"remake"}, args...), nil, &stdout, &stderr)
	return status, stdout.String(), stderr.String()
}

func TestRemake(t *testing.T) {
	d := openDemo(t)
	ctx := context.Background()
	plan, err := planner.New(d.store, slog.New(slog.DiscardHandler), planner.Options{Work: quickWork, Seed: 1}).Plan(ctx)
	require.NoError(t, err)
	dir := t.TempDir()
	require.NoError(t, d.store.Backup(ctx, shopPath(dir)))

	status, out, problems := remade(t, "-data", dir)
	require.Equal(t, exitOK, status, problems)
	assert.Regexp(t, fmt.Sprintf(`(?m)^%d +\d{4}-\d\d-\d\d \d\d:\d\d:\d\d +\d+ +%d +\d+ +1 +1 +\d+\.\d s +`, plan.ID, plan.Objective), out)

	status, out, problems = remade(t, "-data", dir, "-plan", fmt.Sprint(plan.ID))
	require.Equal(t, exitOK, status, out+problems)
	assert.Regexp(t, fmt.Sprintf(`the same plan: objective %d, \d+ tasks; of \d+ steps not begun then 0 are at other times`, plan.Objective), out)

	store, err := openExisting(ctx, dir)
	require.NoError(t, err)
	_, text, err := store.Run(ctx, plan.ID)
	require.NoError(t, err)
	runs, err := store.Runs(ctx)
	require.NoError(t, err)
	other := *plan
	require.NoError(t, store.SavePlan(ctx, &other))
	run := runs[0].PlanRun
	run.PlanID, run.Work, run.Program = other.ID, 1, "0123456789abcdef0123456789abcdef01234567"
	require.NoError(t, store.KeepRun(ctx, run, text))
	require.NoError(t, store.Close())
	status, out, problems = remade(t, "-data", dir, "-plan", fmt.Sprint(other.ID))
	require.Equal(t, exitOther, status, out+problems)
	assert.Contains(t, out, "by 0123456789ab;")
	assert.Contains(t, out, "another plan: another version of the program made it")
	assert.Regexp(t, `(?m)^  step \d+: started \d{4}-\d\d-\d\d \d\d:\d\d then, \d{4}-\d\d-\d\d \d\d:\d\d now$`, out)
}

func TestRemakeRefuses(t *testing.T) {
	d := openDemo(t)
	dir := t.TempDir()
	require.NoError(t, d.store.Backup(context.Background(), shopPath(dir)))
	for name, c := range map[string]struct {
		args []string
		says string
	}{
		"no shop":        {[]string{"-data", t.TempDir()}, "keeps no shop"},
		"no such plan":   {[]string{"-data", dir, "-plan", "4711"}, "how plan 4711 was made is not kept"},
		"no such number": {[]string{"-data", dir, "-plan", "-3"}, "-plan is -3"},
	} {
		status, _, problems := remade(t, c.args...)
		assert.Equal(t, exitFailed, status, name)
		assert.Contains(t, problems, c.says, name)
	}
}

func TestVersionsAreSaidShort(t *testing.T) {
	for version, want := range map[string]string{
		"": "a program without a version", "abc": "abc",
		"0123456789abcdef0123456789abcdef01234567":         "0123456789ab",
		"0123456789abcdef0123456789abcdef01234567+changes": "0123456789ab+changes",
	} {
		assert.Equal(t, want, programWords(version))
	}
}
