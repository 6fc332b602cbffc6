package sequence

import (
	"math"
	"slices"
)

// workload propagates what a resource with hours has to do: the attended minutes
// that lie wholly between two times, and the setups between them, are no more than
// the hours between leave (overload checking and edge finding, in working minutes
// instead of time: Vilím, "Edge finding filtering algorithm for discrete cumulative
// resources in O(kn log n)", CP 2009; here by all pairs of times, so that setups can
// be counted too).
type workload struct {
	clock    *workClock
	capacity int
	stints   []stint
	trips    []trip
	byStart  []int32 // scratch: stints by their earliest start
	byTo     []int32 // scratch: stints by when they are over
	in       []bool  // scratch: by stint: counted
	idle     bool    // it found nothing last time, and misses a turn
	most     int     // the greatest energy of a stint
}

// stint is the attended work of a task, and the setup before it, as far as the
// resource does them.
type stint struct {
	task, amount  int
	energy        int  // of it alone
	state         int  // that its station is set to for it
	trip          int  // of its setup, where the resource does that; -1: none
	plain         bool // goes by the resource's hours, without a gap
	lo, hi, setup int  // as last seen; the rest in working minutes
	from, to      int  // with the setup
	start         int
}

// trip is the way of a station through its states, as far as the resource does the setups.
type trip struct {
	order  int
	amount int
	clock  *workClock
	fromIn []int // by set of states: fewest minutes from the initial state through them
	free   []int // the same, from any of them
	all    int   // tasks of the station

	set, sum, count int // scratch: states, minutes and tasks of what is counted
	fewest          int // scratch: setup minutes of what is counted
}

// mostStates bounds the states of a station whose trips are reckoned.
const mostStates = 9

// mostStints bounds the stints of a resource of which all pairs are looked at.
const mostStints = 200

// addWorkloads makes one for every resource with hours that can have too much to do.
func (e *exact) addWorkloads() {
	for r := range e.m.resources {
		if e.m.resources[r].clock == nil {
			continue
		}
		w := e.newWorkload(r)
		if n := len(w.stints); n <= w.capacity || n > mostStints {
			continue
		}
		w.in = make([]bool, len(w.stints))
		for k := range w.stints {
			w.byTo, w.byStart = append(w.byTo, int32(k)), append(w.byStart, int32(k))
		}
		e.workloads = append(e.workloads, w)
	}
}

func (e *exact) newWorkload(r int) workload {
	m := e.m
	w := workload{clock: m.resources[r].clock, capacity: m.resources[r].capacity}
	tripOf := make([]int, len(m.resources))
	for s := range tripOf {
		tripOf[s] = -1
	}
	for k := range e.orders {
		c := m.resources[e.orders[k].res].setups
		if c.hands == r && len(c.names) <= mostStates {
			tripOf[e.orders[k].res] = len(w.trips)
			w.trips = append(w.trips, newTrip(c, k))
		}
	}
	for t := range m.tasks {
		work := &m.tasks[t]
		l := stint{task: t, state: work.state, trip: -1, plain: work.clock == w.clock}
		for _, u := range work.uses {
			if u.res == r && u.span != unattendedSpan {
				l.amount += u.amount
			}
		}
		if l.amount == 0 || work.att == 0 {
			continue
		}
		if work.station >= 0 {
			l.trip = tripOf[work.station]
		}
		l.energy = l.amount * work.att
		w.most = max(w.most, l.energy)
		w.stints = append(w.stints, l)
	}
	return w
}

func newTrip(c *changes, k int) trip {
	n := len(c.names)
	d := make([][]int, n)
	for a := range d {
		d[a] = slices.Clone(c.minutes[a])
		d[a][a] = 0
	}
	for k := range d {
		for a := range d {
			for b := range d {
				d[a][b] = min(d[a][b], d[a][k]+d[k][b])
			}
		}
	}
	t := trip{order: k, amount: c.amount, clock: c.clock, all: len(c.tasks)}
	t.free = shortestTrips(d, -1)
	t.fromIn = t.free
	if c.initial >= 0 {
		t.fromIn = shortestTrips(d, c.initial)
	}
	return t
}

// shortestTrips returns by set of states the least sum of distances of a way through
// all of them, from a first state or from any, -1.
func shortestTrips(d [][]int, first int) []int {
	n := len(d)
	way := make([]int, n<<n)
	least := make([]int, 1<<n)
	for set := 1; set < 1<<n; set++ {
		least[set] = math.MaxInt
		for last := range n {
			if set>>last&1 == 0 {
				continue
			}
			rest := set &^ (1 << last)
			v := math.MaxInt
			if rest == 0 {
				if v = 0; first >= 0 {
					v = d[first][last]
				}
			}
			for k := range n {
				if rest>>k&1 != 0 {
					v = min(v, way[rest*n+k]+d[k][last])
				}
			}
			way[set*n+last] = v
			least[set] = min(least[set], v)
		}
	}
	return least
}

