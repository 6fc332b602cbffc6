package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"net"
	"os"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// What a shop may expect of the server, and what the load command holds it to.
const (
	tapMiddle   = 10 * time.Millisecond  // the median of a tap's answer
	tapLimit    = 50 * time.Millisecond  // and its 99th percentile
	seenLimit   = 250 * time.Millisecond // the 99th percentile of a tap being told to the other tablets
	backLimit   = 2 * time.Second        // until all tablets that come back at once are served
	memoryLimit = 256                    // MiB at most
)

// loadConfig says how hard a server is pressed.
type loadConfig struct {
	tablets  int
	makers   int
	stalled  int     // further live streams that nobody reads
	rate     float64 // taps a second
	span     time.Duration
	crash    bool   // the server is killed while taps are under way
	signedIn bool   // tablets are enrolled and people signed in
	program  string // the build that is measured, "" for this one
	profile  string // where the server writes its CPU profile, "" for nowhere
	address  string // "" for a free port
}

// runLoad measures the program under many tablets.
func runLoad(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("load", flag.ContinueOnError)
	var c loadConfig
	flags.IntVar(&c.tablets, "tablets", 200, "`NUMBER` of tablets, each with a live stream (1 to 1000)")
	flags.IntVar(&c.makers, "makers", 50, "`NUMBER` of people who tap (1 to 200)")
	flags.IntVar(&c.stalled, "stalled", 0, "`NUMBER` of further live streams that are opened and never read (with the tablets at most 1000)")
	rate := flags.String("taps", "500/s", "taps a second, at a steady `RATE` (1/s to 5000/s)")
	flags.DurationVar(&c.span, "for", time.Minute, "how `LONG` to tap (1s to 10m)")
	flags.BoolVar(&c.crash, "crash", false, "kill the server while taps are under way, and only compare the journal")
	flags.BoolVar(&c.signedIn, "signed-in", false, "the same once more with tablets that are enrolled and makers who are signed in, and the two compared")
	flags.StringVar(&c.program, "server", "", "`PROGRAM` to measure in place of this one: another build of it")
	flags.StringVar(&c.profile, "profile", "", "`FILE` for a CPU profile of the server")
	flags.StringVar(&c.address, "address", "127.0.0.1:0", "loopback `HOST:PORT` that the server is to listen on")
	if status, done := parseFlags(flags, args, stderr); done {
		return status
	}
	if err := c.check(*rate); err != nil {
		fmt.Fprintf(stderr, "faceside load: %v\n", err)
		return exitUsage
	}
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGINT, syscall.SIGTERM)
	defer stop()
	if c.program == "" {
		var err error
		if c.program, err = os.Executable(); err != nil {
			return fail(stderr, "load", err)
		}
	}
	missed, err := loadRounds(ctx, c, stdout)
	if err != nil {
		return fail(stderr, "load", err)
	}
	for _, m := range missed {
		fmt.Fprintf(stderr, "faceside load: missed: %s\n", m)
	}
	if len(missed) > 0 {
		return exitFailed
	}
	return exitOK
}

// loadRounds measures, where people sign in after the same without, as one moment of a
// machine is not like another; it prints how it went and returns what was missed.
func loadRounds(ctx context.Context, c loadConfig, stdout io.Writer) (missed []string, err error) {
	rounds := []loadConfig{c}
	if c.signedIn {
		c.signedIn, c.profile = false, ""
		rounds = []loadConfig{c, rounds[0]}
	}
	var before *loadReport
	for _, c := range rounds {
		report, err := load(ctx, c)
		if err != nil {
			return nil, err
		}
		report.print(stdout)
		report.compareTo(before, stdout)
		missed, before = append(missed, report.missed()...), report
	}
	return missed, nil
}

// check reads the rate and refuses what would be no measurement, or one of a
// server that others use.
func (c *loadConfig) check(rate string) error {
	number, per := strings.CutSuffix(rate, "/s")
	value, err := strconv.ParseFloat(number, 64)
	host, _, hostErr := net.SplitHostPort(c.address)
	ip := net.ParseIP(host)
	switch {
	case err != nil || !per || !(value >= 1 && value <= 5000):
		return fmt.Errorf("-taps %q is no rate from 1/s to 5000/s", rate)
	case c.tablets < 1 || c.tablets > 1000:
		return fmt.Errorf("-tablets %d is not from 1 to 1000", c.tablets)
	case c.makers < 1 || c.makers > 200 || c.makers > c.tablets:
		return fmt.Errorf("-makers %d is not from 1 to 200, or more than there are tablets (%d)", c.makers, c.tablets)
	case c.stalled < 0 || c.tablets+c.stalled > 1000:
		return fmt.Errorf("-stalled %d is not from 0 to %d, what the tablets leave of 1000 streams", c.stalled, 1000-c.tablets)
	case c.span < time.Second || c.span > 10*time.Minute:
		return fmt.Errorf("-for %s is not from 1s to 10m", c.span)
	case hostErr != nil || ip == nil || !ip.IsLoopback():
		return fmt.Errorf("-address %q is no HOST:PORT of this machine's loopback", c.address)
	}
	c.rate = value
	return nil
}

// load makes a shop that is thrown away at the end, has it served by a process
// of its own as `faceside serve` does, taps, and says how it went.
func load(ctx context.Context, c loadConfig) (r *loadReport, err error) {
	dir, err := os.MkdirTemp("", "faceside-load-*")
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	shop, err := makeLoadShop(ctx, dir, c.makers)
	if err != nil {
		return nil, fmt.Errorf("making a shop to measure with: %w", err)
	}
	if c.signedIn {
		if shop.passphrase, err = barLoadShop(ctx, dir); err != nil {
			return nil, fmt.Errorf("setting a passphrase: %w", err)
		}
	}
	r = &loadReport{config: c, shop: shop, loadBefore: loadAverage()}
	server, err := startServer(ctx, dir, c)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, server.kill()) }()
	crowd, err := gather(ctx, c, shop, server.address)
	if err != nil {
		return nil, err
	}
	defer crowd.goHome()
	still, err := stall(ctx, crowd.asleep)
	if err != nil {
		return nil, err
	}
	defer still.close()
	if err := r.run(ctx, crowd, server); err != nil {
		return nil, err
	}
	r.loadAfter = loadAverage()
	return r, r.compare(ctx, filepath.Join(dir, shopFile), crowd)
}
