package sequence

import (
	"fmt"
	"slices"
)

// energy propagates what tasks need of one resource between two times, wherever in
// their bounds they are: more than there is of it then is a conflict (energetic
// reasoning: Erschler, Lopez, Thuriot 1991; Baptiste, Le Pape, Nuijten, "Satisfiability
// tests and time-bound adjustments for cumulative scheduling problems", Annals of
// Operations Research 92, 1999), explained with no more of the bounds than it takes
// (Schutt, Feydy, Stuckey, "Explaining time-table-edge-finding propagation for the
// cumulative resource constraint", CPAIOR 2013).
type energy struct {
	capacity int
	loads    []load

	bends []bend
	froms []int  // scratch: where windows begin
	parts []part // scratch

	pause, turns int // it misses so many turns when it has found nothing, and so many more now
}

// load is what a task needs of the resource without a break, with its current bounds.
type load struct {
	task         int32
	amount, long int
	lo, hi       int
}

// bend is a time from which on what a load needs at least in a window that begins at a
// given time grows with the window's end, or no longer does.
type bend struct {
	of  int32
	end bool
	at  int // never: the load may be over before the window
}

func (l *load) bend(from int, end bool) int {
	at, units := max(from, l.hi), min(l.long, l.lo+l.long-from)
	switch {
	case units <= 0:
		return never
	case end:
		return at + units
	}
	return at
}

// part is what a load needs at least within a window.
type part struct {
	of    int32
	units int // of time
	known bool
}

// Energies are looked at down to so many levels of decisions, and one that finds nothing
// misses at most so many turns: more of it would find too little for the time that it
// takes. Where all go one after the other they find much at any depth.
const (
	energyDepth, energyPause = 2, 63
	inLinePause              = 3
)

// addEnergies makes one for every resource that can be overloaded, and for sets of
// tasks no two of which can run side by side, whatever keeps them apart.
func (e *exact) addEnergies() {
	m := e.m
	for r := range m.resources {
		g := energy{capacity: m.resources[r].capacity}
		for t := range m.tasks {
			if amount, long := m.solidUse(t, r); amount*long > 0 {
				g.loads = append(g.loads, load{task: int32(t), amount: amount, long: long})
			}
		}
		e.addEnergy(g)
	}
	if len(m.tasks) > mostGaps {
		return
	}
	for _, set := range e.apartSets() {
		g := energy{capacity: 1}
		for _, t := range set {
			g.loads = append(g.loads, load{task: t, amount: 1, long: m.tasks[t].att})
		}
		e.addEnergy(g)
	}
}

// addEnergy adds one where all at once are more than there is.
func (e *exact) addEnergy(g energy) {
	sum := 0
	for k := range g.loads {
		sum += g.loads[k].amount
		g.bends = append(g.bends, bend{of: int32(k)}, bend{of: int32(k), end: true})
	}
	if sum > g.capacity && len(g.loads) > 2 && len(g.loads) <= mostGaps {
		e.energies = append(e.energies, g)
	}
}

// solidUse returns how much of a resource a task uses from its start on, and for how
// many minutes, where these are the same wherever it starts.
func (m *model) solidUse(t, r int) (amount, long int) {
	w := &m.tasks[t]
	if w.clock != nil {
		return 0, 0
	}
	for _, u := range w.uses {
		switch {
		case u.res != r:
		case u.span == attendedSpan:
			amount, long = amount+u.amount, w.att
		case u.span == wholeSpan:
			return u.amount, w.att + w.unatt
		}
	}
	return amount, long
}

// apartSets finds sets of tasks whose attended times are all apart: for each task one
// that has it, made larger by those that are longest and least held apart by links
// already.
func (e *exact) apartSets() [][]int32 {
	apart := e.apartTasks()
	var sets [][]int32
	seen := map[string]bool{}
	for first := range e.m.tasks {
		if e.m.halted() {
			return nil
		}
		set := []int32{int32(first)}
		for next := e.nextApart(set, apart); next >= 0; next = e.nextApart(set, apart) {
			set = append(set, next)
		}
		slices.Sort(set)
		if key := fmt.Sprint(set); !seen[key] {
			seen[key] = true
			sets = append(sets, set)
		}
	}
	return sets
}

// apartTasks finds which attended times are apart, by links, by a resource or by the
// air of a zone.
func (e *exact) apartTasks() []bits {
	n := len(e.m.tasks)
	apart := make([]bits, n)
	for i := range apart {
		apart[i] = newBits(n)
	}
	for i := range int32(n) {
		for j := range i {
			_, rivals := e.pair[[2]int32{j, i}]
			if (rivals || e.linked(i, j)) && e.m.isSolid(int(i)) && e.m.isSolid(int(j)) {
				apart[i].put(int(j))
				apart[j].put(int(i))
			}
		}
	}
	return apart
}