// sides calls f with each side whose bounds matter.
func (w *workload) sides(e *exact, f func(int32)) {
	for k := range w.stints {
		l := &w.stints[k]
		f(2 * e.start[l.task])
		f(2*e.start[l.task] + 1)
		if l.trip >= 0 {
			f(2*e.setup[l.task] + 1)
		}
	}
	for k := range w.trips {
		f(2*e.orders[w.trips[k].order].sum.total + 1)
	}
}

// see notes all stints as they are now.
func (w *workload) see(e *exact) {
	for k := range w.stints {
		l := &w.stints[k]
		t := &e.m.tasks[l.task]
		lo, hi, setup := int(e.x.lo(e.start[l.task])), int(e.x.hi(e.start[l.task])), 0
		if l.trip >= 0 {
			setup = int(e.x.lo(e.setup[l.task]))
		}
		if lo == l.lo && hi == l.hi && setup == l.setup && l.to > 0 {
			continue
		}
		l.lo, l.hi, l.setup = lo, hi, setup
		l.start, l.to = w.clock.worked(lo), w.clock.worked(t.attEnd(hi))
		if l.from = l.start; setup > 0 {
			l.from = w.clock.worked(latestSetup(w.trips[l.trip].clock, lo, setup))
		}
	}
	insertionSort(w.byStart, func(k int32) int { return w.stints[k].start })
	insertionSort(w.byTo, func(k int32) int { return w.stints[k].to })
}

// insertionSort is quick where little is out of order.
func insertionSort[T any](list []T, key func(T) int) {
	for i, k := range list {
		j := i
		for at := key(k); j > 0 && key(list[j-1]) > at; j-- {
			list[j] = list[j-1]
		}
		list[j] = k
	}
}

// propagate draws what follows for the resource, and misses a turn where it found nothing
// the last time.
func (w *workload) propagate(e *exact) bool {
	if w.idle && e.x.level() > 0 {
		w.idle = false
		return true
	}
	before := len(e.x.trail)
	ok := w.sweepAll(e)
	w.idle = ok && len(e.x.trail) == before
	return ok
}

func (w *workload) sweepAll(e *exact) bool {
	w.see(e)
	last, open := -1, 0
	for first, k := range w.byStart {
		a := w.stints[k].from
		if a == last {
			continue
		}
		last = a
		for first > 0 && w.stints[w.byStart[first-1]].start >= a {
			first--
		}
		for open < len(w.byTo) && w.stints[w.byTo[open]].to <= a {
			open++
		}
		for open > 0 && w.stints[w.byTo[open-1]].to > a {
			open--
		}
		if !w.sweep(e, a, open, w.byStart[first:]) {
			return false
		}
	}
	return true
}

// sweep looks at all stretches that begin after a working minutes; of the stints, in the
// order in which they are over, those before open are over by then, and behind are those
// that start no earlier.
func (w *workload) sweep(e *exact, a, open int, behind []int32) bool {
	clear(w.in)
	w.clearTrips()
	energy := 0
	for at := open; at < len(w.byTo); at++ {
		k := w.byTo[at]
		l := &w.stints[k]
		if l.from < a {
			continue
		}
		energy += w.count(e, l, a)
		w.in[k] = true
		if at+1 < len(w.byTo) && w.stints[w.byTo[at+1]].to == l.to {
			continue
		}
		rest := w.capacity*(l.to-a) - energy
		if rest < 0 {
			e.x.clash = w.explain(e, e.x.clash[:0], a, l.to, -rest-1, -1)
			return false
		}
		if rest < w.most && !(w.push(e, a, l.to, rest, behind) && w.pull(e, a, l.to, rest, w.byTo[:at+1])) {
			return false
		}
	}
	return true
}

// push moves work out of a stretch in which too little is left for it.
func (w *workload) push(e *exact, a, b, rest int, behind []int32) bool {
	for _, k := range behind {
		l := &w.stints[k]
		if l.start >= b {
			break
		}
		least := b - rest/l.amount
		if w.in[k] || !l.plain || l.energy <= rest || l.start >= least {
			continue
		}
		next := e.m.tasks[l.task].nextStart(w.clock.after(least))
		if next >= never {
			next = w.clock.after(least)
		}
		why := w.explain(e, e.x.lifted[:0], a, b, 0, int(k))
		if a > 0 {
			why = append(why, ge(e.start[l.task], int64(min(l.lo, w.clock.after(a)))))
		}
		e.x.lifted = why
		if !e.x.set(ge(e.start[l.task], int64(next)), why...) {
			return false
		}
	}
	return true
}

