package sequence

import (
	"context"
	"encoding/csv"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var (
	setsOf     = flag.String("sets", "", "the `FOLDER` of the published sets, each in its own with a best-known.csv: solve them all and write a table")
	setsOnly   = flag.String("only", "", "of -sets solve only those whose name contains this; others are in the table where all of them is noted")
	tableEvery = flag.Int("every", 1, "of each set only one instance in so many, to look ahead; a table wants 1")
	tableLimit = flag.Duration("limit", 10*time.Second, "time for each week of -weeks; for each instance of -sets, instead of what its set is given")
	tableCores = flag.Int("cores", 2, "cores for each instance of -sets, each week of -weeks")
	tableTo    = flag.String("to", "", "the file that a table or a week is written to")
)

// publishedSet is a set, or a part of one, with the time its instances are given.
type publishedSet struct {
	folder      string
	first, last string // its files; empty: all
	limit       time.Duration
	known       string // best known values, where the folder has none
}

// name is how tables call the set.
func (s publishedSet) name() string {
	if s.first == "" {
		return s.folder
	}
	return s.folder + " " + s.first + "–" + s.last
}

var publishedSets = []publishedSet{
	{folder: "rcpsp/j30", limit: 2 * time.Second},
	{folder: "rcpsp/j60", limit: 5 * time.Second},
	{folder: "rcpsp/j120", limit: 10 * time.Second},
	{folder: "rcpsp-max/j10", limit: 2 * time.Second},
	{folder: "rcpsp-max/j20", limit: 2 * time.Second},
	{folder: "rcpsp-max/ubo10", limit: 2 * time.Second},
	{folder: "rcpsp-max/ubo20", limit: 2 * time.Second},
	{folder: "rcpsp-max/j30", limit: 10 * time.Second},
	{folder: "rcpsp-max/ubo50", limit: 10 * time.Second},
	{folder: "rcpsp-max/ubo100", limit: 20 * time.Second},
	{folder: "job-shop/ft", limit: 5 * time.Second},
	{folder: "job-shop/la", first: "la01", last: "la20", limit: 5 * time.Second},
	{folder: "job-shop/la", first: "la21", last: "la40", limit: 30 * time.Second},
	{folder: "job-shop-setups", limit: 10 * time.Second},
	{folder: "setups-tardiness", known: "testdata/wt_sds/best-known.csv", limit: 10 * time.Second},
}

// TestTable solves published sets and writes a table of what it found beside the
// best known values. Each instance is noted at once in a file beside the table; what
// stands there, found in the same time on as many cores, is not done again, so that
// a run that was broken off goes on from there.
func TestTable(t *testing.T) {
	if *setsOf == "" {
		t.Skip("wants -sets FOLDER -to FILE")
	}
	require.NotEmpty(t, *tableTo, "-to names the file of the table")
	notes := strings.TrimSuffix(*tableTo, filepath.Ext(*tableTo)) + ".csv"
	var lines []string
	for _, set := range publishedSets {
		if !strings.Contains(set.name(), *setsOnly) && !set.isNoted(t, notes, *setsOf) {
			continue
		}
		flag.Visit(func(f *flag.Flag) {
			if f.Name == "limit" {
				set.limit = *tableLimit
			}
		})
		sum := tableSum{set: set}
		for i, k := range set.instances(t, *setsOf) {
			if i%*tableEvery != 0 {
				continue
			}
			o := noted(t, notes, set, k.File, func() outcome { return set.solve(t, *setsOf, k.File) })
			sum.add(t, k, o)
			if o.rule >= 0 {
				sum.beside(atcs(t, instanceFile(t, set.path(*setsOf, k.File))), o.objective)
			}
		}
		lines = append(lines, sum.line())
		require.NoError(t, os.WriteFile(*tableTo, []byte(tableText(lines, time.Now())), 0o644))
	}
}

// instances lists the set in its file's order; without a file of best known values,
// the instances there are, with the values that we know.
func (s publishedSet) instances(t *testing.T, bench string) []known {
	folder := filepath.Join(bench, filepath.FromSlash(s.folder))
	var all []known
	if _, err := os.Stat(filepath.Join(folder, "best-known.csv")); err == nil {
		all = knownIn(t, filepath.Join(folder, "best-known.csv"))
	} else {
		require.ErrorIs(t, err, fs.ErrNotExist)
		files, err := filepath.Glob(filepath.Join(folder, "*.instance"))
		require.NoError(t, err)
		ours := knownIn(t, s.known)
		for _, f := range files {
			k := known{File: filepath.Base(f), Open: true, Best: -1}
			if i := slices.IndexFunc(ours, func(o known) bool { return o.File == k.File }); i >= 0 {
				k = ours[i]
			}
			all = append(all, k)
		}
	}
	all = slices.DeleteFunc(all, func(k known) bool {
		name := strings.TrimSuffix(k.File, filepath.Ext(k.File))
		return s.first != "" && (name < s.first || name > s.last)
	})
	require.NotEmpty(t, all, s.name())
	return all
}

// path is where an instance is.
func (s publishedSet) path(bench, file string) string {
	return filepath.Join(bench, filepath.FromSlash(s.folder), file)
}

// outcome is what came of one instance: the plan, and what it is held against apart
// from the best known value.
type outcome struct {
	status           Status
	objective, bound int64
	path             int64   // the critical path
	rule             int64   // the better of two dispatching rules where the set has due dates, else -1
	last, seconds    float64 // to the best plan, in all
}

// solve finds a plan, which passes the checker.
func (s publishedSet) solve(t *testing.T, bench, file string) outcome {
	p := instanceFile(t, s.path(bench, file))
	plan := solveWith(t, p, Options{Limit: s.limit, Cores: *tableCores, Seed: 1})
	o := outcome{status: plan.Status, objective: plan.Objective, bound: plan.Bound, path: int64(criticalPath(p)), rule: -1, seconds: plan.Stats.Seconds}
	if n := len(plan.Trace); n > 0 {
		o.last = plan.Trace[n-1].Seconds
	}
	if p.Objective.Tardiness == 0 {
		return o
	}
	for _, rule := range []Rule{EarliestPromise, NearestSetup} {
		plan, err := Dispatch(context.Background(), p, rule)
		require.NoError(t, err, file)
		if o.rule < 0 || plan.Objective < o.rule {
			o.rule = plan.Objective
		}
	}
	return o
}

// criticalPath is the latest earliest end by links alone.
func criticalPath(p *Problem) int {
	m := compile(p, nil)
	longest := 0
	for _, e := range m.minEnd {
		longest = max(longest, e)
	}
	return longest
}

var noteTitles = []string{"set", "file", "limit", "cores", "status", "objective", "bound", "critical path", "best rule", "s to best", "s"}

// noted returns what a file of notes says of an instance, else what find finds, which
// it adds to the file.
func noted(t *testing.T, notes string, set publishedSet, file string, find func() outcome) outcome {
	key, rows := set.key(file), notesIn(t, notes)
	if note := noteOf(rows, key); note != nil {
		return readNote(t, note)
	}
	o := find()
	f, err := os.OpenFile(notes, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o644)
	require.NoError(t, err)
	w := csv.NewWriter(f)
	if len(rows) == 0 {
		require.NoError(t, w.Write(noteTitles))
	}
	whole := func(n int64) string { return strconv.FormatInt(n, 10) }
	require.NoError(t, w.Write(append(key, string(o.status), whole(o.objective), whole(o.bound), whole(o.path), whole(o.rule),
		fmt.Sprintf("%.2f", o.last), fmt.Sprintf("%.2f", o.seconds))))
	w.Flush()
	require.NoError(t, w.Error())
	require.NoError(t, f.Close())
	return o
}

// key is what an instance of the set is noted under.
func (s publishedSet) key(file string) []string {
	return []string{s.name(), file, s.limit.String(), strconv.Itoa(*tableCores)}
}

// isNoted tells whether all instances of the set are noted.
func (s publishedSet) isNoted(t *testing.T, notes, bench string) bool {
	rows := notesIn(t, notes)
	for _, k := range s.instances(t, bench) {
		if noteOf(rows, s.key(k.File)) == nil {
			return false
		}
	}
	return true
}

// notesIn reads what was noted; nothing where there is no file yet.
func notesIn(t *testing.T, notes string) [][]string {
	text, err := os.ReadFile(notes)
	if !errors.Is(err, fs.ErrNotExist) {
		require.NoError(t, err)
	}
	rows, err := csv.NewReader(strings.NewReader(string(text))).ReadAll()
	require.NoError(t, err, notes)
	return rows
}

// noteOf returns what was noted under a key, nil if nothing was.
func noteOf(rows [][]string, key []string) []string {
	for _, row := range rows {
		if slices.Equal(row[:len(key)], key) {
			return row[len(key):]
		}
	}
	return nil
}

func readNote(t *testing.T, row []string) outcome {
	o := outcome{status: Status(row[0])}
	for i, to := range []*int64{&o.objective, &o.bound, &o.path, &o.rule} {
		n, err := strconv.ParseInt(row[1+i], 10, 64)
		require.NoError(t, err)
		*to = n
	}
	for i, to := range []*float64{&o.last, &o.seconds} {
		n, err := strconv.ParseFloat(row[5+i], 64)
		require.NoError(t, err)
		*to = n
	}
	return o
}

// tableSum is what the outcomes of a set add up to.
type tableSum struct {
	set                                        publishedSet
	all, solvable, found, best, better, proved int
	known, ruled, worse                        int // with a best known value; with a rule's; worse than that
	gaps, worst, above                         float64
	late, spared                               float64 // instances that are late by Apparent Tardiness Cost with Setups; of that spared, in sum
}

// beside counts an instance with the objective that Apparent Tardiness Cost with Setups
// reaches; where that is nothing there is nothing to spare.
func (s *tableSum) beside(rule, objective int64) {
	if rule > 0 {
		s.late++
		s.spared += float64(rule-objective) / float64(rule)
	}
}

// add counts an outcome; one that contradicts what is known fails the test.
func (s *tableSum) add(t *testing.T, k known, o outcome) {
	s.all++
	if o.status == Optimal || o.status == Infeasible {
		s.proved++
	}
	if k.Unsat {
		assert.NotContains(t, []Status{Optimal, Feasible}, o.status, "%s: a plan for what is said to have none", k.File)
		return
	}
	s.solvable++
	assert.NotEqual(t, Infeasible, o.status, "%s: said to have a plan", k.File)
	if o.status == Infeasible || o.status == Unknown {
		return
	}
	s.found++
	path := float64(max(1, o.path))
	s.above += 100 * (float64(o.objective) - path) / path
	if o.rule >= 0 {
		s.ruled++
		if o.objective > o.rule {
			s.worse++
		}
	}
	if k.Best < 0 {
		return
	}
	s.known++
	assert.LessOrEqual(t, o.bound, k.Best, "%s: the bound is above a known plan", k.File)
	if o.objective <= k.Best {
		s.best++
	}
	if o.objective < k.Best {
		s.better++
		assert.True(t, k.Open, "%s: %d is below the optimum %d", k.File, o.objective, k.Best)
	}
	gap := 100 * float64(o.objective-k.Best) / float64(max(1, k.Best))
	s.gaps, s.worst = s.gaps+gap, max(s.worst, gap)
}

// line is the set's row of the table.
func (s *tableSum) line() string {
	share := func(format string, of, all float64) string {
		if all == 0 {
			return "–"
		}
		return fmt.Sprintf(format, of/all)
	}
	best, rules, above := "–", "–", "–"
	if s.known > 0 {
		best = fmt.Sprintf("%d (%d below)", s.best, s.better)
	}
	if s.ruled > 0 {
		rules = fmt.Sprintf("%d of %d", s.worse, s.ruled)
	} else {
		above = share("%.2f", s.above, float64(s.found))
	}
	return fmt.Sprintf("| %s | %g | %d | %d of %d | %s | %d (%s %%) | %s | %s | %s | %s | %s |", s.set.name(), s.set.limit.Seconds(), s.all, s.found, s.solvable,
		best, s.proved, share("%.1f", 100*float64(s.proved), float64(s.all)), share("%.3f", s.gaps, float64(s.known)),
		share("%.2f", s.worst, min(1, float64(s.known))), above, rules, share("%.1f", 100*s.spared, s.late))
}

// tableText is the table as it is written.
func tableText(lines []string, now time.Time) string {
	return fmt.Sprintf("# Published sets\n\nWritten by `TestTable` on %s; the command is in `README.md`; `%s` has every instance. "+
		"Cores used: %d of %d (%s, %s); times are of the clock on the wall, so that a busy machine does worse. "+
		"ATCS: Apparent Tardiness Cost with Setups, the rule of Lee, Bhaskaran and Pinedo (1997).\n\n"+
		"| set | s each | instances | plans, of those that have one | best known or below | proved optimal or without a plan | mean gap %% | worst gap %% | mean above critical path %% | worse than a dispatching rule | mean below ATCS %% |\n"+
		"|---|---|---|---|---|---|---|---|---|---|---|\n%s\n",
		now.Format("2 January 2006"), strings.TrimSuffix(filepath.Base(*tableTo), filepath.Ext(*tableTo))+".csv", *tableCores, runtime.NumCPU(), runtime.GOARCH, runtime.Version(),
		strings.Join(lines, "\n"))
}

// What was noted is not found again, in other conditions it is; and a sum says what
// the outcomes say.
func TestTableGoesOnFromItsNotes(t *testing.T) {
	notes := filepath.Join(t.TempDir(), "notes.csv")
	set := publishedSet{folder: "rcpsp/j30", limit: time.Second}
	found := 0
	look := func(set publishedSet, file string, o outcome) outcome {
		return noted(t, notes, set, file, func() outcome { found++; return o })
	}
	optimal := outcome{status: Optimal, objective: 50, bound: 50, path: 40, rule: -1, last: 0.25, seconds: 0.5}
	open := outcome{status: Feasible, objective: 66, bound: 50, path: 60, rule: -1}
	none := outcome{status: Infeasible, rule: -1}
	sum := tableSum{set: set}
	for range 2 {
		sum = tableSum{set: set}
		sum.add(t, known{File: "a.sm", Best: 50}, look(set, "a.sm", optimal))
		sum.add(t, known{File: "b.sm", Best: 60}, look(set, "b.sm", open))
		sum.add(t, known{File: "c.sm", Unsat: true}, look(set, "c.sm", none))
	}
	assert.Equal(t, 3, found)
	assert.Equal(t, optimal, look(set, "a.sm", none))
	assert.Equal(t, "| rcpsp/j30 | 1 | 3 | 2 of 2 | 1 (0 below) | 2 (66.7 %) | 5.000 | 10.00 | 17.50 | – | – |", sum.line())
	sum.beside(0, 0)
	sum.beside(200, 100)
	sum.beside(40, 30)
	assert.Equal(t, "37.5 |", sum.line()[len(sum.line())-6:])
	assert.Equal(t, open, look(publishedSet{folder: set.folder, limit: 2 * time.Second}, "a.sm", open))
	assert.Equal(t, 4, found)
}
