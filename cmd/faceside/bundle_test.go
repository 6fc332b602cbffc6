package main

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/planner"
	"faceside/models/sequence"
)

// unpacked are the files of a bundle of the shop kept in dir.
func unpacked(t *testing.T, dir string, args ...string) map[string]string {
	t.Helper()
	out := filepath.Join(t.TempDir(), "bundle.zip")
	var stdout, stderr bytes.Buffer
	require.Equal(t, exitOK, run(append([]string{"bundle", "-data", dir, "-out", out}, args...), nil, &stdout, &stderr), stderr.String())
	r, err := zip.OpenReader(out)
	require.NoError(t, err)
	defer r.Close()
	files := map[string]string{}
	for _, f := range r.File {
		in, err := f.Open()
		require.NoError(t, err)
		text, err := io.ReadAll(in)
		require.NoError(t, err)
		files[f.Name] = string(text)
	}
	return files
}

// What people typed, and secrets, are nowhere in a bundle of the demo shop.
func TestABundleNamesNobody(t *testing.T) {
	d := openDemo(t)
	ctx := context.Background()
	snap, err := d.store.Snapshot(ctx)
	require.NoError(t, err)
	dir := t.TempDir()
	require.NoError(t, d.store.Backup(ctx, shopPath(dir)))
	store, err := openExisting(ctx, dir)
	require.NoError(t, err)
	const hostile = "Zenobia <script>alert(1)</script>"
	_, err = store.SavePerson(ctx, models.Person{Name: hostile, Active: true})
	require.NoError(t, err)
	_, err = planner.New(store, slog.New(slog.DiscardHandler), planner.Options{Work: quickWork, Seed: 1}).Plan(ctx)
	require.NoError(t, err)
	feed, err := store.RenewFeed(ctx, nil)
	require.NoError(t, err)
	require.NoError(t, store.Close())
	log := filepath.Join(t.TempDir(), "log")
	require.NoError(t, os.WriteFile(log, append(bytes.Repeat([]byte("an old line\n"), logTail/10), "the newest line\n"...), 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "letter to Zenobia.txt"), nil, 0o600))
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "for Zenobia"), 0o750))
	require.NoError(t, os.WriteFile(shopPath(filepath.Join(dir, "for Zenobia")), nil, 0o600))
	_, err = backup(ctx, dir, "", backupsFolder("", dir))
	require.NoError(t, err)

	files := unpacked(t, dir, "-log-file", log)
	var all strings.Builder
	for name, text := range files {
		all.WriteString(name + "\n" + text)
	}
	typed := []string{"Zenobia", "script", feed.Secret, dir, snap.Shop.Name, snap.Shop.UID}
	for _, p := range snap.People {
		typed = append(typed, p.Name)
	}
	for _, c := range snap.Commissions {
		typed = append(typed, c.Name, c.Client, c.Note)
	}
	for _, st := range snap.Stations {
		typed = append(typed, st.Name+`"`)
	}
	for _, st := range snap.Steps {
		typed = append(typed, `"`+st.Name+`"`, st.Note, st.Trouble)
	}
	for _, text := range typed {
		if text != "" {
			assert.NotContains(t, all.String(), text)
		}
	}

	problem, err := sequence.Read(strings.NewReader(files["problem.json"]))
	require.NoError(t, err, "the engine can be asked it again")
	assert.Greater(t, len(problem.Tasks), 20)
	var runs []models.PlanRun
	require.NoError(t, json.Unmarshal([]byte(files["runs.json"]), &runs))
	require.NotEmpty(t, runs)
	asked, err := sequence.Read(strings.NewReader(files[fmt.Sprintf("problems/%d.json", runs[0].ProblemID)]))
	require.NoError(t, err, "so can those of plans before")
	assert.Greater(t, len(asked.Tasks), 20)
	var inside models.Inside
	require.NoError(t, json.Unmarshal([]byte(files["records.json"]), &inside))
	assert.Equal(t, []string{"ok"}, inside.Integrity)
	assert.Equal(t, inside.Newest, inside.Schema)
	assert.Positive(t, inside.Rows["taps"])
	assert.Contains(t, files["log.txt"], "the newest line")
	assert.LessOrEqual(t, len(files["log.txt"]), logTail)
	assert.Contains(t, files["files.json"], `"shop.db"`)
	assert.Contains(t, files["files.json"], `"backups/shop-`)
	assert.Contains(t, files["program.json"], `"go": "go1`)
}

func TestABundleOfDamagedRecords(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(shopPath(dir), bytes.Repeat([]byte("x"), 5000), 0o600))
	files := unpacked(t, dir)
	assert.Contains(t, files["records-error.txt"], "file is not a database")
	assert.NotContains(t, files, "problem.json")
}
