package sequence

import "slices"

// mostHands is how many pairs of hands lines may be for.
const mostHands = 4

// handTimes is when each pair of hands is free, the latest first.
type handTimes [mostHands]int

// newHandLines looks for lines where all goes through a few pairs of hands, and returns
// nil where it does not or where there is too much to do.
func newHandLines(m *model) *handLine {
	for r := range m.resources {
		if people := m.resources[r].capacity; people > 1 && people <= mostHands && m.servedBy(r) {
			l := &handLine{m: m, hands: r, people: people}
			for t := range m.tasks {
				l.needs = append(l.needs, m.tasks[t].demand(r, false))
			}
			for k := range m.resources {
				l.tight = append(l.tight, k != r && l.contested(k))
			}
			return l.prepared()
		}
	}
	return nil
}

// servedBy tells whether everything with attended time needs resource r then, and only then.
func (m *model) servedBy(r int) bool {
	return !slices.ContainsFunc(m.tasks, func(w work) bool {
		return w.att > 0 && w.demand(r, false) == 0 || w.demand(r, true) > 0
	})
}

// contested tells whether a resource may be what a task waits for: it is held longer than
// hands are, or there is too little of it for all hands.
func (l *handLine) contested(r int) bool {
	most := 0
	for t := range l.m.tasks {
		w := &l.m.tasks[t]
		if w.demand(r, true) > 0 {
			return true
		}
		most = max(most, w.demand(r, false))
	}
	return most*l.people > l.m.resources[r].capacity
}

// handsFree tells when each pair of hands is free.
func (l *handLine) handsFree(s *lineState, waits []lineWait) (f handTimes) {
	for k := range l.people {
		f[k] = int(s.free)
	}
	first := l.handWait(0)
	for n := len(waits) - 1; n >= 0 && waits[n].what >= first; n-- {
		f[waits[n].what-first] = int(waits[n].until)
	}
	return f
}

// others tells what a task waits for that one pair of hands need not wait for: when there
// are hands enough, and when the station of its setup is free.
func (l *handLine) others(s *lineState, waits []lineWait, t int) (hands, station int) {
	if n := l.needs[t]; n > 1 {
		f := l.handsFree(s, waits)
		hands = f[l.people-n]
	}
	if r := l.m.tasks[t].station; r >= 0 {
		station = l.room(waits, r, 0)
	}
	return hands, station
}

// airWait is the wait for the air of a zone to be as a task wants it.
func (l *handLine) airWait(w *work) int32 {
	if w.wet {
		return l.dustWait(w.zone)
	}
	return l.zoneWait(w.zone)
}

// begin is when a task that starts at a time is begun, its setup included.
func (l *handLine) begin(t, at, minutes int) int {
	if minutes > 0 {
		w := &l.m.tasks[t]
		at, _ = w.setupStart(l.m.resources[w.station].setups.clock, at, minutes)
	}
	return at
}

// busied tells when each pair of hands is free behind a line with a task more: those that
// were free first do it.
func (l *handLine) busied(s *lineState, waits []lineWait, t, at int) handTimes {
	f := l.handsFree(s, waits)
	until := l.m.tasks[t].attEnd(at)
	for k := range l.needs[t] {
		f[l.people-1-k] = until
	}
	slices.SortFunc(f[:l.people], func(a, b int) int { return b - a })
	return f
}

// noteOthers notes what is behind a task, whose attended time lasts so long, for other
// hands than its own to wait for.
func (l *handLine) noteOthers(s *lineState, t, until int, busy *handTimes, y *lineLayer) {
	w := &l.m.tasks[t]
	base, free := int(s.waits), int(s.free)
	for k, at := range busy[:l.people-1] {
		y.add(base, l.handWait(k), at, free)
	}
	if slices.ContainsFunc(w.uses, func(u hold) bool { return l.tight[u.res] && !u.lasts() }) {
		y.add(base, l.busyWait(t), until, free)
	}
	if w.zone >= 0 && !w.wet {
		y.add(base, l.dustWait(w.zone), until, free)
	}
}

// gone is how many minutes of all hands are gone. What some hands are still at counts in
// full, also where others could reach a milestone before that is over: then the bound is
// too high, and a line that could still become the best plan may be left out. That is
// rare, nothing is proved by lines for several pairs of hands, and to be exact would take
// a reckoning for each number of hands where most of the time goes (lineBound.ordered).
func (b *lineBound) gone(s *lineState, waits []lineWait) int {
	f := b.l.handsFree(s, waits)
	sum := 0
	for _, at := range f[:b.l.people] {
		sum += b.minute(at)
	}
	return sum
}

// Lines for several pairs of hands are called after so many placed tasks at the soonest,
// some two seconds of a processor, since short weeks are proved by then, and once so many
// times the work has been done after which plans came better last. Both were chosen by
// trying on a few invented weeks: where the annealing still got on, however slowly, it
// found more in the same time than lines did; where it was stuck early they found better
// plans.
const (
	linesAfter = 2_000_000
	stuckFor   = 4
)

// callLines adds searches of lines where several pairs of hands do all and plans do not
// come better any more.
func (s *solver) callLines() {
	if s.lined || s.best == nil || s.o.WithoutImprove || s.o.WithoutExact || s.ofAKind() || s.m.onlyHands() >= 0 ||
		s.spent*int64(len(s.m.tasks)) < linesAfter || s.spent < stuckFor*s.better {
		return
	}
	s.lined = true
	l := newHandLines(s.m)
	if l == nil {
		return
	}
	before := len(s.workers) - len(s.exacts()) // they stand last
	s.workers = slices.Insert(s.workers, before, worker(l), worker(l.twin()))
}