// pull moves work before a stretch in which too little is left for it.
func (w *workload) pull(e *exact, a, b, rest int, ahead []int32) bool {
	for i := len(ahead) - 1; i >= 0; i-- {
		k := ahead[i]
		l := &w.stints[k]
		if l.to <= a+rest/w.capacity {
			break
		}
		if w.in[k] || !l.plain || l.energy <= rest {
			continue
		}
		t := &e.m.tasks[l.task]
		ends := w.clock.begin(a + rest/l.amount)
		last := t.lastStartBy(ends)
		if last < 0 || last >= l.hi {
			continue
		}
		why := w.explain(e, e.x.lifted[:0], a, b, 0, int(k))
		why = append(why, le(e.start[l.task], int64(max(l.hi, min(t.lastStartBy(w.clock.begin(b)), e.m.horizon)))))
		e.x.lifted = why
		if !e.x.set(le(e.start[l.task], int64(last)), why...) {
			return false
		}
	}
	return true
}

// after returns the first time before which so many minutes are counted.
func (c *workClock) after(minutes int) int {
	if minutes <= 0 {
		return 0
	}
	return c.begin(minutes-1) + 1
}

func (w *workload) clearTrips() {
	for k := range w.trips {
		t := &w.trips[k]
		t.set, t.sum, t.count, t.fewest = 0, 0, 0, 0
	}
}

// count adds a stint to what is counted and returns the energy that this adds.
func (w *workload) count(e *exact, l *stint, a int) int {
	if l.trip < 0 {
		return l.energy
	}
	r := &w.trips[l.trip]
	before := r.fewest
	r.set |= 1 << l.state
	r.sum += l.setup
	r.count++
	r.fewest = r.minutes(e, a)
	return l.energy + r.amount*(r.fewest-before)
}

// minutes are the fewest setup minutes of what is counted of a station.
func (r *trip) minutes(e *exact, a int) int {
	switch {
	case r.count == 0:
		return 0
	case a > 0:
		return max(r.sum, r.free[r.set])
	case r.count == r.all:
		return max(r.sum, r.fromIn[r.set], int(e.x.lo(e.orders[r.order].sum.total)))
	}
	return max(r.sum, r.fromIn[r.set])
}

// energyOf is the energy of all that is counted.
func (w *workload) energyOf(e *exact, a int) int {
	w.clearTrips()
	energy := 0
	for k := range w.stints {
		if w.in[k] {
			energy += w.count(e, &w.stints[k], a)
		}
	}
	return energy
}

// explain appends why what is counted, one stint aside, has to be done in a stretch,
// leaving out what can be spared and widening the stretch.
func (w *workload) explain(e *exact, why []lit, a, b, spare, other int) []lit {
	energy := w.energyOf(e, a)
	for k := range w.stints {
		if spare <= 0 {
			break
		}
		l := &w.stints[k]
		if !w.in[k] || k == other || l.energy > spare {
			continue
		}
		w.in[k] = false
		if less := w.energyOf(e, a); energy-less <= spare {
			spare -= energy - less
			energy = less
		} else {
			w.in[k] = true
		}
	}
	w.energyOf(e, a)
	b += spare / w.capacity
	ends := w.clock.begin(b)
	for k := range w.stints {
		if w.in[k] {
			why = w.explainStint(e, why, &w.stints[k], a, ends)
		}
	}
	for k := range w.trips {
		r := &w.trips[k]
		if total := e.orders[r.order].sum.total; a == 0 && r.count > 0 && r.count == r.all && int(e.x.lo(total)) > max(r.sum, r.fromIn[r.set]) {
			why = append(why, ge(total, e.x.lo(total)))
		}
	}
	return why
}

// explainStint appends why a stint lies in a stretch.
func (w *workload) explainStint(e *exact, why []lit, l *stint, a, ends int) []lit {
	t := &e.m.tasks[l.task]
	why = append(why, le(e.start[l.task], int64(max(l.hi, min(t.lastStartBy(ends), e.m.horizon)))))
	setup := 0
	if l.trip >= 0 && l.setup > 0 {
		if r := &w.trips[l.trip]; r.fewest == r.sum {
			setup = l.setup
			why = append(why, ge(e.setup[l.task], int64(setup)))
		}
	}
	switch {
	case a == 0:
	case setup == 0:
		why = append(why, ge(e.start[l.task], int64(min(l.lo, w.clock.after(a)))))
	case w.trips[l.trip].clock == w.clock:
		why = append(why, ge(e.start[l.task], int64(min(l.lo, w.clock.after(a+setup)))))
	default:
		why = append(why, ge(e.start[l.task], int64(l.lo)))
	}
	return why
}
