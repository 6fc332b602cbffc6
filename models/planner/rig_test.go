package planner

import (
	"context"
	"log/slog"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/sequence"
	"faceside/models/testrig"

	"github.com/google/uuid"

	"github.com/stretchr/testify/require"
)

// rig is a small shop and a planner over it, whose plans depend on nothing but
// the records and the clock.
type rig struct {
	*testing.T
	clock   *testrig.Clock
	store   *models.Store
	service *Service
}

// work is enough for plans of a few commissions to be good.
const work = 300

func newRig(t *testing.T, at string) *rig {
	t.Helper()
	clock := testrig.NewClock(local(t, at))
	store := testrig.Shop(t, clock)
	return &rig{T: t, clock: clock, store: store, service: New(store, quiet(), Options{Work: work, Seed: 1})}
}

func quiet() *slog.Logger { return slog.New(slog.DiscardHandler) }

// local reads "2026-12-01 08:00" as a time in the test shop's zone.
func local(t testing.TB, at string) time.Time {
	t.Helper()
	loc, err := time.LoadLocation(testrig.Zone)
	require.NoError(t, err)
	when, err := time.ParseInLocation("2006-01-02 15:04", at, loc)
	require.NoError(t, err)
	return when
}

// plan plans, checks the answer against the problem by the engine's own
// checker, and returns what was saved.
func (r *rig) plan() *models.Plan {
	r.Helper()
	checkPosed(r.T, r.snap())
	p, err := r.service.Plan(context.Background())
	require.NoError(r, err)
	return p
}

func (r *rig) snap() *models.Snapshot { return testrig.Snapshot(r.T, r.store) }

// checkPosed poses and solves the problem of a snapshot and has the checker
// look at the answer.
func checkPosed(t require.TestingT, snap *models.Snapshot) (*posed, *sequence.Plan) {
	o := options{}
	o.Work, o.Seed = work, 1
	q, answer, err := solve(context.Background(), snap, o)
	require.NoError(t, err)
	require.NoError(t, q.Validate())
	require.NoError(t, sequence.Check(q.Problem, answer))
	return q, answer
}

// take stores a commission of testrig's ten steps.
func (r *rig) take(name, promisedOn string) *models.Commission {
	r.Helper()
	return testrig.Commission(r.T, r.store, name, promisedOn)
}

// step returns a step of a commission by its key.
func (r *rig) step(c *models.Commission, key string) *models.Step {
	r.Helper()
	return stepIn(r.T, r.snap(), c.ID, key)
}

func stepIn(t testing.TB, snap *models.Snapshot, commission models.ID, key string) *models.Step {
	t.Helper()
	for _, st := range snap.StepsOf(commission) {
		if st.Key == key {
			return st
		}
	}
	require.Failf(t, "no such step", "%q", key)
	return nil
}

// tap says something about a step.
func (r *rig) tap(kind models.TapKind, who string, c *models.Commission, key string) {
	r.Helper()
	snap := r.snap()
	_, err := r.store.Tap(context.Background(), models.TapRequest{ID: uuid.NewString(), Kind: kind,
		StepID: stepIn(r.T, snap, c.ID, key).ID, PersonID: testrig.Person(r.T, snap, who)})
	require.NoError(r, err)
}

// do starts a step, works its estimate and finishes it.
func (r *rig) do(who string, c *models.Commission, keys ...string) {
	r.Helper()
	for _, key := range keys {
		st := r.step(c, key)
		r.tap(models.TapStart, who, c, key)
		r.clock.Step(time.Duration(st.Attended) * time.Minute)
		r.tap(models.TapFinish, who, c, key)
	}
}

// at moves the clock to a local time.
func (r *rig) at(when string) { r.clock.Set(local(r.T, when)) }

// placed returns where a plan has a step, in local time.
func (r *rig) placed(p *models.Plan, c *models.Commission, key string) (start, attendedEnd, end string) {
	r.Helper()
	loc := r.clock.Now().In(mustZone(r.T)).Location()
	id := r.step(c, key).ID
	for _, s := range p.Steps {
		if s.StepID == id {
			const layout = "2006-01-02 15:04"
			return s.Start.In(loc).Format(layout), s.AttendedEnd.In(loc).Format(layout), s.End.In(loc).Format(layout)
		}
	}
	require.Failf(r, "not in the plan", "%q", key)
	return "", "", ""
}

func mustZone(t testing.TB) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(testrig.Zone)
	require.NoError(t, err)
	return loc
}

// lone is a commission whose only steps are the given ones, the first on a
// bench where nothing else says so; links go from each to the next.
func (r *rig) lone(name, promisedOn string, steps ...models.NewStep) *models.Commission {
	r.Helper()
	snap := r.snap()
	n := models.NewCommission{Commission: models.Commission{Name: name, PromisedOn: promisedOn, Weight: 3},
		Pieces: []models.NewPiece{{Piece: models.Piece{Name: name}, Steps: steps}}}
	for i := range steps {
		if steps[i].StationID == 0 {
			steps[i].StationID = testrig.Station(r.T, snap, "bench").ID
		}
		if i > 0 {
			n.Pieces[0].Links = append(n.Pieces[0].Links, models.NewLink{Before: steps[i-1].Key, After: steps[i].Key, Link: models.Link{From: models.FromEnd}})
		}
	}
	c, err := r.store.TakeCommission(context.Background(), n)
	require.NoError(r, err)
	return c
}

// job is a step of so many minutes for one person, which may be interrupted.
func job(key string, attended int) models.NewStep {
	return models.NewStep{Step: models.Step{Key: key, Name: "Step " + key, Kind: "any", Phase: "shaping", Verb: "do",
		Attended: attended, Hands: 1, Interruptible: true}}
}

// slogTo is a log that tells of each line.
func slogTo(ch chan<- struct{}) *slog.Logger {
	return slog.New(slog.NewTextHandler(telling(ch), nil))
}

type telling chan<- struct{}

func (t telling) Write(p []byte) (int, error) {
	t <- struct{}{}
	return len(p), nil
}
