package sequence

import "slices"

// near is the exact search as one that makes plans better: every other time it begins
// anew it keeps the orders of the best plan but for those of a few tasks, and looks for a
// better one among what that leaves (Shaw, "Using constraint programming and local search
// methods to solve vehicle routing problems", CP 1998). What it learns there holds
// everywhere.
type near struct {
	wanted bool
	kept   []lit // empty: nothing is; those of tasks that follow one another stand first
	next   int   // the first of them that may not hold yet
	level  int32 // below which some before that may not hold any more
	size   int   // tasks whose orders are open
	empty  bool  // there is no better plan
}

// With so many open tasks it begins; so many conflicts are the most for one look.
const (
	openAtFirst  = 15
	openAtLeast  = 4
	nearConflict = 150
)

// lookNear opens the orders of some tasks, every other time it is called, and tells
// whether it did.
func (e *exact) lookNear() bool {
	s := &e.search
	n := &s.near
	if !n.wanted || s.guide == nil {
		return false
	}
	if len(n.kept) > 0 {
		n.resize(len(e.start))
		n.kept, n.empty = n.kept[:0], false
		return false
	}
	line := e.asGuided()
	e.keepAllBut(line, e.openTasks(line))
	n.next, n.level = 0, 0
	s.until = s.conflicts + nearConflict
	return true
}

// resize opens more where the last look came to its end, and less where it did not.
func (n *near) resize(tasks int) {
	if n.empty {
		n.size = min(n.size+1+n.size/10, tasks*3/4)
	} else {
		n.size = max(openAtLeast, n.size*9/10)
	}
}

// asGuided are the tasks as they start in the best plan.
func (e *exact) asGuided() []int32 {
	line := make([]int32, len(e.start))
	for t := range line {
		line[t] = int32(t)
	}
	slices.SortStableFunc(line, func(a, b int32) int { return e.search.guide[a] - e.search.guide[b] })
	return line
}

// openTasks chooses tasks that start one after the other, in one stretch or two, or
// those of a job.
func (e *exact) openTasks(line []int32) bits {
	s := &e.search
	open := newBits(len(line))
	stretch := func(of []int32, size int) {
		from := s.rng.IntN(max(1, len(of)-size/2))
		for _, t := range of[from:min(len(of), from+size)] {
			open.put(int(t))
		}
	}
	switch s.rng.IntN(4) {
	case 0:
		stretch(line, s.near.size/2)
		stretch(line, s.near.size/2)
	case 1:
		job := e.m.tasks[s.rng.IntN(len(line))].job
		stretch(slices.DeleteFunc(slices.Clone(line), func(t int32) bool { return e.m.tasks[t].job != job }), s.near.size)
	default:
		stretch(line, s.near.size)
	}
	return open
}

// keepAllBut keeps the orders of a line but for those of the open tasks.
func (e *exact) keepAllBut(line []int32, open bits) {
	n := &e.search.near
	place := make([]int, len(line))
	closed := 0
	for _, t := range line {
		if !open.has(int(t)) {
			place[t] = closed
			closed++
		}
	}
	apart := func(l lit) int {
		of := e.pairOf[l.side/2]
		return max(place[of[0]]-place[of[1]], place[of[1]]-place[of[0]])
	}
	for v, of := range e.pairOf {
		if of == [2]int32{} || open.has(int(of[0])) || open.has(int(of[1])) || e.x.fixed(int32(v)) {
			continue
		}
		l := ge(int32(v), 1)
		if place[of[0]] > place[of[1]] {
			l = l.not()
		}
		n.kept = append(n.kept, l)
	}
	slices.SortStableFunc(n.kept, func(a, b lit) int { return apart(a) - apart(b) })
}

// nextKept returns an order that is kept and does not hold yet, or false where all do or
// one of them cannot: then there is no better plan near this one.
func (e *exact) nextKept() (lit, bool) {
	n := &e.search.near
	if level := e.x.level(); level < n.level {
		n.next, n.level = 0, level
	}
	for ; n.next < len(n.kept); n.next++ {
		l := n.kept[n.next]
		if n.empty = e.x.isFalse(l); n.empty {
			return lit{}, false
		}
		if !e.x.isTrue(l) {
			n.level = e.x.level() + 1
			return l, true
		}
	}
	return lit{}, false
}
