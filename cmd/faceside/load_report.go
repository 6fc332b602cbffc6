package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"runtime"
	"slices"
	"sort"
	"time"

	"faceside/models"
)

// loadReport is how it went.
type loadReport struct {
	config                loadConfig
	shop                  loadShop
	loadBefore, loadAfter string

	took            time.Duration
	server, tool    time.Duration // of processor time
	peak            int           // MiB
	answered        []time.Duration
	seen            []time.Duration
	unseen          int
	drawn           []time.Duration
	broken, failed  int
	refused, unsent map[string]int
	rows            int
	lost, doubled   int
	foreign         int   // rows that nobody sent
	astray          error // why the steps do not stand as the journal says
}

// run taps and measures.
func (r *loadReport) run(ctx context.Context, crowd *crowd, server *loadServer) error {
	if err := server.measure(); err != nil {
		return err
	}
	before, own, start := server.cpu, ownCPU(), time.Now()
	tapping, stop := context.WithCancel(ctx)
	defer stop()
	if r.config.crash {
		killed := time.AfterFunc(r.config.span*3/4, func() {
			_ = server.kill() // what went wrong shows: the taps go on
			stop()
		})
		defer killed.Stop()
	}
	crowd.tapAll(tapping, r.config.rate, r.config.span)
	r.took, r.tool = time.Since(start), ownCPU()-own
	if err := ctx.Err(); err != nil {
		return err
	}
	if !r.config.crash {
		if err := server.measure(); err != nil {
			return err
		}
		r.server, r.peak = server.cpu-before, server.peak
		pause(ctx, time.Second) // for what the streams still have to tell
	}
	crowd.goHome()
	r.gather(crowd)
	if r.config.crash {
		return nil
	}
	return server.stop()
}

// gather works out what the tablets noted.
func (r *loadReport) gather(crowd *crowd) {
	r.refused, r.unsent = crowd.refused, crowd.unsent
	for _, t := range crowd.tablets {
		r.drawn = append(r.drawn, t.drawn...)
		r.broken += t.broken
		r.failed += t.failed
	}
	for _, tap := range crowd.taps {
		r.answered = append(r.answered, tap.told.Sub(tap.wanted))
		for i, t := range crowd.tablets {
			if i == tap.tablet {
				continue
			}
			// Events come in order: the first of this row or a later one tells of it.
			k := sort.Search(len(t.heard), func(k int) bool { return t.heard[k].seq >= tap.seq })
			if k == len(t.heard) {
				r.unseen++
			} else {
				r.seen = append(r.seen, t.heard[k].at.Sub(tap.wanted))
			}
		}
	}
	for _, all := range [][]time.Duration{r.answered, r.seen, r.drawn} {
		slices.Sort(all)
	}
}

// compare holds the journal against what was acknowledged, and where the steps
// stand against the journal.
func (r *loadReport) compare(ctx context.Context, path string, crowd *crowd) (err error) {
	store, err := models.OpenStore(ctx, path, time.Now)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	journal, err := store.Journal(ctx, models.JournalFilter{})
	if err != nil {
		return err
	}
	rows := map[string]int{}
	for _, row := range journal {
		rows[row.ID]++
	}
	r.rows = len(journal)
	for _, tap := range crowd.taps {
		switch rows[tap.id] {
		case 0:
			r.lost++
		case 1:
		default:
			r.doubled++
		}
		delete(rows, tap.id)
	}
	r.foreign = len(rows)
	snap, err := store.Snapshot(ctx)
	if err != nil {
		return err
	}
	r.astray = astray(snap, journal)
	return nil
}

// astray says which step does not stand as the journal says, nil for none.
func astray(snap *models.Snapshot, journal []models.Tap) error {
	unattended := map[models.ID]int{}
	for i := range snap.Steps {
		unattended[snap.Steps[i].ID] = snap.Steps[i].Unattended
	}
	replayed, err := models.Replay(journal, unattended)
	if err != nil {
		return err
	}
	for id, p := range replayed.Steps {
		if st := snap.Step(id); st == nil || st.State != p.State || st.Worked != p.Worked {
			return fmt.Errorf("step %d does not stand as its taps say", id)
		}
	}
	return nil
}

