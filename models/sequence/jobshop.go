package sequence

import "math/rand/v2"

// shopTabu is a tabu search for problems that are a job shop at heart: tasks
// bound by least lags, each on at most one resource that does one task at a
// time, and nothing but the makespan to minimise. It moves tasks of a critical
// block behind its end or before its beginning (Balas and Vazacopoulos,
// Management Science 44, 1998), judges moves by estimate (Taillard, ORSA
// Journal on Computing 6, 1994), and starts again from good plans, shaken.
type shopTabu struct {
	m     *model
	rng   *rand.Rand
	n     int
	hold  []int // minutes from S in which a task keeps its machine
	whole []int // minutes from S to E
	after [][]reach
	prior [][]reach
	line  [][]int32 // by machine: its tasks in order
	on    []int     // machine of a task, -1: none
	at    []int     // its position in the line

	head, rest []int // longest path to S, and from S to the end
	order      []int32
	waits      []int32
	forbidden  [][]int64 // [a][b]: no move may bring a before b until then
	step       int64
	quiet      int // steps since the last improvement
	patience   int // of them before a run ends; short runs and many new ones from two good plans do best
	length     int
	elite      []elite
	round      elite // best of the current run
	best       *answer
	moves      []shift // scratch
	newHead    []int   // scratch
	seq        []int32 // scratch
}

// reach is a task so many minutes of start-to-start away.
type reach struct {
	task int32
	far  int
}

const eliteSize = 8 // good plans kept

// elite is a good plan to start again from.
type elite struct {
	length int
	line   [][]int32
}

// shift moves the task at one position of a line to another.
type shift struct {
	machine, from, to int
}

// newShopTabu returns nil if the problem is no job shop.
func newShopTabu(m *model, start *answer, seed int64) *shopTabu {
	w := m.weights
	if start == nil || m.maxLag || w.Makespan == 0 || w.Tardiness != 0 || w.Flow != 0 || w.Setup != 0 || w.Moved != 0 {
		return nil
	}
	n := len(m.tasks)
	s := &shopTabu{m: m, rng: rand.New(rand.NewPCG(uint64(seed), 0x7ab0)), n: n, hold: make([]int, n), whole: make([]int, n),
		after: make([][]reach, n), prior: make([][]reach, n), on: make([]int, n), at: make([]int, n), head: make([]int, n),
		rest: make([]int, n), waits: make([]int32, n), forbidden: make([][]int64, n), patience: max(500, 6*n)}
	for i := range m.tasks {
		if !s.takeTask(i) {
			return nil
		}
	}
	for _, l := range m.links {
		far := l.min
		switch l.from {
		case atEnd:
			far += s.whole[l.before]
		case atAttended:
			far += m.tasks[l.before].att
		}
		s.after[l.before] = append(s.after[l.before], reach{int32(l.after), far})
		s.prior[l.after] = append(s.prior[l.after], reach{int32(l.before), far})
	}
	s.line = make([][]int32, len(m.resources))
	for _, t := range start.order() {
		if r := s.on[t]; r >= 0 {
			s.line[r] = append(s.line[r], int32(t))
		}
	}
	s.round = elite{length: never, line: make([][]int32, len(s.line))}
	if !s.measure() {
		return nil
	}
	s.keepBest()
	return s
}

// takeTask tells whether a task fits the pattern, and notes its figures.
func (s *shopTabu) takeTask(i int) bool {
	w := &s.m.tasks[i]
	if w.att == 0 || w.clock != nil || w.zone >= 0 || w.station >= 0 || w.fixed >= 0 || w.last < s.m.horizon || len(w.uses) > 1 {
		return false
	}
	s.on[i], s.whole[i] = -1, w.att+w.unatt
	s.forbidden[i] = make([]int64, s.n)
	if len(w.uses) == 1 {
		u := w.uses[0]
		if s.m.resources[u.res].capacity != 1 || u.span == unattendedSpan {
			return false
		}
		s.on[i], s.hold[i] = u.res, w.att
		if u.span == wholeSpan {
			s.hold[i] = s.whole[i]
		}
	}
	return true
}

