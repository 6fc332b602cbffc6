package sequence

import "slices"

// decoder turns a priority list of tasks into a schedule: each task in turn is
// placed at the first start where everything it needs is free. Given a list that begins
// like the last one, or like its base (base.go), it goes on from where the lists part.
type decoder struct {
	*schedule
	outlook  outlook
	order    []int  // tasks as they were placed, or are to be
	last     bool   // tasks go behind all others on their setup's station
	stick    []bool // tasks that keep to their previous start if they can
	fixed    []int  // tasks whose start is given, in its order
	before   [][]int32
	need     []bool // scratch: still to be put into order
	next     []int  // scratch: the order of the new list
	base     base
	dirty    bool   // what is placed was not placed as the next list is to be
	sure     int    // so many of the first tasks lie as if none had been put off for a later one
	repairs  int    // floors raised in this decoding
	hastened []bool // tasks that others may be put off for; nil: all
	failed   int    // task that found no place, -1: none
	count    int64  // schedules generated
	cut      bool   // the last one was broken off, as all stops
	ends     []int  // scratch: end of each job
}

func newDecoder(m *model) *decoder {
	n := len(m.tasks)
	return &decoder{
		fixed: m.given(), schedule: newSchedule(m), outlook: newOutlook(m), order: make([]int, 0, n), stick: make([]bool, n), before: m.orderEdges(),
		need: make([]bool, n), next: make([]int, 0, n), failed: -1, ends: make([]int, len(m.jobs)), base: newBase(m), sure: n,
	}
}

// given returns the tasks whose start is given, in its order: so each finds its
// station as the one before it left it.
func (m *model) given() []int {
	var given []int
	for t := range m.tasks {
		if m.tasks[t].fixed >= 0 {
			given = append(given, t)
		}
	}
	slices.SortStableFunc(given, func(a, b int) int { return m.tasks[a].fixed - m.tasks[b].fixed })
	return given
}

// orderEdges returns for each task those that are placed before it: the earlier
// ends of its links with a least lag of 0 or more, but for links that close a cycle.
func (m *model) orderEdges() [][]int32 {
	group := m.cycles(0)
	before := make([][]int32, len(m.tasks))
	for _, l := range m.links {
		if l.min >= 0 && group[l.before] != group[l.after] {
			before[l.after] = append(before[l.after], int32(l.before))
		}
	}
	return before
}

// cycles numbers the strongly connected components of the links whose least lag is so
// much or more.
func (m *model) cycles(least int) []int {
	next := make([][]int, len(m.tasks))
	for _, l := range m.links {
		if l.min >= least {
			next[l.before] = append(next[l.before], l.after)
		}
	}
	return components(next)
}

// arrange sets d.next to the list with every task behind those it waits for: a
// task pulls them forward with it. First come those whose start is given, so
// that nothing takes their place.
func (d *decoder) arrange(list []int) {
	d.next = d.next[:0]
	for i := range d.need {
		d.need[i] = true
	}
	for _, t := range d.fixed {
		d.need[t] = false
		d.next = append(d.next, t)
	}
	for _, t := range list {
		d.pull(t)
	}
}

func (d *decoder) pull(t int) {
	if !d.need[t] {
		return
	}
	d.need[t] = false
	for _, b := range d.before[t] {
		d.pull(int(b))
	}
	d.next = append(d.next, t)
}

// put, pop and reset are those of the schedule, the outlook kept beside it.
func (d *decoder) put(t, at int) {
	d.schedule.put(t, at)
	d.outlook.placed(t, at)
}

func (d *decoder) pop() int {
	d.outlook.taken()
	return d.schedule.pop()
}

func (d *decoder) reset() {
	d.schedule.reset()
	d.outlook.clear()
}

// decode places all tasks in the order of a list that holds each of them once,
// and tells whether all found a place, and none so late that the objective is
// sure to be above the outlook's limit. It gives up when all stops.
func (d *decoder) decode(list []int) bool {
	d.count++
	d.arrange(list)
	d.goBack()
	d.order, d.next = d.next, d.order
	d.failed, d.repairs, d.sure = -1, 0, len(d.order)
	for k, tick := len(d.stack), 0; k < len(d.order); tick++ {
		if k == d.base.meet && d.meets() {
			break
		}
		if tick&15 == 15 && d.m.halted() {
			d.cut = true
			return false
		}
		t := d.order[k]
		lo, hi := d.window(t)
		at := d.find(t, lo, hi)
		if at <= hi {
			d.put(t, at)
			if k++; d.outlook.hopeless() {
				return false
			}
			continue
		}
		if k = d.repair(t, max(at, lo)); k < 0 {
			d.failed = t
			return false
		}
	}
	return !d.outlook.hopeless()
}

