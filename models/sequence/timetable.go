package sequence

import (
	"slices"
	"sort"
)

// table propagates the capacity of one resource: where tasks use it for certain
// in a minute, others that do not fit beside them cannot run there (time-table
// propagation with explanations by minutes: Schutt, Feydy, Stuckey, Wallace,
// "Explaining the cumulative propagator", Constraints 16, 2011).
type table struct {
	capacity  int
	occupants []occupant
	seen      []sight // by occupant: as it was when last looked at
	changes   []step  // by time: how much more is surely used from then on than before
	steps     []step  // the profile of certain use, made of them
	highest   int     // the most that is surely used at once
	stale     bool    // the last look at the occupants was broken off
}

// inLine tells whether no two occupants fit side by side and all of them are put in order.
func (t *table) inLine() bool {
	return !slices.ContainsFunc(t.occupants, func(o occupant) bool {
		return 2*o.amount <= t.capacity || o.kind != byAttended && o.kind != byWhole && o.kind != setupStation
	})
}

// sight is an occupant as it was seen, and the time it surely uses then. What was
// true of it then is still true where bounds have only tightened since.
type sight struct {
	where
	from, to int
	fresh    bool // it was not the same the time before
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
		if t.canBind() {
			for k := range t.occupants {
				t.seen = append(t.seen, e.sightOf(&t.occupants[k]))
			}
			t.stale = true
			e.tables = append(e.tables, t)
			e.inLine = e.inLine && t.inLine()
		}
	}
}

// canBind tells whether the demands can exceed the capacity at all.
func (t *table) canBind() bool {
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

// sightOf is an occupant before it was looked at for the first time.
func (e *exact) sightOf(o *occupant) sight {
	w := &e.m.tasks[o.task]
	s := sight{where: where{w: w, kind: o.kind, lo: -1, hi: -1}}
	switch o.kind {
	case byOpen:
		s.c = w.clock
	case setupHands, setupStation:
		s.c = e.m.resources[w.station].setups.clock
	}
	return s
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

// propagate looks at the occupants that could be pushed: all of them where the
// profile is another than the last time, else those whose bounds are.
func (t *table) propagate(e *exact) bool {
	all := t.look(e) || t.stale
	t.stale = true
	if t.highest > t.capacity {
		for _, s := range t.steps {
			if s.amount > t.capacity {
				e.x.clash = t.explain(e, e.x.clash[:0], s.from, t.capacity+1, -1)
				return false
			}
		}
	}
	for k := range t.occupants {
		s, o := &t.seen[k], &t.occupants[k]
		if !all && !s.fresh || t.highest+o.amount <= t.capacity || s.lo == s.hi {
			continue
		}
		if !t.pushUp(e, k) || !t.pushDown(e, k) {
			return false
		}
	}
	t.stale = false
	return true
}

// look sees all occupants as they are now and makes the profile of certain use;
// it tells whether that is another one.
func (t *table) look(e *exact) bool {
	other := false
	for k := range t.occupants {
		o, s := &t.occupants[k], &t.seen[k]
		lo, hi, setup := int(e.x.lo(e.start[o.task])), int(e.x.hi(e.start[o.task])), 0
		if o.kind >= setupHands {
			setup = int(e.x.lo(e.setup[o.task]))
		}
		s.fresh = lo != s.lo || hi != s.hi || setup != s.setup
		if !s.fresh {
			continue
		}
		s.lo, s.hi, s.setup = lo, hi, setup
		from, to := s.certain()
		if from == s.from && to == s.to || from >= to && s.from >= s.to {
			s.from, s.to = from, to
			continue
		}
		t.note(s, -o.amount)
		s.from, s.to = from, to
		t.note(s, o.amount)
		other = true
	}
	if other {
		t.build()
	}
	return other
}

// note adds what an occupant surely uses to the changes, or takes it out of them.
func (t *table) note(s *sight, amount int) {
	switch {
	case s.from >= s.to:
	case !s.breaks():
		t.change(s.from, amount)
		t.change(s.to, -amount)
	default:
		for i := s.c.window(s.from); i < len(s.c.from) && s.c.from[i] < s.to; i++ {
			t.change(max(s.from, s.c.from[i]), amount)
			t.change(min(s.to, s.c.to[i]), -amount)
		}
	}
}

// change notes that from a time on so much more is used.
func (t *table) change(at, amount int) {
	lo, hi := 0, len(t.changes)
	for lo < hi {
		if mid := int(uint(lo+hi) >> 1); t.changes[mid].from < at {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	if lo == len(t.changes) || t.changes[lo].from != at {
		t.changes = append(t.changes, step{})
		copy(t.changes[lo+1:], t.changes[lo:])
		t.changes[lo] = step{from: at, amount: amount}
	} else if t.changes[lo].amount += amount; t.changes[lo].amount == 0 {
		t.changes = append(t.changes[:lo], t.changes[lo+1:]...)
	}
}

// build makes the profile of the changes.
func (t *table) build() {
	t.steps, t.highest = t.steps[:0], 0
	used := 0
	for i := range t.changes {
		if used += t.changes[i].amount; used > 0 {
			t.steps = append(t.steps, step{t.changes[i].from, t.changes[i+1].from, used})
			t.highest = max(t.highest, used)
		}
	}
}

// explain appends why at least so much is surely used in minute at by
// occupants other than one.
func (t *table) explain(e *exact, why []lit, at, amount, other int) []lit {
	for k := range t.occupants {
		s := &t.seen[k]
		if at < s.from || at >= s.to || k == other || amount <= 0 || s.breaks() && !s.c.open(at) {
			continue
		}
		o := &t.occupants[k]
		amount -= o.amount
		least, greatest := s.span(at)
		why = append(why, ge(e.start[o.task], int64(min(least, s.lo))), le(e.start[o.task], int64(max(greatest, s.hi))))
		if s.setup > 0 {
			why = append(why, ge(e.setup[o.task], int64(s.setup)))
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
		p := t.seen[k].where
		p.lo = int(e.x.lo(e.start[o.task]))
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
		p := t.seen[k].where
		p.lo, p.hi = int(e.x.lo(e.start[o.task])), int(e.x.hi(e.start[o.task]))
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