// measure computes heads, rests and the length of the plan that the lines make;
// false if they contradict the links. O(tasks + links).
func (s *shopTabu) measure() bool {
	for _, line := range s.line {
		for k, t := range line {
			s.at[t] = k
		}
	}
	s.order = s.order[:0]
	for i := 0; i < s.n; i++ {
		s.waits[i] = int32(len(s.prior[i]))
		if s.on[i] >= 0 && s.at[i] > 0 {
			s.waits[i]++
		}
		s.head[i] = s.m.tasks[i].release
		if s.waits[i] == 0 {
			s.order = append(s.order, int32(i))
		}
	}
	free := func(t int32) {
		if s.waits[t]--; s.waits[t] == 0 {
			s.order = append(s.order, t)
		}
	}
	s.length = 0
	for k := 0; k < len(s.order); k++ {
		i := s.order[k]
		s.length = max(s.length, s.head[i]+s.whole[i])
		for _, a := range s.after[i] {
			s.head[a.task] = max(s.head[a.task], s.head[i]+a.far)
			free(a.task)
		}
		if j := s.follower(i); j >= 0 {
			s.head[j] = max(s.head[j], s.head[i]+s.hold[i])
			free(j)
		}
	}
	for k := len(s.order) - 1; k >= 0; k-- {
		i := s.order[k]
		rest := s.whole[i]
		for _, a := range s.after[i] {
			rest = max(rest, a.far+s.rest[a.task])
		}
		if j := s.follower(i); j >= 0 {
			rest = max(rest, s.hold[i]+s.rest[j])
		}
		s.rest[i] = rest
	}
	return len(s.order) == s.n
}

// follower is the task behind i on its machine, or -1.
func (s *shopTabu) follower(i int32) int32 {
	if s.on[i] < 0 || s.at[i]+1 >= len(s.line[s.on[i]]) {
		return -1
	}
	return s.line[s.on[i]][s.at[i]+1]
}

// keepBest notes the current plan if it is the best of the run, or of all.
func (s *shopTabu) keepBest() {
	if s.length < s.round.length {
		s.quiet = 0
		s.round.length = s.length
		for r, line := range s.line {
			s.round.line[r] = append(s.round.line[r][:0], line...)
		}
	}
	if s.best != nil && int64(s.length)*s.m.weights.Makespan >= s.best.value.cost {
		return
	}
	a := &answer{start: append([]int(nil), s.head...), setup: make([]int, s.n), from: make([]int, s.n), seq: make([][]int32, len(s.m.resources))}
	end := make([]int, s.n)
	for i := range end {
		end[i] = s.head[i] + s.whole[i]
	}
	a.value = s.m.value(a.start, end, a.setup, make([]int, len(s.m.jobs)))
	s.best = a
}

// keepElite puts the best of the run among the plans to start again from, in
// place of the worst once there are enough.
func (s *shopTabu) keepElite() {
	at := len(s.elite)
	if at == eliteSize {
		at = 0
		for k := range s.elite {
			if s.elite[k].length == s.round.length {
				at = k // no two of one length, so that they stay different
				break
			}
			if s.elite[k].length > s.elite[at].length {
				at = k
			}
		}
		if s.elite[at].length < s.round.length {
			return
		}
	} else {
		s.elite = append(s.elite, elite{line: make([][]int32, len(s.line))})
	}
	s.elite[at].length = s.round.length
	for r, line := range s.round.line {
		s.elite[at].line[r] = append(s.elite[at].line[r][:0], line...)
	}
}

func (s *shopTabu) chunk() int64 { return 8192 }

func (s *shopTabu) found() (*answer, int64, bool) { return s.best, 0, false }

// meet takes over a better plan of another search.
func (s *shopTabu) meet(best *answer, _ int64) {
	if best == nil || best.value.cost >= s.best.value.cost {
		return
	}
	for r := range s.line {
		s.line[r] = s.line[r][:0]
	}
	for _, t := range best.order() {
		if r := s.on[t]; r >= 0 {
			s.line[r] = append(s.line[r], int32(t))
		}
	}
	if s.measure() {
		s.keepBest()
	}
}

func (s *shopTabu) run(b *budget) int64 {
	done := int64(0)
	for !b.over(done) {
		done++
		if s.quiet++; s.quiet > s.patience {
			s.restart()
		}
		if !s.advance() {
			s.restart()
		}
	}
	return done
}

