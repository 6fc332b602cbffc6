package sequence

import (
	"math/rand/v2"
	"sort"
)

// exactSearch is the state of the exact search between rounds.
type exactSearch struct {
	rng       *rand.Rand
	best      *answer
	guide     []int // starts to try first, nil: none
	bound     int64
	conflicts int64
	decisions int64
	until     int64 // conflicts at the next restart
	restarts  int
	shaveAt   int   // restarts when the objective's terms are shaved next
	aim       bool  // the next decision is about the objective
	aimed     int64 // what it is to be at most
	noDives   bool  // no restart looks for plans: another search does, and better
	noAims    bool  // none asks for a much better plan: another search does
	forgetAt  int
	near      near
	allowed   int64 // how many bounds it may have lowered by the end of a round
}

// begin makes the first-choice order of variables.
func (e *exact) begin(seed int64) {
	e.search = exactSearch{rng: rand.New(rand.NewPCG(uint64(seed), 0xe4ac7)), bound: e.x.lo(e.cost), forgetAt: 3000}
	e.search.near.size = openAtFirst
	x := &e.x
	x.heap.at = make([]int32, len(x.ub)/2)
	for v := range x.heap.at {
		x.heap.at[v] = -2
	}
	var chosen []int32
	if e.startsChosen() {
		chosen = append(chosen, e.start...)
	}
	for _, l := range e.pair {
		chosen = append(chosen, l.side/2)
	}
	if len(e.workloads) > 0 {
		chosen = append(chosen, e.counted...)
	}
	sort.Slice(chosen, func(a, b int) bool { return chosen[a] < chosen[b] })
	for _, v := range chosen {
		x.heap.at[v] = -1
		x.activity[v] = e.search.rng.Float64() * 1e-3
		x.heap.insert(x, v)
	}
}

// startsChosen tells whether starts are decided as their part in conflicts asks for, and
// not only when all orders are. Where work goes by hours they are not: that a task does
// not begin at its first minute, once that is refuted, says next to nothing there, and a
// proof took a hundred times as many conflicts.
func (e *exact) startsChosen() bool { return !e.inLine && !e.byHours }

func (e *exact) chunk() int64 { return 128 }

func (e *exact) found() (*answer, int64, bool) { return e.search.best, e.search.bound, e.dead }

// meet asks for something better than the best answer and no better than the bound.
func (e *exact) meet(best *answer, bound int64) {
	s := &e.search
	if best != nil && e.x.hi(e.cost) >= best.value.cost {
		e.x.back(0)
		s.guide = best.start
		e.dead = e.dead || !e.x.set(le(e.cost, best.value.cost-1))
	}
	if bound > s.bound {
		e.x.back(0)
		s.bound = bound
		e.dead = e.dead || !e.x.set(ge(e.cost, bound))
	}
}

// run searches. A unit of work is a conflict or 32 decisions.
func (e *exact) run(b *budget) int64 {
	s := &e.search
	done := int64(0)
	for !e.dead && !e.x.halted && !b.over(done) {
		if !e.propagate() {
			s.conflicts++
			done++
			e.dead = !e.x.learn()
			continue
		}
		if e.x.halted {
			return done
		}
		if e.x.level() == 0 {
			s.bound = max(s.bound, e.x.lo(e.cost))
		}
		if s.conflicts >= s.until {
			e.restart()
			continue
		}
		if s.restarts >= s.shaveAt && e.x.level() == 0 && len(e.workloads) > 0 {
			s.shaveAt = 2*s.shaveAt + 1
			done += e.shave()
			continue
		}
		l, ok := e.nextKept()
		if s.near.empty {
			e.restart()
			continue
		}
		if !ok {
			l, ok = e.choose()
		}
		if !ok {
			e.solved()
			done++
			continue
		}
		if s.decisions++; s.decisions&31 == 0 {
			done++
		}
		e.x.decide(l)
	}
	return done
}

func (e *exact) restart() {
	s := &e.search
	e.x.back(0)
	if e.lookNear() {
		return
	}
	s.restarts++
	s.until = s.conflicts + 100*luby(s.restarts)
	s.aim = true
	if len(e.x.learned) > s.forgetAt {
		e.x.forget()
		s.forgetAt += 300
	}
}

// luby is the sequence 1 1 2 1 1 2 4 1 1 2 ... (Luby, Sinclair, Zuckerman 1993).
func luby(i int) int64 {
	for k := 1; ; k++ {
		if i == 1<<k-1 {
			return 1 << (k - 1)
		}
		if i < 1<<k-1 {
			return luby(i - 1<<(k-1) + 1)
		}
	}
}

