package sequence

import "sort"

// table propagates the capacity of one resource: where tasks use it for certain
// in a minute, others that do not fit beside them cannot run there (time-table
// propagation with explanations by minutes: Schutt, Feydy, Stuckey, Wallace,
// "Explaining the cumulative propagator", Constraints 16, 2011).
type table struct {
	capacity  int
	occupants []occupant
	steps     []step // scratch: the profile of certain use
	changes   []step // scratch
}

// occupant is a use of the resource by a task or by the setup before it.
type occupant struct {
	task, amount int
	kind         occupantKind
}

type occupantKind uint8

const (
	byAttended occupantKind = iota
	byOpen                  // the open minutes of attended time
	byUnattended
	byWhole
	setupHands   // the open minutes of the setup
	setupStation // the setup with its breaks
)

// step is a stretch of time with the amount surely used in it.
type step struct {
	from, to, amount int
}

func (e *exact) addTables() {
	m := e.m
	for r := range m.resources {
		t := table{capacity: m.resources[r].capacity}
		for i := range m.tasks {
			w := &m.tasks[i]
			for _, u := range w.uses {
				if u.res == r {
					t.occupants = append(t.occupants, occupant{i, u.amount, occupantKind(u.span)})
				}
			}
			if w.station < 0 {
				continue
			}
			if w.station == r {
				t.occupants = append(t.occupants, occupant{i, 1, setupStation})
			}
			if c := m.resources[w.station].setups; c.hands == r {
				t.occupants = append(t.occupants, occupant{i, c.amount, setupHands})
			}
		}
		if t.canBind(e) {
			e.tables = append(e.tables, t)
		}
	}
}

// canBind tells whether the demands can exceed the capacity at all.
func (t *table) canBind(e *exact) bool {
	sum := 0
	for _, o := range t.occupants {
		sum += o.amount
	}
	return sum > t.capacity
}

// where is an occupant with the current bounds of its task.
type where struct {
	w      *work
	c      *workClock // whose open minutes count; nil: all
	kind   occupantKind
	lo, hi int // of S
	setup  int // least minutes of setup
}

func (e *exact) where(o *occupant) where {
	w := &e.m.tasks[o.task]
	p := where{w: w, kind: o.kind, lo: int(e.x.lo(e.start[o.task])), hi: int(e.x.hi(e.start[o.task]))}
	switch o.kind {
	case byOpen:
		p.c = w.clock
	case setupHands, setupStation:
		p.c = e.m.resources[w.station].setups.clock
		p.setup = int(e.x.lo(e.setup[o.task]))
	}
	return p
}

// at returns from when to when the occupant uses the resource if the task
// starts at s (with its breaks).
func (p *where) at(s int) (from, to int) {
	switch p.kind {
	case byUnattended:
		from = p.w.attEnd(s)
		return from, from + p.w.unatt
	case byWhole:
		return s, p.w.end(s)
	case setupHands, setupStation:
		return latestSetup(p.c, s, p.setup), s
	}
	return s, p.w.attEnd(s)
}

// certain returns the time in which the occupant uses the resource whatever
// start it takes (with its breaks); it is empty where from >= to.
func (p *where) certain() (from, to int) {
	from, _ = p.at(p.hi)
	_, to = p.at(p.lo)
	return from, to
}

// breaks tells whether only open minutes count.
func (p *where) breaks() bool { return p.c != nil && (p.kind == byOpen || p.kind == setupHands) }

// span returns the least and the greatest start with which the occupant uses
// the resource in minute t, which is an open one where breaks count.
func (p *where) span(t int) (least, greatest int) {
	switch p.kind {
	case byUnattended:
		return p.w.firstStartFor(t + 1 - p.w.unatt), p.w.lastStartBy(t)
	case byWhole:
		return p.w.firstStartFor(t + 1 - p.w.unatt), t
	case setupHands, setupStation:
		if p.c == nil {
			return t + 1, t + p.setup
		}
		k := p.c.worked(t)
		if !p.c.open(t) {
			k--
		}
		return t + 1, p.c.begin(k + p.setup)
	}
	return p.w.firstStartFor(t + 1), t
}

// covers tells whether the occupant surely uses the resource in minute t.
func (p *where) covers(t int) bool {
	from, to := p.certain()
	return from <= t && t < to && !(p.breaks() && !p.c.open(t))
}

func (t *table) propagate(e *exact) bool {
	t.build(e)
	highest := 0
	for _, s := range t.steps {
		if s.amount > t.capacity {
			e.x.clash = t.explain(e, e.x.clash[:0], s.from, t.capacity+1, -1)
			return false
		}
		highest = max(highest, s.amount)
	}
	for k := range t.occupants {
		o := &t.occupants[k]
		if highest+o.amount <= t.capacity || e.x.fixed(e.start[o.task]) {
			continue
		}
		if !t.pushUp(e, k) || !t.pushDown(e, k) {
			return false
		}
	}
	return true
}

