package sequence

// schedule is a partial plan: some tasks placed, and what they use. Tasks are
// placed and taken back in last-in, first-out order.
type schedule struct {
	m *model
	laid
	use        []profile // the first of the profiles
	wet, dusty []profile // those behind them, per zone
	stack      []placing
	floor      []int // no start below it, beside what the model says
	now        int   // no setup sought begins before it
}

// laid is where the placed tasks lie, and what they use.
type laid struct {
	start, end []int // start -1: not placed
	att        []int
	setup      []int // minutes of setup before the task
	profiles   []profile
	seq        [][]int32 // per resource with setups: its tasks in order of start
}

// set makes it as another one is. It allocates nothing once all have grown to their size.
func (l *laid) set(to *laid) {
	if l.profiles == nil {
		l.profiles, l.seq = make([]profile, len(to.profiles)), make([][]int32, len(to.seq))
	}
	l.start = append(l.start[:0], to.start...)
	l.end = append(l.end[:0], to.end...)
	l.att = append(l.att[:0], to.att...)
	l.setup = append(l.setup[:0], to.setup...)
	for i := range to.profiles {
		l.profiles[i].set(&to.profiles[i])
	}
	for r := range to.seq {
		l.seq[r] = append(l.seq[r][:0], to.seq[r]...)
	}
}

// placing remembers what has to be undone.
type placing struct {
	task, pos int
	follower  int // whose setup changed, -1: none
	before    int // its minutes before that
}

func newSchedule(m *model) *schedule {
	n, r, z := len(m.tasks), len(m.resources), m.zones
	s := &schedule{m: m, floor: make([]int, n), laid: laid{
		start: make([]int, n), end: make([]int, n), att: make([]int, n), setup: make([]int, n),
		profiles: make([]profile, r+2*z), seq: make([][]int32, r),
	}}
	s.use, s.wet, s.dusty = s.profiles[:r], s.profiles[r:r+z], s.profiles[r+z:]
	s.reset()
	return s
}

func (s *schedule) reset() {
	for i := range s.start {
		s.start[i], s.floor[i] = -1, 0
	}
	for i := range s.profiles {
		s.profiles[i].reset()
	}
	for r := range s.seq {
		s.seq[r] = s.seq[r][:0]
	}
	s.stack, s.now = s.stack[:0], 0
}

// window returns the least and the greatest start that the placed neighbours
// leave to task t.
func (s *schedule) window(t int) (lo, hi int) {
	m := s.m
	w := &m.tasks[t]
	lo, hi = max(m.early[t], s.floor[t]), m.late[t]
	for _, k := range w.in {
		l := &m.links[k]
		if at := s.start[l.before]; at >= 0 && l.before != t {
			p := s.pointOf(l)
			lo = max(lo, p+l.min)
			hi = min(hi, p+l.max)
		}
	}
	for _, k := range w.out {
		l := &m.links[k]
		if at := s.start[l.after]; at >= 0 && l.after != t {
			hi = min(hi, w.lastStartFor(l.from, at-l.min))
			if l.max < never {
				lo = max(lo, w.firstStartOf(l.from, at-l.max))
			}
		}
	}
	return lo, hi
}

// pointOf returns the time a link measures from, its earlier task being placed.
func (s *schedule) pointOf(l *lag) int { return s.at(l.before, l.from) }

// at is when a point of a placed task is.
func (s *schedule) at(t int, k moment) int {
	switch k {
	case atStart:
		return s.start[t]
	case atAttended:
		return s.att[t]
	}
	return s.end[t]
}

// seek returns the first start of task t in [lo, hi] at which everything it
// uses is free, or the first time above hi at which it might be. Where last is
// true, t goes behind all tasks placed on its setup's station but those whose
// start is given.
func (s *schedule) seek(t, lo, hi int, last bool) int {
	w := &s.m.tasks[t]
	if last {
		lo = max(lo, s.lastFree(s.seqOf(w)))
	}
	for at := lo; ; {
		at = w.nextStart(at)
		if at > hi {
			return at
		}
		next := s.obstacle(w, at)
		if next <= at && w.station >= 0 {
			next = s.setupObstacle(t, at)
		}
		if next <= at {
			return at
		}
		at = next
	}
}

