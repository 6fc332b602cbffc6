package sequence

import (
	"math"
	"math/rand/v2"
	"sort"
	"sync/atomic"
)

// improver searches over priority lists by simulated annealing: it changes the
// list, decodes it, and keeps the change if it is better or, with a chance that
// falls as the search cools, worse. It anneals in cycles, each longer than the
// one before, the first of them without heat.
type improver struct {
	d        *decoder
	rng      *rand.Rand
	after    [][]int32 // tasks that wait for a task
	list     []int     // the current list
	pos      []int     // of each task in it
	at       float64   // worth of the current list
	stick    []bool    // of the current list
	start    []int     // of the current list's schedule
	late     []int     // jobs that it ends late, at a cost
	trial    []int
	best     *answer
	bestLast bool    // it was decoded with tasks going behind all others on their station
	solved   bool    // the current list has a schedule
	eps      float64 // weight of the sum of ends beside the objective
	unit     float64 // least weight of the objective
	cycle    int
	step     int
	length   int
	heat     float64
	cooling  float64
	worse    float64   // running mean of what worsening moves cost
	retry    []int     // failures of each task while nothing is solved
	groups   [][]int   // tasks by station and state, those with company only
	group    []int     // group of each task, -1: none
	moves    []move    // weighted by repetition
	jobs     *jobOrder // searches before the annealing; nil: nothing to search, or over
}

type move func(im *improver) (ok bool)

func newImprover(m *model, seed int64) *improver {
	n := len(m.tasks)
	im := &improver{
		d: newDecoder(m), rng: rand.New(rand.NewPCG(uint64(seed), 0x5eed)), after: make([][]int32, n), pos: make([]int, n),
		stick: make([]bool, n), start: make([]int, n), trial: make([]int, n), retry: make([]int, n), group: make([]int, n),
	}
	for t, bs := range im.d.before {
		for _, b := range bs {
			im.after[b] = append(im.after[b], int32(t))
		}
	}
	im.unit = math.Inf(1)
	w := m.weights
	for _, x := range []int64{w.Tardiness, w.Setup, w.Flow, w.Makespan, w.Moved} {
		if x > 0 {
			im.unit = min(im.unit, float64(x))
		}
	}
	if math.IsInf(im.unit, 1) {
		im.unit = 1
	}
	im.eps = 0.1 * im.unit / float64(max(1, n))
	im.findGroups()
	im.chooseMoves()
	im.d.last = true
	im.list = append([]int(nil), m.jobList()...)
	im.index()
	im.newCycle()
	return im
}

func (im *improver) findGroups() {
	byState := map[[2]int][]int{}
	var keys [][2]int
	for t := range im.group {
		im.group[t] = -1
		if w := &im.d.m.tasks[t]; w.station >= 0 {
			k := [2]int{w.station, w.state}
			if byState[k] == nil {
				keys = append(keys, k)
			}
			byState[k] = append(byState[k], t)
		}
	}
	for _, k := range keys {
		if g := byState[k]; len(g) > 1 {
			for _, t := range g {
				im.group[t] = len(im.groups)
			}
			im.groups = append(im.groups, g)
		}
	}
}

func (im *improver) chooseMoves() {
	add := func(m move, times int) {
		for ; times > 0; times-- {
			im.moves = append(im.moves, m)
		}
	}
	m := im.d.m
	add((*improver).insert, 8)
	add((*improver).swap, 5)
	add((*improver).block, 2)
	if len(im.groups) > 0 {
		add((*improver).join, 4)
		add((*improver).moveRun, 2)
	}
	if len(m.jobs) > 1 && len(m.jobs) < len(m.tasks) {
		add((*improver).hurry, 2)
		add((*improver).pull, 6)
	}
	if m.weights.Moved > 0 {
		for i := range m.tasks {
			im.stick[i] = m.tasks[i].seen()
		}
		copy(im.d.stick, im.stick)
		add((*improver).unstick, 3)
	}
}

