package handlers

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"log/slog"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/testutil"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

// ready asks whether the shop can be worked with, and returns the reasons why not.
func (r *rig) ready() (status int, reasons map[string]string) {
	r.Helper()
	p := r.browser().get("/readyz")
	var said readiness
	require.NoError(r, json.Unmarshal([]byte(p.body), &said), p.body)
	assert.Equal(r, p.status == http.StatusOK, said.Ready)
	reasons = map[string]string{}
	for _, check := range said.Checks {
		assert.Equal(r, check.OK, check.Reason == "", check.Name)
		if !check.OK {
			reasons[check.Name] = check.Reason
		}
	}
	require.Len(r, said.Checks, 6)
	return p.status, reasons
}

func TestReady(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "backups")
	var backups *models.Backups
	r := newRig(t, func(c *Config) {
		backups = models.NewBackups(c.Store, dir, c.Log)
		c.Backups = backups
	})
	status, reasons := r.ready()
	assert.Equal(t, http.StatusServiceUnavailable, status)
	assert.Equal(t, map[string]string{"planner": "no planner runs", "backups": "no backup is made yet"}, reasons)

	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- r.planner.Run(ctx) }()
	require.Eventually(t, func() bool { return r.planner.Alive() == nil }, 10*time.Second, time.Millisecond)
	require.NoError(t, backups.Take(ctx))
	status, reasons = r.ready()
	assert.Equal(t, http.StatusOK, status)
	assert.Empty(t, reasons)

	r.clock.Step(2*time.Hour + time.Minute)
	_, reasons = r.ready()
	assert.Equal(t, map[string]string{"backups": "the last good backup is 2h1m0s old"}, reasons)
	stop()
	require.NoError(t, <-ended)
	_, reasons = r.ready()
	assert.Contains(t, reasons, "planner")
}

func TestTheClockOfTheServerIsTold(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	assert.Equal(t, http.StatusOK, ana.tap(models.TapStart, r.step("joint")).status)
	r.clock.Set(time.Date(1970, time.January, 1, 0, 0, 10, 0, time.UTC))
	_, reasons := r.ready()
	assert.Contains(t, reasons["clock"], "The clock of the server says Thursday 1 January 1970, 0:00, which is before the newest tap (Monday 2 March 2026, 7:30). Set it.")
	assert.Contains(t, ana.get("/shop").text("main"), "The clock of the server says Thursday 1 January 1970, 1:00")
	assert.Contains(t, ana.get("/").text("main"), "which is before the newest tap")

	r.clock.Step(7 * time.Minute)
	require.Equal(t, http.StatusOK, ana.tap(models.TapFinish, r.step("joint")).status)
	journal := r.journal()
	assert.Equal(t, 7*time.Minute, journal[len(journal)-1].At.Sub(journal[len(journal)-2].At), "time goes on from the newest tap")
}

// openedBeside has the server open the records while another program has them open, and
// a part of their log counts as being in the file.
func openedBeside(t *testing.T, c *Config) {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join(filepath.Dir(t.TempDir()), "*", "shop.db"))
	require.NoError(t, err)
	require.Len(t, paths, 1)
	beside, err := sql.Open("sqlite3", "file:"+paths[0])
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, beside.Close()) })
	reads, err := beside.Begin()
	require.NoError(t, err)
	require.NoError(t, reads.QueryRow("SELECT count(*) FROM people").Scan(new(int)))
	_, err = c.Store.SavePerson(context.Background(), models.Person{Name: "Cleo", Active: true})
	require.NoError(t, err)
	_, err = beside.Exec("PRAGMA wal_checkpoint(PASSIVE)")
	require.NoError(t, errors.Join(err, reads.Rollback()))
	c.Store, err = models.OpenStore(context.Background(), paths[0], testrig.Monday().Now)
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, c.Store.Close()) })
}

func TestALogThatIsKeptIsTold(t *testing.T) {
	r := newRig(t, func(c *Config) { openedBeside(t, c) })
	_, reasons := r.ready()
	const said = "Another program had the records open when Faceside was started, so that their log is only added to and becomes longer. Nothing is lost. Close that program, and start Faceside anew."
	assert.Equal(t, said, reasons["log"])
	ana := r.as("Ana")
	assert.Contains(t, ana.get("/shop").text("main"), "Start Faceside anew "+said)
	assert.Equal(t, "Another program had the records open; nothing is lost. Close it, and start Faceside anew.", ana.get("/").text(".plan-note.plan-bad"))
}

