package planner_test

import (
	"fmt"
	"io"
	"log/slog"
	"path/filepath"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/planner"
	"faceside/seed"

	"github.com/stretchr/testify/require"
)

// steeredSizes are the open steps of the shops that what-ifs are measured in.
var steeredSizes = []int{50, 300, 1500}

// plannedShop is the demo's shop with about so many open steps and a plan, and a planner as a
// shop has it.
func plannedShop(b *testing.B, steps int) (*planner.Service, *models.Snapshot) {
	b.Helper()
	start, err := seed.DemoStartOn("2026-11-24")
	require.NoError(b, err)
	store, err := models.OpenStore(b.Context(), filepath.Join(b.TempDir(), "shop.db"), seed.NewDemoClock(start).Now)
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, store.Close()) })
	require.NoError(b, seed.Fill(b.Context(), store, steps))
	log := slog.New(slog.NewTextHandler(io.Discard, nil))
	_, err = planner.New(store, log, planner.Options{Work: 20, Seed: 1}).Plan(b.Context())
	require.NoError(b, err)
	snap, err := store.Snapshot(b.Context())
	require.NoError(b, err)
	return planner.New(store, log, planner.Options{Seed: 1}), snap
}

// measured runs what is measured, and tells of each run how long it had a processor.
func measured(b *testing.B, snap *models.Snapshot, run func()) {
	before, runs := processor(b), 0
	for b.Loop() {
		run()
		runs++
	}
	b.ReportMetric(float64((processor(b)-before)/time.Duration(runs)/time.Millisecond), "processor-ms/op")
	b.ReportMetric(float64(len(snap.Plan.Steps)), "steps")
}

// BenchmarkWhatIf is how soon a what-if has its first answer, and what comes after it.
func BenchmarkWhatIf(b *testing.B) {
	for _, steps := range steeredSizes {
		service, snap := plannedShop(b, steps)
		tried := []models.Steer{{Kind: models.SteerHold, CommissionID: snap.Commissions[0].ID}}
		for _, how := range []struct {
			name   string
			effort planner.Effort
		}{{"first", planner.IfAtOnce}, {"better", planner.IfBetter}} {
			b.Run(fmt.Sprintf("%d-steps/%s", steps, how.name), func(b *testing.B) {
				measured(b, snap, func() {
					_, err := service.WhatIf(b.Context(), tried, how.effort)
					require.NoError(b, err)
				})
			})
		}
	}
}

// BenchmarkHelps is what it costs to find what would help a commission, and how soon the
// first change was tried.
func BenchmarkHelps(b *testing.B) {
	for _, steps := range steeredSizes {
		service, snap := plannedShop(b, steps)
		b.Run(fmt.Sprintf("%d-steps", steps), func(b *testing.B) {
			var first time.Duration
			tried := 0
			measured(b, snap, func() {
				began := time.Now()
				require.NoError(b, service.Helps(b.Context(), snap.Commissions[0].ID, "Helper", func(h planner.Helps) {
					if tried = h.Tried; tried == 1 {
						first = time.Since(began)
					}
				}))
			})
			b.ReportMetric(float64(first/time.Millisecond), "first-ms")
			b.ReportMetric(float64(tried), "levers")
		})
	}
}
