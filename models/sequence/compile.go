package sequence

import "sync/atomic"

// model is a Problem compiled to numbers: what the searches work on. It is not
// changed after compile and may be read by several goroutines.
type model struct {
	horizon   int
	tasks     []work
	links     []lag
	resources []station
	jobs      []promise
	zones     int
	weights   Weights
	tolerance int
	maxLag    bool                         // some link has a greatest lag or a negative least one
	early     []int                        // earliest S by links, calendars and releases alone
	late      []int                        // latest S likewise
	minEnd    []int                        // E at early
	shared    map[[2]*workClock]*workClock // common clocks made so far
	broken    []int                        // tasks that cannot be placed even alone or along links; nil if none seen
	stop      *atomic.Bool                 // ends whatever works on the model; nil: nothing does
}

// halted tells whether to give up at once. Loops that may run for more than a
// few milliseconds ask it; what they leave behind is not used any more.
func (m *model) halted() bool { return m.stop != nil && m.stop.Load() }

// work is a compiled task.
type work struct {
	id             string
	job            int // -1: none
	att, unatt     int
	cut            bool       // may be cut by a window's end
	clock          *workClock // of attended time
	uses           []hold
	station, state int  // of its setup; station -1: none
	toEnd          bool // keeps its setup's station until E, not A
	grip           int  // amount of that station held during the setup; above 1 none is possible
	zone           int  // -1: none
	wet            bool
	release, last  int     // earliest S; latest E
	fixed          int     // fixed S, -1: free
	prev           int     // S in the previous plan, notSeen: none
	in, out        []int32 // links
}

// notSeen stands in for the previous start of a task that has none. Previous starts may
// lie before the origin.
const notSeen = -never

// seen tells whether people have seen a start of the task.
func (w *work) seen() bool { return w.prev != notSeen }

// span names the part of a task during which a hold lasts.
type span uint8

const (
	attendedSpan   span = iota // S to A
	openSpan                   // the open minutes between S and A
	unattendedSpan             // A to E
	wholeSpan                  // S to E
)

// hold is a demand on a resource for a part of a task.
type hold struct {
	res, amount int
	span        span
}

// lasts tells whether it is held until the task's end.
func (u hold) lasts() bool { return u.span == unattendedSpan || u.span == wholeSpan }

// moment is a point of a task that links and ties hold to: S, A or E, or where its
// setup begins.
type moment uint8

const (
	atSetup moment = iota
	atStart
	atAttended
	atEnd
)

var momentOf = map[LinkFrom]moment{FromStart: atStart, FromAttended: atAttended, FromEnd: atEnd, "": atEnd}

// lag is a compiled link.
type lag struct {
	before, after int
	from          moment
	min, max      int // max = never: none
}

// station is a compiled resource.
type station struct {
	id       string
	capacity int
	clock    *workClock // nil: always there
	setups   *changes
}

// changes are the setups of a station between states numbered from 0.
type changes struct {
	initial       int // -1: the first setup is free
	names         []string
	minutes       [][]int
	hands, amount int        // hands -1: none
	clock         *workClock // of setup time
	tasks         []int      // that need a state of it
}

// promise is a compiled job.
type promise struct {
	id     string
	due    int // never: none
	weight int64
	clock  *workClock
	tasks  []int
}

// compile turns a valid problem into a model. Once stop is set, which may be
// nil, it gives up: the model is of no use then.
func compile(p *Problem, stop *atomic.Bool) *model {
	m := &model{stop: stop, horizon: p.Horizon, zones: len(p.Zones), weights: p.Objective, shared: map[[2]*workClock]*workClock{},
		tasks: make([]work, 0, len(p.Tasks)), links: make([]lag, 0, len(p.Links)), jobs: make([]promise, 0, len(p.Jobs)), resources: make([]station, 0, len(p.Resources))}
	clocks := map[string]*workClock{}
	for name, windows := range p.Calendars {
		clocks[name] = newWorkClock(windows)
	}
	resource := m.compileResources(p, clocks)
	job := map[string]int{}
	for i, j := range p.Jobs {
		job[j.ID] = i
		due := never
		if j.Due != nil {
			due = *j.Due
		}
		m.jobs = append(m.jobs, promise{id: j.ID, due: due, weight: int64(j.Weight), clock: clocks[j.Calendar]})
	}
	zone := map[string]int{}
	for i, z := range p.Zones {
		zone[z] = i
	}
	task := make(map[string]int, len(p.Tasks))
	for i := range p.Tasks {
		if m.halted() {
			return m
		}
		task[p.Tasks[i].ID] = i
		m.tasks = append(m.tasks, m.compileTask(&p.Tasks[i], resource, job, zone))
		if t := &m.tasks[i]; t.job >= 0 {
			m.jobs[t.job].tasks = append(m.jobs[t.job].tasks, i)
		}
		if t := &m.tasks[i]; t.station >= 0 {
			c := m.resources[t.station].setups
			c.tasks = append(c.tasks, i)
		}
	}
	m.compileLinks(p, task)
	if p.Previous != nil {
		m.tolerance = p.Previous.Tolerance
		for _, s := range p.Previous.Starts {
			m.tasks[task[s.ID]].prev = s.Start
		}
	}
	m.bounds()
	return m
}

