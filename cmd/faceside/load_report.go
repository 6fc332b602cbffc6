package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"runtime"
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
	answered        spread
	seen            spread
	unseen          int
	drawn           spread
	back            spread // of tablets that came back at once
	broken, failed  int
	refused, unsent map[string]int
	tally
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
		crowd.allTold(ctx)
	}
	crowd.goHome()
	r.gather(crowd)
	if r.config.crash {
		return nil
	}
	r.back = crowd.comeBack(ctx, r.shop.station)
	return server.stop()
}

// gather works out what the tablets noted.
func (r *loadReport) gather(crowd *crowd) {
	r.refused, r.unsent = crowd.refused, crowd.unsent
	for _, t := range crowd.tablets {
		for _, took := range t.drawn {
			r.drawn.add(took)
		}
		r.broken += t.broken
		r.failed += t.failed
	}
	for _, tap := range crowd.taps {
		r.answered.add(tap.told.Sub(tap.wanted))
		for i, t := range crowd.tablets {
			if i == tap.tablet {
				continue
			}
			// Events come in order: the first of this row or a later one tells of it.
			k := sort.Search(len(t.heard), func(k int) bool { return t.heard[k].seq >= tap.seq })
			if k == len(t.heard) {
				r.unseen++
			} else {
				r.seen.add(t.heard[k].at.Sub(tap.wanted))
			}
		}
	}
}

// compare holds the records against what was acknowledged.
func (r *loadReport) compare(ctx context.Context, path string, crowd *crowd) (err error) {
	store, err := models.OpenStore(ctx, path, time.Now)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	acknowledged := make([]string, len(crowd.taps))
	for i := range crowd.taps {
		acknowledged[i] = crowd.taps[i].id
	}
	r.tally, _, err = reckon(ctx, store, acknowledged)
	return err
}

func (r *loadReport) print(w io.Writer) {
	c := r.config
	fmt.Fprintf(w, "%d tablets, %d makers, %d commissions with %d steps; %g taps/s for %s; %d processors, %s\n",
		c.tablets, c.makers, r.shop.commissions, r.shop.open, c.rate, c.span, runtime.NumCPU(), runtime.Version())
	if c.stalled > 0 {
		fmt.Fprintf(w, "stalled             %d further live streams that nobody reads\n", c.stalled)
	}
	if c.signedIn {
		fmt.Fprintf(w, "signed in           each tablet is enrolled, and its maker signed in\n")
	}
	fmt.Fprintf(w, "machine's load      %s before, %s after (1, 5 and 15 minutes)\n", r.loadBefore, r.loadAfter)
	fmt.Fprintf(w, "taps                %d written in %.1f s (%.0f/s), %d refused, %d not answered at first\n",
		r.answered.n, r.took.Seconds(), float64(r.answered.n)/r.took.Seconds(), total(r.refused), total(r.unsent))
	for why, n := range r.refused {
		fmt.Fprintf(w, "  refused %d times   %s\n", n, why)
	}
	for why, n := range r.unsent {
		fmt.Fprintf(w, "  not answered %d times %s\n", n, why)
	}
	fmt.Fprintf(w, "tap answered        %v (limits: p50 %s, p99 %s)\n", &r.answered, tapMiddle, tapLimit)
	fmt.Fprintf(w, "told elsewhere      %v (limit: p99 %s)\n", &r.seen, seenLimit)
	fmt.Fprintf(w, "bench drawn anew    %v, %d times; at most one in %s is asked for\n", &r.drawn, r.drawn.n, ownGap)
	if !c.crash {
		fmt.Fprintf(w, "all back at once    %v until served (limit: all within %s)\n", &r.back, backLimit)
	}
	if r.broken+r.failed+r.unseen > 0 {
		fmt.Fprintf(w, "on the tablets      %d streams broke off, %d screens did not come, %d tellings missing\n", r.broken, r.failed, r.unseen)
	}
	if !c.crash {
		share := func(d time.Duration) float64 { return 100 * d.Seconds() / r.took.Seconds() }
		fmt.Fprintf(w, "server              %d MiB at most (limit %d MiB), %.0f %% of one processor; this tool took %.0f %%\n",
			r.peak, memoryLimit, share(r.server), share(r.tool))
	}
	fmt.Fprintf(w, "journal             %d rows; of %d acknowledged taps %d lost, %d doubled; %d rows more\n",
		r.rows, r.answered.n, r.lost, r.doubled, r.foreign)
}

// compareTo sets the round beside the one before, nil for none.
func (r *loadReport) compareTo(before *loadReport, w io.Writer) {
	if before == nil {
		return
	}
	times := func(now, then time.Duration) float64 { return now.Seconds() / max(then, spreadStep).Seconds() }
	fmt.Fprintf(w, "of the round before tap p50 × %.2f, p99 × %.2f; the server's processor time × %.2f\n",
		times(r.answered.percentile(0.5), before.answered.percentile(0.5)), times(r.answered.percentile(0.99), before.answered.percentile(0.99)), times(r.server, before.server))
}

// missed lists what was promised and not kept.
func (r *loadReport) missed() []string {
	var all []string
	where := ""
	if r.config.signedIn {
		where = ", people signed in"
	}
	miss := func(bad bool, format string, args ...any) {
		if bad {
			all = append(all, fmt.Sprintf(format, args...)+where)
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
	miss(r.answered.percentile(0.5) > tapMiddle, "the median of a tap's answer is over %s", tapMiddle)
	miss(r.answered.percentile(0.99) > tapLimit, "the 99th percentile of a tap's answer is over %s", tapLimit)
	miss(r.back.n < r.config.tablets, "of %d tablets that came back at once %d were not served", r.config.tablets, r.config.tablets-r.back.n)
	miss(r.back.most > backLimit, "the last of the tablets that came back at once was served after %s, not within %s", r.back.most.Round(time.Millisecond), backLimit)
	miss(r.seen.percentile(0.99) > seenLimit, "the 99th percentile of a tap's telling is over %s", seenLimit)
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
