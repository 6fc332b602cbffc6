package main

import (
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig/disk"
)

// A tablet whose taps find the server's disk full says so, keeps them, and sends each
// once when there is room again.
func TestBrowserAFullDisk(t *testing.T) {
	t.Parallel()
	d := disk.Watch(t, filepath.Dir(t.TempDir())) // where the shop's folder is made
	shop, tb := benchOf(t, "Maren")
	tb.forgive("507")
	tb.knowsNext()
	before := shop.journal(t, 0)
	d.Fail(disk.Fault{Call: disk.Write, From: 1, Error: syscall.ENOSPC})
	tb.tapOn(2, 0)
	tb.until("it says why", func() bool { return tb.count("#not-sent .cannot:not([hidden])") == 1 })
	assert.Equal(t, "The server cannot take taps now. They are sent again by themselves. Could not record the tap: the disk that the records are on is full. Nothing was changed. Make room on it.",
		tb.text("#not-sent .cannot"))
	assert.Zero(t, tb.count("#away:not([hidden])"), "the server is there")
	assert.Len(t, shop.journal(t, 0), len(before))

	d.Fail(disk.Fault{})
	tb.isBack()
	assert.Zero(t, tb.count("#not-sent .cannot:not([hidden])"))
	after := shop.journal(t, 0)
	require.Len(t, after, len(before)+2, "each once")
	assert.Equal(t, models.TapFinish, after[len(before)].Kind)
	assert.Equal(t, models.TapStart, after[len(before)+1].Kind)
}
