package planner

import (
	"context"
	"fmt"
	"sync"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// saved is a channel of the revisions of the plans that are saved.
func saved(t testing.TB, store *models.Store) <-chan int64 {
	ch := make(chan int64, 1000)
	t.Cleanup(store.OnChange(func(c models.Change) {
		if c.Kind == models.ChangedPlan {
			ch <- c.Revision
		}
	}))
	return ch
}

// await returns when a plan of a revision, or a later one, is saved.
func await(t testing.TB, ch <-chan int64, revision int64) {
	t.Helper()
	late := time.After(30 * time.Second)
	for {
		select {
		case r := <-ch:
			if r >= revision {
				return
			}
		case <-late:
			require.Failf(t, "no plan", "of revision %d", revision)
		}
	}
}

// running runs a planner until the test ends.
func running(t testing.TB, s *Service) (stop func()) {
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- s.Run(ctx) }()
	stopped := false
	stop = func() {
		if stopped {
			return
		}
		stopped = true
		cancel()
		require.NoError(t, <-done)
	}
	t.Cleanup(stop)
	return stop
}

func TestRunPlansAfterEveryChange(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	r.service = New(r.store, quiet(), Options{Debounce: time.Millisecond, Work: work, Seed: 1})
	c := r.take("Shelf", "2026-12-08")
	ch := saved(t, r.store)
	stop := running(t, r.service)
	await(t, ch, r.snap().Shop.Revision)
	r.tap(models.TapStart, "Ana", c, "joint")
	revision := r.snap().Shop.Revision
	await(t, ch, revision)
	snap := r.snap()
	assert.Equal(t, revision, snap.Plan.Revision)
	assert.Equal(t, []models.ID{testrig.Person(t, snap, "Ana")}, snap.Planned(r.step(c, "joint").ID).PersonIDs)
	stop()
	status := r.service.Status()
	assert.Equal(t, Status{PlanRevision: revision, ShopRevision: revision}, status)
}

func TestAChangeBreaksOffTheSearch(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	r.service = New(r.store, quiet(), Options{Debounce: time.Millisecond, FirstLimit: 5 * time.Millisecond, Improve: time.Hour})
	a := r.take("Shelf A", "2026-12-03")
	for i := range 8 {
		r.take(fmt.Sprint("Shelf ", i), "2026-12-04")
	}
	ch := saved(t, r.store)
	stop := running(t, r.service)
	await(t, ch, r.snap().Shop.Revision)
	for _, kind := range []models.TapKind{models.TapStart, models.TapPutDown, models.TapStart} {
		r.tap(kind, "Ana", a, "joint")
		await(t, ch, r.snap().Shop.Revision)
	}
	stop() // and this breaks off the last one, an hour early
	assert.False(t, r.service.Status().Planning)
	assert.Empty(t, r.service.Status().LastError.String())
}

// Somebody taps without a pause: plans are made all the same, and the newest one
// when it is quiet again.
func TestPlansAreMadeWhileSomebodyTapsAllTheTime(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	r.service = New(r.store, quiet(), Options{Debounce: time.Millisecond, FirstLimit: 5 * time.Millisecond, Improve: time.Hour})
	c := r.take("Shelf", "2026-12-08")
	ch := saved(t, r.store)
	stop := running(t, r.service)
	await(t, ch, r.snap().Shop.Revision)
	tap := models.TapRequest{StepID: r.step(c, "joint").ID, PersonID: testrig.Person(t, r.snap(), "Ana")}
	tapping, enough := context.WithCancel(ctx)
	var tapped sync.WaitGroup
	tapped.Go(func() {
		for n := 0; tapping.Err() == nil; n++ {
			tap.ID, tap.Kind = uuid.NewString(), []models.TapKind{models.TapStart, models.TapPutDown}[n%2]
			_, err := r.store.Tap(ctx, tap)
			assert.NoError(t, err)
		}
	})
	for range 3 {
		await(t, ch, r.snap().Shop.Revision)
	}
	enough()
	tapped.Wait()
	await(t, ch, r.snap().Shop.Revision)
	stop()
	assert.False(t, r.service.Status().Planning)
}

func TestPlanningLeavesThreeQuartersOfTheTime(t *testing.T) {
	assert.Equal(t, 240*time.Millisecond, pauseAfter(80*time.Millisecond))
	assert.Equal(t, longestPause, pauseAfter(3*time.Second), "a plan every few seconds at least")
}

func TestRunSaysWhyThereIsNoPlanAndGoesOn(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	r.service = New(r.store, quiet(), Options{Debounce: time.Millisecond, Work: work})
	require.NoError(t, r.store.SaveHours(ctx, nil))
	told := make(chan struct{}, 100)
	r.service.log = slogTo(told)
	ch := saved(t, r.store)
	running(t, r.service)
	select {
	case <-told:
	case <-time.After(30 * time.Second):
		require.Fail(t, "nothing was logged")
	}
	assert.Contains(t, r.service.Status().LastError.String(), "The shop has no opening hours")
	require.NoError(t, r.store.SaveHours(ctx, testrig.Week()))
	await(t, ch, r.snap().Shop.Revision)
	assert.Eventually(t, func() bool { return r.service.Status().LastError.Empty() }, 10*time.Second, time.Millisecond)
}

