package handlers

import (
	"bytes"
	"encoding/json"
	"log/slog"
	"net/http"
	"net/url"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig/disk"
)

// A tap that the disk has no room for, or that it fails for, is told as such and is
// not settled: the tablet keeps it, and it is written once when it is sent again.
func TestAFullDiskIsSaidAndTheTapStaysOnItsTablet(t *testing.T) {
	d := disk.Watch(t, filepath.Dir(t.TempDir())) // where the rig's folders are made
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	q := ana.queue()
	start := q.next(models.TapStart, r.step("joint"))
	const full = "Could not record the tap: the disk that the records are on is full. Nothing was changed. Make room on it."
	for _, c := range []struct {
		fault  disk.Fault
		status int
		says   string
	}{
		{disk.Fault{Call: disk.Write, From: 1, Error: syscall.ENOSPC}, http.StatusInsufficientStorage, full},
		{disk.Fault{Call: disk.Write, From: 1, Error: syscall.ENOSPC, Short: true}, http.StatusInsufficientStorage, full},
		{disk.Fault{Call: disk.Sync, From: 1, Error: syscall.EIO}, http.StatusServiceUnavailable,
			"Could not record the tap: the disk that the records are on fails. Nothing was changed. Make a backup onto another disk and replace it."},
	} {
		d.Fail(c.fault)
		p := ana.post("/tap", start)
		assert.Equal(t, c.status, p.status)
		var a tapAnswer
		require.NoError(t, json.Unmarshal([]byte(p.body), &a), p.body)
		assert.Equal(t, tapAnswer{Why: c.says, Now: r.clock.Now()}, a, "no state: it is still to be sent")

		plain := ana.post("/tap", url.Values{"tap_id": {uuid.NewString()}, "kind": {string(models.TapStart)}, "step": start["step"]})
		assert.Equal(t, c.status, plain.status)
		assert.Contains(t, readable(plain.doc.Find("main")), c.says)
		require.Error(t, r.store.Writable(r.Context()), c.says)
		d.Fail(disk.Fault{})
		assert.Empty(t, r.journal())
	}
	require.NoError(t, r.store.Writable(r.Context()))
	assert.Equal(t, "written", q.send(start).State)
	assert.Len(t, r.journal(), 1)
}

// Where a form finds the disk full, what was typed is still in it, and the log says that
// the server failed, though not what was typed.
func TestAFormThatFindsTheDiskFullKeepsWhatWasTyped(t *testing.T) {
	d := disk.Watch(t, filepath.Dir(t.TempDir()))
	var log bytes.Buffer
	r := newRig(t, func(c *Config) { c.Log = slog.New(slog.NewTextHandler(&log, nil)) })
	d.Fail(disk.Fault{Call: disk.Write, From: 1, Error: syscall.ENOSPC})
	p := r.as("Ana").post("/shop/people", url.Values{"name": {"Cleo"}, "active": {"on"}})
	d.Fail(disk.Fault{})
	assert.Equal(t, http.StatusInsufficientStorage, p.status)
	assert.Contains(t, readable(p.doc.Find("#people-new")), "Could not save the person: the disk that the records are on is full.")
	assert.Equal(t, "Cleo", p.doc.Find("#people-new [name=name]").AttrOr("value", ""))
	assert.Len(t, r.snap().People, 2)
	r.server.Close() // what it had to log is logged
	assert.Contains(t, log.String(), "level=WARN msg=answered method=POST path=/shop/people status=507")
	assert.NotContains(t, log.String(), "Cleo")
}
