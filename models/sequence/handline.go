package sequence

import "slices"

// handLine is a search for shops of one person. Whatever is done there needs the same
// pair of hands, so that a plan is a line of tasks: in a given order each is best begun
// as early as it can be, since nothing of the objective gets better by waiting. The
// search lengthens lines task by task, all of one length at a time, forgets those to
// which another is to be preferred whatever follows (handline_state.go), and goes on
// with the most promising (handline_bound.go), at first with a few, then with more. When
// a round had to leave out none that could still be better than the best plan, that plan
// is optimal; before that the least promise left out is a bound.
//
// Greatest lags and negative least ones do not fit into this and are not looked at before
// a line is complete; the bound holds all the same. Nor does it fit that people have seen
// a plan: waiting can be better then, so that moved tasks count for what is promising and
// not for the bound.
//
// With a few pairs of hands a line is the order in which tasks are begun, setups first.
// Each goes to hands that are free by then, and none is begun before the one in front of
// it. Such lines make plans and prove nothing: a decoder makes the plan of a complete one
// (handline_several.go).
type handLine struct {
	m      *model
	hands  int
	people int      // pairs of hands
	needs  []int    // by task: how many of them; nil where there is one pair
	takes  []int32  // by task: minutes of theirs
	tight  []bool   // by resource: a task may wait for it while another is attended to; nil where there is one pair
	d      *decoder // makes plans of lines that are none themselves; nil until it is needed
	clock  *workClock
	before []taskSet // by task: what is in line before it
	out    [][]int32 // by task: its links with a least lag of 0 or more
	ends   []bool    // by task: its job may end with it
	ofJob  []taskSet
	late   []int32 // tasks by their latest start
	atOnce []int   // what began before all else and needs no hands
	bounds lineBound

	width   int
	eye     int // how this round looks at what is promising
	depth   int
	at      int // the next state of this length to lengthen
	now     lineLayer
	next    lineLayer // those one task longer
	then    lineLayer // of these what goes on
	rank    lineRank
	ranked  bool         // the next ones are
	came    []lineStep   // how those that go on came about
	steps   [][]lineStep // the same by length
	table   lineTable
	cut     int64 // the least promise left out in this round
	ceiling int64 // what a plan has to cost less than
	tick    int

	best     *answer
	proved   int64
	closed   bool // there is no plan at all
	finished bool
}

// mostLineTasks, mostLineJobs and mostLineStations bound what a state can hold.
const (
	mostLineTasks    = 128
	mostLineJobs     = 8
	mostLineStations = 16
)

// How many lines of one length go on in the first round and in the last one.
const (
	leastLines = 64
	mostLines  = 1 << 14
)

// lineEye is how a round looks at what is promising: each way finds other plans.
type lineEye struct {
	mean    bool // by the mean of all views of a state, else by the highest
	stretch int  // as if what is left took so many percent of its least time
}

// lineEyes are the ways in which rounds look, two searches by turns. In the order of an
// unstretched one least is left out that could be better than the best plan.
var lineEyes = [...]lineEye{{false, 118}, {true, 125}, {false, 112}, {true, 112}, {false, 125}, {true, 118}, {false, unstretched}, {true, unstretched}}

// unstretched is the stretch of what takes its least time.
const unstretched = 100

// taskSet is a set of tasks that can be compared.
type taskSet [mostLineTasks / 64]uint64

func (s *taskSet) has(t int) bool { return s[t>>6]>>(t&63)&1 != 0 }
func (s *taskSet) put(t int)      { s[t>>6] |= 1 << (t & 63) }
func (s *taskSet) union(o *taskSet) {
	for k := range s {
		s[k] |= o[k]
	}
}

// within tells whether all of s is in o.
func (s *taskSet) within(o *taskSet) bool {
	for k := range s {
		if s[k]&^o[k] != 0 {
			return false
		}
	}
	return true
}

func (s *taskSet) and(o *taskSet) (both taskSet) {
	for k := range s {
		both[k] = s[k] & o[k]
	}
	return both
}

// newHandLine returns nil where not all goes through one pair of hands, or where there is
// too much to do.
func newHandLine(m *model) *handLine {
	return (&handLine{m: m, hands: m.onlyHands(), people: 1}).prepared()
}