// lastFree returns the start of the last task of a sequence whose start is not
// given, 0 if there is none.
func (s *schedule) lastFree(seq []int32) int {
	for i := len(seq) - 1; i >= 0; i-- {
		if t := seq[i]; s.m.tasks[t].fixed < 0 {
			return s.start[t]
		}
	}
	return 0
}

func (s *schedule) seqOf(w *work) []int32 {
	if w.station < 0 {
		return nil
	}
	return s.seq[w.station]
}

// obstacle returns the first start after which what blocks one of the uses or the
// zone of a task starting at 'at' is over, or 'at' if nothing does.
func (s *schedule) obstacle(w *work, at int) int {
	a := w.attEnd(at)
	e := a + w.unatt
	next := at
	for i := range w.uses {
		u := &w.uses[i]
		room := s.m.resources[u.res].capacity - u.amount
		p := &s.use[u.res]
		switch u.span {
		case attendedSpan:
			next = max(next, p.blocked(at, a, room))
		case wholeSpan:
			next = max(next, p.blocked(at, e, room))
		case openSpan:
			next = max(next, blockedOpen(p, w.clock, at, a, room))
		case unattendedSpan:
			if b := p.blocked(a, e, room); b >= never {
				return never
			} else if b >= 0 {
				next = max(next, w.firstStartFor(b))
			}
		}
		if next > at {
			return next
		}
	}
	if w.zone >= 0 {
		if w.wet {
			next = max(next, s.dusty[w.zone].blocked(at, e, 0))
		} else {
			next = max(next, s.wet[w.zone].blocked(at, a, 0))
		}
	}
	return next
}

// blockedOpen is blocked for the open minutes of a clock in [from, to).
func blockedOpen(p *profile, c *workClock, from, to, room int) int {
	if c == nil {
		return p.blocked(from, to, room)
	}
	last := -1
	for i := c.window(from); i < len(c.from) && c.from[i] < to; i++ {
		last = max(last, p.blocked(max(from, c.from[i]), min(to, c.to[i]), room))
	}
	return last
}

// addOpen is add for the open minutes of a clock in [from, to).
func addOpen(p *profile, c *workClock, from, to, amount int) {
	if c == nil {
		p.add(from, to, amount)
		return
	}
	for i := c.window(from); i < len(c.from) && c.from[i] < to; i++ {
		p.add(max(from, c.from[i]), min(to, c.to[i]), amount)
	}
}

// position returns where in its station's sequence a task starting at 'at' goes.
func (s *schedule) position(station, at int) int {
	seq := s.seq[station]
	i := len(seq)
	for i > 0 && s.start[seq[i-1]] > at {
		i--
	}
	return i
}

// ahead returns the setup minutes that task t needs at a position of its
// station's sequence, and when the station is free before it.
func (s *schedule) ahead(t, pos int) (minutes, free int) {
	w := &s.m.tasks[t]
	c := s.m.resources[w.station].setups
	if pos > 0 {
		p := int(s.seq[w.station][pos-1])
		return c.minutes[s.m.tasks[p].state][w.state], s.leaves(p)
	}
	if c.initial >= 0 {
		return c.minutes[c.initial][w.state], 0
	}
	return 0, 0
}

// leaves returns when task t gives back its setup's station.
func (s *schedule) leaves(t int) int {
	if s.m.tasks[t].toEnd {
		return s.end[t]
	}
	return s.att[t]
}

// setupObstacle is obstacle for the setup before task t and for the setup of
// the task that would follow it on the station.
func (s *schedule) setupObstacle(t, at int) int {
	w := &s.m.tasks[t]
	c := s.m.resources[w.station].setups
	pos := s.position(w.station, at)
	minutes, free := s.ahead(t, pos)
	if next := w.afterSetup(c.clock, max(free, s.now), minutes, at); next != at {
		return next
	}
	if minutes > 0 {
		from, _ := w.setupStart(c.clock, at, minutes)
		b := s.use[w.station].blocked(from, at, 0)
		if c.hands >= 0 {
			b = max(b, blockedOpen(&s.use[c.hands], c.clock, from, at, s.m.resources[c.hands].capacity-c.amount))
		}
		if b > from {
			return max(at+1, w.afterSetup(c.clock, b, minutes, at))
		}
	}
	if seq := s.seq[w.station]; pos < len(seq) && !s.yields(int(seq[pos]), t, at) {
		return max(at+1, s.start[seq[pos]])
	}
	return at
}