// restart ends a run and begins the next: the first ones from random plans,
// later ones half way between two good plans (path relinking: Peng, Lü, Cheng,
// "A tabu search/path relinking algorithm to solve the job shop scheduling
// problem", Computers & Operations Research 53, 2015).
func (s *shopTabu) restart() {
	s.keepElite()
	s.quiet, s.round.length = 0, never
	for i := range s.forbidden {
		clear(s.forbidden[i])
	}
	if len(s.elite) < eliteSize {
		s.randomLines()
		return
	}
	a := s.rng.IntN(len(s.elite))
	b := (a + 1 + s.rng.IntN(len(s.elite)-1)) % len(s.elite)
	for r := range s.line {
		s.line[r] = append(s.line[r][:0], s.elite[a].line[r]...)
	}
	s.measure()
	s.relink(s.elite[b].line)
}

// randomLines orders all machines by a random order of tasks that keeps the links.
func (s *shopTabu) randomLines() {
	for r := range s.line {
		s.line[r] = s.line[r][:0]
	}
	s.measure() // s.order is one that keeps the links
	waits := make([]int, s.n)
	var ready []int32
	for i := range waits {
		if waits[i] = len(s.prior[i]); waits[i] == 0 {
			ready = append(ready, int32(i))
		}
	}
	for len(ready) > 0 {
		k := s.rng.IntN(len(ready))
		t := ready[k]
		ready = append(ready[:k], ready[k+1:]...)
		if r := s.on[t]; r >= 0 {
			s.line[r] = append(s.line[r], t)
		}
		for _, a := range s.after[t] {
			if waits[a.task]--; waits[a.task] == 0 {
				ready = append(ready, a.task)
			}
		}
	}
	s.measure()
}

// relink swaps neighbours on the machines that stand the other way round in a
// goal, until about half of the differences are gone.
func (s *shopTabu) relink(goal [][]int32) {
	rank := make([]int, s.n)
	for _, line := range goal {
		for k, t := range line {
			rank[t] = k
		}
	}
	differences := 0
	for _, line := range s.line {
		for a := range line {
			for b := a + 1; b < len(line); b++ {
				if rank[line[a]] > rank[line[b]] {
					differences++
				}
			}
		}
	}
	for swaps, tries := differences/2, 20*differences; swaps > 0 && tries > 0 && !s.m.halted(); tries-- {
		line := s.line[s.rng.IntN(len(s.line))]
		if len(line) < 2 {
			continue
		}
		k := s.rng.IntN(len(line) - 1)
		if rank[line[k]] < rank[line[k+1]] {
			continue
		}
		line[k], line[k+1] = line[k+1], line[k]
		if !s.measure() {
			line[k], line[k+1] = line[k+1], line[k]
			continue
		}
		swaps--
	}
	s.measure()
}

// advance makes the best move that is not forbidden; false if there is none.
func (s *shopTabu) advance() bool {
	s.step++
	s.collect()
	if len(s.moves) == 0 {
		return false
	}
	pick, pickLength, ties := -1, 0, 0
	for k, mv := range s.moves {
		length := s.estimate(mv)
		if s.isForbidden(mv) && int64(length)*s.m.weights.Makespan >= s.best.value.cost {
			continue
		}
		switch {
		case pick < 0 || length < pickLength:
			pick, pickLength, ties = k, length, 1
		case length == pickLength:
			if ties++; s.rng.IntN(ties) == 0 {
				pick = k
			}
		}
	}
	if pick < 0 {
		pick = s.rng.IntN(len(s.moves))
	}
	mv := s.moves[pick]
	s.forbid(mv)
	s.apply(mv)
	if !s.measure() {
		return false
	}
	s.keepBest()
	return true
}

// apply makes a move.
func (s *shopTabu) apply(mv shift) {
	line := s.line[mv.machine]
	t := line[mv.from]
	if mv.from < mv.to {
		copy(line[mv.from:mv.to], line[mv.from+1:mv.to+1])
	} else {
		copy(line[mv.to+1:mv.from+1], line[mv.to:mv.from])
	}
	line[mv.to] = t
}

// forbid keeps later moves from taking this one back for a while.
func (s *shopTabu) forbid(mv shift) {
	line := s.line[mv.machine]
	base := 10 + s.n/max(1, len(s.line)*len(s.line))
	until := s.step + int64(base+s.rng.IntN(base/2+1))
	t := line[mv.from]
	for k := mv.from + 1; k <= mv.to; k++ {
		s.forbidden[t][line[k]] = until
	}
	for k := mv.to; k < mv.from; k++ {
		s.forbidden[line[k]][t] = until
	}
}