// prepared works out what does not change, or returns nil.
func (l *handLine) prepared() *handLine {
	m := l.m
	if l.hands < 0 || len(m.tasks) < 2 || len(m.tasks) > mostLineTasks || len(m.jobs) == 0 || len(m.jobs) > mostLineJobs {
		return nil
	}
	l.width, l.ceiling, l.clock = leastLines, noCost, m.resources[l.hands].clock
	for t := range m.tasks {
		if !l.fits(t) {
			return nil
		}
		l.takes = append(l.takes, int32(m.tasks[t].att))
		if l.needs != nil {
			l.takes[t] *= int32(l.needs[t])
		}
	}
	l.link()
	if len(l.atOnce) == len(m.tasks) || l.crowded() || !l.bounds.prepare(l) {
		return nil
	}
	l.restart()
	if l.people == 1 {
		l.proved = l.now.states[0].bound
	}
	return l
}

// twin is a search of the same lines that looks at them in the other ways.
func (l *handLine) twin() *handLine {
	t := *l
	t.eye, t.now, t.next, t.then, t.table, t.rank, t.steps, t.d = 1, lineLayer{}, lineLayer{}, lineLayer{}, lineTable{}, lineRank{}, nil, nil
	t.bounds.twin(&t)
	t.restart()
	return &t
}

// onlyHands returns a resource of which everything with attended time needs more than
// half, or -1.
func (m *model) onlyHands() int {
	for r := range m.resources {
		if !slices.ContainsFunc(m.tasks, func(w work) bool { return w.att > 0 && !m.takesAll(&w, r) }) {
			return r
		}
	}
	return -1
}

// takesAll tells whether nothing else that needs resource r can run beside the attended
// time of a task, and only that.
func (m *model) takesAll(w *work, r int) bool {
	all := false
	for _, u := range w.uses {
		if u.res == r && u.lasts() {
			return false
		}
		all = all || u.res == r && 2*u.amount > m.resources[r].capacity
	}
	return all
}

// fits tells whether a task keeps the hands busy, or free, in one piece of their time,
// setup included.
func (l *handLine) fits(t int) bool {
	w := &l.m.tasks[t]
	if w.att == 0 { // it rests since before the beginning
		return w.fixed == 0 && w.station < 0 && len(w.in) == 0
	}
	if w.cut && w.clock != l.clock {
		return false
	}
	if w.station < 0 {
		return true
	}
	c := l.m.resources[w.station].setups
	amount := c.amount == 1
	if l.people == 1 {
		capacity := l.m.resources[l.hands].capacity
		amount = 2*c.amount > capacity && c.amount <= capacity
	}
	return c.hands == l.hands && amount && c.clock == l.clock && w.grip == 1 && !w.toEnd && !l.usedOtherwise(w.station)
}

// usedOtherwise tells whether a station with setups is also used without one.
func (l *handLine) usedOtherwise(r int) bool {
	for t := range l.m.tasks {
		w := &l.m.tasks[t]
		if w.station != r && slices.ContainsFunc(w.uses, func(u hold) bool { return u.res == r }) {
			return true
		}
	}
	return false
}

// crowded tells whether what rests since before the beginning leaves no room for itself.
func (l *handLine) crowded() bool {
	used := make([]int, len(l.m.resources))
	for _, t := range l.atOnce {
		for _, u := range l.m.tasks[t].uses {
			if used[u.res] += u.amount; used[u.res] > l.m.resources[u.res].capacity {
				return true
			}
		}
	}
	return false
}

// link notes what comes before what.
func (l *handLine) link() {
	m := l.m
	n := len(m.tasks)
	l.before, l.out, l.ofJob = make([]taskSet, n), make([][]int32, n), make([]taskSet, len(m.jobs))
	for k := range m.links {
		if g := &m.links[k]; g.min >= 0 {
			l.before[g.after].put(g.before)
			l.out[g.before] = append(l.out[g.before], int32(k))
		}
	}
	for t := range m.tasks {
		l.ends = append(l.ends, !slices.ContainsFunc(l.out[t], func(k int32) bool {
			g := &m.links[k]
			return g.from == atEnd && m.tasks[g.after].job == m.tasks[t].job
		}))
		if m.tasks[t].att == 0 {
			l.atOnce = append(l.atOnce, t)
		}
		if j := m.tasks[t].job; j >= 0 {
			l.ofJob[j].put(t)
		}
		l.late = append(l.late, int32(t))
	}
	slices.SortFunc(l.late, func(a, b int32) int { return m.late[a] - m.late[b] })
}

