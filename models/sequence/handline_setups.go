package sequence

import "math"

// lineSetups knows the fewest minutes of setup that a station has before it, by which of
// its tasks are done, in what state it is, and which tasks are asked for. Others may be
// done in between where that saves more setup than it takes: their minutes count too.
// What comes before what is kept. Of a station with many tasks only some are counted, and
// then any state may be passed through.
type lineSetups struct {
	tasks   []int
	bit     []int16  // by task of the problem: which of the station's it is, -1: none
	before  []uint16 // by task of the station: those before it
	states  int
	minutes [][]int32
	state   []int
	att     []int32 // attended minutes of each where there is one pair of hands, else 0
	full    uint16
	fewest  map[uint16][]int32
}

// mostCounted is how many tasks of a station are counted at most.
const mostCounted = 11

func newLineSetups(l *handLine, r int, ancestors []taskSet) *lineSetups {
	m := l.m
	c := m.resources[r].setups
	u := &lineSetups{bit: make([]int16, len(m.tasks)), states: len(c.names), fewest: map[uint16][]int32{}}
	for a := range c.minutes {
		u.minutes = append(u.minutes, make([]int32, u.states))
		for b := range c.minutes[a] {
			// What lasts beyond the horizon cannot be, however long it is; sums of more could overflow.
			u.minutes[a][b] = int32(min(c.minutes[a][b], m.horizon+1))
		}
	}
	u.count(m, c)
	for t := range u.bit {
		u.bit[t] = -1
	}
	for i, t := range u.tasks {
		u.bit[t], u.full = int16(i), u.full|1<<i
		u.state = append(u.state, m.tasks[t].state)
		u.att = append(u.att, 0)
		if l.people == 1 { // it would be as true of several: in two runs that were tried lines found better plans without
			u.att[i] = int32(m.tasks[t].att)
		}
	}
	for _, t := range u.tasks {
		u.before = append(u.before, u.among(&ancestors[t]))
	}
	return u
}

// count chooses the tasks that are counted: where there are too many, one of each job in
// each state first.
func (u *lineSetups) count(m *model, c *changes) {
	if len(c.tasks) <= mostCounted {
		u.tasks = c.tasks
		return
	}
	seen := map[[2]int]bool{}
	var others []int
	for _, t := range c.tasks {
		key := [2]int{m.tasks[t].job, m.tasks[t].state}
		if seen[key] {
			others = append(others, t)
		} else {
			u.tasks = append(u.tasks, t)
		}
		seen[key] = true
	}
	u.tasks = append(u.tasks, others...)[:mostCounted]
	for v := range u.minutes {
		for a := range u.minutes {
			for b := range u.minutes {
				u.minutes[a][b] = min(u.minutes[a][b], u.minutes[a][v]+u.minutes[v][b])
			}
		}
	}
	for a := range u.minutes {
		u.minutes[a][a] = 0
	}
}

// among tells which tasks of a set are counted here.
func (u *lineSetups) among(set *taskSet) uint16 {
	found := uint16(0)
	for i, t := range u.tasks {
		if set.has(t) {
			found |= 1 << i
		}
	}
	return found
}

// note says in a state that a task is done here. A station without anything left to do
// is like any other such one.
func (u *lineSetups) note(s *lineState, slot, t int) {
	if i := u.bit[t]; i >= 0 {
		s.doneA[slot] |= 1 << i
	}
	if s.doneA[slot] == u.full && len(u.tasks) < mostCounted {
		s.set[slot] = 0
	}
}

// place is where in a table of fewest minutes a state's are.
func (u *lineSetups) place(s *lineState, slot int) int {
	set := int(s.set[slot])
	if set == anySetting {
		set = u.states
	}
	return int(s.doneA[slot])*(u.states+1) + set
}

// table returns the fewest minutes until some tasks are done, without their own.
// O(states × tasks × 2^tasks) the first time.
func (u *lineSetups) table(asked uint16) []int32 {
	if tab, ok := u.fewest[asked]; ok {
		return tab
	}
	row := u.states + 1
	tab := make([]int32, row<<len(u.tasks))
	for done := int(u.full); done >= 0; done-- {
		if asked&^uint16(done) == 0 {
			continue
		}
		for set := range row {
			least := int32(math.MaxInt32 / 2)
			for i := range u.tasks {
				if done>>i&1 != 0 || u.before[i]&^uint16(done) != 0 {
					continue
				}
				minutes := tab[(done|1<<i)*row+u.state[i]]
				if asked>>i&1 == 0 {
					minutes += u.att[i]
				}
				if set < u.states {
					minutes += u.minutes[set][u.state[i]]
				}
				least = min(least, minutes)
			}
			tab[done*row+set] = least
		}
	}
	u.fewest[asked] = tab
	return tab
}