func (m *model) compileResources(p *Problem, clocks map[string]*workClock) map[string]int {
	index := map[string]int{}
	for i, r := range p.Resources {
		index[r.ID] = i
		m.resources = append(m.resources, station{id: r.ID, capacity: r.Capacity, clock: clocks[r.Calendar]})
	}
	for i, r := range p.Resources {
		if r.Setups != nil && !m.halted() {
			m.resources[i].setups = m.compileSetups(p, i, r.Setups, index)
		}
	}
	return index
}

// common is the clock of the minutes that both clocks count, made once for each two.
func (m *model) common(a, b *workClock) *workClock {
	key := [2]*workClock{a, b}
	c, ok := m.shared[key]
	if !ok {
		c = common(a, b)
		m.shared[key] = c
	}
	return c
}

func (m *model) compileSetups(p *Problem, res int, s *Setups, resource map[string]int) *changes {
	c := &changes{initial: -1, hands: -1, clock: m.resources[res].clock}
	state := map[string]int{}
	number := func(name string) int {
		if n, ok := state[name]; ok {
			return n
		}
		state[name] = len(c.names)
		c.names = append(c.names, name)
		return len(c.names) - 1
	}
	if s.Initial != nil {
		c.initial = number(*s.Initial)
	}
	for i := range p.Tasks {
		if need := p.Tasks[i].Setup; need != nil && resource[need.Resource] == res {
			number(need.State)
		}
	}
	c.minutes = make([][]int, len(c.names))
	for a := range c.minutes {
		if m.halted() {
			return c
		}
		c.minutes[a] = make([]int, len(c.names))
		for b := range c.minutes[a] {
			if a != b {
				c.minutes[a][b] = s.Default
			}
		}
	}
	for _, pair := range s.Pairs {
		a, okA := state[pair.From]
		b, okB := state[pair.To]
		if okA && okB {
			c.minutes[a][b] = pair.Minutes
		}
	}
	if s.Hands != nil {
		c.hands, c.amount = resource[s.Hands.Resource], s.Hands.Amount
		c.clock = m.common(c.clock, m.resources[c.hands].clock)
	}
	return c
}

func (m *model) compileTask(t *Task, resource, job, zone map[string]int) work {
	w := work{
		id: t.ID, job: -1, att: t.Attended, unatt: t.Unattended, cut: t.Interruptible, station: -1, zone: -1,
		release: t.Release, last: m.horizon, fixed: -1, prev: notSeen,
	}
	if t.Job != "" {
		w.job = job[t.Job]
	}
	if t.Deadline != nil {
		w.last = min(w.last, *t.Deadline)
	}
	switch {
	case t.Start == nil:
	case *t.Start < 0:
		w.last = -1 // nothing begins before the origin
	default:
		w.fixed = *t.Start
	}
	if t.Zone != nil {
		w.zone, w.wet = zone[t.Zone.Name], t.Zone.Kind == Wet
	}
	attended, unattended := map[int]int{}, map[int]int{}
	var order []int
	note := func(r int) {
		if attended[r] == 0 && unattended[r] == 0 {
			order = append(order, r)
		}
	}
	for _, u := range t.Uses {
		r := resource[u.Resource]
		note(r)
		if u.During != Unattended {
			attended[r] += u.Amount
			w.clock = m.common(w.clock, m.resources[r].clock)
		}
		if u.During != Attended {
			unattended[r] += u.Amount
		}
	}
	if t.Setup != nil {
		w.station = resource[t.Setup.Resource]
		note(w.station)
		w.clock = m.common(w.clock, m.resources[w.station].clock)
		w.toEnd = unattended[w.station] > 0
		attended[w.station] = max(1, attended[w.station])
		w.grip = attended[w.station]
		for n, name := range m.resources[w.station].setups.names {
			if name == t.Setup.State {
				w.state = n
			}
		}
	}
	for _, r := range order {
		w.uses = append(w.uses, m.holds(&w, r, attended[r], unattended[r])...)
	}
	return w
}

// holds states the demand of a task on one resource as at most two holds.
func (m *model) holds(w *work, r, attended, unattended int) []hold {
	if w.att == 0 {
		attended = 0
	}
	if w.unatt == 0 {
		unattended = 0
	}
	givenBack := w.cut && w.clock != nil && m.resources[r].clock != nil && r != w.station
	if attended > 0 && attended == unattended && !givenBack {
		return []hold{{r, attended, wholeSpan}}
	}
	var hs []hold
	if attended > 0 && givenBack {
		hs = append(hs, hold{r, attended, openSpan})
	} else if attended > 0 {
		hs = append(hs, hold{r, attended, attendedSpan})
	}
	if unattended > 0 {
		hs = append(hs, hold{r, unattended, unattendedSpan})
	}
	return hs
}

