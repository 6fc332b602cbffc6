package sequence

import (
	"slices"
	"sync/atomic"
)

// learner is a clause-learning search core over bounded integer variables. A
// variable x is seen from two sides: side 2x is x itself, side 2x+1 is -x, and
// all that is ever known of it are upper bounds of its sides. A literal says
// "side <= bound". Every new bound is an event on a trail with a reason: the
// literals that implied it, or the clause. From a conflict the learner resolves
// reasons back to the first unique implication point, learns a clause of bound
// literals, and jumps back (lazy clause generation: Ohrimenko, Stuckey, Codish,
// "Propagation via lazy clause generation", Constraints 14, 2009; with literals
// made only in clauses, never as variables of their own).
type learner struct {
	ub       []int64 // by side
	last     []int32 // by side: its latest event, -1: none
	trail    []event
	levels   []mark     // where each decision level begins, from level 1
	arena    []lit      // reasons given by propagators
	watches  []watchers // by side
	learned  []*clause
	head     int   // events whose consequences were drawn
	clash    []lit // after a conflict: true literals that cannot be true together
	wake     func(side int32)
	activity []float64 // by variable
	bump     float64
	heap     varHeap
	marked   []bool    // by event, during analysis
	findings []finding // by event, while a clause is made
	asked    []int32   // events with a finding
	levelIn  []bool    // by level: one of its events is marked
	need     []int64   // by event, during analysis
	lower    []int32   // events of lower levels, during analysis
	sideSeen []int32   // by side: index in the clause being made, -1: none
	lifted   []lit     // scratch
	made     []lit     // scratch: the clause being made
	telling  bool      // others want to know what is learned
	fresh    []*clause // learned, worth telling and not yet told
	told     int       // events of level 0 that were told
	pushed   int64     // bounds lowered so far: what a search has done, on every machine the same
	stop     *atomic.Bool
	halted   bool // gave up: what is known may be incomplete
}

// giveUp notes, and tells, whether the search is over: all stops, or has before.
func (x *learner) giveUp() bool {
	x.halted = x.halted || x.stop != nil && x.stop.Load()
	return x.halted
}

// lit says that a side of a variable is at most b.
type lit struct {
	side int32
	b    int64
}

func le(x int32, b int64) lit { return lit{2 * x, b} }
func ge(x int32, b int64) lit { return lit{2*x + 1, -b} }
func (l lit) not() lit        { return lit{l.side ^ 1, -l.b - 1} }

// event is one lowering of a side's bound.
type event struct {
	side, level, prev int32 // prev: the side's event before, -1: none
	from, to          int32 // reason in the arena, where clause is nil
	clause            *clause
	old, new          int64
}

// mark is where a decision level begins.
type mark struct{ trail, arena int32 }

// watchers are the clauses to look at when a side's bound falls to their guards,
// by guard, so that an event meets only those it passes.
type watchers struct {
	guards []int64 // rising
	of     [][]watch
}

// watch is a clause that watches a literal of a side.
type watch struct {
	c     *clause
	other lit // one more of the clause: while it is true the clause asks for nothing
}

func (w *watchers) add(guard int64, c *clause, other lit) {
	i, known := slices.BinarySearch(w.guards, guard)
	if !known {
		w.guards, w.of = slices.Insert(w.guards, i, guard), slices.Insert(w.of, i, nil)
	}
	w.of[i] = append(w.of[i], watch{c, other})
}

// sweep drops the clauses that were deleted, and guards that none is left of.
func (w *watchers) sweep() {
	n := 0
	for i, of := range w.of {
		if of = slices.DeleteFunc(of, func(k watch) bool { return k.c.deleted }); len(of) > 0 {
			w.guards[n], w.of[n] = w.guards[i], of
			n++
		}
	}
	clear(w.of[n:])
	w.guards, w.of = w.guards[:n], w.of[:n]
}

// lastingLBD is the number of decision levels in a learned clause up to which it is
// kept for ever, and told to others.
const lastingLBD = 2