// rulesFirst is up to how many tasks the dispatching rules are tried before the first
// plan is shown: there they take a few milliseconds.
const rulesFirst = 150

// begin tries the starting lists and the dispatching rules. Where there is a previous
// plan, shown is told as soon as a plan near it is found; where there are many tasks,
// before the rules are tried. What shown returns is whether to go on.
func (im *improver) begin(stop *atomic.Bool, shown func() bool) {
	m := im.d.m
	tails := m.tails()
	lists := [][]int{
		m.sortedBy(func(t int) [2]int { return [2]int{m.dueOf(t) - tails[t], m.early[t]} }),
		m.jobList(),
		m.sortedBy(func(t int) [2]int { return [2]int{m.early[t] - tails[t], m.dueOf(t)} }),
	}
	if m.previous() {
		im.keepPrevious(tails, stop)
		if im.solved && !shown() {
			return
		}
	}
	for i, list := range lists {
		if stop.Load() {
			break
		}
		if !im.try(list) && i == 0 && !im.solved {
			if im.d.rescue(list, rescueTries, stop) {
				im.adopt()
			} else {
				im.list = append(im.list[:0], im.d.order...)
			}
		}
	}
	if len(m.tasks) > rulesFirst && im.solved && !shown() {
		return
	}
	im.tryRules(stop)
	im.jobs = newJobOrder(im)
	im.toBest()
}

// toBest begins to anneal with the best list, decoded as it was.
func (im *improver) toBest() {
	im.d.last = im.bestLast
	im.setStick(im.stick)
	im.index()
	im.newCycle()
}

// setStick changes which tasks stick to their previous start.
func (im *improver) setStick(stick []bool) {
	copy(im.d.stick, stick)
	im.d.dirty = true
}

// worth is what the search minimises.
func (im *improver) worth(v value) float64 { return float64(v.cost) + im.eps*float64(v.ends) }

// adopt takes the schedule just decoded as the best if it is, and as the current one then.
func (im *improver) adopt() {
	v := im.d.value()
	if im.best != nil && !v.better(im.best.value) {
		return
	}
	im.best, im.bestLast = im.d.answer(), im.d.last
	copy(im.stick, im.d.stick)
	im.list = append(im.list[:0], im.d.order...)
	im.at, im.solved = im.worth(v), true
	im.noteSchedule()
	im.index()
}

// noteSchedule keeps what moves want to know of the schedule just decoded and
// evaluated, which becomes the current one.
func (im *improver) noteSchedule() {
	im.d.keep()
	copy(im.start, im.d.start)
	im.late = im.late[:0]
	m := im.d.m
	for j := range m.jobs {
		if job := &m.jobs[j]; m.weights.Tardiness > 0 && job.weight > 0 && im.d.ends[j] > job.due {
			im.late = append(im.late, j)
		}
	}
}

// someJob returns a job at random, mostly a late one where some are: one that
// ends late costs more than all else, and is seldom hit by chance.
func (im *improver) someJob() int {
	if len(im.late) > 0 && im.rng.IntN(4) > 0 {
		return im.late[im.rng.IntN(len(im.late))]
	}
	return im.rng.IntN(len(im.d.m.jobs))
}

func (im *improver) index() {
	for i, t := range im.list {
		im.pos[t] = i
	}
}

func (im *improver) chunk() int64 { return 1024 }

func (im *improver) found() (*answer, int64, bool) { return im.best, 0, false }

// meet takes over a better answer of another search.
func (im *improver) meet(best *answer, _ int64) {
	if best == nil || im.best != nil && im.best.value.cost <= best.value.cost {
		return
	}
	im.best, im.bestLast = best, im.d.last
	im.list = append(im.list[:0], best.order()...)
	im.index()
	if im.d.decode(im.list) {
		im.at, im.solved = im.worth(im.d.value()), true
		im.noteSchedule()
		im.list = append(im.list[:0], im.d.order...)
		im.index()
	}
}