func (l *handLine) chunk() int64 { return 64 }

func (l *handLine) found() (*answer, int64, bool) { return l.best, l.proved, l.closed }

func (l *handLine) meet(best *answer, bound int64) {
	if best != nil {
		l.ceiling = min(l.ceiling, best.value.cost)
	}
	if l.people == 1 {
		l.proved = max(l.proved, bound)
	}
}

// lineUnit is the effort in a unit of work, which takes about as long as a schedule
// (40 µs for 100 steps). rankEffort is that of one state while a layer is put in order, as
// against what it takes to look at it (handLine.effort).
const (
	lineUnit   = 4096
	rankEffort = 16
)

// run lengthens lines.
func (l *handLine) run(b *budget) int64 {
	done := int64(0)
	for !l.finished && !b.over(done) {
		switch {
		case l.at < len(l.now.states):
			l.tick += l.lengthen(l.at)
			l.at++
		case !l.ranked:
			l.rank.begin(l.next.states)
			l.ranked = true
			l.tick += rankEffort * len(l.next.states)
		default:
			l.tick += l.take()
		}
		done += int64(l.tick / lineUnit)
		l.tick %= lineUnit
	}
	return done
}

// restart begins a round with the line of no task.
func (l *handLine) restart() {
	l.depth, l.at, l.cut = len(l.atOnce), 0, noCost
	l.steps, l.came, l.ranked = l.steps[:0], nil, false
	l.next.clear()
	l.then.clear()
	l.table.clear()
	l.now.clear()
	l.now.states = append(l.now.states, l.empty(&l.now))
}

// lengthen tries every task behind a line and returns the effort.
func (l *handLine) lengthen(k int) int {
	from := l.now.states[k]
	if from.bound >= l.ceiling {
		return 1
	}
	l.bounds.regard(&from)
	tried := 0
	for t := range l.m.tasks {
		if from.done.has(t) || !l.before[t].within(&from.done) {
			continue
		}
		tried++
		size := len(l.next.waits)
		child, ok := l.follow(&from, l.now.waitsOf(&from), t, &l.next)
		if ok {
			child.from = int32(k)
			ok = l.keep(&child)
		}
		if !ok {
			l.next.waits = l.next.waits[:size]
		}
	}
	return tried * l.effort(&from)
}

// effort is roughly what a look at a state takes: by itself as much as a hundred sets of
// jobs, and for each set of jobs by each view.
func (l *handLine) effort(s *lineState) int { return 100 + l.bounds.count<<l.bounds.open(s) }

// keep takes a state into the next layer, unless another there is to be preferred or
// it has no hope; those it is to be preferred to go.
func (l *handLine) keep(s *lineState) bool {
	waits := l.next.waitsOf(s)
	slot := l.table.find(s, l.next.states)
	for k := l.table.slots[slot] - 1; k >= 0; k = l.next.states[k].alike {
		if o := &l.next.states[k]; preferred(o, s, l.next.waitsOf(o), waits) {
			return false
		}
	}
	l.bounds.measure(s, waits, int(s.task), lineEyes[l.eye], l.ceiling)
	if s.bound >= l.ceiling {
		return false
	}
	for k := l.table.slots[slot] - 1; k >= 0; k = l.next.states[k].alike {
		if o := &l.next.states[k]; !o.gone && preferred(s, o, waits, l.next.waitsOf(o)) {
			o.gone = true
		}
	}
	s.alike = l.table.slots[slot] - 1
	l.next.states = append(l.next.states, *s)
	l.table.put(slot, len(l.next.states), l.next.states)
	return true
}

// take lets the next most promising line go on, as far as there is room and it has hope,
// and returns the effort; without one the next length begins.
func (l *handLine) take() int {
	if len(l.came) < l.width {
		if k, ok := l.rank.next(); ok {
			s := l.next.states[k]
			if lineEyes[l.eye].stretch != unstretched { // else it was told what it promises when it came
				l.bounds.promise(&s, l.next.waitsOf(&s), l.ceiling)
			}
			if s.bound < l.ceiling {
				l.came = append(l.came, lineStep{s.from, s.task})
				l.then.take(s, l.next.waitsOf(&s))
			}
			return 2 * l.effort(&s)
		}
	}
	l.cut = min(l.cut, l.rank.left())
	if l.deepen(&l.then) {
		l.ended()
	}
	return 0
}

