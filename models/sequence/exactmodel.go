package sequence

import "slices"

// exact is the complete search: the problem stated over bounded variables, with
// propagators that explain themselves, searched by a learner. Its variables are
// the start of every task, the order of every two tasks that cannot run side by
// side, the setup minutes before a task, the end of every job, and the objective.
type exact struct {
	m     *model
	x     learner
	start []int32 // by task
	setup []int32 // by task: minutes of setup, -1: no setup
	ends  []int32 // by job
	last  int32   // the makespan, -1: not weighted
	moved []int32 // by task, -1: has no previous start or none counts
	cost  int32

	arcs      []arc
	tables    []table
	orders    []order
	energies  []energy
	workloads []workload
	counted   []int32          // variables that the objective counts
	pair      map[[2]int32]lit // i before j, for i < j
	pairOf    [][2]int32       // by variable: the pair it orders
	inLine    bool             // orders decide everything: all go one after the other wherever they meet
	byHours   bool             // anything goes by a calendar
	reach     []bits           // tasks that links put behind a task
	gaps      [][]int          // least S(b) - S(a) by links; nil where there are too many tasks

	wakes                                                  []wakes // by side
	arcQueue                                               []int32
	arcQueued                                              []bool
	rivalries                                              []rivalry // by task
	rivalQueue                                             []int32   // tasks
	tableQueued, orderQueued, energyQueued, workloadQueued []bool
	costQueued                                             bool
	dead                                                   bool // no solution (better than the best) is left

	search exactSearch
}

// wakes are what to look at when a side's bound falls.
type wakes struct {
	task                                      int32 // whose rivals wait for it, -1: none
	cost                                      bool
	arcs, tables, orders, energies, workloads []int32
}

// bits is a set of small numbers.
type bits []uint64

func newBits(n int) bits      { return make(bits, (n+63)/64) }
func (b bits) has(i int) bool { return b[i>>6]>>(i&63)&1 != 0 }
func (b bits) put(i int)      { b[i>>6] |= 1 << (i & 63) }
func (b bits) union(o bits) {
	for k := range b {
		b[k] |= o[k]
	}
}
func (b bits) meets(o bits) bool {
	for k := range b {
		if b[k]&o[k] != 0 {
			return true
		}
	}
	return false
}

// mostPairs bounds the order variables of a problem that the exact search takes on.
const mostPairs = 40000

// newExact states a problem, or returns nil where it is too large to be worth
// it or all stops.
func newExact(m *model, seed int64) *exact {
	if len(m.tasks) > 2000 || m.pairCount() > mostPairs {
		return nil
	}
	e := &exact{m: m, pair: map[[2]int32]lit{}, inLine: m.weights.Moved == 0, byHours: m.hasHours(), last: -1}
	e.x.bump, e.x.stop = 1, m.stop
	e.x.wake = e.wakeSide
	for _, add := range []func(){e.addVars, e.findReach, e.addLinks, e.addPairs, e.addHandOrders, e.addZones, e.addTables, e.addWorkloads, e.addEnergies, e.addMoved, e.index} {
		if add(); m.halted() {
			return nil
		}
	}
	e.begin(seed)
	return e
}

// pairCount counts the pairs of tasks on each station with setups, and those of
// wet and dusty ones in each zone.
func (m *model) pairCount() int {
	n := 0
	for r := range m.resources {
		if c := m.resources[r].setups; c != nil {
			n += len(c.tasks) * len(c.tasks) / 2
		}
	}
	wet, dusty := make([]int, m.zones), make([]int, m.zones)
	for t := range m.tasks {
		switch w := &m.tasks[t]; {
		case w.zone < 0:
		case w.wet:
			wet[w.zone]++
		default:
			dusty[w.zone]++
		}
	}
	for z := range wet {
		n += wet[z] * dusty[z]
	}
	return n
}

func (e *exact) addVars() {
	m := e.m
	for i := range m.tasks {
		e.start = append(e.start, e.x.addVar(int64(m.early[i]), int64(m.late[i])))
	}
	for i := range m.tasks {
		e.setup, e.moved = append(e.setup, -1), append(e.moved, -1)
		if w := &m.tasks[i]; w.station >= 0 {
			most := 0
			for _, row := range m.resources[w.station].setups.minutes {
				most = max(most, row[w.state])
			}
			e.setup[i] = e.x.addVar(0, int64(most))
			e.arcs = append(e.arcs, arc{kind: arcOwn, i: int32(i), j: int32(i), x: e.start[i], y: e.start[i], extra: e.setup[i]})
		}
		e.arcs = append(e.arcs, arc{kind: arcRound, i: int32(i), j: int32(i), x: e.start[i], y: e.start[i], extra: -1})
	}
	for j := range m.jobs {
		e.ends = append(e.ends, e.x.addVar(0, int64(m.horizon)))
		for _, t := range m.jobs[j].tasks {
			e.arcs = append(e.arcs, arc{kind: arcEnds, i: int32(t), x: e.start[t], y: e.ends[j], extra: -1})
		}
	}
	if m.weights.Makespan > 0 {
		e.last = e.x.addVar(0, int64(m.horizon))
		for t := range m.tasks {
			e.arcs = append(e.arcs, arc{kind: arcEnds, i: int32(t), x: e.start[t], y: e.last, extra: -1})
		}
	}
	e.cost = e.x.addVar(m.lowerBound(), mostObjective)
}

