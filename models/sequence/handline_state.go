package sequence

import "slices"

// lineState is what matters of a line of tasks for all that may follow.
type lineState struct {
	done  taskSet
	set   [mostLineStations]uint8  // by station: the state it is set to, anySetting where nobody knows
	doneA [mostLineStations]uint16 // by station: which of its tasks are done, as lineSetups counts them
	jobs  [mostLineJobs]int32      // by job: what is left of it, as lineBound keeps it
	cost  int64                    // of setups and of the jobs that are complete
	moved int64                    // of tasks that people have seen elsewhere
	bound int64                    // no plan that begins so costs less, but see lineBound.gone
	hope  int64                    // what a plan that begins so may come to
	free  int32                    // when the hands are free, the first of several; not before the last task was begun
	waits int32                    // where in its layer its waits begin
	count int32                    // of waits
	alike int32                    // another state of its layer with the same key, -1: none
	from  int32                    // the state one task shorter
	task  int16                    // the last one
	gone  bool                     // another one is to be preferred
}

// anySetting is the setting of a station whose first setup is free.
const anySetting = 255

// lineWait is a time behind that at which the hands are free: until then a task may not
// begin, a zone is wet, a done task holds what it holds, a job is not complete, or the
// last task is not over. With several pairs of hands there are also the other pairs, tasks
// that are attended to, and the dust of a zone. The tasks count from 0, the others behind
// them.
type lineWait struct{ what, until int32 }

func (l *handLine) zoneWait(z int) int32 { return int32(len(l.m.tasks) + z) }
func (l *handLine) holdWait(t int) int32 { return int32(len(l.m.tasks) + l.m.zones + t) }
func (l *handLine) jobWait(j int) int32  { return int32(2*len(l.m.tasks) + l.m.zones + j) }
func (l *handLine) lastWait() int32      { return l.jobWait(len(l.m.jobs)) }
func (l *handLine) busyWait(t int) int32 { return l.lastWait() + 1 + int32(t) }
func (l *handLine) dustWait(z int) int32 { return l.busyWait(len(l.m.tasks) + z) }
func (l *handLine) handWait(k int) int32 { return l.dustWait(l.m.zones + k) }

// holder returns the task whose holds a wait is about, -1 if it is about others.
func (l *handLine) holder(what int32) int {
	if t := int(what) - len(l.m.tasks) - l.m.zones; t >= 0 && t < len(l.m.tasks) {
		return t
	}
	return -1
}

// lineStep is how a state came about.
type lineStep struct {
	from int32
	task int16
}

// lineLayer keeps the states of lines of one length, and their waits.
type lineLayer struct {
	states []lineState
	waits  []lineWait
}

func (y *lineLayer) clear() { y.states, y.waits = y.states[:0], y.waits[:0] }

func (y *lineLayer) waitsOf(s *lineState) []lineWait { return y.waits[s.waits : s.waits+s.count] }

// take copies a state of another layer.
func (y *lineLayer) take(s lineState, waits []lineWait) {
	s.waits = int32(len(y.waits))
	y.waits = append(y.waits, waits...)
	y.states = append(y.states, s)
}

// add notes a wait of the state whose waits begin at base and are the last ones, of two
// for the same the longer one.
func (y *lineLayer) add(base int, what int32, until, free int) {
	if until <= free {
		return
	}
	k := len(y.waits)
	for k > base && y.waits[k-1].what > what {
		k--
	}
	if k > base && y.waits[k-1].what == what {
		y.waits[k-1].until = max(y.waits[k-1].until, int32(until))
		return
	}
	y.waits = slices.Insert(y.waits, k, lineWait{what, int32(until)})
}

// empty is the state before all hands begin.
func (l *handLine) empty(y *lineLayer) lineState {
	s := lineState{waits: int32(len(y.waits)), alike: -1}
	for k, r := range l.bounds.stations {
		if s.set[k] = anySetting; l.m.resources[r].setups.initial >= 0 {
			s.set[k] = uint8(l.m.resources[r].setups.initial)
		}
	}
	for _, t := range l.atOnce {
		s.done.put(t)
		l.noteWaits(&s, t, 0, y)
	}
	for j := range l.m.jobs {
		l.finishJob(&s, j, y)
		s.jobs[j] = l.bounds.left(j, &s.done)
	}
	s.count = int32(len(y.waits)) - s.waits
	l.bounds.promise(&s, y.waitsOf(&s), noCost)
	return s
}

