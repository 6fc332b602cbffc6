package handlers

import (
	"bufio"
	"context"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

// BenchmarkTapReachesTablets taps while 200 tablets listen, and reports how long
// it took from the sending of a tap until the slowest in a hundred of all
// tablets' streams had it: over real HTTP, tablets and server in one process.
func BenchmarkTapReachesTablets(b *testing.B) {
	const tablets = 200
	store := testrig.Shop(b, testrig.Monday())
	cfg := config(b, store)
	handler, err := New(cfg)
	require.NoError(b, err)
	server := httptest.NewServer(handler)
	defer server.Close()
	testrig.Commission(b, store, "Shelf", "2026-06-30")
	snap := testrig.Snapshot(b, store)
	person, step := testrig.Person(b, snap, "Ana"), testrig.Step(b, snap, "joint").ID

	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	var all sync.WaitGroup
	heard := make(chan time.Time, tablets)
	for range tablets {
		ready := make(chan error, 1)
		all.Go(func() { listenFor(ctx, server.URL, ready, heard) })
		require.NoError(b, <-ready)
	}
	var took []time.Duration
	kinds := []models.TapKind{models.TapStart, models.TapPutDown}
	n := 0
	for b.Loop() {
		form := url.Values{"queue": {"q"}, "number": {strconv.Itoa(n + 1)}, "tap_id": {uuid.NewString()}, "kind": {string(kinds[n%2])},
			"step": {strconv.FormatInt(step, 10)}, "person": {strconv.FormatInt(person, 10)}}
		n++
		sent := time.Now()
		res, err := http.PostForm(server.URL+"/tap", form)
		require.NoError(b, err)
		require.NoError(b, res.Body.Close())
		for range tablets {
			took = append(took, (<-heard).Sub(sent))
		}
	}
	stop()
	all.Wait()
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "p99-ms")
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "p50-ms")
}

// listenFor opens a tablet's stream and says when each tap came.
func listenFor(ctx context.Context, server string, ready chan<- error, heard chan<- time.Time) {
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, server+"/live", nil)
	if err != nil {
		ready <- err
		return
	}
	req.AddCookie(&http.Cookie{Name: tabletCookie, Value: uuid.NewString()})
	res, err := http.DefaultClient.Do(req)
	ready <- err
	if err != nil {
		return
	}
	defer res.Body.Close()
	for lines := bufio.NewScanner(res.Body); lines.Scan(); {
		if strings.HasPrefix(lines.Text(), `data: {"kinds":["tap"]`) {
			heard <- time.Now()
		}
	}
}
