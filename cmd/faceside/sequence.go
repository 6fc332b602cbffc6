package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"time"

	"faceside/models/sequence"
)

// The exit statuses of sequence beside exitOK and exitFailed. Flags that cannot
// be read are a failure here, for 2 speaks of the problem alone.
const (
	exitInvalid    = 2 // the problem breaks the file contract
	exitInfeasible = 3 // it was proved that the problem has no plan
)

// longestSearch is the greatest -seconds: some thirty years.
const longestSearch = 1e9

// mostSearches is the greatest -searches: each takes memory of its own.
const mostSearches = 256

// sequenceFlags are what the command line of sequence says.
type sequenceFlags struct {
	in, out string
	why     string
	search  sequence.Options
	trace   bool
	compare compareFlags
}

// runSequence reads one problem and writes one plan, as the file contract in the
// package sequence says.
func runSequence(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	asked, status, done := readSequenceFlags(args, stderr)
	if done {
		return status
	}
	if asked.compare.stability {
		return runStability(asked.compare.startDay, asked.search.Work, stdout, stderr)
	}
	if asked.compare.wanted {
		return runCompare(asked.compare, asked.search.Limit, stdout, stderr)
	}
	p, err := readProblem(asked.in, stdin)
	var invalid *sequence.InputError
	switch {
	case errors.As(err, &invalid):
		fail(stderr, "sequence", err)
		return exitInvalid
	case err != nil:
		return fail(stderr, "sequence", err)
	}
	var told error
	if asked.trace {
		asked.search.OnStep = func(s sequence.Step) {
			_, err := fmt.Fprintln(stderr, s)
			told = errors.Join(told, err)
		}
	}
	plan, err := solveUntilInterrupted(p, asked.search)
	if err = errors.Join(err, told); err != nil {
		return fail(stderr, "sequence", err)
	}
	if err := asked.write(p, plan, stdout); err != nil {
		return fail(stderr, "sequence", err)
	}
	if plan.Status == sequence.Infeasible {
		return exitInfeasible
	}
	return exitOK
}

// readSequenceFlags reads the command line. done says that the command ends
// here, with that exit status.
func readSequenceFlags(args []string, stderr io.Writer) (asked sequenceFlags, status int, done bool) {
	flags := flag.NewFlagSet("sequence", flag.ContinueOnError)
	flags.StringVar(&asked.in, "in", "-", "`FILE` with the problem; - is the standard input")
	flags.StringVar(&asked.out, "out", "-", "`FILE` for the plan; - is the standard output")
	flags.StringVar(&asked.why, "why", "", "`FILE` for what keeps each task where it is and how far it may slip")
	seconds := flags.Float64("seconds", 10, "search for so many `SECONDS` at most; without it, -work alone ends the search")
	flags.Int64Var(&asked.search.Work, "work", 0, "generate so many `SCHEDULES`, those of a first plan at least; the same seed then gives the same plan")
	flags.Int64Var(&asked.search.Seed, "seed", 1, "`NUMBER` that all random choices follow from")
	flags.IntVar(&asked.search.Cores, "cores", runtime.NumCPU(), "search on so many `CORES` at once")
	flags.IntVar(&asked.search.Searches, "searches", 0, "let so many `SEARCHES` make plans, as the stats of a plan that is to be made again say; 0: with -work one, else as the cores allow")
	flags.BoolVar(&asked.trace, "trace", false, "write to the standard error how work, objective and bound went")
	asked.compare.add(flags)
	if status, done := parseFlags(flags, args, stderr); done {
		if status != exitOK {
			status = exitFailed
		}
		return asked, status, true
	}
	timed := asked.search.Work == 0
	flags.Visit(func(f *flag.Flag) { timed = timed || f.Name == "seconds" })
	if timed {
		asked.search.Limit = time.Duration(*seconds * float64(time.Second))
	}
	var err error
	switch {
	case !(*seconds > 0 && *seconds <= longestSearch): // written so that it catches NaN
		err = fmt.Errorf("-seconds is %v: it must be above 0 and at most %.0f", *seconds, longestSearch)
	case asked.why == "-" && asked.out == "-":
		err = errors.New("-why is -, as -out is: one of the two must be a file")
	case asked.search.Work < 0:
		err = fmt.Errorf("-work is %d: it must be at least 0", asked.search.Work)
	case asked.search.Searches < 0 || asked.search.Searches > mostSearches:
		err = fmt.Errorf("-searches is %d: it must be between 0 and %d", asked.search.Searches, mostSearches)
	case asked.search.Cores < 1:
		err = fmt.Errorf("-cores is %d: it must be at least 1", asked.search.Cores)
	}
	if err != nil {
		return asked, fail(stderr, "sequence", err), true
	}
	return asked, exitOK, false
}