// find returns where task t goes: the first place from lo on, or for one that
// sticks to its previous start that start, else a place that does not count as
// moved, else the first one behind it. Above hi it means that there is none.
func (d *decoder) find(t, lo, hi int) int {
	prev := d.m.tasks[t].prev
	if !d.stick[t] || prev <= lo || prev > hi {
		return d.seek(t, lo, hi, d.last)
	}
	at := d.seek(t, prev, hi, d.last)
	if at > prev+d.m.tolerance {
		if near := d.seek(t, max(lo, prev-d.m.tolerance), hi, d.last); near <= prev+d.m.tolerance {
			return near
		}
	}
	if at > hi {
		return d.seek(t, lo, hi, d.last)
	}
	return at
}

// repair makes room for task t, which can start at 'at' at the earliest but
// must not by the links to tasks already placed: it takes back the placed tasks
// down to one that holds it, and keeps that one from starting so early again.
// It returns the position to go on from, or -1 if nothing helps.
func (d *decoder) repair(t, at int) int {
	d.repairs++
	if at >= never || d.repairs > 20+len(d.order)/2 || d.hastened != nil && !d.hastened[t] {
		return -1
	}
	culprit, floor := d.holder(t, at)
	if culprit < 0 || floor > d.m.late[culprit] || floor <= d.start[culprit] {
		return -1
	}
	d.floor[culprit] = floor
	for d.pop() != culprit {
	}
	d.sure = min(d.sure, len(d.stack))
	return len(d.stack)
}

// holder finds the placed task whose links keep t from starting at 'at', and the
// start it would have to be put off to. Of several it takes the one placed last.
func (d *decoder) holder(t, at int) (culprit, floor int) {
	m := d.m
	w := &m.tasks[t]
	blame := map[int]int{}
	for _, k := range w.in {
		l := &m.links[k]
		if l.before != t && l.max < never && d.start[l.before] >= 0 && d.pointOf(l)+l.max < at {
			blame[l.before] = max(blame[l.before], m.tasks[l.before].firstStartOf(l.from, at-l.max))
		}
	}
	for _, k := range w.out {
		l := &m.links[k]
		if need := w.point(l.from, at) + l.min; l.after != t && d.start[l.after] >= 0 && d.start[l.after] < need {
			blame[l.after] = max(blame[l.after], need)
		}
	}
	for i := len(d.stack) - 1; i >= 0; i-- {
		if f, ok := blame[d.stack[i].task]; ok {
			return d.stack[i].task, f
		}
	}
	return -1, 0
}

// value is the objective of a complete schedule, and beside it the sum of all
// ends, which tells two schedules of one objective apart.
type value struct {
	cost, ends int64
}

func (v value) better(than value) bool {
	return v.cost < than.cost || v.cost == than.cost && v.ends < than.ends
}

// value evaluates the schedule, all tasks being placed. O(tasks).
func (d *decoder) value() value {
	return d.m.value(d.start, d.end, d.setup, d.ends)
}

func (m *model) value(start, end, setup, jobEnd []int) value {
	var v value
	for j := range jobEnd {
		jobEnd[j] = 0
	}
	makespan, minutes := 0, 0
	for i := range m.tasks {
		w := &m.tasks[i]
		makespan = max(makespan, end[i])
		minutes += setup[i]
		v.ends += int64(end[i])
		if w.job >= 0 {
			jobEnd[w.job] = max(jobEnd[w.job], end[i])
		}
		if m.moved(w, start[i]) {
			v.cost += m.weights.Moved
		}
	}
	v.cost += m.weights.Makespan*int64(makespan) + m.weights.Setup*int64(minutes)
	for j := range jobEnd {
		v.cost += m.jobCost(&m.jobs[j], jobEnd[j])
	}
	return v
}
