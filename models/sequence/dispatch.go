package sequence

import (
	"slices"
	"sync/atomic"
)

// dispatcher places tasks one after the other as a shop does that looks no further than
// the next one.
type dispatcher struct {
	*decoder
	key   func(t, setup int) [2]int
	waits []int   // how many tasks that a task waits for are still to be placed
	after [][]int // tasks that wait for a task
	ready []int   // tasks that wait for none
	from  []int   // a task has no place before it: what is placed only takes places away
	haste []bool  // tasks with a greatest lag behind another one
}

// dispatch builds a list task by task, all of them unless it is stopped: of those whose
// predecessors are placed, the one that can start first (its setup included), of several
// the one with the least key; but where that leaves no place to one whose greatest lag
// runs, that one. O(tasks × tasks that are ready).
func (d *decoder) dispatch(stop *atomic.Bool, key func(t, setup int) [2]int) []int {
	n := len(d.m.tasks)
	d.reset()
	p := &dispatcher{decoder: d, key: key, waits: make([]int, n), after: make([][]int, n), from: make([]int, n), haste: make([]bool, n)}
	for t := range d.before {
		p.waits[t] = len(d.before[t])
		for _, b := range d.before[t] {
			p.after[b] = append(p.after[b], t)
		}
		p.haste[t] = slices.ContainsFunc(d.m.tasks[t].in, func(k int32) bool { return d.m.links[k].max < never })
		if p.waits[t] == 0 {
			p.ready = append(p.ready, t)
		}
	}
	list := make([]int, 0, n)
	for len(p.ready) > 0 && !stop.Load() {
		list = append(list, p.next())
	}
	d.dirty = true
	return list
}

// next places one task, if it has a place, and returns it.
func (p *dispatcher) next() int {
	i := p.choose()
	if p.place(p.ready[i]) {
		if k := p.cutOff(i); k >= 0 {
			p.pop()
			i = k
			p.place(p.ready[i])
		}
	}
	t := p.ready[i]
	p.ready = slices.Delete(p.ready, i, i+1)
	for _, a := range p.after[t] {
		if p.waits[a]--; p.waits[a] == 0 {
			p.ready = append(p.ready, a)
		}
	}
	return t
}

// choose returns the index in ready of the task that the rule places next.
func (p *dispatcher) choose() int {
	best, bestAt := -1, 0
	var bestKey [2]int
	for i, t := range p.ready {
		at, hi := p.first(t)
		p.from[t] = at
		setup := 0
		if w := &p.m.tasks[t]; w.station >= 0 && at <= hi {
			setup, _ = p.ahead(t, p.position(w.station, at))
		}
		at -= setup
		if best >= 0 && at > bestAt {
			continue
		}
		k := p.key(t, setup)
		if best < 0 || at < bestAt || k[0] < bestKey[0] || k[0] == bestKey[0] && k[1] < bestKey[1] {
			best, bestAt, bestKey = i, at, k
		}
	}
	return best
}

// first is where a task can start, and how late it may; without a place the first is
// above the second.
func (p *dispatcher) first(t int) (at, latest int) {
	lo, hi := p.window(t)
	if p.m.tasks[t].station < 0 { // with a shorter setup before it a task may come forward
		lo = max(lo, p.from[t])
	}
	return p.seek(t, lo, hi, p.last), hi
}

func (p *dispatcher) place(t int) bool {
	at, latest := p.first(t)
	if at <= latest {
		p.put(t, at)
	}
	return at <= latest
}

// cutOff returns the index of the task, of those that had a place before the task at
// index i was placed and have none now, whose greatest lag runs out first; -1 if none.
func (p *dispatcher) cutOff(i int) int {
	found, soonest := -1, never
	for k, t := range p.ready {
		if k == i || !p.haste[t] {
			continue
		}
		if at, latest := p.first(t); at > latest && p.from[t] <= latest && latest < soonest {
			found, soonest = k, latest
		}
	}
	return found
}
