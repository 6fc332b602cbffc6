package sequence

import (
	"context"
	"encoding/csv"
	"errors"
	"flag"
	"fmt"
	"os"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

var (
	hour       = flag.Duration("hour", time.Hour, "processor time that TestWhatAnHourFinds gives each week of -weeks")
	hoursNotes = flag.String("hours", "testdata/hours.csv", "the `FILE` of what an hour finds, week by week")
)

// hourNote is what an hour found of a week: much more time than a shop ever gives.
type hourNote struct {
	week             string
	objective, bound int64
	status           Status
	seconds          float64 // of processor time; less than an hour where the plan was proved
}

// TestWhatAnHourFinds notes, for weeks of an invented shop, what much time finds. The
// hour is processor time of one core, so that the machine may do other things meanwhile.
// A week that is noted is not done again.
func TestWhatAnHourFinds(t *testing.T) {
	if *tableWeeks == "" || *tableTo != "" {
		t.Skip("wants -weeks WEEKS and no -to")
	}
	weeks, err := parseWeeks(*tableWeeks)
	require.NoError(t, err)
	for _, w := range weeks {
		notes := readHours(t)
		if slices.ContainsFunc(notes, func(n hourNote) bool { return n.week == w.String() }) {
			continue
		}
		ctx, cancel := context.WithCancel(context.Background())
		began := processorTime(t)
		go func() {
			defer cancel()
			for range time.Tick(time.Second) {
				if ctx.Err() != nil || processorTime(t)-began >= *hour {
					return
				}
			}
		}()
		plan, err := Solve(ctx, w.problem(), Options{Limit: 100 * *hour, Cores: 1, Seed: 1})
		cancel()
		require.NoError(t, err)
		require.NoError(t, Check(w.problem(), plan), "week %v", w)
		addHour(t, hourNote{w.String(), plan.Objective, plan.Bound, plan.Status, (processorTime(t) - began).Seconds()})
	}
}

func processorTime(t require.TestingT) time.Duration {
	var used syscall.Rusage
	require.NoError(t, syscall.Getrusage(syscall.RUSAGE_SELF, &used))
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}

func readHours(t *testing.T) []hourNote {
	text, err := os.ReadFile(*hoursNotes)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	require.NoError(t, err)
	rows, err := csv.NewReader(strings.NewReader(string(text))).ReadAll()
	require.NoError(t, err)
	var notes []hourNote
	for _, row := range rows[1:] {
		n := hourNote{week: row[0], status: Status(row[3])}
		n.objective, err = strconv.ParseInt(row[1], 10, 64)
		require.NoError(t, err)
		n.bound, err = strconv.ParseInt(row[2], 10, 64)
		require.NoError(t, err)
		n.seconds, err = strconv.ParseFloat(row[4], 64)
		require.NoError(t, err)
		notes = append(notes, n)
	}
	return notes
}

// addHour notes one more; several of these tests may write to the same file by turns.
func addHour(t *testing.T, n hourNote) {
	file, err := os.OpenFile(*hoursNotes, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
	require.NoError(t, err)
	defer file.Close()
	info, err := file.Stat()
	require.NoError(t, err)
	line := fmt.Sprintf("%s,%d,%d,%s,%.0f\n", n.week, n.objective, n.bound, n.status, n.seconds)
	if info.Size() == 0 {
		line = "week,objective,bound,status,processor seconds\n" + line
	}
	_, err = file.WriteString(line)
	require.NoError(t, err)
}

// TestHourTable sets a short search of each week noted in -hours beside what the hour
// found, and writes a table.
func TestHourTable(t *testing.T) {
	if *tableTo == "" || *tableWeeks != "" || *setsOf != "" {
		t.Skip("wants -to FILE and -limit TIME, no -weeks and no -sets")
	}
	var out strings.Builder
	fmt.Fprintf(&out, "# Beside an hour\n\nWeeks of an invented shop (`shopgen_test.go`), named steps:number. A figure is the objective of a plan that the checker accepted, less is better; a star says that it was proved optimal.\n\n"+
		"Faceside: %v on %d of %d cores (%s), seed 1. The hour: an hour of one core's processor time (`%s`), less where the plan was proved. Written on %s.\n\n"+
		"| week | people | after %v | an hour | its bound | beside the hour |\n|---|---|---|---|---|---|\n",
		*tableLimit, *tableCores, runtime.NumCPU(), runtime.GOARCH, *hoursNotes, time.Now().Format("2 January 2006"), *tableLimit)
	notes, within := readHours(t), 0
	require.NotEmpty(t, notes)
	for _, n := range notes {
		weeks, err := parseWeeks(n.week)
		require.NoError(t, err)
		p := weeks[0].problem()
		plan := solveWith(t, p, Options{Limit: *tableLimit, Cores: *tableCores, Seed: 1})
		require.NotEqual(t, Unknown, plan.Status, "week %s", n.week)
		fmt.Fprintf(&out, "| %s | %d | %s | %s | %d | %s |\n", n.week, weeks[0].size().people, starred(plan.Objective, plan.Status),
			starred(n.objective, n.status), n.bound, beside(plan.Objective, n.objective))
		if float64(plan.Objective) <= 1.01*float64(n.objective) {
			within++
		}
	}
	fmt.Fprintf(&out, "\n%d weeks: within 1 %% of the hour, or better, on %d.\n", len(notes), within)
	require.NoError(t, os.WriteFile(*tableTo, []byte(out.String()), 0o644))
}

func starred(objective int64, status Status) string {
	if status == Optimal {
		return strconv.FormatInt(objective, 10) + "*"
	}
	return strconv.FormatInt(objective, 10)
}
