package main

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/planner"
	"faceside/seed"
)

// demoDay is the day the demo starts on in tests and pictures.
const demoDay = "2026-11-24"

// demoOnce makes the demo shop of demoDay once for all tests: a file that each
// takes a copy of.
var demoOnce = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "faceside-test-*")
	if err != nil {
		return "", err
	}
	demoMade = dir
	start, err := seed.DemoStartOn(demoDay)
	if err != nil {
		return "", err
	}
	ctx := context.Background()
	store, _, err := demoShop(ctx, filepath.Join(dir, "work"), seed.NewDemoClock(start), start)
	if err != nil {
		return "", err
	}
	defer store.Close()
	return dir, store.Backup(ctx, shopPath(dir))
})

// demoMade is the folder demoOnce made, to be removed in the end.
var demoMade string

func TestMain(m *testing.M) {
	// The tests serve many shops in one process: what is room enough for one would
	// have them do little else than look for more.
	if err := os.Setenv("GOMEMLIMIT", "off"); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	status := m.Run()
	if demoMade != "" {
		if err := os.RemoveAll(demoMade); err != nil {
			fmt.Fprintln(os.Stderr, err)
		}
	}
	os.Exit(status)
}

// demoServer is a demo shop of a test's own, served on a clock that stands.
type demoServer struct {
	address string
	serve   func(listen string) (address string, stop func() error)
	stop    func() error // ends the server; the store stays open
	store   *models.Store
	clock   *seed.DemoClock
	start   time.Time
}

// quickWork is a planner's budget that gives some plan at once.
const quickWork = 300

// startDemo serves a copy of the demo shop until the test is over.
func startDemo(t *testing.T, work int64) *demoServer {
	t.Helper()
	d := openDemo(t)
	d.begin(t, work)
	return d
}

// begin has the shop served until the test is over. The planner has a budget of so
// many schedules, not of seconds, so that the plan is the same on every machine; it
// is there before the first page is, and no other one comes by itself.
func (d *demoServer) begin(t *testing.T, work int64) {
	t.Helper()
	log := slog.New(slog.NewTextHandler(t.Output(), nil))
	budget := planner.Options{Work: work, Seed: 1}
	planned := make(chan struct{}, 1)
	defer d.store.OnChange(func(c models.Change) {
		if c.Kind == models.ChangedPlan {
			select {
			case planned <- struct{}{}:
			default:
			}
		}
	})()

	d.serve = func(listen string) (string, func() error) {
		address, stop := startProgram(t, func(ctx context.Context, stdout io.Writer) error {
			listener, err := net.Listen("tcp", listen)
			if err != nil {
				return err
			}
			return serveStore(ctx, served{
				store: d.store, listener: listener, out: stdout, notes: io.Discard,
				planner: budget, log: log, by: reached{hosts: []string{otherMachine}},
			})
		})
		t.Cleanup(func() { require.NoError(t, stop()) })
		return address, stop
	}
	d.address, d.stop = d.serve("127.0.0.1:0")
	select {
	case <-planned:
	case <-time.After(patience):
		t.Fatal("no plan was made")
	}
}

// openDemo opens a copy of the demo shop that is neither served nor planned.
func openDemo(t *testing.T) *demoServer {
	t.Helper()
	template, err := demoOnce()
	require.NoError(t, err)
	data, err := os.ReadFile(shopPath(template))
	require.NoError(t, err)
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(shopPath(dir), data, 0o600))
	start, err := seed.DemoStartOn(demoDay)
	require.NoError(t, err)
	d := &demoServer{clock: seed.NewDemoClock(start), start: start}
	d.store, err = models.OpenStore(context.Background(), shopPath(dir), d.clock.Now)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, d.store.Close()) })
	return d
}

// goAway ends the server; comeBack has one serve the same shop at the same address.
func (d *demoServer) goAway(t *testing.T) {
	t.Helper()
	require.NoError(t, d.stop())
}

func (d *demoServer) comeBack(t *testing.T) {
	t.Helper()
	_, d.stop = d.serve(d.address)
}

// tapped writes one row of the journal, as somebody else's tablet would.
func (d *demoServer) tapped(t *testing.T, r models.TapRequest) {
	t.Helper()
	r.ID = uuid.NewString()
	_, err := d.store.Tap(context.Background(), r)
	require.NoError(t, err)
}

func (d *demoServer) snap(t *testing.T) *models.Snapshot {
	t.Helper()
	snap, err := d.store.Snapshot(context.Background())
	require.NoError(t, err)
	return snap
}
