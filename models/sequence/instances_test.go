package sequence

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The readers below turn published instance files into problems. Their formats
// and sources are told in testdata/README.md.

// instance reads one file of testdata, choosing the reader by the file's name.
func instance(t testing.TB, name string) *Problem {
	t.Helper()
	return instanceFile(t, filepath.Join("testdata", filepath.FromSlash(name)))
}

func instanceFile(t testing.TB, name string) *Problem {
	t.Helper()
	readers := map[string]func(io.Reader) (*Problem, error){
		".jss": readJobShop, ".sm": readRCPSP, ".sch": readRCPSPMax,
		".instance": readSetupsTardiness, ".dat": readJobShopSetups,
	}
	read := readers[filepath.Ext(name)]
	require.NotNil(t, read, "no reader for %s", name)
	f, err := os.Open(name)
	require.NoError(t, err)
	defer f.Close()
	p, err := read(f)
	require.NoError(t, err, name)
	return p
}

// known is what the literature says of one instance of testdata.
type known struct {
	File  string
	Best  int64 // optimum, or the best known where Open
	Open  bool  // optimality not proved
	Unsat bool  // proved to have no plan
}

// bestKnown lists the instances of one folder of testdata in the file's order.
func bestKnown(t testing.TB, folder string) []known {
	t.Helper()
	all := knownIn(t, filepath.Join("testdata", "best-known.csv"))
	all = slices.DeleteFunc(all, func(k known) bool { return !strings.HasPrefix(k.File, folder+"/") })
	require.NotEmpty(t, all, folder)
	return all
}

// knownIn reads a file of best known values.
func knownIn(t testing.TB, file string) []known {
	t.Helper()
	f, err := os.Open(file)
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	var found []known
	for _, row := range rows[1:] {
		k := known{File: row[0], Unsat: row[1] == "unsat"}
		value := row[1]
		if _, upper, open := strings.Cut(value, ".."); open {
			k.Open, value = true, upper
		}
		if !k.Unsat {
			k.Best, err = strconv.ParseInt(value, 10, 64)
			require.NoError(t, err, row[0])
		}
		found = append(found, k)
	}
	return found
}

// words hands out the integers of a text one after the other and remembers the
// first thing that went wrong.
type words struct {
	in  []string
	pos int
	err error
}

func (w *words) next() int {
	if w.err != nil {
		return 0
	}
	if w.pos >= len(w.in) {
		w.err = fmt.Errorf("the file ends too soon, after %d numbers", w.pos)
		return 0
	}
	n, err := strconv.Atoi(strings.Trim(w.in[w.pos], "[]"))
	if err != nil {
		w.err = fmt.Errorf("number %d: %w", w.pos+1, err)
	}
	w.pos++
	return n
}

// count is a next that must lie in 0..10000, so that a broken file cannot make
// a reader allocate without end.
func (w *words) count() int {
	n := w.next()
	if w.err == nil && (n < 0 || n > 10000) {
		w.err = fmt.Errorf("number %d: %d is no count", w.pos, n)
	}
	if w.err != nil {
		return 0
	}
	return n
}

func (w *words) list(n int) []int {
	l := make([]int, n)
	for i := range l {
		l[i] = w.next()
	}
	return l
}

func split(r io.Reader) (*words, error) {
	text, err := io.ReadAll(r)
	if err != nil {
		return nil, fmt.Errorf("reading the instance: %w", err)
	}
	return &words{in: strings.Fields(string(text))}, nil
}

// sections returns the lines below each title line of a PSPLIB file, the rules
// of asterisks and dashes left out.
func sections(r io.Reader, titles ...string) (map[string][]string, error) {
	found := map[string][]string{}
	title := ""
	scan := bufio.NewScanner(r)
	for scan.Scan() {
		line := strings.TrimSpace(scan.Text())
		if line == "" || line[0] == '*' || line[0] == '-' {
			continue
		}
		isTitle := false
		for _, t := range titles {
			if strings.HasPrefix(line, t) {
				title, isTitle = t, true
			}
		}
		if !isTitle && title != "" {
			found[title] = append(found[title], line)
		}
	}
	if err := scan.Err(); err != nil {
		return nil, fmt.Errorf("reading the instance: %w", err)
	}
	for _, t := range titles {
		if len(found[t]) < 2 {
			return nil, fmt.Errorf("no section %q", t)
		}
	}
	return found, nil
}