type clause struct {
	lits    []lit
	lbd     int32 // decision levels among its literals when learned
	used    int32 // conflicts it took part in since the last clearing
	deleted bool
}

// shortClause is how many literals a clause may have to have them beside itself in
// memory, since who looks at a clause looks at them.
const shortClause = 8

// newClause makes a clause of literals, which are copied.
func newClause(lits []lit) *clause {
	if len(lits) > shortClause {
		return &clause{lits: slices.Clone(lits)}
	}
	c := &struct {
		clause
		of [shortClause]lit
	}{}
	c.lits = append(c.of[:0], lits...)
	return &c.clause
}

// addVar makes a variable with bounds and returns it.
func (x *learner) addVar(lo, hi int64) int32 {
	v := int32(len(x.ub) / 2)
	x.ub = append(x.ub, hi, -lo)
	x.last = append(x.last, -1, -1)
	x.watches = append(x.watches, watchers{}, watchers{})
	x.sideSeen = append(x.sideSeen, -1, -1)
	x.activity = append(x.activity, 0)
	return v
}

func (x *learner) hi(v int32) int64   { return x.ub[2*v] }
func (x *learner) lo(v int32) int64   { return -x.ub[2*v+1] }
func (x *learner) fixed(v int32) bool { return x.ub[2*v] == -x.ub[2*v+1] }
func (x *learner) isTrue(l lit) bool  { return x.ub[l.side] <= l.b }
func (x *learner) isFalse(l lit) bool { return x.ub[l.side^1] <= -l.b-1 }
func (x *learner) level() int32       { return int32(len(x.levels)) }

// set makes a literal true because all the reasons are; false means conflict.
func (x *learner) set(l lit, reasons ...lit) bool {
	if x.isTrue(l) {
		return true
	}
	if x.isFalse(l) {
		x.clash = append(append(x.clash[:0], reasons...), l.not())
		return false
	}
	e := event{side: l.side, new: l.b}
	if len(x.levels) > 0 {
		e.from = int32(len(x.arena))
		x.arena = append(x.arena, reasons...)
		e.to = int32(len(x.arena))
	}
	x.push(e)
	return true
}

func (x *learner) push(e event) {
	e.level, e.prev, e.old = x.level(), x.last[e.side], x.ub[e.side]
	x.ub[e.side] = e.new
	x.last[e.side] = int32(len(x.trail))
	x.trail = append(x.trail, e)
	x.pushed++
}

// decide opens a level and makes a literal true in it.
func (x *learner) decide(l lit) {
	x.levels = append(x.levels, mark{int32(len(x.trail)), int32(len(x.arena))})
	x.push(event{side: l.side, new: l.b})
}

// back undoes all levels above one.
func (x *learner) back(level int32) {
	if x.level() <= level {
		return
	}
	m := x.levels[level]
	for i := len(x.trail) - 1; i >= int(m.trail); i-- {
		e := &x.trail[i]
		x.ub[e.side], x.last[e.side] = e.old, e.prev
		x.heap.insert(x, e.side/2)
	}
	x.trail, x.arena, x.levels = x.trail[:m.trail], x.arena[:m.arena], x.levels[:level]
	x.head = len(x.trail)
}

// drawClauses draws the consequences of all new events in clauses, and wakes
// propagators; false means conflict.
func (x *learner) drawClauses() bool {
	for x.head < len(x.trail) {
		e := &x.trail[x.head]
		x.head++
		x.wake(e.side)
		if !x.drawEvent(e.side, e.old, e.new) {
			return false
		}
	}
	return true
}

func (x *learner) drawEvent(side int32, old, new int64) bool {
	ws := &x.watches[side]
	for k, _ := slices.BinarySearch(ws.guards, new); k < len(ws.guards) && ws.guards[k] < old; k++ {
		guard, of, kept := ws.guards[k], ws.of[k], 0
		for i := 0; i < len(of); i++ {
			if !x.isTrue(of[i].other) {
				c := of[i].c
				if x.rewatch(c, side^1) {
					continue
				}
				if first := c.lits[0]; x.isTrue(first) {
					of[i].other = first
				} else if !x.unit(c, first) {
					kept += copy(of[kept:], of[i:])
					ws.keep(k, guard, kept)
					return false
				}
			}
			of[kept] = of[i]
			kept++
		}
		k = ws.keep(k, guard, kept)
	}
	return true
}