// choose returns the next decision, or false if all is decided. Where orders decide
// everything, starts are left until all orders are settled: then each can be as early
// as it may.
func (e *exact) choose() (lit, bool) {
	s := &e.search
	if s.aim && e.x.level() == 0 {
		s.aim = false
		if e.takeAim() {
			e.askEnergies()
			return le(e.cost, s.aimed), true
		}
	}
	if s.restarts%4 == 0 && !e.inLine && !s.noDives {
		if t := e.earliest(); t >= 0 {
			return le(e.start[t], e.x.lo(e.start[t])), true
		}
	}
	for {
		v := e.x.heap.pop(&e.x)
		if v < 0 {
			t := e.earliest()
			if t < 0 {
				return lit{}, false
			}
			return le(e.start[t], e.x.lo(e.start[t])), true
		}
		if !e.x.fixed(v) {
			e.x.heap.insert(&e.x, v)
			return e.value(v), true
		}
	}
}

// takeAim chooses how good a plan is asked for first, and tells whether to ask: every other
// time. Where work goes by hours it asks every time, and for as good a plan until there is
// one or none is left: what was learned when it was asked for last holds on.
func (e *exact) takeAim() bool {
	s := &e.search
	lo, hi := e.x.lo(e.cost), e.x.hi(e.cost)
	if s.noAims || lo >= hi || hi >= unlimited || !e.byHours && s.restarts%2 == 0 {
		return false
	}
	if !e.byHours || s.aimed < lo || s.aimed >= hi {
		s.aimed = lo + (hi-lo)/4
	}
	return true
}

// earliest returns the undecided task that can start first, or -1.
func (e *exact) earliest() int {
	best := -1
	for t := range e.start {
		v := e.start[t]
		if e.x.fixed(v) {
			continue
		}
		if best < 0 || e.x.lo(v) < e.x.lo(e.start[best]) ||
			e.x.lo(v) == e.x.lo(e.start[best]) && e.x.hi(v) < e.x.hi(e.start[best]) {
			best = t
		}
	}
	return best
}

// value chooses which half of a variable's values to try.
func (e *exact) value(v int32) lit {
	lo, hi := e.x.lo(v), e.x.hi(v)
	g := e.search.guide
	if int(v) >= len(e.start) && e.pairOf[v] == [2]int32{} { // a term of the objective
		return le(v, lo+(hi-lo)/8)
	}
	if int(v) >= len(e.start) { // an order
		if of := e.pairOf[v]; e.inLine && g != nil && g[of[0]] < g[of[1]] {
			return ge(v, hi)
		}
		return le(v, lo)
	}
	if g != nil && e.search.restarts%4 != 3 {
		if at := int64(g[v]); at >= lo && at < hi {
			return le(v, at)
		} else if at == hi {
			return ge(v, at)
		}
	}
	return le(v, lo)
}

// solved takes the answer that all decided variables make, and asks for a better one.
func (e *exact) solved() {
	m := e.m
	n := len(m.tasks)
	a := &answer{start: make([]int, n), setup: make([]int, n), from: make([]int, n), seq: make([][]int32, len(m.resources))}
	end := make([]int, n)
	for t := range m.tasks {
		a.start[t] = int(e.x.lo(e.start[t]))
		end[t] = m.tasks[t].end(a.start[t])
		if e.setup[t] >= 0 {
			a.setup[t] = int(e.x.lo(e.setup[t]))
		}
	}
	for k := range e.orders {
		o := &e.orders[k]
		rank := map[int32]int{}
		for i, t := range o.tasks {
			for j := range o.tasks {
				if i != j && e.x.isTrue(o.before[j][i]) {
					rank[t]++
				}
			}
		}
		seq := append([]int32(nil), o.tasks...)
		sort.Slice(seq, func(x, y int) bool { return rank[seq[x]] < rank[seq[y]] })
		a.seq[o.res] = seq
	}
	m.nameStates(a)
	a.value = m.value(a.start, end, a.setup, make([]int, len(m.jobs)))
	if s := &e.search; s.best == nil || a.value.cost < s.best.value.cost {
		s.best, s.guide = a, a.start
	}
	e.x.back(0)
	e.dead = !e.x.set(le(e.cost, a.value.cost-1))
}