func ints(lines []string) *words {
	return &words{in: strings.Fields(strings.Join(lines, " "))}
}

// readRCPSP reads a PSPLIB single-mode file (.sm). The two dummy activities
// stay in as tasks of no duration.
func readRCPSP(r io.Reader) (*Problem, error) {
	const precedence, requests, available = "PRECEDENCE RELATIONS", "REQUESTS/DURATIONS", "RESOURCEAVAILABILITIES"
	s, err := sections(r, precedence, requests, available)
	if err != nil {
		return nil, err
	}
	n := len(s[precedence]) - 1
	if len(s[requests]) != n+1 {
		return nil, fmt.Errorf("%d jobs have successors but %d have requests", n, len(s[requests])-1)
	}
	p := &Problem{Version: Version, Objective: Weights{Makespan: 1}}
	for i, c := range ints(s[available][1:]).in {
		capacity, err := strconv.Atoi(c)
		if err != nil {
			return nil, fmt.Errorf("capacity %d: %w", i+1, err)
		}
		p.Resources = append(p.Resources, Resource{ID: "R" + strconv.Itoa(i+1), Capacity: capacity})
	}
	w := ints(s[requests][1:])
	for range n {
		id, _ := w.next(), w.next()
		p.addActivity(id, w.next(), w.list(len(p.Resources)))
	}
	if w.err != nil {
		return nil, fmt.Errorf("%s: %w", requests, w.err)
	}
	w = ints(s[precedence][1:])
	for range n {
		id, _ := w.next(), w.next()
		for _, after := range w.list(w.count()) {
			p.Links = append(p.Links, Link{Before: strconv.Itoa(id), After: strconv.Itoa(after)})
		}
	}
	if w.err != nil {
		return nil, fmt.Errorf("%s: %w", precedence, w.err)
	}
	return p, nil
}

// addActivity adds one activity of a project; the horizon grows by its duration.
func (p *Problem) addActivity(id, duration int, demands []int) {
	task := Task{ID: strconv.Itoa(id), Attended: duration}
	for i, d := range demands {
		if d != 0 {
			task.Uses = append(task.Uses, Use{Resource: p.Resources[i].ID, Amount: d, During: Attended})
		}
	}
	p.Tasks = append(p.Tasks, task)
	p.Horizon += duration
}

// readRCPSPMax reads a ProGen/max file (.sch): project scheduling with least
// and greatest start-to-start lags.
func readRCPSPMax(r io.Reader) (*Problem, error) {
	w, err := split(r)
	if err != nil {
		return nil, err
	}
	n, kinds := w.count()+2, w.count()
	w.list(2)
	p := &Problem{Version: Version, Objective: Weights{Makespan: 1}}
	lags := make(map[[2]int]int)
	var arcs [][2]int
	for range n {
		id, _ := w.next(), w.next()
		after := w.list(w.count())
		for i, lag := range w.list(len(after)) {
			arc := [2]int{id, after[i]}
			if _, twice := lags[arc]; twice {
				return nil, fmt.Errorf("two lags from %d to %d", arc[0], arc[1])
			}
			lags[arc] = lag
			arcs = append(arcs, arc)
		}
	}
	for k := range kinds {
		p.Resources = append(p.Resources, Resource{ID: "R" + strconv.Itoa(k+1)})
	}
	for range n {
		id, _ := w.next(), w.next()
		p.addActivity(id, w.next(), w.list(kinds))
	}
	for k := range kinds {
		p.Resources[k].Capacity = w.next()
	}
	p.addLags(arcs, lags)
	return p, w.err
}

// addLags writes each arc i → j with lag d, which says start(j) ≥ start(i) + d,
// as a link. A negative lag is a greatest lag in the other direction: it
// becomes the max of the link j → i where there is one, else a negative min.
func (p *Problem) addLags(arcs [][2]int, lags map[[2]int]int) {
	for _, arc := range arcs {
		lag, back := lags[arc], [2]int{arc[1], arc[0]}
		reverse, both := lags[back]
		if lag < 0 && both && reverse >= 0 {
			continue
		}
		link := Link{Before: strconv.Itoa(arc[0]), After: strconv.Itoa(arc[1]), From: FromStart, Min: lag}
		if both && lag >= 0 && reverse < 0 {
			most := -reverse
			link.Max = &most
		}
		p.Links = append(p.Links, link)
		p.Horizon += max(lag, -lag)
	}
}