// place returns when a task starts behind a line, after how many minutes of setup, and
// whether it can.
func (l *handLine) place(s *lineState, waits []lineWait, t int) (at, minutes int, ok bool) {
	m := l.m
	w := &m.tasks[t]
	from := int(s.free) // its setup begins no earlier
	at, attended := max(from, m.early[t]), 0
	for _, v := range waits {
		if int(v.what) == t || w.zone >= 0 && v.what == l.airWait(w) {
			at = max(at, int(v.until))
		}
	}
	if l.people > 1 {
		hands, station := l.others(s, waits, t)
		at, from = max(at, hands), max(from, station)
	}
	for i := range w.uses {
		u := &w.uses[i]
		if u.res == l.hands {
			continue
		}
		if free := l.room(waits, u.res, m.resources[u.res].capacity-u.amount); u.span == unattendedSpan {
			attended = max(attended, free)
		} else {
			at = max(at, free)
		}
	}
	if attended > 0 {
		at = max(at, w.firstStartFor(attended))
	}
	var c *changes
	if w.station >= 0 {
		c = m.resources[w.station].setups
		if set := s.set[l.bounds.slotOf[w.station]]; set != anySetting {
			minutes = c.minutes[set][w.state]
		}
	}
	for was := -1; was != at && at < never; {
		was = at
		at = w.nextStart(at)
		if minutes > 0 {
			at = w.afterSetup(c.clock, from, minutes, at)
		}
	}
	return at, minutes, at <= m.late[t]
}

// room returns from when on at most so much of a resource is held by what is done.
func (l *handLine) room(waits []lineWait, res, most int) int {
	used := 0
	for _, v := range waits {
		used += l.held(v.what, res)
	}
	at := 0
	for used > most {
		next := never
		for _, v := range waits {
			if until := int(v.until); until > at && until < next && l.held(v.what, res) > 0 {
				next = until
			}
		}
		if next == never {
			return never
		}
		at = next
		for _, v := range waits {
			if int(v.until) == at {
				used -= l.held(v.what, res)
			}
		}
	}
	return at
}

// held is how much of a resource the task holds that a wait is about.
func (l *handLine) held(what int32, res int) int {
	if t := l.holder(what); t >= 0 {
		return l.m.tasks[t].demand(res, true)
	}
	if t := int(what - l.busyWait(0)); t >= 0 && t < len(l.m.tasks) {
		return l.m.tasks[t].demand(res, false)
	}
	return 0
}

// demand is how much of a resource a task uses to its end or, where that is not asked for,
// in its attended time only.
func (w *work) demand(res int, lasting bool) int {
	amount := 0
	for _, u := range w.uses {
		if u.res == res && u.lasts() == lasting {
			amount += u.amount
		}
	}
	return amount
}

// follow is the state of a line with a task more. Its waits go to a layer.
func (l *handLine) follow(s *lineState, waits []lineWait, t int, y *lineLayer) (lineState, bool) {
	m := l.m
	w := &m.tasks[t]
	at, minutes, ok := l.place(s, waits, t)
	if !ok {
		return lineState{}, false
	}
	free := w.attEnd(at)
	var busy handTimes
	if l.people > 1 {
		busy = l.busied(s, waits, t, at)
		free = max(l.begin(t, at, minutes), busy[l.people-1])
	}
	c := *s
	c.free, c.task, c.waits, c.gone = int32(free), int16(t), int32(len(y.waits)), false
	c.cost += m.weights.Setup * int64(minutes)
	if m.weights.Moved > 0 && m.moved(w, at) {
		c.moved += m.weights.Moved
	}
	c.done.put(t)
	if w.station >= 0 {
		k := l.bounds.slotOf[w.station]
		c.set[k] = uint8(w.state)
		l.bounds.setups[k].note(&c, k, t)
	}
	for _, k := range l.late {
		if !c.done.has(int(k)) {
			if m.late[k] < free {
				return lineState{}, false
			}
			break
		}
	}
	for _, v := range waits {
		if int(v.what) != t && int(v.until) > free && (l.people == 1 || v.what < l.handWait(0)) {
			y.waits = append(y.waits, v)
		}
	}
	l.noteWaits(&c, t, at, y)
	if l.people > 1 {
		l.noteOthers(&c, t, w.attEnd(at), &busy, y)
	}
	l.finishJob(&c, w.job, y)
	if w.job >= 0 {
		c.jobs[w.job] = l.bounds.left(w.job, &c.done)
	}
	c.count = int32(len(y.waits)) - c.waits
	return c, true
}