// yields tells whether placed task q can follow task t starting at 'at' on
// their station, its setup changed to come from the state of t.
func (s *schedule) yields(q, t, at int) bool {
	w, wq := &s.m.tasks[t], &s.m.tasks[q]
	c := s.m.resources[w.station].setups
	free := w.attEnd(at)
	if w.toEnd {
		free += w.unatt
	}
	minutes := c.minutes[w.state][wq.state]
	from, ok := wq.setupStart(c.clock, s.start[q], minutes)
	if !ok || from < free {
		return false
	}
	if minutes <= s.setup[q] {
		return true
	}
	old, _ := wq.setupStart(c.clock, s.start[q], s.setup[q])
	if s.use[w.station].blocked(from, old, 0) >= 0 {
		return false
	}
	if c.hands < 0 {
		return true
	}
	for i := range w.uses {
		if u := &w.uses[i]; u.res == c.hands && u.lasts() {
			return false // t itself may hold the hands by then
		}
	}
	return blockedOpen(&s.use[c.hands], c.clock, from, old, s.m.resources[c.hands].capacity-c.amount) < 0
}

// put places task t at a start that seek found.
func (s *schedule) put(t, at int) {
	w := &s.m.tasks[t]
	s.start[t], s.att[t] = at, w.attEnd(at)
	s.end[t] = s.att[t] + w.unatt
	s.setup[t] = 0
	rec := placing{task: t, follower: -1}
	if w.station >= 0 {
		rec.pos = s.position(w.station, at)
		if rec.pos < len(s.seq[w.station]) {
			q := int(s.seq[w.station][rec.pos])
			minutes := s.m.resources[w.station].setups.minutes[w.state][s.m.tasks[q].state]
			if minutes != s.setup[q] {
				rec.follower, rec.before = q, s.setup[q]
				s.resetup(q, minutes)
			}
		}
		minutes, _ := s.ahead(t, rec.pos)
		s.resetup(t, minutes)
		seq := append(s.seq[w.station], 0)
		copy(seq[rec.pos+1:], seq[rec.pos:])
		seq[rec.pos] = int32(t)
		s.seq[w.station] = seq
	}
	s.occupy(t, 1)
	s.stack = append(s.stack, rec)
}

// pop takes back the task placed last and returns it.
func (s *schedule) pop() int {
	rec := s.stack[len(s.stack)-1]
	s.stack = s.stack[:len(s.stack)-1]
	t := rec.task
	s.occupy(t, -1)
	if w := &s.m.tasks[t]; w.station >= 0 {
		seq := s.seq[w.station]
		copy(seq[rec.pos:], seq[rec.pos+1:])
		s.seq[w.station] = seq[:len(seq)-1]
		s.resetup(t, 0)
		if rec.follower >= 0 {
			s.resetup(rec.follower, rec.before)
		}
	}
	s.start[t] = -1
	return t
}

// occupy adds (sign 1) or removes (sign -1) what a placed task uses, its setup aside.
func (s *schedule) occupy(t, sign int) {
	w := &s.m.tasks[t]
	at, a, e := s.start[t], s.att[t], s.end[t]
	for i := range w.uses {
		u := &w.uses[i]
		p := &s.use[u.res]
		switch u.span {
		case attendedSpan:
			p.add(at, a, sign*u.amount)
		case wholeSpan:
			p.add(at, e, sign*u.amount)
		case openSpan:
			addOpen(p, w.clock, at, a, sign*u.amount)
		case unattendedSpan:
			p.add(a, e, sign*u.amount)
		}
	}
	if w.zone >= 0 {
		if w.wet {
			s.wet[w.zone].add(at, e, sign)
		} else {
			s.dusty[w.zone].add(at, a, sign)
		}
	}
}

// resetup changes the setup before placed task t to so many minutes.
func (s *schedule) resetup(t, minutes int) {
	w := &s.m.tasks[t]
	c := s.m.resources[w.station].setups
	at := s.start[t]
	for _, change := range [2][2]int{{s.setup[t], -1}, {minutes, 1}} {
		if change[0] == 0 {
			continue
		}
		from, _ := w.setupStart(c.clock, at, change[0])
		s.use[w.station].add(from, at, change[1])
		if c.hands >= 0 {
			addOpen(&s.use[c.hands], c.clock, from, at, change[1]*c.amount)
		}
	}
	s.setup[t] = minutes
}