// readJobShop reads a job shop: "jobs machines", then for each job its pairs
// of machine (from 0) and duration. Lines that begin with # are comments.
func readJobShop(r io.Reader) (*Problem, error) {
	text, err := io.ReadAll(r)
	if err != nil {
		return nil, fmt.Errorf("reading the instance: %w", err)
	}
	var lines []string
	for line := range strings.Lines(string(text)) {
		if !strings.HasPrefix(line, "#") {
			lines = append(lines, line)
		}
	}
	w := ints(lines)
	jobs, machines := w.count(), w.count()
	p := &Problem{Version: Version, Objective: Weights{Makespan: 1}}
	for m := range machines {
		p.Resources = append(p.Resources, Resource{ID: "M" + strconv.Itoa(m), Capacity: 1})
	}
	for j := range jobs {
		for op := range machines {
			machine := w.next()
			p.addOperation(j, op, w.next())
			last := &p.Tasks[len(p.Tasks)-1]
			last.Uses = []Use{{Resource: "M" + strconv.Itoa(machine), Amount: 1, During: Attended}}
		}
	}
	return p, w.err
}

// addOperation adds operation op of job j, after the operation before it.
func (p *Problem) addOperation(j, op, duration int) {
	id := func(op int) string { return fmt.Sprintf("%d.%d", j+1, op+1) }
	p.Tasks = append(p.Tasks, Task{ID: id(op), Attended: duration})
	if op > 0 {
		p.Links = append(p.Links, Link{Before: id(op - 1), After: id(op)})
	}
	p.Horizon += duration
}

// readJobShopSetups reads a job shop with sequence-dependent setups: "machines
// jobs families"; a line a job with its number of operations and duration,
// machine and family of each (both from 1); the initial setups by family; the
// matrix of setups, row = family before. What follows the matrix is ignored.
func readJobShopSetups(r io.Reader) (*Problem, error) {
	w, err := split(r)
	if err != nil {
		return nil, err
	}
	machines, jobs, families := w.count(), w.count(), w.count()
	p := &Problem{Version: Version, Objective: Weights{Makespan: 1}}
	for j := range jobs {
		for op := range w.count() {
			p.addOperation(j, op, w.next())
			p.Tasks[len(p.Tasks)-1].Setup = &SetupNeed{Resource: "M" + strconv.Itoa(w.next()), State: strconv.Itoa(w.next())}
		}
	}
	setups := Setups{Initial: new("0")}
	longest := 0
	for from := range families + 1 { // row 0 is the initial state
		for to := range families {
			minutes := w.next()
			longest = max(longest, minutes)
			setups.Pairs = append(setups.Pairs, Pair{From: strconv.Itoa(from), To: strconv.Itoa(to + 1), Minutes: minutes})
		}
	}
	for m := range machines {
		own := setups
		p.Resources = append(p.Resources, Resource{ID: "M" + strconv.Itoa(m+1), Capacity: 1, Setups: &own})
	}
	p.Horizon += longest * len(p.Tasks)
	return p, w.err
}

// readSetupsTardiness reads one machine with sequence-dependent setups and
// weighted tardiness (.instance). The state of a job is its number; -1 is the
// machine's initial state.
func readSetupsTardiness(r io.Reader) (*Problem, error) {
	const size = "Problem Size:"
	text, err := io.ReadAll(r)
	if err != nil {
		return nil, fmt.Errorf("reading the instance: %w", err)
	}
	_, rest, found := strings.Cut(string(text), size)
	if !found {
		return nil, fmt.Errorf("no line %q", size)
	}
	n := ints([]string{strings.SplitN(rest, "\n", 2)[0]}).count()
	column := func(from, to string) (*words, error) {
		_, after, ok := strings.Cut(rest, from)
		body, _, ends := strings.Cut(after, to)
		if !ok || !ends {
			return nil, fmt.Errorf("no section between %q and %q", from, to)
		}
		return ints([]string{body}), nil
	}
	titles := []string{"Process Times:", "Weights:", "Duedates:", "Setup Times:", "End Problem Specification"}
	var parts [4]*words
	for i := range parts {
		if parts[i], err = column(titles[i], titles[i+1]); err != nil {
			return nil, err
		}
	}
	p := &Problem{Version: Version, Objective: Weights{Tardiness: 1}}
	for j := range n {
		id := strconv.Itoa(j)
		duration, weight, due := parts[0].next(), parts[1].next(), parts[2].next()
		p.Jobs = append(p.Jobs, Job{ID: id, Due: &due, Weight: weight})
		p.Tasks = append(p.Tasks, Task{ID: id, Job: id, Attended: duration, Setup: &SetupNeed{Resource: "machine", State: id}})
		p.Horizon += duration
	}
	p.addMachine(n, parts[3])
	for i, w := range parts {
		if w.err != nil {
			return nil, fmt.Errorf("%s %w", titles[i], w.err)
		}
	}
	return p, nil
}