// deepen goes on with the lines of a layer, and tells whether that is the end: they are
// complete, or there are none.
func (l *handLine) deepen(y *lineLayer) bool {
	l.steps = append(l.steps, l.came)
	l.now, *y = *y, l.now
	l.next.clear()
	l.then.clear()
	l.table.clear()
	l.bounds.forget(mostLeft, l.now.states)
	l.depth, l.at, l.ranked, l.came = l.depth+1, 0, false, nil
	return l.depth == len(l.m.tasks) || len(l.now.states) == 0
}

// ended takes the best plan of a round, notes what the round has proved, and begins the
// next one.
func (l *handLine) ended() {
	proved := min(l.cut, l.settle())
	if l.people == 1 {
		l.closed = proved == noCost
		l.proved = max(l.proved, proved)
	}
	l.eye += 2
	if l.eye >= len(lineEyes) {
		l.eye -= len(lineEyes)
		l.width *= 2
	}
	if l.cut >= l.ceiling || l.width > mostLines {
		l.finished = true
		return
	}
	l.restart()
}

// mostCompleted is of how many complete lines plans are made at the end of a round.
const mostCompleted = 20

// settle takes the best plan of the lines that are complete, and returns what no plan
// costs less than that begins with a line that went on.
func (l *handLine) settle() int64 {
	least := int64(noCost) // of the lines that make no plan
	tried := 0
	for k := range l.now.states {
		if s := &l.now.states[k]; s.cost < l.ceiling {
			if tried++; tried > mostCompleted || l.complete(k) > s.cost {
				least = min(least, s.cost)
			}
		}
	}
	return min(least, l.ceiling)
}

// complete makes a plan of a complete line: the line itself or, where it breaks what was
// not looked at, what a decoder makes of its order. It returns what the line costs as a
// plan, noCost if it is none.
func (l *handLine) complete(k int) int64 {
	tasks := make([]int, len(l.steps))
	for depth := len(l.steps) - 1; depth >= 0; depth-- {
		s := l.steps[depth][k]
		tasks[depth], k = int(s.task), int(s.from)
	}
	if l.people > 1 {
		l.decode(tasks, true)
		l.decode(tasks, false)
		return noCost
	}
	if a := l.answer(tasks); l.keeps(a) {
		l.adopt(a)
		return a.value.cost
	}
	l.decode(tasks, false)
	return noCost
}

// decode takes the plan that a decoder makes of the order of a line, tasks going behind
// all others on their station or in between them.
func (l *handLine) decode(tasks []int, last bool) {
	if l.d == nil {
		l.d = newDecoder(l.m)
	}
	l.d.last, l.d.dirty = last, true
	if l.d.decode(append(slices.Clone(l.atOnce), tasks...)) {
		l.adopt(l.d.answer())
	}
}

// adopt takes a plan if it is the best one.
func (l *handLine) adopt(a *answer) {
	if l.best == nil || a.value.cost < l.best.value.cost {
		l.best = a
	}
	l.ceiling = min(l.ceiling, a.value.cost)
}

// answer is the plan of a line.
func (l *handLine) answer(tasks []int) *answer {
	m := l.m
	n := len(m.tasks)
	a := &answer{start: make([]int, n), setup: make([]int, n), from: make([]int, n), seq: make([][]int32, len(m.resources))}
	end := make([]int, n)
	for _, t := range l.atOnce {
		a.start[t], end[t] = 0, m.tasks[t].end(0)
	}
	var layer lineLayer
	s := l.empty(&layer)
	for _, t := range tasks {
		w := &m.tasks[t]
		a.start[t], a.setup[t], _ = l.place(&s, layer.waitsOf(&s), t)
		end[t] = w.end(a.start[t])
		if w.station >= 0 {
			a.seq[w.station] = append(a.seq[w.station], int32(t))
		}
		s, _ = l.follow(&s, layer.waitsOf(&s), t, &layer)
	}
	m.nameStates(a)
	a.value = m.value(a.start, end, a.setup, make([]int, len(m.jobs)))
	return a
}

// keeps tells whether a plan keeps all links, those too that lines do not look at.
func (l *handLine) keeps(a *answer) bool {
	for k := range l.m.links {
		g := &l.m.links[k]
		p := l.m.tasks[g.before].point(g.from, a.start[g.before])
		if s := a.start[g.after]; s < p+g.min || s > p+g.max {
			return false
		}
	}
	return true
}