// build makes the profile of certain use.
func (t *table) build(e *exact) {
	t.changes = t.changes[:0]
	note := func(from, to, amount int) {
		if from < to {
			t.changes = append(t.changes, step{from: from, amount: amount}, step{from: to, amount: -amount})
		}
	}
	for k := range t.occupants {
		p := e.where(&t.occupants[k])
		from, to := p.certain()
		if from >= to {
			continue
		}
		if !p.breaks() {
			note(from, to, t.occupants[k].amount)
			continue
		}
		for i := p.c.window(from); i < len(p.c.from) && p.c.from[i] < to; i++ {
			note(max(from, p.c.from[i]), min(to, p.c.to[i]), t.occupants[k].amount)
		}
	}
	sort.Slice(t.changes, func(a, b int) bool { return t.changes[a].from < t.changes[b].from })
	t.steps = t.steps[:0]
	used := 0
	for i := 0; i < len(t.changes); {
		from := t.changes[i].from
		for ; i < len(t.changes) && t.changes[i].from == from; i++ {
			used += t.changes[i].amount
		}
		if used > 0 {
			t.steps = append(t.steps, step{from, t.changes[i].from, used})
		}
	}
}

// explain appends why at least so much is surely used in minute at by
// occupants other than one.
func (t *table) explain(e *exact, why []lit, at, amount, other int) []lit {
	for k := range t.occupants {
		o := &t.occupants[k]
		if k == other || amount <= 0 {
			continue
		}
		p := e.where(o)
		if !p.covers(at) {
			continue
		}
		amount -= o.amount
		least, greatest := p.span(at)
		why = append(why, ge(e.start[o.task], int64(min(least, p.lo))), le(e.start[o.task], int64(max(greatest, p.hi))))
		if p.setup > 0 {
			why = append(why, ge(e.setup[o.task], int64(p.setup)))
		}
	}
	return why
}

// stepAfter returns the first step that ends after a time.
func (t *table) stepAfter(at int) int {
	return sort.Search(len(t.steps), func(i int) bool { return t.steps[i].to > at })
}

// pushUp raises the lower bound of an occupant's start past minutes that are too full.
func (t *table) pushUp(e *exact, k int) bool {
	o := &t.occupants[k]
	for {
		p := e.where(o)
		from, to := p.at(p.lo)
		at := -1
		for i := t.stepAfter(from); i < len(t.steps) && t.steps[i].from < to; i++ {
			if m := t.tooFull(&p, o, i, from, to, true); m >= 0 {
				at = m
			}
		}
		if at < 0 {
			return true
		}
		least, greatest := p.span(at)
		why := append(e.x.lifted[:0], ge(e.start[o.task], int64(min(least, p.lo))))
		if p.setup > 0 {
			why = append(why, ge(e.setup[o.task], int64(p.setup)))
		}
		why = t.explain(e, why, at, t.capacity-o.amount+1, k)
		e.x.lifted = why
		next := greatest + 1
		if r := p.w.nextStart(next); r < never {
			next = r // later steps rely on bounds that the calendars allow
		}
		if next <= p.lo {
			return true
		}
		if !e.x.set(ge(e.start[o.task], int64(next)), why...) {
			return false
		}
	}
}

// pushDown lowers the upper bound of an occupant's start below minutes that are too full.
func (t *table) pushDown(e *exact, k int) bool {
	o := &t.occupants[k]
	for {
		p := e.where(o)
		if p.lo == p.hi {
			return true
		}
		from, to := p.at(p.hi)
		at := -1
		for i := t.stepAfter(from); i < len(t.steps) && t.steps[i].from < to; i++ {
			if at = t.tooFull(&p, o, i, from, to, false); at >= 0 {
				break
			}
		}
		if at < 0 {
			return true
		}
		least, greatest := p.span(at)
		why := append(e.x.lifted[:0], le(e.start[o.task], int64(max(greatest, p.hi))))
		if p.setup > 0 {
			why = append(why, ge(e.setup[o.task], int64(p.setup)))
		}
		why = t.explain(e, why, at, t.capacity-o.amount+1, k)
		e.x.lifted = why
		next := least - 1
		if r := p.w.prevStart(next); r >= 0 {
			next = r
		}
		if next >= p.hi {
			return true
		}
		if !e.x.set(le(e.start[o.task], int64(next)), why...) {
			return false
		}
	}
}

// tooFull returns a minute of a step in [from, to), the last or the first, that
// has no room for an occupant which does not surely use it already, or -1.
func (t *table) tooFull(p *where, o *occupant, i, from, to int, last bool) int {
	s := &t.steps[i]
	if s.amount+o.amount <= t.capacity {
		return -1
	}
	from, to = max(from, s.from), min(to, s.to)
	at := from
	if last {
		at = to - 1
	}
	if p.breaks() {
		if at = p.c.nextOpen(from); last {
			at = p.c.begin(p.c.worked(to) - 1)
		}
		if at < from || at >= to {
			return -1
		}
	}
	if at < from || at >= to || p.covers(at) {
		return -1
	}
	return at
}
