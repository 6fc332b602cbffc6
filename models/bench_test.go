package models_test

import (
	"context"
	"fmt"
	"sync"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/require"
)

// crowded is a shop with commissions of ten steps each and a plan over them.
func crowded(b *testing.B, steps int) (*models.Store, *testrig.Clock) {
	b.Helper()
	clock := testrig.Monday()
	store := testrig.Shop(b, clock)
	for i := range steps / 10 {
		testrig.Commission(b, store, fmt.Sprintf("Shelf %d", i), "2026-06-01")
	}
	require.NoError(b, store.SavePlan(context.Background(), planOf(testrig.Snapshot(b, store))))
	return store, clock
}

// planOf puts all steps of a snapshot one after another.
func planOf(snap *models.Snapshot) *models.Plan {
	p := &models.Plan{Origin: snap.At, Revision: snap.Shop.Revision, Status: "feasible", Objective: 10, Bound: 2, Seed: 1}
	at := snap.At
	for _, s := range snap.Steps {
		end := at.Add(time.Duration(s.Attended) * time.Minute)
		p.Steps = append(p.Steps, models.PlanStep{StepID: s.ID, SetupStart: at, Start: at, AttendedEnd: end,
			End: end.Add(time.Duration(s.Unattended) * time.Minute), PersonIDs: []models.ID{1}})
		if s.SetupID != nil {
			p.Setups = append(p.Setups, models.PlanSetup{StationID: s.StationID, SetupID: *s.SetupID, StepID: s.ID, Start: at, Minutes: 3})
		}
		at = end
	}
	return p
}

func BenchmarkSnapshot(b *testing.B) {
	for _, steps := range []int{300, 1500} {
		b.Run(fmt.Sprint(steps), func(b *testing.B) {
			store, _ := crowded(b, steps)
			for b.Loop() {
				_, err := store.Snapshot(context.Background())
				require.NoError(b, err)
			}
		})
	}
}

func BenchmarkTap(b *testing.B) {
	for _, steps := range []int{300, 1500} {
		b.Run(fmt.Sprint(steps), func(b *testing.B) {
			store, clock := crowded(b, steps)
			snap := testrig.Snapshot(b, store)
			kinds := []models.TapKind{models.TapStart, models.TapPutDown}
			step, n := snap.Steps[0].ID, 0
			for b.Loop() {
				clock.Step(time.Minute)
				_, err := store.Tap(context.Background(), models.TapRequest{ID: fmt.Sprint(n), Kind: kinds[n%2], StepID: step, PersonID: 1})
				require.NoError(b, err)
				n++
			}
		})
	}
}

func BenchmarkSavePlan(b *testing.B) {
	for _, steps := range []int{300, 1500} {
		b.Run(fmt.Sprint(steps), func(b *testing.B) {
			store, _ := crowded(b, steps)
			plan := planOf(testrig.Snapshot(b, store))
			for b.Loop() {
				require.NoError(b, store.SavePlan(context.Background(), plan))
			}
		})
	}
}

// BenchmarkQueuedTap is a tap of a tablet's queue, as the bench's script sends it,
// and of one of eight tablets that tap at the same time.
func BenchmarkQueuedTap(b *testing.B) {
	for _, tablets := range []int{1, 8} {
		b.Run(fmt.Sprintf("%d-tablets", tablets), func(b *testing.B) {
			store, clock := crowded(b, 300)
			snap := testrig.Snapshot(b, store)
			people := make([]models.ID, tablets)
			for i := range people {
				p, err := store.SavePerson(context.Background(), models.Person{Name: fmt.Sprint("Maker ", i), Active: true})
				require.NoError(b, err)
				people[i] = p.ID
			}
			b.ReportAllocs()
			b.ResetTimer()
			var all sync.WaitGroup
			for i, person := range people {
				step := snap.Steps[10*i].ID // the first of a commission
				all.Go(func() { tapOn(b, store, clock, b.N/tablets+1, step, person) })
			}
			all.Wait()
		})
	}
}

// tapOn starts and puts down one step n times.
func tapOn(b *testing.B, store *models.Store, clock *testrig.Clock, n int, step, person models.ID) {
	kinds := []models.TapKind{models.TapStart, models.TapPutDown}
	tablet := fmt.Sprint("tablet ", person)
	for i := range n {
		clock.Step(time.Second)
		_, err := store.Tap(context.Background(), models.TapRequest{ID: fmt.Sprint(person, "-", i), Kind: kinds[i%2], StepID: step, PersonID: person,
			Tablet: tablet, Queued: &models.Queued{Queue: tablet, Number: int64(i + 1)}})
		if err != nil {
			b.Error(err)
			return
		}
	}
}