func (im *improver) run(b *budget) int64 {
	began := im.d.count
	for idle := 0; !b.over(im.d.count - began); {
		before := im.d.count
		switch {
		case !im.solved:
			im.seekPlace()
		case im.jobs != nil:
			if !im.jobs.step() {
				im.jobs = nil
				im.toBest()
			}
		default:
			im.change()
		}
		if im.d.count > before {
			idle = 0
		} else if idle++; idle == 50 {
			im.d.count++ // moves that change nothing must use up the work as well
			idle = 0
		}
	}
	if im.d.cut { // the last schedule is none, and the share of work is not done
		return im.d.count - began - 1
	}
	return im.d.count - began
}

// tryRules takes the schedules of the dispatching rules where they are better, so that
// no plan is worse than theirs.
func (im *improver) tryRules(stop *atomic.Bool) {
	for _, rule := range []Rule{EarliestPromise, LeastSlack, NearestSetup, LongestTail} {
		if placed, err := im.d.ruled(rule, 0, stop); err == nil && placed && !stop.Load() {
			im.adopt()
		}
		im.d.count++
	}
}

// seekPlace tries one more list while none has been decoded to the end.
func (im *improver) seekPlace() {
	t := im.d.failed
	if t < 0 {
		t = im.rng.IntN(len(im.list))
	}
	im.retry[t]++
	copy(im.trial, im.list)
	im.index()
	i := im.pos[t]
	j := max(0, i-1-im.rng.IntN(1<<min(16, im.retry[t])))
	im.shift(i, j)
	if im.rng.IntN(8) == 0 {
		im.shift(im.rng.IntN(len(im.list)), im.rng.IntN(len(im.list)))
	}
	if im.d.decode(im.trial) {
		im.adopt()
		im.newCycle()
		return
	}
	im.list = append(im.list[:0], im.d.order...)
}

// change makes one move and keeps it or not.
func (im *improver) change() {
	if im.step >= im.length {
		im.cycle++
		im.newCycle()
	}
	im.step++
	im.heat *= im.cooling
	copy(im.trial, im.list)
	if !im.moves[im.rng.IntN(len(im.moves))](im) {
		im.restoreStick()
		return
	}
	// The draw that would let a worse schedule pass is made first: a schedule
	// that is sure to be worse than it lets pass need not be finished.
	pass := im.at - im.heat*math.Log(1-im.rng.Float64())
	im.d.outlook.limit = int64(pass)
	ok := im.d.decode(im.trial)
	im.d.outlook.limit = math.MaxInt64
	if !ok {
		if im.d.failed < 0 {
			im.noteWorse(float64(im.d.outlook.cost))
		}
		im.restoreStick()
		return
	}
	f := im.worth(im.d.value())
	if f > im.at {
		im.noteWorse(f)
	}
	if f > pass {
		im.restoreStick()
		return
	}
	im.at = f
	copy(im.stick, im.d.stick)
	im.noteSchedule()
	im.list = append(im.list[:0], im.d.order...)
	im.index()
	im.adopt()
}

// noteWorse keeps the mean of what worsening moves cost.
func (im *improver) noteWorse(f float64) {
	im.worse += (min(f-im.at, 10*im.worse+im.unit) - im.worse) / 50
}

func (im *improver) restoreStick() {
	for i := range im.stick {
		if im.stick[i] != im.d.stick[i] {
			im.setStick(im.stick)
			return
		}
	}
}

// newCycle begins an annealing cycle from the best list.
func (im *improver) newCycle() {
	n := len(im.list)
	im.step = 0
	im.length = max(1000, 10*n)
	im.heat, im.cooling = 0, 1
	if !im.solved {
		return
	}
	if im.cycle > 0 {
		im.length <<= min(im.cycle, 12)
		im.heat = max(im.unit, im.worse) * im.warmth()
		cold := 0.02 * im.unit
		im.cooling = math.Pow(cold/im.heat, 1/float64(im.length))
		im.fromBest()
	}
}