// keep shortens the list of a guard and returns where it is: it moved from k where guards
// before it came up since.
func (w *watchers) keep(k int, guard int64, n int) int {
	if w.guards[k] != guard {
		k, _ = slices.BinarySearch(w.guards, guard)
	}
	if n < len(w.of[k]) {
		clear(w.of[k][n:])
		w.of[k] = w.of[k][:n]
	}
	return k
}

// rewatch finds another literal to watch in place of the one on a side that
// just became false; it leaves the other watched literal first.
func (x *learner) rewatch(c *clause, side int32) bool {
	if c.lits[0].side == side {
		c.lits[0], c.lits[1] = c.lits[1], c.lits[0]
	}
	if x.isTrue(c.lits[0]) {
		return false
	}
	for k := 2; k < len(c.lits); k++ {
		if !x.isFalse(c.lits[k]) {
			c.lits[1], c.lits[k] = c.lits[k], c.lits[1]
			x.watch(c, 1)
			return true
		}
	}
	return false
}

func (x *learner) watch(c *clause, k int) {
	n := c.lits[k].not()
	x.watches[n.side].add(n.b, c, c.lits[1-k])
}

// unit makes the first literal of a clause true, all others being false.
func (x *learner) unit(c *clause, l lit) bool {
	if x.isFalse(l) {
		x.clash = x.clash[:0]
		for _, k := range c.lits {
			x.clash = append(x.clash, k.not())
		}
		c.used++
		return false
	}
	x.push(event{side: l.side, new: l.b, clause: c})
	return true
}

// addClause adds a clause of the problem at level 0; false means there is no solution.
func (x *learner) addClause(lits ...lit) bool {
	_, ok := x.attach(lits)
	return ok
}

// attach is addClause, and returns what is left of the clause, nil where it says
// nothing that is not known.
func (x *learner) attach(lits []lit) (*clause, bool) {
	var open []lit
	for _, l := range lits {
		if x.isTrue(l) {
			return nil, true
		}
		if !x.isFalse(l) {
			open = append(open, l)
		}
	}
	switch len(open) {
	case 0:
		return nil, false
	case 1:
		return nil, x.set(open[0])
	}
	c := newClause(open)
	x.watch(c, 0)
	x.watch(c, 1)
	return c, true
}

// since returns the event that made a true literal true, or -1 where it has
// been true from the start or since level 0.
func (x *learner) since(l lit) int32 {
	e := x.last[l.side]
	for e >= 0 && x.trail[e].old <= l.b {
		e = x.trail[e].prev
	}
	if e >= 0 && x.trail[e].level == 0 {
		return -1
	}
	return e
}

// learn turns the clash into a clause, jumps back and makes its first literal
// true, unless it gives up. It returns false if the clash does not depend on any
// decision.
func (x *learner) learn() bool {
	top := int32(0)
	for _, l := range x.clash {
		if e := x.since(l); e >= 0 {
			top = max(top, x.trail[e].level)
		}
	}
	if top == 0 {
		return false
	}
	x.back(top)
	c := x.analyse(top)
	if x.halted {
		return true
	}
	backTo := int32(0)
	at := 1
	for k := 1; k < len(c.lits); k++ {
		if lv := x.trail[x.since(c.lits[k].not())].level; lv > backTo {
			backTo, at = lv, k
		}
	}
	x.back(backTo)
	x.bump /= 0.95
	if len(c.lits) == 1 {
		return x.set(c.lits[0])
	}
	c.lits[1], c.lits[at] = c.lits[at], c.lits[1]
	x.watch(c, 0)
	x.watch(c, 1)
	x.learned = append(x.learned, c)
	if x.telling && c.lbd <= lastingLBD {
		x.fresh = append(x.fresh, c)
	}
	x.push(event{side: c.lits[0].side, new: c.lits[0].b, clause: c})
	return true
}