func (m *model) compileLinks(p *Problem, task map[string]int) {
	for i, l := range p.Links {
		g := lag{before: task[l.Before], after: task[l.After], from: momentOf[l.From], min: l.Min, max: never}
		if l.Max != nil {
			g.max = *l.Max
			m.maxLag = true
		}
		m.maxLag = m.maxLag || g.min < 0
		m.links = append(m.links, g)
		m.tasks[g.before].out = append(m.tasks[g.before].out, int32(i))
		m.tasks[g.after].in = append(m.tasks[g.after].in, int32(i))
	}
}

// attEnd returns A of a task that starts at s.
func (w *work) attEnd(s int) int { return w.clock.finish(s, w.att) }

// end returns E of a task that starts at s.
func (w *work) end(s int) int { return w.clock.finish(s, w.att) + w.unatt }

// nextStart returns the first S from s on that the calendars allow, or never.
func (w *work) nextStart(s int) int {
	switch {
	case s >= never:
		return never
	case w.fixed >= 0 && w.cut:
		if s > w.fixed {
			return never
		}
		return w.fixed // even between windows
	case w.att == 0 || w.clock == nil:
		return s
	case w.cut:
		return w.clock.nextOpen(s)
	}
	return w.clock.nextWhole(s, w.att)
}

// prevStart returns the last S up to s that the calendars allow, or -1.
func (w *work) prevStart(s int) int {
	switch {
	case s < 0:
		return -1
	case w.fixed >= 0 && w.cut:
		if s < w.fixed {
			return -1
		}
		return w.fixed
	case w.att == 0 || w.clock == nil:
		return s
	case w.cut:
		return w.clock.prevWhole(s, 1)
	}
	return w.clock.prevWhole(s, w.att)
}

// lastStartBy returns the greatest S for which A <= a, or -1.
func (w *work) lastStartBy(a int) int {
	if w.att == 0 || w.clock == nil || !w.cut {
		return w.prevStart(a - w.att)
	}
	if a < 0 {
		return -1
	}
	return w.clock.begin(w.clock.worked(a) - w.att)
}

// firstStartFor returns the least S for which A >= a, or never.
func (w *work) firstStartFor(a int) int {
	if w.att == 0 || w.clock == nil || !w.cut {
		return w.nextStart(max(0, a-w.att))
	}
	return w.nextStart(w.lastStartBy(a-1) + 1)
}

// point returns the point of a task that starts at s from which a link measures.
func (w *work) point(from moment, s int) int {
	switch from {
	case atStart:
		return s
	case atAttended:
		return w.attEnd(s)
	}
	return w.end(s)
}

// lastStartFor returns the greatest S whose point is at most v, or -1.
func (w *work) lastStartFor(from moment, v int) int {
	switch from {
	case atStart:
		return w.prevStart(v)
	case atAttended:
		return w.lastStartBy(v)
	}
	return w.lastStartBy(v - w.unatt)
}

// firstStartOf returns the least S whose point is at least v, or never.
func (w *work) firstStartOf(from moment, v int) int {
	switch from {
	case atStart:
		return w.nextStart(max(0, v))
	case atAttended:
		return w.firstStartFor(v)
	}
	return w.firstStartFor(v - w.unatt)
}

// setupStart returns when a setup of n minutes begins that is over at s, and
// whether it can lie there at all.
func (w *work) setupStart(c *workClock, s, n int) (int, bool) {
	if n == 0 {
		return s, true
	}
	if w.grip > 1 {
		return -1, false
	}
	if c == nil {
		return s - n, s >= n
	}
	k := c.worked(s)
	first := c.begin(k - n)
	if first < 0 {
		return -1, false
	}
	return first, w.cut || c.begin(k-1)+1-first == n
}

// afterSetup returns the least S from s on before which a setup of n minutes
// fits that does not begin before free, or never.
func (w *work) afterSetup(c *workClock, free, n, s int) int {
	if n == 0 || s >= never || free >= never {
		return max(free, s)
	}
	if w.grip > 1 {
		return never
	}
	s = max(s, c.finish(free, n))
	if c == nil || w.cut || s >= never {
		return s
	}
	for i := c.windowOf(c.worked(s) - 1); i < len(c.from); i++ {
		from := max(free, c.from[i])
		if s <= c.to[i] {
			if s = max(s, from+n); s <= c.to[i] {
				return s
			}
		} else if c.to[i]-n >= from {
			return s
		}
	}
	return never
}

// tardiness returns the minutes of the job's calendar between due and end.
func (j *promise) tardiness(end int) int {
	if end <= j.due || len(j.tasks) == 0 {
		return 0
	}
	return j.clock.worked(end) - j.clock.worked(j.due)
}

// jobCost is the job's part of the objective when its last task ends at end.
func (m *model) jobCost(j *promise, end int) int64 {
	cost := m.weights.Flow * int64(end)
	if j.weight != 0 && m.weights.Tardiness != 0 {
		cost += m.weights.Tardiness * j.weight * int64(j.tardiness(end))
	}
	return cost
}

// moved tells whether a start at s counts as moved from the previous plan.
func (m *model) moved(w *work, s int) bool {
	return w.seen() && (s > w.prev+m.tolerance || s < w.prev-m.tolerance)
}