// warmth is the heat a cycle begins with, as a share of what worsening moves cost.
// Measured: where the ends of jobs count, shop weeks come out better at 0.1 than
// at 0.5 after seconds; where the last end alone counts, job shops with setups do not.
func (im *improver) warmth() float64 {
	if w := im.d.m.weights; w.Tardiness > 0 || w.Flow > 0 {
		return 0.1
	}
	return 0.5
}

// fromBest makes the best schedule's order the current list; every other time,
// where stations have setups, tasks may go in between others on them.
func (im *improver) fromBest() {
	mode := im.d.last
	if len(im.groups) > 0 {
		im.d.last = im.cycle%2 == 1
	}
	im.d.dirty = im.d.dirty || mode != im.d.last
	list := im.best.order()
	if !im.d.decode(list) {
		return
	}
	im.list = append(im.list[:0], im.d.order...)
	im.at = im.worth(im.d.value())
	im.noteSchedule()
	im.index()
	im.adopt()
}

// shift moves the task at position i of the trial list to position j.
func (im *improver) shift(i, j int) { shiftIn(im.trial, i, j) }

// shiftIn moves what is at position i of a list to position j.
func shiftIn(list []int, i, j int) {
	x := list[i]
	if i < j {
		copy(list[i:j], list[i+1:j+1])
	} else {
		copy(list[j+1:i+1], list[j:i])
	}
	list[j] = x
}

// span returns the positions between the last task that t waits for and the
// first that waits for t.
func (im *improver) span(t int) (lo, hi int) {
	lo, hi = 0, len(im.list)-1
	for _, b := range im.d.before[t] {
		lo = max(lo, im.pos[b]+1)
	}
	for _, a := range im.after[t] {
		hi = min(hi, im.pos[a]-1)
	}
	return lo, hi
}

// insert moves a task to another place, mostly a near one.
func (im *improver) insert() bool {
	i := im.rng.IntN(len(im.list))
	lo, hi := im.span(im.list[i])
	if im.rng.IntN(4) == 0 {
		lo = 0 // what it waits for comes along
	}
	if im.rng.IntN(3) > 0 {
		lo, hi = max(lo, i-12), min(hi, i+12)
	}
	if hi <= lo {
		return false
	}
	j := lo + im.rng.IntN(hi-lo+1)
	if i == j {
		return false
	}
	im.shift(i, j)
	return true
}

// swap exchanges two tasks.
func (im *improver) swap() bool {
	i := im.rng.IntN(len(im.list))
	lo, hi := im.span(im.list[i])
	if im.rng.IntN(3) > 0 {
		lo, hi = max(lo, i-15), min(hi, i+15)
	}
	if hi <= lo {
		return false
	}
	j := lo + im.rng.IntN(hi-lo+1)
	if i == j {
		return false
	}
	im.trial[i], im.trial[j] = im.trial[j], im.trial[i]
	return true
}

// block moves a few neighbouring tasks together.
func (im *improver) block() bool {
	n := len(im.list)
	length := 2 + im.rng.IntN(5)
	if n < length+2 {
		return false
	}
	i, j := im.rng.IntN(n-length), im.rng.IntN(n-length)
	if i == j {
		return false
	}
	for k := 0; k < length; k++ {
		if i < j {
			im.shift(i, j+length-1)
		} else {
			im.shift(i+k, j+k)
		}
	}
	return true
}

// join moves a task beside another one that needs the same setup.
func (im *improver) join() bool {
	g := im.groups[im.rng.IntN(len(im.groups))]
	t, u := g[im.rng.IntN(len(g))], g[im.rng.IntN(len(g))]
	if t == u {
		return false
	}
	i, j := im.pos[t], im.pos[u]
	if i > j {
		j++
	}
	if i == j {
		return false
	}
	im.shift(i, j)
	return true
}