// analyse resolves the clash, whose highest level is top, to a clause with one
// literal of that level, which comes first; nil where it gives up.
func (x *learner) analyse(top int32) *clause {
	for len(x.marked) < len(x.trail) {
		x.marked, x.need = append(x.marked, false), append(x.need, 0)
	}
	x.lower = x.lower[:0]
	open := 0
	for _, l := range x.clash {
		open += x.note(l, top)
	}
	i := len(x.trail) - 1
	for ; ; i-- {
		if !x.marked[i] {
			continue
		}
		if open == 1 {
			break
		}
		if i&63 == 0 && x.giveUp() {
			return nil
		}
		x.marked[i] = false
		open--
		x.reasons(i, func(l lit) { open += x.note(l, top) })
	}
	uip := lit{x.trail[i].side, x.need[i]}
	x.marked[i] = false
	return x.clauseOf(uip)
}

// note marks the event behind a literal of a reason; it returns 1 if that is a
// new one of the level analysed.
func (x *learner) note(l lit, top int32) int {
	e := x.since(l)
	if e < 0 {
		return 0
	}
	if x.marked[e] {
		x.need[e] = min(x.need[e], l.b)
		return 0
	}
	x.marked[e], x.need[e] = true, l.b
	x.raise(l.side / 2)
	if x.trail[e].level == top {
		return 1
	}
	x.lower = append(x.lower, e)
	return 0
}

// reasons calls f with each literal that implied event i.
func (x *learner) reasons(i int, f func(lit)) {
	e := &x.trail[i]
	if e.clause == nil {
		for _, l := range x.arena[e.from:e.to] {
			f(l)
		}
		return
	}
	e.clause.used++
	for _, l := range e.clause.lits {
		if l.side != e.side || l.b != e.new {
			f(l.not())
		}
	}
}

// clauseOf makes the clause of the unique implication point and the marked
// events of lower levels, leaving out those that the others imply.
func (x *learner) clauseOf(uip lit) *clause {
	for len(x.findings) < len(x.trail) {
		x.findings = append(x.findings, unasked)
	}
	for len(x.levelIn) <= len(x.levels) {
		x.levelIn = append(x.levelIn, false)
	}
	for _, e := range x.lower {
		x.levelIn[x.trail[e].level] = true
	}
	lits := append(x.made[:0], uip.not())
	x.sideSeen[uip.side] = 0
	for _, e := range x.lower {
		if x.implied(int(e)) {
			continue
		}
		side, b := x.trail[e].side, x.need[e]
		if k := x.sideSeen[side]; k >= 0 {
			// A stronger bound of the same side says this one as well.
			if l := lits[k].not(); b < l.b {
				lits[k] = lit{side, b}.not()
			}
			continue
		}
		x.sideSeen[side] = int32(len(lits))
		lits = append(lits, lit{side, b}.not())
	}
	for _, e := range x.lower {
		x.marked[e], x.levelIn[x.trail[e].level] = false, false
	}
	for _, e := range x.asked {
		x.findings[e] = unasked
	}
	x.asked = x.asked[:0]
	levels := int32(0)
	for _, l := range lits {
		x.sideSeen[l.side^1] = -1
		if in := &x.levelIn[x.trail[x.since(l.not())].level]; !*in {
			*in = true
			levels++
		}
	}
	for _, l := range lits {
		x.levelIn[x.trail[x.since(l.not())].level] = false
	}
	x.made = lits
	c := newClause(lits)
	c.lbd = levels
	return c
}

// finding is what was found of an event while a clause is made.
type finding uint8

const (
	unasked     finding = iota
	follows             // the marked events imply it
	independent         // they may not
)