// nextApart returns the task that is worth most in a set of tasks that are apart, or -1.
func (e *exact) nextApart(set []int32, apart []bits) int32 {
	next, most := int32(-1), 0
	for t := range int32(len(apart)) {
		if slices.ContainsFunc(set, func(s int32) bool { return !apart[t].has(int(s)) }) {
			continue
		}
		worth := e.m.tasks[t].att
		for _, s := range set {
			if !e.linked(s, t) {
				worth += e.m.horizon
			}
		}
		if worth > most {
			next, most = t, worth
		}
	}
	return next
}

// linked tells whether links put one of two tasks behind the other.
func (e *exact) linked(i, j int32) bool { return e.reach[i].has(int(j)) || e.reach[j].has(int(i)) }

// isSolid tells whether a task is attended for some time, the same wherever it starts.
func (m *model) isSolid(t int) bool { return m.tasks[t].clock == nil && m.tasks[t].att > 0 }

// propagateEnergies runs one that is queued and whose turn it is.
func (e *exact) propagateEnergies() (done, ok bool) {
	pause := energyPause
	if e.inLine {
		pause = inLinePause
	} else if e.x.level() > energyDepth {
		return true, true
	}
	for k := range e.energies {
		if !e.energyQueued[k] {
			continue
		}
		e.energyQueued[k] = false
		g := &e.energies[k]
		if g.turns > 0 && e.x.level() > 0 {
			g.turns--
			continue
		}
		if !g.propagate(e) {
			g.pause /= 4 // what has found something is asked again sooner
			return false, false
		}
		g.pause = min(2*g.pause+1, pause)
		g.turns = g.pause
		return false, true
	}
	return true, true
}

// askEnergies lets all of them look at what comes next.
func (e *exact) askEnergies() {
	for k := range e.energies {
		e.energies[k].turns = 0
	}
}

// propagate tells whether no window that begins at the first start of a load is
// overloaded. O(loads²), where the order of bends hardly changes from window to window.
func (g *energy) propagate(e *exact) bool {
	g.froms = g.froms[:0]
	for k := range g.loads {
		l := &g.loads[k]
		l.lo, l.hi = int(e.x.lo(e.start[l.task])), int(e.x.hi(e.start[l.task]))
		g.froms = append(g.froms, l.lo)
	}
	slices.Sort(g.froms)
	for _, a := range slices.Compact(g.froms) {
		if b, excess := g.worst(a); excess > 0 {
			g.explain(e, a, b, excess)
			return false
		}
	}
	return true
}

// worst returns where the window from a ends in which most is needed beyond what
// there is, and how much that is.
func (g *energy) worst(a int) (to, excess int) {
	for i := range g.bends {
		b := &g.bends[i]
		b.at = g.loads[b.of].bend(a, b.end)
	}
	insertionSort(g.bends, func(b bend) int { return b.at })
	need, slope, now := 0, -g.capacity, a
	for i := range g.bends {
		b := &g.bends[i]
		if b.at == never {
			break
		}
		need, now = need+slope*(b.at-now), b.at
		if need > excess {
			to, excess = now, need
		}
		if b.end {
			slope -= g.loads[b.of].amount
		} else {
			slope += g.loads[b.of].amount
		}
	}
	return to, excess
}

// explain says why more is needed in [a, b) than there is, by so much.
func (g *energy) explain(e *exact, a, b, excess int) {
	spare := excess - 1
	g.parts = g.parts[:0]
	for k := range g.loads {
		l := &g.loads[k]
		units := min(l.long, b-a, l.lo+l.long-a, b-l.hi)
		if units <= 0 {
			continue
		}
		g.parts = append(g.parts, part{int32(k), units, g.known(e, l, a, b, units)})
	}
	slices.SortFunc(g.parts, func(p, q part) int {
		if p.known != q.known {
			if q.known {
				return -1
			}
			return 1
		}
		return p.units*g.loads[p.of].amount - q.units*g.loads[q.of].amount
	})
	e.x.clash = e.x.clash[:0]
	for _, p := range g.parts {
		l := &g.loads[p.of]
		cut := min(p.units, spare/l.amount)
		if !p.known {
			spare -= cut * l.amount
			p.units -= cut
		}
		if p.units > 0 {
			v := e.start[l.task]
			e.x.clash = append(e.x.clash, ge(v, int64(a+p.units-l.long)), le(v, int64(b-p.units)))
		}
	}
}

// known tells whether a load's part of a window follows without any decision.
func (g *energy) known(e *exact, l *load, a, b, units int) bool {
	v := e.start[l.task]
	return e.x.since(ge(v, int64(a+units-l.long))) < 0 && e.x.since(le(v, int64(b-units))) < 0
}