// moveRun moves the tasks of a run that are adjacent on their station to
// another run of the same setup.
func (im *improver) moveRun() bool {
	t := im.groups[im.rng.IntN(len(im.groups))][0]
	g := im.groups[im.group[t]]
	t, u := g[im.rng.IntN(len(g))], g[im.rng.IntN(len(g))]
	if t == u {
		return false
	}
	run := im.runOf(t)
	for _, k := range run {
		if k == u {
			return false
		}
	}
	target := im.trialPos(u)
	for _, k := range run {
		i := im.trialPos(k)
		if i < target {
			im.shift(i, target)
		} else {
			target++
			im.shift(i, target)
		}
	}
	return true
}

func (im *improver) trialPos(t int) int {
	for i, u := range im.trial {
		if u == t {
			return i
		}
	}
	return 0
}

// runOf returns the tasks around t in the best schedule's sequence of its
// station that share its setup, in order.
func (im *improver) runOf(t int) []int {
	m := im.d.m
	w := &m.tasks[t]
	seq := im.best.seq[w.station]
	at := 0
	for i, k := range seq {
		if int(k) == t {
			at = i
		}
	}
	lo, hi := at, at
	for lo > 0 && m.tasks[seq[lo-1]].state == w.state {
		lo--
	}
	for hi+1 < len(seq) && m.tasks[seq[hi+1]].state == w.state {
		hi++
	}
	run := make([]int, 0, hi-lo+1)
	for _, k := range seq[lo : hi+1] {
		run = append(run, int(k))
	}
	return run
}

// pull brings one task forward that keeps a job from ending sooner: on the way
// back from the job's last task along its links, one that starts later than the
// links ask for.
func (im *improver) pull() bool {
	m := im.d.m
	tasks := m.jobs[im.someJob()].tasks
	if len(tasks) == 0 {
		return false
	}
	t := tasks[0]
	for _, k := range tasks {
		if im.pos[k] > im.pos[t] { // ends last, or nearly so
			t = k
		}
	}
	for range tasks { // links may go round in a circle
		by, at := -1, m.early[t]
		for _, k := range m.tasks[t].in {
			l := &m.links[k]
			if p := m.tasks[l.before].point(l.from, im.start[l.before]) + l.min; p > at {
				by, at = l.before, p
			}
		}
		waits := im.start[t] > m.tasks[t].nextStart(at)
		if by < 0 || waits && im.rng.IntN(2) == 0 {
			break
		}
		t = by
	}
	i := im.pos[t]
	j := max(0, i-1-im.rng.IntN(1<<(1+im.rng.IntN(6))))
	if i == j {
		return false
	}
	im.shift(i, j)
	return true
}

// hurry brings all tasks of a job forward, or puts them off, by a share.
func (im *improver) hurry() bool {
	m := im.d.m
	tasks := m.jobs[im.someJob()].tasks
	if len(tasks) == 0 {
		return false
	}
	share := 0.5 + im.rng.Float64()
	key := func(t int) float64 { return float64(im.pos[t]) }
	mine := map[int]bool{}
	for _, t := range tasks {
		mine[t] = true
	}
	end := float64(len(im.list))
	sort.SliceStable(im.trial, func(a, b int) bool {
		x, y := key(im.trial[a]), key(im.trial[b])
		if mine[im.trial[a]] {
			x = stretch(x, share, end)
		}
		if mine[im.trial[b]] {
			y = stretch(y, share, end)
		}
		return x < y
	})
	return true
}

// stretch moves a position towards the front (share < 1) or the end (share > 1).
func stretch(x, share, end float64) float64 {
	if share < 1 {
		return x*share - 0.5
	}
	return x + (end-x)*(share-1) + 0.5
}

// unstick lets a task, or all tasks of its job, leave or keep its previous start.
func (im *improver) unstick() bool {
	m := im.d.m
	t := im.rng.IntN(len(im.list))
	if !m.tasks[t].seen() {
		return false
	}
	to := !im.d.stick[t]
	im.d.stick[t] = to
	if j := m.tasks[t].job; j >= 0 && im.rng.IntN(3) == 0 {
		for _, k := range m.jobs[j].tasks {
			im.d.stick[k] = to && m.tasks[k].seen()
		}
	}
	im.d.dirty = true
	return true
}
