package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"syscall"
	"time"

	"faceside/models"
	"faceside/models/planner"
	"faceside/seed"
)

// stabilityWork is how many schedules a plan after a tap is searched for, unless the
// command line says otherwise: about what a shop's planner makes before the next tap.
const stabilityWork = 200

// runStability is `faceside sequence -stability`.
func runStability(startDay string, work int64, stdout, stderr io.Writer) int {
	start, err := demoStart(startDay)
	if err != nil {
		return fail(stderr, "sequence", err)
	}
	if work == 0 {
		work = stabilityWork
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	seen, err := playFortnight(ctx, start, work, 0)
	if err != nil {
		return fail(stderr, "sequence", err)
	}
	printStability(stdout, seen, work)
	return exitOK
}

// errEnough ends the fortnight before its time.
var errEnough = errors.New("enough taps")

// playFortnight makes the demo shop's history, and a plan after every tap of it; with
// most, only after so many.
func playFortnight(ctx context.Context, start time.Time, work int64, most int) (s planner.Stability, err error) {
	dir, err := os.MkdirTemp(memoryFolder(), "faceside-demo-*")
	if err != nil {
		return s, fmt.Errorf("making a folder for the demo: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	clock := seed.NewDemoClock(start)
	store, err := models.OpenStore(ctx, filepath.Join(dir, "shop.db"), clock.Now)
	if err != nil {
		return s, fmt.Errorf("opening the demo shop: %w", err)
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	err = seed.DemoWatched(ctx, store, clock, start, func(tap bool) error {
		if most > 0 && s.Taps >= most {
			return errEnough
		}
		return s.After(ctx, store, tap, work)
	})
	if errors.Is(err, errEnough) {
		err = nil
	}
	return s, err
}

func printStability(w io.Writer, s planner.Stability, work int64) {
	taps := float64(max(1, s.Taps))
	fmt.Fprintf(w, "%d taps, and a plan after each, of %d schedules; %.0f steps stood in the plan before\n\n", s.Taps, work, float64(s.Seen)/taps)
	fmt.Fprintf(w, "%6.1f   steps moved a tap\n", float64(s.Moved)/taps)
	fmt.Fprintf(w, "%6.1f   steps moved a tap, if each plan were made without looking at the one before\n", float64(s.Afresh)/taps)
	fmt.Fprintf(w, "%6.0f %% of the taps moved nothing\n", 100*float64(s.Still)/taps)
	fmt.Fprintf(w, "%6.1f   hours late by weight less, on average, than the plan before, kept as it was\n", float64(s.KeptLate-s.LateMin)/60/taps)
}