// implied tells whether the marked events imply an event by its reasons and, where
// those are not marked, by theirs (Sörensson, Biere, "Minimizing learned clauses",
// SAT 2009).
func (x *learner) implied(i int) bool {
	e := &x.trail[i]
	if e.clause == nil {
		if e.from == e.to {
			return false // a decision
		}
		for _, l := range x.arena[e.from:e.to] {
			if !x.covered(l) {
				return false
			}
		}
		return true
	}
	for _, l := range e.clause.lits {
		if (l.side != e.side || l.b != e.new) && !x.covered(l.not()) {
			return false
		}
	}
	return true
}

// covered tells whether the marked events imply a true literal.
func (x *learner) covered(l lit) bool {
	e := x.since(l)
	if e < 0 || x.marked[e] && x.need[e] <= l.b || x.findings[e] == follows {
		return true
	}
	// Below a level none of whose events is marked nothing is, and the level that is
	// analysed has but the one.
	if x.findings[e] == independent || !x.levelIn[x.trail[e].level] {
		return false
	}
	x.findings[e] = independent
	x.asked = append(x.asked, e)
	if !x.implied(int(e)) {
		return false
	}
	x.findings[e] = follows
	return true
}

// raise makes a variable more likely to be decided soon.
func (x *learner) raise(v int32) {
	x.activity[v] += x.bump
	if x.activity[v] > 1e100 {
		for i := range x.activity {
			x.activity[i] *= 1e-100
		}
		x.bump *= 1e-100
	}
	x.heap.up(x, v)
}

// forget drops the half of the learned clauses that were of least use. Only at level 0.
func (x *learner) forget() {
	limit := medianUse(x.learned)
	kept := x.learned[:0]
	for _, c := range x.learned {
		if c.lbd <= lastingLBD || c.used > limit {
			c.used /= 2
			kept = append(kept, c)
			continue
		}
		c.deleted = true
	}
	clear(x.learned[len(kept):])
	x.learned = kept
	for s := range x.watches {
		x.watches[s].sweep()
	}
}

func medianUse(cs []*clause) int32 {
	var counts [64]int
	for _, c := range cs {
		counts[min(63, c.used)]++
	}
	sum := 0
	for u, n := range counts {
		if sum += n; sum >= len(cs)/2 {
			return int32(u)
		}
	}
	return 63
}

// varHeap holds the variables that may be decided, the most active on top.
type varHeap struct {
	vars []int32
	at   []int32 // by variable: index in vars, -1: not in, -2: never
}

func (h *varHeap) insert(x *learner, v int32) {
	if int(v) >= len(h.at) || h.at[v] != -1 {
		return
	}
	h.at[v] = int32(len(h.vars))
	h.vars = append(h.vars, v)
	h.up(x, v)
}

func (h *varHeap) up(x *learner, v int32) {
	if int(v) >= len(h.at) || h.at[v] < 0 {
		return
	}
	i := h.at[v]
	for i > 0 {
		p := (i - 1) / 2
		if x.activity[h.vars[p]] >= x.activity[v] {
			break
		}
		h.vars[i] = h.vars[p]
		h.at[h.vars[i]] = i
		i = p
	}
	h.vars[i], h.at[v] = v, i
}

// pop takes the most active variable out, or returns -1.
func (h *varHeap) pop(x *learner) int32 {
	if len(h.vars) == 0 {
		return -1
	}
	top := h.vars[0]
	h.at[top] = -1
	v := h.vars[len(h.vars)-1]
	h.vars = h.vars[:len(h.vars)-1]
	if len(h.vars) == 0 {
		return top
	}
	n := int32(len(h.vars))
	i := int32(0)
	for {
		c := 2*i + 1
		if c >= n {
			break
		}
		if c+1 < n && x.activity[h.vars[c+1]] > x.activity[h.vars[c]] {
			c++
		}
		if x.activity[h.vars[c]] <= x.activity[v] {
			break
		}
		h.vars[i] = h.vars[c]
		h.at[h.vars[i]] = i
		i = c
	}
	h.vars[i], h.at[v] = v, i
	return top
}
