package main

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"net"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"faceside/handlers"
	"faceside/models"
	"faceside/models/planner"
	"faceside/models/testrig"
	"faceside/seed"
	"faceside/static"
)

// stage is a shop on which the screens are looked at, state by state. Its planner
// plans when it is told to and not by itself: nothing moves while a screen is
// measured.
type stage struct {
	t       *testing.T
	store   *models.Store
	clock   interface{ Set(time.Time) }
	now     func() time.Time
	plans   *planner.Service
	with    handlers.Config // what it is served with beside its own: backups, an authority
	address string
	stop    func() error
}

// demoStage serves the demo shop; rigStage a small shop with one shelf to make;
// newStage one that nobody has filled in yet.
func demoStage(t *testing.T) *stage {
	d := openDemo(t)
	return openStage(t, d.store, d.clock, d.clock.Now)
}

func rigStage(t *testing.T) *stage {
	clock := testrig.Monday()
	store := testrig.Shop(t, clock)
	testrig.Commission(t, store, "Shelf", "2026-03-20")
	return openStage(t, store, clock, clock.Now)
}

func newStage(t *testing.T) *stage {
	clock := testrig.Monday()
	store := testrig.Open(t, clock)
	require.NoError(t, seed.FitOut(context.Background(), store, testrig.Zone))
	return openStage(t, store, clock, clock.Now)
}

func openStage(t *testing.T, store *models.Store, clock interface{ Set(time.Time) }, now func() time.Time) *stage {
	log := slog.New(slog.NewTextHandler(t.Output(), nil))
	st := &stage{t: t, store: store, clock: clock, now: now, plans: planner.New(store, log, planner.Options{Work: quickWork, Seed: 1})}
	st.plan()
	st.serve("127.0.0.1:0")
	t.Cleanup(func() { require.NoError(t, st.stop()) })
	return st
}

// serve has the shop served until stop.
func (st *stage) serve(listen string) {
	st.t.Helper()
	library, err := seed.Library()
	require.NoError(st.t, err)
	st.address, st.stop = startProgram(st.t, func(ctx context.Context, stdout io.Writer) error {
		handler, err := handlers.New(handlers.Config{
			Store: st.store, Planner: st.plans, Library: library, Static: static.Files(), Missing: static.Missing(),
			Log: slog.New(slog.NewTextHandler(st.t.Output(), nil)), Stopping: ctx.Done(), Trust: st.with.Trust, Backups: st.with.Backups,
		})
		if err != nil {
			return err
		}
		listener, err := net.Listen("tcp", listen)
		if err != nil {
			return err
		}
		fmt.Fprintf(stdout, "Faceside serves on http://%s\n", listener.Addr())
		return serveHTTP(ctx, listener, handlers.HTTPServer(handler, slog.New(slog.NewTextHandler(st.t.Output(), nil))))
	})
}

func (st *stage) plan() {
	st.t.Helper()
	_, err := st.plans.Plan(context.Background())
	require.NoError(st.t, err)
}

func (st *stage) snapshot() *models.Snapshot {
	st.t.Helper()
	return testrig.Snapshot(st.t, st.store)
}

// wait moves the clock on and plans anew.
func (st *stage) wait(d time.Duration) {
	st.t.Helper()
	st.clock.Set(st.now().Add(d))
	st.plan()
}

// tap has somebody tap on a step, and plans anew.
func (st *stage) tap(kind models.TapKind, step models.ID, person string) {
	st.t.Helper()
	_, err := st.store.Tap(context.Background(), models.TapRequest{
		ID: uuid.NewString(), Kind: kind, StepID: step, PersonID: testrig.Person(st.t, st.snapshot(), person), Note: "A knot fell out",
	})
	require.NoError(st.t, err)
	st.plan()
}

// make has somebody begin and end the step with that key.
func (st *stage) make(person, key string) {
	st.t.Helper()
	step := testrig.Step(st.t, st.snapshot(), key).ID
	st.tap(models.TapStart, step, person)
	st.wait(10 * time.Minute)
	st.tap(models.TapFinish, step, person)
}

// inHand is the step a person works on.
func (st *stage) inHand(person string) models.ID {
	st.t.Helper()
	snap := st.snapshot()
	who := testrig.Person(st.t, snap, person)
	for _, s := range snap.Steps {
		if s.State == models.InHand && s.PersonID != nil && *s.PersonID == who {
			return s.ID
		}
	}
	require.Failf(st.t, "nothing in hand", "%s", person)
	return 0
}