// mostGaps bounds the tasks of a problem for which all gaps and the sets of tasks that
// are apart are computed, and the loads of an energy.
const mostGaps = 200

// findReach finds which tasks lie wholly behind which, by links, and how far.
func (e *exact) findReach() {
	m := e.m
	if len(m.tasks) <= mostGaps && m.maxLag {
		e.gaps = m.leastGaps()
	}
	n := len(m.tasks)
	e.reach = make([]bits, n)
	behind := make([][]int32, n)
	for _, l := range m.links {
		w := &m.tasks[l.before]
		whole := l.from == atEnd && l.min >= 0 || l.from == atAttended && l.min >= w.unatt ||
			l.from == atStart && (w.clock == nil || !w.cut) && l.min >= w.att+w.unatt
		if whole && l.before != l.after {
			behind[l.before] = append(behind[l.before], int32(l.after))
		}
	}
	state := make([]uint8, n)
	var visit func(i int)
	visit = func(i int) {
		state[i] = 1
		e.reach[i] = newBits(n)
		for _, j := range behind[i] {
			if state[j] == 0 {
				visit(int(j))
			}
			e.reach[i].put(int(j))
			if e.reach[j] != nil {
				e.reach[i].union(e.reach[j])
			}
		}
		state[i] = 2
	}
	for i := range m.tasks {
		if state[i] == 0 {
			visit(i)
		}
	}
}

func (e *exact) addLinks() {
	for _, l := range e.m.links {
		i, j := int32(l.before), int32(l.after)
		e.arcs = append(e.arcs, arc{kind: arcFollow, i: i, j: j, x: e.start[i], y: e.start[j], from: l.from, d: l.min, extra: -1})
		if l.max < never {
			e.arcs = append(e.arcs, arc{kind: arcWithin, i: i, j: j, x: e.start[j], y: e.start[i], from: l.from, d: l.max, extra: -1})
		}
	}
}

// before returns the literal that says task i comes before task j.
func (e *exact) before(i, j int32) lit {
	if i > j {
		return e.before(j, i).not()
	}
	key := [2]int32{i, j}
	l, ok := e.pair[key]
	if !ok {
		l = ge(e.x.addVar(0, 1), 1)
		e.pair[key] = l
		if e.isBehind(i, j) {
			e.dead = e.dead || !e.x.set(l)
		} else if e.isBehind(j, i) {
			e.dead = e.dead || !e.x.set(l.not())
		}
		if e.cannotLead(i, j) {
			e.dead = e.dead || !e.x.set(l.not())
		}
		if e.cannotLead(j, i) {
			e.dead = e.dead || !e.x.set(l)
		}
	}
	return l
}

// cannotLead tells whether links keep task i from being done before task j begins.
func (e *exact) cannotLead(i, j int32) bool {
	return e.gaps != nil && e.gaps[j][i] > -never && e.m.tasks[i].att+e.gaps[j][i] > 0
}

// isBehind tells whether links put all of task j after the start of task i.
func (e *exact) isBehind(i, j int32) bool {
	w := &e.m.tasks[i]
	return e.reach[i].has(int(j)) && w.att+w.unatt > 0
}

// addPairs orders the tasks on stations with setups, and other tasks that
// together need more of a resource than there is.
func (e *exact) addPairs() {
	m := e.m
	for r := range m.resources {
		c := m.resources[r].setups
		if c == nil || len(c.tasks) == 0 {
			continue
		}
		for _, i := range c.tasks {
			if m.halted() {
				return
			}
			for _, j := range c.tasks {
				if i != j {
					l := e.before(int32(i), int32(j))
					e.arcs = append(e.arcs, arc{kind: arcVisit, guarded: true, guard: l, i: int32(i), j: int32(j),
						x: e.start[i], y: e.start[j], from: m.leavePoint(i), extra: e.setup[j]})
				}
			}
		}
		e.orders = append(e.orders, newOrder(e, r))
	}
	done := map[rivals]bool{}
	for r := range m.resources {
		if uses := m.unbrokenUses(r); len(uses)*len(uses)/2+len(e.pair) <= mostPairs {
			e.addRivals(uses, m.resources[r].capacity, done)
		} else {
			e.inLine = false
		}
	}
}

