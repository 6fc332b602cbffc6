package main

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus/testutil/promlint"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestServeIsMeasured(t *testing.T) {
	dir := t.TempDir()
	metrics := make(chan string, 1)
	_, stop := startProgram(t, func(ctx context.Context, stdout io.Writer) error {
		o := loopback(dir)
		o.metrics, o.log.file, o.log.form, o.log.debug = "127.0.0.1:0", filepath.Join(dir, "log"), "json", true
		return serve(ctx, o, io.MultiWriter(stdout, lineWith("It can be measured at ", metrics)), io.Discard)
	})
	var text []byte
	require.Eventually(t, func() bool { // until the first plan and the first backup are there
		answer, err := http.Get(<-metrics)
		require.NoError(t, err)
		metrics <- answer.Request.URL.String()
		defer answer.Body.Close()
		text, err = io.ReadAll(answer.Body)
		require.NoError(t, err)
		return bytes.Contains(text, []byte("faceside_backup_age_seconds")) && bytes.Contains(text, []byte("faceside_plan_age_seconds"))
	}, patience, 10*time.Millisecond)
	problems, err := promlint.New(bytes.NewReader(text)).Lint()
	require.NoError(t, err, "the format can be read")
	assert.Empty(t, problems)
	for _, want := range []string{"faceside_backups 1", "faceside_clock_right 1", "faceside_log_shortened 1", `faceside_taps_total{outcome="written"} 0`, "faceside_streams 0",
		`faceside_planning_seconds_count{outcome="saved"}`, "faceside_records_bytes ", "faceside_taps_questions 0", "go_goroutines "} {
		assert.Contains(t, string(text), want)
	}
	require.NoError(t, stop())
}

// lineWith sends what follows a text in what is written.
func lineWith(text string, found chan<- string) io.Writer {
	return writerFunc(func(p []byte) {
		if _, rest, ok := strings.Cut(string(p), text); ok {
			found <- strings.TrimSpace(rest)
		}
	})
}

type writerFunc func([]byte)

func (f writerFunc) Write(p []byte) (int, error) { f(p); return len(p), nil }

func TestMeasurementsStayOnThisMachine(t *testing.T) {
	for address, want := range map[string]string{
		"0.0.0.0:0": "can be reached from the network: it must be an address of this machine alone",
		"nowhere":   "cannot listen on -metrics nowhere",
	} {
		o := loopback(t.TempDir())
		o.metrics = address
		require.ErrorContains(t, serve(context.Background(), o, io.Discard, io.Discard), want)
	}
}

func TestTheLogBeginsAnew(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log")
	flags := logFlags{form: "json", file: path}
	log, end, err := flags.open(io.Discard)
	require.NoError(t, err)
	line := strings.Repeat("x", logMost/4)
	for n := range 6 {
		log.Info(line, "n", n)
	}
	require.NoError(t, end())
	newest, err := filepath.Glob(path + "*")
	require.NoError(t, err)
	assert.Equal(t, []string{path, path + olderLog}, newest)

	require.NoError(t, os.Remove(path+olderLog))
	require.NoError(t, os.MkdirAll(filepath.Join(path+olderLog, "in the way"), 0o750))
	log, end, err = flags.open(io.Discard)
	require.NoError(t, err)
	for range 6 {
		log.Info(line)
	}
	log.Info("the last one")
	require.NoError(t, end())
	kept, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Contains(t, string(kept), "the last one", "a log that cannot begin anew goes on")

	_, _, err = (&logFlags{form: "xml"}).open(io.Discard)
	require.EqualError(t, err, `-log is "xml": it must be text or json`)
	_, _, err = (&logFlags{file: filepath.Join(path, "log")}).open(io.Discard)
	require.ErrorContains(t, err, "cannot be written")
}