// percentile of sorted values.
func percentile(sorted []time.Duration, p float64) time.Duration {
	if len(sorted) == 0 {
		return 0
	}
	return sorted[min(len(sorted)-1, int(p*float64(len(sorted))))]
}

func (r *loadReport) print(w io.Writer) {
	c := r.config
	fmt.Fprintf(w, "%d tablets, %d makers, %d commissions with %d steps; %g taps/s for %s; %d processors, %s\n",
		c.tablets, c.makers, r.shop.commissions, r.shop.open, c.rate, c.span, runtime.NumCPU(), runtime.Version())
	fmt.Fprintf(w, "machine's load      %s before, %s after (1, 5 and 15 minutes)\n", r.loadBefore, r.loadAfter)
	fmt.Fprintf(w, "taps                %d written in %.1f s (%.0f/s), %d refused, %d not answered at first\n",
		len(r.answered), r.took.Seconds(), float64(len(r.answered))/r.took.Seconds(), total(r.refused), total(r.unsent))
	for why, n := range r.refused {
		fmt.Fprintf(w, "  refused %d times   %s\n", n, why)
	}
	for why, n := range r.unsent {
		fmt.Fprintf(w, "  not answered %d times %s\n", n, why)
	}
	line := func(what string, all []time.Duration, limit string) {
		ms := func(p float64) float64 { return float64(percentile(all, p).Microseconds()) / 1000 }
		fmt.Fprintf(w, "%-20sp50 %.1f ms, p99 %.1f ms, most %.1f ms%s\n", what, ms(0.5), ms(0.99), ms(1), limit)
	}
	line("tap answered", r.answered, fmt.Sprintf(" (limit: p99 %s)", tapLimit))
	line("told elsewhere", r.seen, fmt.Sprintf(" (limit: p99 %s)", seenLimit))
	line("bench drawn anew", r.drawn, fmt.Sprintf(", %d times; at most one in %s is asked for", len(r.drawn), ownGap))
	if r.broken+r.failed+r.unseen > 0 {
		fmt.Fprintf(w, "on the tablets      %d streams broke off, %d screens did not come, %d tellings missing\n", r.broken, r.failed, r.unseen)
	}
	if !c.crash {
		share := func(d time.Duration) float64 { return 100 * d.Seconds() / r.took.Seconds() }
		fmt.Fprintf(w, "server              %d MiB at most (limit %d MiB), %.0f %% of one processor; this tool took %.0f %%\n",
			r.peak, memoryLimit, share(r.server), share(r.tool))
	}
	fmt.Fprintf(w, "journal             %d rows; of %d acknowledged taps %d lost, %d doubled; %d rows more\n",
		r.rows, len(r.answered), r.lost, r.doubled, r.foreign)
}

// missed lists what was promised and not kept.
func (r *loadReport) missed() []string {
	var all []string
	miss := func(bad bool, format string, args ...any) {
		if bad {
			all = append(all, fmt.Sprintf(format, args...))
		}
	}
	miss(r.lost > 0, "%d acknowledged taps are not in the journal", r.lost)
	miss(r.doubled > 0, "%d taps are in the journal twice", r.doubled)
	miss(r.astray != nil, "the records do not follow from the journal: %v", r.astray)
	if r.config.crash {
		return all
	}
	miss(r.foreign > 0, "%d rows of the journal are of no acknowledged tap", r.foreign)
	miss(total(r.refused) > 0, "%d taps were refused", total(r.refused))
	miss(r.unseen > 0, "%d times a tap was not told to another tablet", r.unseen)
	miss(percentile(r.answered, 0.99) > tapLimit, "the 99th percentile of a tap's answer is over %s", tapLimit)
	miss(percentile(r.seen, 0.99) > seenLimit, "the 99th percentile of a tap's telling is over %s", seenLimit)
	miss(r.peak > memoryLimit, "the server took %d MiB", r.peak)
	return all
}

func total(counts map[string]int) int {
	sum := 0
	for _, n := range counts {
		sum += n
	}
	return sum
}