func (s *shopTabu) isForbidden(mv shift) bool {
	line := s.line[mv.machine]
	t := line[mv.from]
	for k := mv.from + 1; k <= mv.to; k++ {
		if s.forbidden[line[k]][t] > s.step {
			return true
		}
	}
	for k := mv.to; k < mv.from; k++ {
		if s.forbidden[t][line[k]] > s.step {
			return true
		}
	}
	return false
}

// collect lists the moves along one critical path, chosen at random.
func (s *shopTabu) collect() {
	s.moves = s.moves[:0]
	at := s.firstCritical()
	for at >= 0 {
		first := at
		last := at
		for {
			j := s.follower(last)
			if j < 0 || s.head[j] != s.head[last]+s.hold[last] || s.head[j]+s.rest[j] != s.length {
				break
			}
			last = j
		}
		if first != last {
			s.blockMoves(s.on[first], s.at[first], s.at[last])
		}
		at = s.nextCritical(last)
	}
}

func (s *shopTabu) firstCritical() int32 {
	pick, seen := int32(-1), 0
	for i := range s.head {
		if s.head[i] == max(0, s.m.tasks[i].release) && s.head[i]+s.rest[i] == s.length {
			if seen++; s.rng.IntN(seen) == 0 {
				pick = int32(i)
			}
		}
	}
	return pick
}

// nextCritical follows a link of the critical path from task i.
func (s *shopTabu) nextCritical(i int32) int32 {
	pick, seen := int32(-1), 0
	for _, a := range s.after[i] {
		if s.head[a.task] == s.head[i]+a.far && s.head[a.task]+s.rest[a.task] == s.length {
			if seen++; s.rng.IntN(seen) == 0 {
				pick = a.task
			}
		}
	}
	return pick
}

// blockMoves lists the moves of the tasks of a critical block behind its last or
// before its first task that cannot contradict the links.
func (s *shopTabu) blockMoves(machine, first, last int) {
	line := s.line[machine]
	for k := first; k < last; k++ {
		s.tryShift(machine, line, k, last)
	}
	for k := first + 1; k <= last; k++ {
		if last-first > 1 || k != last { // of two tasks, one exchange is enough
			s.tryShift(machine, line, k, first)
		}
	}
}

// tryShift adds a move if the longest paths show that it closes no cycle.
func (s *shopTabu) tryShift(machine int, line []int32, from, to int) {
	t, u := line[from], line[to]
	if from < to {
		for _, a := range s.after[t] {
			if s.rest[u] < s.rest[a.task] && from+1 != to {
				return
			}
		}
	} else {
		for _, p := range s.prior[t] {
			if s.head[u]+s.hold[u] < s.head[p.task]+1 && from-1 != to {
				return
			}
		}
	}
	s.moves = append(s.moves, shift{machine, from, to})
}

// estimate bounds from below the length of the longest path through the moved tasks.
func (s *shopTabu) estimate(mv shift) int {
	line := s.line[mv.machine]
	lo, hi := min(mv.from, mv.to), max(mv.from, mv.to)
	s.seq = append(s.seq[:0], line[lo:hi+1]...)
	if t := line[mv.from]; mv.from < mv.to {
		copy(s.seq, s.seq[1:])
		s.seq[len(s.seq)-1] = t
	} else {
		copy(s.seq[1:], s.seq[:len(s.seq)-1])
		s.seq[0] = t
	}
	s.newHead = s.newHead[:0]
	free := 0
	if lo > 0 {
		p := line[lo-1]
		free = s.head[p] + s.hold[p]
	}
	for _, t := range s.seq {
		h := max(free, s.m.tasks[t].release)
		for _, p := range s.prior[t] {
			h = max(h, s.head[p.task]+p.far)
		}
		s.newHead = append(s.newHead, h)
		free = h + s.hold[t]
	}
	behind := 0
	if hi+1 < len(line) {
		behind = s.rest[line[hi+1]]
	}
	length := 0
	for k := len(s.seq) - 1; k >= 0; k-- {
		t := s.seq[k]
		rest := max(s.whole[t], s.hold[t]+behind)
		for _, a := range s.after[t] {
			rest = max(rest, a.far+s.rest[a.task])
		}
		length = max(length, s.newHead[k]+rest)
		behind = rest
	}
	return length
}
