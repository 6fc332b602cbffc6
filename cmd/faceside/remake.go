package main

import (
	"context"
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
)

// exitOther says that a plan made again was another one.
const exitOther = 3

// runRemake lists the plans whose making is kept, or makes one of them again and says
// whether it is the same.
func runRemake(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("remake", flag.ContinueOnError)
	data := flags.String("data", defaultData, "`FOLDER` that keeps the shop")
	plan := flags.Int64("plan", 0, "make the plan with this `NUMBER` again; 0 lists those that can be")
	if status, done := parseFlags(flags, args, stderr); done {
		return status
	}
	if *plan < 0 {
		return fail(stderr, "remake", fmt.Errorf("-plan is %d: it must be the number of a plan, or 0 for the list", *plan))
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	same, err := remake(ctx, *data, *plan, stdout)
	switch {
	case err != nil:
		return fail(stderr, "remake", err)
	case !same:
		return exitOther
	}
	return exitOK
}

func remake(ctx context.Context, dir string, plan models.ID, stdout io.Writer) (same bool, err error) {
	store, err := openExisting(ctx, dir)
	if err != nil {
		return false, err
	}
	defer store.Close()
	if plan == 0 {
		return true, listRuns(ctx, store, stdout)
	}
	began := time.Now()
	r, err := planner.Remake(ctx, store, plan)
	if models.CodeOf(err) == models.NotFound {
		return false, fmt.Errorf("how plan %d was made is not kept; without -plan the plans that can be made again are listed", plan)
	}
	if err != nil {
		return false, err
	}
	return r.Same, printRemade(stdout, r, time.Since(began))
}

// listRuns lists what can be made again, the newest first.
func listRuns(ctx context.Context, store *models.Store, stdout io.Writer) error {
	runs, err := store.Runs(ctx)
	if err != nil {
		return err
	}
	w := tabwriter.NewWriter(stdout, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "plan\tmade (UTC)\tafter tap\tobjective\twork\tsearches\tseed\ttook\tby")
	for i := range runs {
		r := &runs[i]
		fmt.Fprintf(w, "%d\t%s\t%d\t%d\t%s\t%d\t%d\t%.1f s\t%s\n", r.PlanID, r.Plan.MadeAt.UTC().Format("2006-01-02 15:04:05"), r.TapSeq,
			r.Plan.Objective, workWords(r.Work), r.Searches, r.Plan.Seed, r.Plan.Seconds, programWords(r.Program))
	}
	return w.Flush()
}

// workWords is the work of a plan, where it is known.
func workWords(work int64) string {
	if work == 0 {
		return "-"
	}
	return fmt.Sprint(work)
}

// programWords is a version, cut to what tells it from others.
func programWords(version string) string {
	const enough = 12
	switch {
	case version == "":
		return "a program without a version"
	case len(version) > enough && len(version) <= 40:
		return version[:enough]
	case len(version) > 40: // with changes beside the revision
		return version[:enough] + version[40:]
	}
	return version
}

// printRemade says whether a plan made again is the same, and where not.
func printRemade(stdout io.Writer, r *planner.Remade, took time.Duration) error {
	run := r.Run
	if _, err := fmt.Fprintf(stdout, "plan %d of %s UTC, made after tap %d in %.1f s, by %s; made again in %.1f s by %s, work %s\n", run.PlanID,
		run.Plan.MadeAt.UTC().Format("2006-01-02 15:04:05"), run.TapSeq, run.Plan.Seconds, programWords(run.Program),
		took.Seconds(), programWords(planner.ProgramVersion()), workWords(run.Work)); err != nil {
		return err
	}
	if r.Same {
		_, err := fmt.Fprintf(stdout, "the same plan: objective %d, %d tasks%s\n", r.Plan.Objective, len(r.Plan.Tasks), comparedWords(r))
		return err
	}
	if _, err := fmt.Fprintf(stdout, "another plan: %s; objective %d then, %d now; bound %d then, %d now%s\n", whyOther(run),
		run.Plan.Objective, r.Plan.Objective, run.Plan.Bound, r.Plan.Bound, comparedWords(r)); err != nil {
		return err
	}
	for _, o := range r.Other {
		const minute = "2006-01-02 15:04"
		if _, err := fmt.Fprintf(stdout, "  step %d: started %s then, %s now\n", o.StepID, o.Was.UTC().Format(minute), o.Now.UTC().Format(minute)); err != nil {
			return err
		}
	}
	return nil
}

// comparedWords says how many steps were compared one by one.
func comparedWords(r *planner.Remade) string {
	if r.Compared == 0 {
		return "; its steps are not kept any more"
	}
	return fmt.Sprintf("; of %d steps not begun then %d are at other times", r.Compared, len(r.Other))
}

// whyOther is why a plan may be another one.
func whyOther(run *models.KeptRun) string {
	switch {
	case run.Work == 0:
		return "its search was broken off before anything that can be made again for sure"
	case run.Program != planner.ProgramVersion():
		return "another version of the program made it, and searches in another way"
	}
	return "this is a fault of the program, or of the machine"
}