func TestTheShopScreenTellsOfBackups(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "backups")
	var backups *models.Backups
	r := newRig(t, func(c *Config) {
		backups = models.NewBackups(c.Store, dir, c.Log)
		c.Backups = backups
	})
	ana := r.as("Ana")
	assert.Contains(t, ana.get("/shop").text("#backups"), "There is no good one yet.")
	require.NoError(t, backups.Take(context.Background()))
	said := ana.get("/shop").text("#backups")
	assert.Contains(t, said, "Last good one: 8:30. 1 is kept")
	assert.Contains(t, said, dir)

	require.NoError(t, os.RemoveAll(dir))
	require.NoError(t, os.WriteFile(dir, nil, 0o600))
	r.clock.Step(time.Hour)
	require.Error(t, backups.Take(context.Background()))
	assert.Contains(t, ana.get("/shop").text("main"), "The last backup failed 9:30: The folder of backups cannot be used: not a directory. Last good one: 8:30.")
	assert.Empty(t, newRig(t).as("Ana").get("/shop").text("#backups"), "nothing of it where none are made")
}

func TestTapsAreCountedByOutcome(t *testing.T) {
	counts := prometheus.NewRegistry()
	r := newRig(t, func(c *Config) { c.Measures = counts })
	r.take("Hall shelf")
	ana := r.as("Ana")
	id := uuid.NewString()
	start := func() { ana.post("/tap", url.Values{"tap_id": {id}, "kind": {"start"}, "step": {"1"}}) }
	start()
	start()
	ana.tap(models.TapOut, r.step("joint"))
	want := `# HELP faceside_taps_total Taps by what became of them: written, repeated, refused, asked (a person is asked about it), early (an earlier one has not come) or failed.
# TYPE faceside_taps_total counter
faceside_taps_total{outcome="asked"} 0
faceside_taps_total{outcome="early"} 0
faceside_taps_total{outcome="failed"} 0
faceside_taps_total{outcome="refused"} 1
faceside_taps_total{outcome="repeated"} 1
faceside_taps_total{outcome="written"} 1
`
	require.NoError(t, testutil.GatherAndCompare(counts, strings.NewReader(want), "faceside_taps_total"))
	problems, err := testutil.GatherAndLint(counts)
	require.NoError(t, err)
	assert.Empty(t, problems)
}

// A day is played with every request logged: no name, note or secret is in the log.
func TestTheLogNamesNobody(t *testing.T) {
	var log bytes.Buffer
	r := newRig(t, func(c *Config) {
		c.Log = slog.New(slog.NewJSONHandler(&log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	})
	ctx := context.Background()
	const person, client, note, piece = "Zenobia Quill", "Mrs. Hollyhock\n<script>", "knee hurts, told Zenobia", "Cradle for Hollyhock"
	_, err := r.store.SavePerson(ctx, models.Person{Name: person, Active: true})
	require.NoError(t, err)
	com := testrig.NewCommission(t, r.store, piece, "2026-03-20")
	com.Commission.Client = client
	_, err = r.store.TakeCommission(ctx, com)
	require.NoError(t, err)
	r.plan()

	who := r.as(person)
	step := r.step("joint")
	assert.Equal(t, http.StatusOK, who.tap(models.TapStart, step).status)
	who.tap(models.TapStart, r.step("sand"))
	who.post("/tap", url.Values{"tap_id": {uuid.NewString()}, "kind": {"trouble"}, "step": {"1"}, "note": {note}})
	who.post("/shop/people", url.Values{"name": {person}, "active": {"1"}})
	who.post("/shop/calendars", url.Values{})
	var secret string
	if feed := who.get("/shop").doc.Find("#calendars input[readonly]").AttrOr("value", ""); feed != "" {
		secret = strings.TrimSuffix(filepath.Base(feed), ".ics")
		who.get("/calendars/shop/" + secret + ".ics")
	}
	require.NotEmpty(t, secret)
	for _, path := range []string{"/", "/week", "/commissions", "/commissions/1", "/steps/1", "/shop", "/Zenobia%20Quill", "/patterns/cradle-for-hollyhock/file", "/commissions/new/zenobia?client=Hollyhock", "/api/v1/steps"} {
		who.get(path)
	}
	require.NotEmpty(t, log.String())
	assert.Contains(t, log.String(), `"path":"/steps/1"`)
	assert.Contains(t, log.String(), `"path":"/calendars/shop/:secret"`)
	for _, told := range []string{"Zenobia", "Quill", "Hollyhock", "hollyhock", "knee", secret, "zenobia", "script"} {
		assert.NotContains(t, log.String(), told)
	}
}
