package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
	"text/tabwriter"
	"time"

	"faceside/models"
	"faceside/models/planner"
	"faceside/seed"
)

// compareFlags are the flags of sequence that ask for a comparison.
type compareFlags struct {
	wanted    bool
	stability bool
	data      string
	startDay  string
}

func (f *compareFlags) add(flags *flag.FlagSet) {
	flags.BoolVar(&f.wanted, "compare", false, "print a shop's plan beside what two simple rules would do; of the flags above, only -seconds counts")
	flags.BoolVar(&f.stability, "stability", false, "play the demo shop's fortnight and print how many steps of the plan a tap moves; of the flags above, only -work counts")
	flags.StringVar(&f.data, "data", "", "with -compare: `FOLDER` that keeps the shop; without it the demo shop")
	flags.StringVar(&f.startDay, "start", "", "with -stability, or -compare and the demo shop: working `DAY` (2026-11-24) on which it starts; without it the last one")
}

// runCompare is `faceside sequence -compare`.
func runCompare(f compareFlags, limit time.Duration, stdout, stderr io.Writer) int {
	start, err := demoStart(f.startDay)
	if err != nil {
		return fail(stderr, "sequence", err)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if err := compare(ctx, f.data, start, limit, stdout); err != nil {
		return fail(stderr, "sequence", err)
	}
	return exitOK
}

// compare prints, for the shop in the folder dir or the demo where dir is "",
// what comes of our plan beside what comes of two simple rules. limit is how
// long our plan may be searched for.
func compare(ctx context.Context, dir string, start time.Time, limit time.Duration, stdout io.Writer) (err error) {
	store, closeShop, err := shopToCompare(ctx, dir, start)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, closeShop()) }()
	snap, err := store.Snapshot(ctx)
	if err != nil {
		return fmt.Errorf("reading the shop: %w", err)
	}
	outcomes, err := planner.Compare(ctx, snap, limit)
	if err != nil {
		return fmt.Errorf("comparing: %w", err)
	}
	return printOutcomes(stdout, snap, outcomes)
}

// shopToCompare opens the shop in dir, or makes the demo on a clock that stands.
func shopToCompare(ctx context.Context, dir string, start time.Time) (*models.Store, func() error, error) {
	if dir != "" {
		store, err := openExisting(ctx, dir)
		if err != nil {
			return nil, nil, err
		}
		return store, store.Close, nil
	}
	store, remove, err := demoShop(ctx, "", seed.NewDemoClock(start), start)
	if err != nil {
		return nil, nil, err
	}
	return store, func() error { return errors.Join(store.Close(), remove()) }, nil
}

func printOutcomes(w io.Writer, snap *models.Snapshot, outcomes []planner.Outcome) error {
	zone, err := time.LoadLocation(snap.Shop.TimeZone)
	if err != nil {
		return fmt.Errorf("the shop's time zone %q: %w", snap.Shop.TimeZone, err)
	}
	fmt.Fprintf(w, "%s, %s: %d open commissions, %d steps left\n\n", snap.Shop.Name,
		snap.At.In(zone).Format("Monday 2 January 2006, 15:04"), openCommissions(snap), stepsLeft(snap))
	table := tabwriter.NewWriter(w, 0, 0, 3, ' ', tabwriter.AlignRight)
	fmt.Fprintln(table, "setups\tsetup min\tlate days\thours stood waiting\tall complete\t  way of working")
	for _, o := range outcomes {
		fmt.Fprintf(table, "%d\t%d\t%.1f\t%.1f\t%s\t  %s\n", o.Setups, o.SetupMin, o.LateDays,
			float64(o.StandingMin)/60, o.Completion.In(zone).Format("Mon 2 Jan 15:04"), o.Way)
	}
	return table.Flush()
}

func openCommissions(snap *models.Snapshot) int {
	n := 0
	for _, c := range snap.Commissions {
		if c.State == models.Open {
			n++
		}
	}
	return n
}

func stepsLeft(snap *models.Snapshot) int {
	n := 0
	for _, st := range snap.Steps {
		if c := snap.Commission(st.CommissionID); c != nil && c.State == models.Open && snap.Standing(st.ID, snap.At) != models.StandsDone {
			n++
		}
	}
	return n
}