// unbrokenUse is a use of a resource from S without a break until A or E.
type unbrokenUse struct {
	task, amount int
	until        moment
}

// rivals are two tasks of which the second cannot begin before a point of the first.
type rivals struct {
	first, second int
	until         moment
}

func (m *model) unbrokenUses(r int) []unbrokenUse {
	var uses []unbrokenUse
	for t := range m.tasks {
		for _, u := range m.tasks[t].uses {
			switch {
			case u.res != r || m.tasks[t].station == r:
			case u.span == attendedSpan:
				uses = append(uses, unbrokenUse{t, u.amount, atAttended})
			case u.span == wholeSpan:
				uses = append(uses, unbrokenUse{t, u.amount, atEnd})
			}
		}
	}
	return uses
}

// addRivals orders every two tasks whose uses exceed a capacity, where links do
// not order them already.
func (e *exact) addRivals(uses []unbrokenUse, capacity int, done map[rivals]bool) {
	for _, a := range uses {
		if e.m.halted() {
			return
		}
		for _, b := range uses {
			key := rivals{a.task, b.task, a.until}
			if a.task == b.task || a.amount+b.amount <= capacity || done[key] ||
				e.reach[a.task].has(b.task) || e.reach[b.task].has(a.task) {
				continue
			}
			done[key] = true
			e.arcs = append(e.arcs, arc{kind: arcFollow, guarded: true, guard: e.before(int32(a.task), int32(b.task)),
				i: int32(a.task), j: int32(b.task), x: e.start[a.task], y: e.start[b.task], from: a.until, extra: -1})
		}
	}
}

// leavePoint is the point of a task at which it gives back its setup's station.
func (m *model) leavePoint(t int) moment {
	if m.tasks[t].toEnd {
		return atEnd
	}
	return atAttended
}

// addZones keeps what is wet and what raises dust apart.
func (e *exact) addZones() {
	m := e.m
	for i := range m.tasks {
		w := &m.tasks[i]
		if w.zone < 0 || !w.wet || w.att+w.unatt == 0 {
			continue
		}
		for j := range m.tasks {
			d := &m.tasks[j]
			if d.zone != w.zone || d.wet || d.att == 0 {
				continue
			}
			l := e.before(int32(i), int32(j))
			e.arcs = append(e.arcs,
				arc{kind: arcFollow, guarded: true, guard: l, i: int32(i), j: int32(j), x: e.start[i], y: e.start[j], from: atEnd, extra: -1},
				arc{kind: arcFollow, guarded: true, guard: l.not(), i: int32(j), j: int32(i), x: e.start[j], y: e.start[i], from: atAttended, extra: -1})
		}
	}
}

// addMoved ties a variable to whether a task leaves its previous start.
func (e *exact) addMoved() {
	if e.m.weights.Moved == 0 {
		return
	}
	for t := range e.m.tasks {
		w := &e.m.tasks[t]
		if !w.seen() {
			continue
		}
		v := e.x.addVar(0, 1)
		e.moved[t] = v
		lo, hi := int64(w.prev-e.m.tolerance), int64(w.prev+e.m.tolerance)
		ok := e.x.addClause(ge(v, 1), ge(e.start[t], lo)) && e.x.addClause(ge(v, 1), le(e.start[t], hi))
		e.dead = e.dead || !ok
	}
}

// index notes for every side what has to be looked at when its bound falls.
func (e *exact) index() {
	n := len(e.x.ub)
	e.wakes = slices.Repeat([]wakes{{task: -1}}, n)
	e.arcQueued = make([]bool, len(e.arcs))
	e.tableQueued, e.orderQueued = make([]bool, len(e.tables)), make([]bool, len(e.orders))
	e.indexArcs()
	for k := range e.tables {
		e.tableQueued[k] = true
		for _, o := range e.tables[k].occupants {
			enlist(&e.wakes[2*e.start[o.task]].tables, k)
			enlist(&e.wakes[2*e.start[o.task]+1].tables, k)
			if o.kind >= setupHands {
				enlist(&e.wakes[2*e.setup[o.task]+1].tables, k)
			}
		}
	}
	e.indexWork()
	for k := range e.orders {
		e.orderQueued[k] = true
		e.orders[k].sides(e, func(side int32) { enlist(&e.wakes[side].orders, k) })
	}
	e.pairOf = make([][2]int32, n/2)
	for of, l := range e.pair {
		e.pairOf[l.side/2] = of
	}
	e.costQueued = true
	e.wakes[2*e.cost].cost = true
	e.eachTerm(func(v int32, _ func(int64) int64) {
		e.wakes[2*v+1].cost = true
		e.counted = append(e.counted, v)
	})
}

func enlist(list *[]int32, k int) { *list = append(*list, int32(k)) }

