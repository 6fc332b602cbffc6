package sequence

// Most arcs are between two tasks that cannot run side by side, whichever comes first, and
// mostly such an arc has nothing to say. Whether it has shows from a few times of each of
// the two, which are reckoned once for all arcs of a task: so these arcs do not wait for
// bounds one by one, but are asked where a task's bounds call for it.

// rival is such an arc as one of its tasks sees it.
type rival struct {
	arc   int32
	other int32
	guard lit
	until uint8 // which of pose.over of the first task counts
	from  uint8 // which of pose.begins of the second
}

// pose is a task that starts at one of its bounds.
type pose struct {
	at, setup int    // as last seen; before that -1
	over      [2]int // when its attended time, and all of it, is over
	begins    [2]int // its start, and when its setup begins at the latest
}

// rivalry is what a task has to do with those that it cannot run beside.
type rivalry struct {
	behind, ahead []rival // arcs to those that may come behind it, from those that may come before it
	bound         [2]pose
	rose, fell    bool // its first start, its last: it is queued
}

// The bounds of a start.
const (
	atFirst = iota
	atLast
)

// isRival tells whether an arc says nothing but what the times of a pose tell. Setups
// that a night must not cut are more than that.
func (e *exact) isRival(a *arc) bool {
	return a.guarded && a.d == 0 && a.from != atStart &&
		(a.kind == arcFollow || a.kind == arcVisit && e.m.tasks[a.j].cut && e.m.tasks[a.j].grip <= 1)
}

// addRival lets an arc wait for the two tasks.
func (e *exact) addRival(k int32) {
	a := &e.arcs[k]
	r := rival{arc: k, other: a.j, guard: a.guard}
	if a.from == atEnd {
		r.until = 1
	}
	if a.kind == arcVisit {
		r.from = 1
	}
	i, j := &e.rivalries[a.i], &e.rivalries[a.j]
	i.behind = append(i.behind, r)
	r.other = a.i
	j.ahead = append(j.ahead, r)
}

// pose returns a task as it is at a bound.
func (e *exact) pose(t int32, bound int) *pose {
	p := &e.rivalries[t].bound[bound]
	at, setup := int(e.x.lo(e.start[t])), 0
	if bound == atLast {
		at = int(e.x.hi(e.start[t]))
	}
	if v := e.setup[t]; v >= 0 {
		setup = int(e.x.lo(v))
	}
	if at == p.at && setup == p.setup {
		return p
	}
	w := &e.m.tasks[t]
	if at != p.at {
		over := w.attEnd(at)
		p.over = [2]int{over, over + w.unatt}
	}
	p.at, p.setup, p.begins = at, setup, [2]int{at, at}
	if setup > 0 {
		p.begins[1] = latestSetup(e.m.resources[w.station].setups.clock, at, setup)
	}
	return p
}

// propagateRivals asks the arcs to which a task's new bounds may matter.
func (e *exact) propagateRivals(t int32) bool {
	r := &e.rivalries[t]
	rose, fell := r.rose, r.fell
	r.rose, r.fell = false, false
	return (!rose || e.askBehind(t)) && (!fell || e.askAhead(t))
}

// askBehind asks the arcs to tasks that may come behind one that starts later than before.
func (e *exact) askBehind(t int32) bool {
	p := e.pose(t, atFirst)
	for k := range e.rivalries[t].behind {
		r := &e.rivalries[t].behind[k]
		if e.x.isFalse(r.guard) {
			continue
		}
		bound := atLast
		if e.x.isTrue(r.guard) {
			bound = atFirst
		}
		if r.clash(p, e.pose(r.other, bound)) && !e.arcs[r.arc].propagate(e) {
			return false
		}
	}
	return true
}

// askAhead asks the arcs from tasks that may come before one that has to start sooner, or
// whose setup has become longer.
func (e *exact) askAhead(t int32) bool {
	for k := range e.rivalries[t].ahead {
		r := &e.rivalries[t].ahead[k]
		if e.x.isFalse(r.guard) {
			continue
		}
		var asks bool
		if e.x.isTrue(r.guard) {
			asks = r.clash(e.pose(r.other, atLast), e.pose(t, atLast)) || r.clash(e.pose(r.other, atFirst), e.pose(t, atFirst))
		} else {
			asks = r.clash(e.pose(r.other, atFirst), e.pose(t, atLast))
		}
		if asks && !e.arcs[r.arc].propagate(e) {
			return false
		}
	}
	return true
}

// clash tells whether a task is over too late for another.
func (r *rival) clash(one, other *pose) bool { return one.over[r.until] > other.begins[r.from] }

// wakeRivals queues a task of which a bound, that of a side, has changed.
func (e *exact) wakeRivals(t, side int32) {
	r := &e.rivalries[t]
	if !r.rose && !r.fell {
		e.rivalQueue = append(e.rivalQueue, t)
	}
	if side == 2*e.start[t]+1 {
		r.rose = true
	} else {
		r.fell = true // or its setup has become longer
	}
}

// unqueueRivals forgets what was queued.
func (e *exact) unqueueRivals() {
	for _, t := range e.rivalQueue {
		e.rivalries[t].rose, e.rivalries[t].fell = false, false
	}
	e.rivalQueue = e.rivalQueue[:0]
}