func readProblem(name string, stdin io.Reader) (p *sequence.Problem, err error) {
	if name == "-" {
		return sequence.Read(stdin)
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, fmt.Errorf("opening the problem: %w", err)
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	return sequence.Read(f)
}

// solveUntilInterrupted searches until the options end it or somebody interrupts
// the program, and returns the best plan so far, checked. A second interruption
// ends the program.
func solveUntilInterrupted(p *sequence.Problem, o sequence.Options) (*sequence.Plan, error) {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	defer context.AfterFunc(ctx, stop)()
	plan, err := sequence.Solve(ctx, p, o)
	if err != nil {
		return nil, fmt.Errorf("sequencing: %w", err)
	}
	if plan.Status == sequence.Unknown {
		return nil, errors.New("the search ended before it found a plan or proved that there is none; give it more -seconds or more -work")
	}
	if err := sequence.Check(p, plan); err != nil {
		fault, _, _ := strings.Cut(err.Error(), "\n")
		return nil, fmt.Errorf("the plan found breaks a rule and is not written; this is a fault of the search: %s", fault)
	}
	return plan, nil
}

// write writes the plan, and why it is as it is where that is asked for and there is
// one.
func (f *sequenceFlags) write(p *sequence.Problem, plan *sequence.Plan, stdout io.Writer) error {
	err := writeWhole(f.out, stdout, func(w io.Writer) error { return sequence.WritePlan(w, plan) })
	if err != nil || f.why == "" || plan.Status == sequence.Infeasible {
		return err
	}
	return writeWhole(f.why, stdout, func(w io.Writer) error { return sequence.WriteWhy(w, p, plan) })
}

// writeWhole writes a file whole or not at all: it is written beside its place and
// then moved there. What is no plain file (a device, a pipe) is written to directly.
func writeWhole(name string, stdout io.Writer, write func(io.Writer) error) error {
	if name == "-" {
		return write(stdout)
	}
	mode := os.FileMode(0o644)
	if info, err := os.Stat(name); err == nil {
		if !info.Mode().IsRegular() {
			return writeInto(name, write)
		}
		mode = info.Mode().Perm()
		if name, err = filepath.EvalSymlinks(name); err != nil {
			return fmt.Errorf("finding the place of the plan: %w", err)
		}
	}
	return replaceFile(name, mode, write)
}

func writeInto(name string, write func(io.Writer) error) (err error) {
	f, err := os.OpenFile(name, os.O_WRONLY, 0)
	if err != nil {
		return fmt.Errorf("opening the place of the plan: %w", err)
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	return write(f)
}

func replaceFile(name string, mode os.FileMode, write func(io.Writer) error) (err error) {
	f, err := os.CreateTemp(filepath.Dir(name), ".new-*")
	if err != nil {
		return fmt.Errorf("making room for %s: %w", name, err)
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.Remove(f.Name()))
		}
	}()
	err = errors.Join(write(f), f.Chmod(mode), f.Sync(), f.Close())
	if err != nil {
		return fmt.Errorf("writing %s: %w", name, err)
	}
	if err := os.Rename(f.Name(), name); err != nil {
		return fmt.Errorf("putting %s in its place: %w", name, err)
	}
	return nil
}