// indexArcs notes it for arcs.
func (e *exact) indexArcs() {
	e.rivalries = make([]rivalry, len(e.start))
	for t, v := range e.start {
		e.rivalries[t].bound[atFirst].at, e.rivalries[t].bound[atLast].at = -1, -1
		e.wakes[2*v].task, e.wakes[2*v+1].task = int32(t), int32(t)
		if e.setup[t] >= 0 {
			e.wakes[2*e.setup[t]+1].task = int32(t)
		}
	}
	for k := range e.arcs {
		a := &e.arcs[k]
		e.arcQueue, e.arcQueued[k] = append(e.arcQueue, int32(k)), true
		if a.guarded {
			enlist(&e.wakes[a.guard.side].arcs, k)
		}
		if e.isRival(a) {
			e.addRival(int32(k))
			continue
		}
		enlist(&e.wakes[2*a.x+1].arcs, k) // the lower bound of x rose
		enlist(&e.wakes[2*a.y].arcs, k)   // the upper bound of y fell
		if a.extra >= 0 {
			enlist(&e.wakes[2*a.extra+1].arcs, k)
		}
	}
}

// indexWork notes it for what must be done between two times.
func (e *exact) indexWork() {
	e.energyQueued = make([]bool, len(e.energies))
	for k := range e.energies {
		e.energyQueued[k] = true
		for _, l := range e.energies[k].loads {
			enlist(&e.wakes[2*e.start[l.task]].energies, k)
			enlist(&e.wakes[2*e.start[l.task]+1].energies, k)
		}
	}
	e.workloadQueued = make([]bool, len(e.workloads))
	for k := range e.workloads {
		e.workloadQueued[k] = true
		e.workloads[k].sides(e, func(side int32) { enlist(&e.wakes[side].workloads, k) })
	}
}

// wakeSide queues what depends on the bound of a side.
func (e *exact) wakeSide(side int32) {
	on := &e.wakes[side]
	if on.task >= 0 {
		e.wakeRivals(on.task, side)
	}
	for _, k := range on.arcs {
		if !e.arcQueued[k] {
			e.arcQueued[k] = true
			e.arcQueue = append(e.arcQueue, k)
		}
	}
	for _, k := range on.tables {
		e.tableQueued[k] = true
	}
	for _, k := range on.workloads {
		e.workloadQueued[k] = true
	}
	for _, k := range on.orders {
		e.orderQueued[k] = true
	}
	for _, k := range on.energies {
		e.energyQueued[k] = true
	}
	if on.cost {
		e.costQueued = true
	}
}

// propagate draws all consequences, the cheap ones first; false means conflict,
// after which the clash of the learner tells why. Where bounds creep up minute by
// minute, and when all stops, it gives up before all is drawn.
func (e *exact) propagate() bool {
	most := len(e.x.trail) + 20_000 + 30*len(e.x.ub)
	for k := 0; ; k++ {
		if k&63 == 63 && (e.x.giveUp() || len(e.x.trail) > most) {
			e.x.halted = true
			return true
		}
		if !e.x.drawClauses() {
			return e.unqueue()
		}
		if n := len(e.arcQueue); n > 0 {
			k := e.arcQueue[n-1]
			e.arcQueue = e.arcQueue[:n-1]
			e.arcQueued[k] = false
			if !e.arcs[k].propagate(e) {
				return e.unqueue()
			}
			continue
		}
		if n := len(e.rivalQueue); n > 0 {
			t := e.rivalQueue[n-1]
			e.rivalQueue = e.rivalQueue[:n-1]
			if !e.propagateRivals(t) {
				return e.unqueue()
			}
			continue
		}
		if done, ok := e.propagateHeavy(); !ok {
			return e.unqueue()
		} else if done {
			return true
		}
	}
}

// propagateHeavy runs one queued propagator that is not an arc.
func (e *exact) propagateHeavy() (done, ok bool) {
	if e.costQueued {
		e.costQueued = false
		return false, e.propagateCost()
	}
	for k := range e.orders {
		if e.orderQueued[k] {
			e.orderQueued[k] = false
			return false, e.orders[k].propagate(e)
		}
	}
	for k := range e.tables {
		if e.tableQueued[k] {
			e.tableQueued[k] = false
			return false, e.tables[k].propagate(e)
		}
	}
	for k := range e.workloads {
		if e.workloadQueued[k] {
			e.workloadQueued[k] = false
			return false, e.workloads[k].propagate(e)
		}
	}
	return e.propagateEnergies()
}

// unqueue forgets what was queued when a conflict came up.
func (e *exact) unqueue() bool {
	for _, k := range e.arcQueue {
		e.arcQueued[k] = false
	}
	e.arcQueue = e.arcQueue[:0]
	e.unqueueRivals()
	clear(e.tableQueued)
	clear(e.orderQueued)
	clear(e.energyQueued)
	clear(e.workloadQueued)
	e.costQueued = false
	return false
}