// addMachine adds the one machine with its n·n setups, given as from, to,
// minutes; the horizon grows by the longest setup into each job.
func (p *Problem) addMachine(n int, w *words) {
	setups := &Setups{Initial: new("-1")}
	longest := make(map[int]int)
	for range n * n {
		from, to, minutes := w.next(), w.next(), w.next()
		setups.Pairs = append(setups.Pairs, Pair{From: strconv.Itoa(from), To: strconv.Itoa(to), Minutes: minutes})
		longest[to] = max(longest[to], minutes)
	}
	for _, minutes := range longest {
		p.Horizon += minutes
	}
	p.Resources = []Resource{{ID: "machine", Capacity: 1, Setups: setups}}
}

// The expected numbers were counted in the files by hand.
func TestInstancesAreReadWhole(t *testing.T) {
	ft06 := instance(t, "ft/ft06.jss")
	assert.Len(t, ft06.Tasks, 36)
	assert.Len(t, ft06.Links, 30)
	assert.Equal(t, Task{ID: "6.6", Attended: 1, Uses: []Use{{Resource: "M2", Amount: 1, During: Attended}}}, ft06.Tasks[35])

	j30 := instance(t, "j30/j301_1.sm")
	assert.Len(t, j30.Tasks, 32)
	assert.Len(t, j30.Links, 48)
	assert.Equal(t, 158, j30.Horizon)
	assert.Equal(t, []Resource{{ID: "R1", Capacity: 12}, {ID: "R2", Capacity: 13}, {ID: "R3", Capacity: 4}, {ID: "R4", Capacity: 12}}, j30.Resources)

	ubo := instance(t, "ubo10/psp1.sch")
	assert.Len(t, ubo.Tasks, 12)
	assert.Equal(t, Resource{ID: "R5", Capacity: 10}, ubo.Resources[4])
	assert.Contains(t, ubo.Links, Link{Before: "1", After: "10", From: FromStart, Min: 2, Max: new(3)})
	assert.Contains(t, ubo.Links, Link{Before: "5", After: "6", From: FromStart, Min: -5})

	bt := instance(t, "bt/t2-ps05.dat")
	assert.Len(t, bt.Tasks, 50)
	assert.Equal(t, &SetupNeed{Resource: "M2", State: "3"}, bt.Tasks[38].Setup)
	assert.Len(t, bt.Resources[0].Setups.Pairs, 30)
	assert.Contains(t, bt.Resources[0].Setups.Pairs, Pair{From: "0", To: "5", Minutes: 50})

	one := instance(t, "wt_sds/wt_sds_1.instance")
	assert.Len(t, one.Tasks, 60)
	assert.Len(t, one.Resources[0].Setups.Pairs, 3600)
	assert.Contains(t, one.Resources[0].Setups.Pairs, Pair{From: "-1", To: "8", Minutes: 49})
	assert.Equal(t, Job{ID: "0", Due: new(4925), Weight: 4}, one.Jobs[0])
}

func TestKnownValuesOfTestdata(t *testing.T) {
	assert.Equal(t, []known{{File: "ft/ft06.jss", Best: 55}, {File: "ft/ft10.jss", Best: 930}, {File: "ft/ft20.jss", Best: 1165}}, bestKnown(t, "ft"))
	assert.Len(t, bestKnown(t, "j30"), 20)
	unsat := 0
	for _, k := range bestKnown(t, "ubo10") {
		if k.Unsat {
			unsat++
		}
	}
	assert.Equal(t, 2, unsat)
	for _, folder := range []string{"ft", "j30", "ubo10", "bt"} {
		for _, k := range bestKnown(t, folder) {
			p := instance(t, k.File)
			assert.NotEmpty(t, p.Tasks, k.File)
		}
	}
}