// noteWaits notes what has to wait for a task that starts at a time.
func (l *handLine) noteWaits(s *lineState, t, at int, y *lineLayer) {
	w := &l.m.tasks[t]
	base, free, end := int(s.waits), int(s.free), w.end(at)
	for _, k := range l.out[t] {
		g := &l.m.links[k]
		y.add(base, int32(g.after), w.point(g.from, at)+g.min, free)
	}
	if w.zone >= 0 && w.wet {
		y.add(base, l.zoneWait(w.zone), end, free)
	}
	if slices.ContainsFunc(w.uses, hold.lasts) {
		y.add(base, l.holdWait(t), end, free)
	}
	if w.job >= 0 && l.ends[t] {
		y.add(base, l.jobWait(w.job), end, free)
	}
	if l.m.weights.Makespan > 0 && l.ends[t] {
		y.add(base, l.lastWait(), end, free)
	}
}

// finishJob adds what a job costs once all of it is done, and the makespan when all is.
func (l *handLine) finishJob(s *lineState, j int, y *lineLayer) {
	base := int(s.waits)
	take := func(what int32) int {
		for k := base; k < len(y.waits); k++ {
			if y.waits[k].what == what {
				until := int(y.waits[k].until)
				y.waits = slices.Delete(y.waits, k, k+1)
				return until
			}
		}
		return int(s.free)
	}
	if j >= 0 && l.ofJob[j].within(&s.done) {
		s.cost += l.m.jobCost(&l.m.jobs[j], take(l.jobWait(j)))
	}
	if l.m.weights.Makespan > 0 && l.bounds.all.within(&s.done) {
		s.cost += l.m.weights.Makespan * int64(take(l.lastWait()))
	}
}

// preferred tells whether a line is to be preferred to another with the same tasks and
// the same settings whatever follows: all that follows the other can follow it at the
// same times.
func preferred(a, b *lineState, wa, wb []lineWait) bool {
	if a.cost > b.cost || a.moved > b.moved || a.free > b.free {
		return false
	}
	i := 0
	for _, v := range wa {
		if v.until <= b.free {
			continue
		}
		for i < len(wb) && wb[i].what < v.what {
			i++
		}
		if i == len(wb) || wb[i].what != v.what || wb[i].until < v.until {
			return false
		}
	}
	return true
}

// lineTable finds states of a layer by their tasks and settings: open addressing, a slot
// holding the number of the last such state and 1 more.
type lineTable struct {
	slots []int32
	used  int
}

func (h *lineTable) clear() {
	if h.used = 0; h.slots == nil {
		h.slots = make([]int32, 1<<12)
	}
	clear(h.slots)
}

// find returns the slot of states like s, or an empty one.
func (h *lineTable) find(s *lineState, states []lineState) int {
	mask := len(h.slots) - 1
	for k := int(s.hash()) & mask; ; k = (k + 1) & mask {
		i := h.slots[k]
		if i == 0 || states[i-1].done == s.done && states[i-1].set == s.set {
			return k
		}
	}
}

// put makes a state the last one of its slot.
func (h *lineTable) put(slot, number int, states []lineState) {
	if h.slots[slot] == 0 {
		h.used++
	}
	h.slots[slot] = int32(number)
	if 2*h.used < len(h.slots) {
		return
	}
	old := h.slots
	h.slots = make([]int32, 4*len(old))
	for _, i := range old {
		if i > 0 {
			h.slots[h.find(&states[i-1], states)] = i
		}
	}
}

func (s *lineState) hash() uint64 {
	const odd = 0x9e3779b97f4a7c15
	h := uint64(0)
	for _, d := range s.done {
		h = (h ^ d) * odd
		h ^= h >> 29
	}
	for k := 0; k < mostLineStations; k += 8 {
		d := uint64(0)
		for i := range 8 {
			d |= uint64(s.set[k+i]) << (8 * i)
		}
		h = (h ^ d) * odd
		h ^= h >> 29
	}
	return h >> 7
}
