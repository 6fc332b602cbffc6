package sequence

import (
	"math"
	"slices"
)

// mostSummed bounds the tasks on a station whose orders are all tried in thought.
const mostSummed = 11

// setupSum bounds the setup minutes of one station in all: the fewest that any order
// of its tasks takes which goes with the orders known (Held and Karp's dynamic
// programme over sets, with states in the place of the last task). Where setups have no
// weight it is not worth its time.
type setupSum struct {
	total   int32 // the variable of the minutes
	minutes [][]int
	initial int
	state   []int
	known   map[[mostSummed]uint16]int // fewest minutes by the tasks surely before each
	fewest  []int                      // scratch: by set and last state
}

func newSetupSum(e *exact, r int) *setupSum {
	c := e.m.resources[r].setups
	s := &setupSum{minutes: c.minutes, initial: c.initial}
	most := 0
	for _, t := range c.tasks {
		s.state = append(s.state, e.m.tasks[t].state)
		most += int(e.x.hi(e.setup[t]))
	}
	s.total = e.x.addVar(0, int64(most))
	if len(c.tasks) <= mostSummed && e.m.weights.Setup > 0 {
		s.known = map[[mostSummed]uint16]int{}
		s.fewest = make([]int, len(c.names)<<len(c.tasks))
	}
	return s
}

// mostKnown bounds what a setupSum remembers.
const mostKnown = 1 << 14

// least returns the fewest setup minutes where some tasks come surely before each.
func (s *setupSum) least(ahead *[mostSummed]uint16) int {
	if v, ok := s.known[*ahead]; ok {
		return v
	}
	if len(s.known) >= mostKnown {
		clear(s.known)
	}
	v := s.count(ahead)
	s.known[*ahead] = v
	return v
}

func (s *setupSum) count(ahead *[mostSummed]uint16) int {
	n, states := len(s.state), len(s.minutes)
	for i := range s.fewest {
		s.fewest[i] = math.MaxInt
	}
	for b := range n {
		if ahead[b] == 0 {
			minutes := 0
			if s.initial >= 0 {
				minutes = s.minutes[s.initial][s.state[b]]
			}
			at := states<<b + s.state[b]
			s.fewest[at] = min(s.fewest[at], minutes)
		}
	}
	for done := 1; done < 1<<n-1; done++ {
		here := s.fewest[done*states : (done+1)*states]
		if slices.Min(here) == math.MaxInt {
			continue // something is done there before what comes surely before it
		}
		for b := range n {
			if done>>b&1 != 0 || int(ahead[b])&^done != 0 {
				continue
			}
			state := s.state[b]
			least := &s.fewest[(done|1<<b)*states+state]
			for from, so := range here {
				if so < math.MaxInt {
					*least = min(*least, so+s.minutes[from][state])
				}
			}
		}
	}
	least := math.MaxInt
	for _, v := range s.fewest[(1<<n-1)*states:] {
		least = min(least, v)
	}
	return least
}

// sumUp raises the minutes of setups in all to those of the single tasks, and to the
// fewest that the known orders leave.
func (o *order) sumUp(e *exact) bool {
	s, sum := o.sum, 0
	o.why = o.why[:0]
	for _, t := range o.tasks {
		if v := e.setup[t]; e.x.lo(v) > 0 {
			sum += int(e.x.lo(v))
			o.why = append(o.why, ge(v, e.x.lo(v)))
		}
	}
	if !e.x.set(ge(s.total, int64(sum)), o.why...) {
		return false
	}
	if s.known == nil || len(o.tasks) == 0 {
		return true
	}
	var ahead [mostSummed]uint16
	for b := range o.tasks {
		ahead[b] = uint16(o.ahead[b][0])
	}
	least := s.least(&ahead)
	if int64(least) <= e.x.lo(s.total) {
		return true
	}
	s.thin(&ahead, least)
	o.why = o.why[:0]
	for b := range o.tasks {
		for a := range o.tasks {
			if covers(&ahead, a, b) {
				o.why = append(o.why, o.before[a][b])
			}
		}
	}
	return e.x.set(ge(s.total, int64(least)), o.why...)
}

// covers tells whether a comes surely before b, and no other surely between them.
func covers(ahead *[mostSummed]uint16, a, b int) bool {
	if ahead[b]>>a&1 == 0 {
		return false
	}
	for k := range ahead {
		if ahead[b]>>k&1 != 0 && ahead[k]>>a&1 != 0 {
			return false
		}
	}
	return true
}

// thin takes out of a transitive order what it can do without and still take so many
// minutes.
func (s *setupSum) thin(ahead *[mostSummed]uint16, minutes int) {
	for again := true; again; {
		again = false
		for b := range s.state {
			for a := range s.state {
				if !covers(ahead, a, b) {
					continue
				}
				ahead[b] &^= 1 << a
				if s.least(ahead) >= minutes {
					again = true
				} else {
					ahead[b] |= 1 << a
				}
			}
		}
	}
}