func TestWhenThePlanIsMadeAnewByTheClock(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.lone("One", "2026-12-04", inClamps(r, "a"), job("b", 30))
	assert.Equal(t, 10*time.Minute, r.service.next(r.snap()), "while the shop is open, every ten minutes")
	r.at("2026-12-01 08:02")
	r.do("Ana", c, "a") // out of clamps at 12:32
	r.at("2026-12-01 12:25")
	assert.Equal(t, 7*time.Minute, r.service.next(r.snap()), "when the rest ends")
	r.at("2026-12-01 12:33")
	assert.Equal(t, 10*time.Minute, r.service.next(r.snap()))
	r.at("2026-12-01 17:00")
	assert.Equal(t, 15*time.Hour, r.service.next(r.snap()), "overnight: when the shop opens")
	require.NoError(t, r.store.SaveHours(ctx, nil))
	assert.Zero(t, r.service.next(r.snap()), "never")
}

// While the clock stands just before the end of a rest the planner looks again
// and again; when the clock has passed it the step is out of the plan.
func TestRunPlansWhenARestIsOver(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	r.service = New(r.store, quiet(), Options{Debounce: time.Millisecond, Work: 5})
	c := r.lone("One", "2026-12-04", inClamps(r, "a"), job("b", 30))
	r.do("Ana", c, "a")
	r.clock.Set(local(t, "2026-12-01 12:30").Add(-20 * time.Millisecond))
	ch := saved(t, r.store)
	running(t, r.service)
	revision := r.snap().Shop.Revision
	await(t, ch, revision)
	assert.Len(t, r.snap().Plan.Steps, 2)
	r.at("2026-12-01 12:30")
	for len(r.snap().Plan.Steps) == 2 {
		await(t, ch, revision)
	}
	start, _, _ := r.placed(r.snap().Plan, c, "b")
	assert.Equal(t, "2026-12-01 12:30", start)
}

func TestPlanIsTheSameForTheSameRecords(t *testing.T) {
	var starts [2]string
	for i := range starts {
		r := newRig(t, "2026-12-01 08:00")
		r.take("Shelf A", "2026-12-03")
		r.take("Shelf B", "2026-12-02")
		p := r.plan()
		for _, s := range p.Steps {
			starts[i] += fmt.Sprintln(s.StepID, s.SetupStart, s.Start, s.End, s.PersonIDs)
		}
	}
	assert.Equal(t, starts[0], starts[1])
}

func TestOrderIsKeptUnlessAnotherIsWorthIt(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	a, b := r.take("Shelf A", "2026-12-08"), r.take("Shelf B", "2026-12-08")
	before := r.plan()
	r.at("2026-12-01 08:25") // everything has slipped by 25 min, the order stands
	p := r.plan()
	assert.Zero(t, p.Moved)
	order := func(p *models.Plan, key string) bool {
		x, _, _ := r.placed(p, a, key)
		y, _, _ := r.placed(p, b, key)
		return x < y
	}
	for _, key := range []string{"joint", "plane", "glue-panel", "coat-1"} {
		assert.Equal(t, order(before, key), order(p, key), key)
	}
}

// busyShop is a shop with so many steps, ten a commission.
func busyShop(b *testing.B, steps int) (*models.Store, *testrig.Clock) {
	clock := testrig.NewClock(local(b, "2026-12-01 08:00"))
	store := testrig.Shop(b, clock)
	for i := range steps / 10 {
		testrig.Commission(b, store, fmt.Sprint("Shelf ", i), local(b, "2026-12-03 08:00").AddDate(0, 0, i/3).Format(time.DateOnly))
	}
	return store, clock
}

// From a tap to the first plan saved after it, the wait for further taps included.
func BenchmarkFirstPlanAfterATap(b *testing.B) {
	for _, steps := range []int{300, 1500} {
		b.Run(fmt.Sprint(steps, " steps"), func(b *testing.B) {
			store, _ := busyShop(b, steps)
			service := New(store, quiet(), Options{})
			ch := saved(b, store)
			stop := running(b, service)
			snap := testrig.Snapshot(b, store)
			await(b, ch, snap.Shop.Revision)
			tap := models.TapRequest{StepID: testrig.Step(b, snap, "joint").ID, PersonID: testrig.Person(b, snap, "Ana")}
			b.ResetTimer()
			for i := range b.N {
				tap.ID, tap.Kind = uuid.NewString(), []models.TapKind{models.TapStart, models.TapPutDown}[i%2]
				_, err := store.Tap(ctx, tap)
				require.NoError(b, err)
				await(b, ch, snap.Shop.Revision+int64(i)+1)
			}
			b.StopTimer()
			stop()
		})
	}
}

func BenchmarkPose(b *testing.B) {
	for _, steps := range []int{300, 1500} {
		b.Run(fmt.Sprint(steps, " steps"), func(b *testing.B) {
			store, _ := busyShop(b, steps)
			snap := testrig.Snapshot(b, store)
			b.ResetTimer()
			for range b.N {
				_, err := pose(snap)
				require.NoError(b, err)
			}
		})
	}
}

func BenchmarkNext(b *testing.B) {
	store, _ := busyShop(b, 300)
	service := New(store, quiet(), Options{})
	_, err := service.Plan(ctx)
	require.NoError(b, err)
	snap := testrig.Snapshot(b, store)
	b.ResetTimer()
	for range b.N {
		require.NotEmpty(b, Next(snap, 1, snap.At))
	}
}

// What a form waits for while a new piece is thought over.
func BenchmarkDraft(b *testing.B) {
	store, _ := busyShop(b, 300)
	service := New(store, quiet(), Options{})
	_, err := service.Plan(ctx)
	require.NoError(b, err)
	b.ResetTimer()
	for range b.N {
		_, err := service.Draft(ctx, tray(), "2026-12-24", 3, AtOnce)
		require.NoError(b, err)
	}
}
