package sequence

import (
	"math/rand/v2"
	"slices"
)

// oneMachine is a search for the order of tasks on a single station with setups where
// nothing else binds them: no links, hands, calendars or zones, one task a job. It breeds
// orders: a child keeps a stretch of one parent where it is and takes the others in the
// order in which its other parent has them (linear order crossover; Falkenauer, Bouffouix,
// "A genetic algorithm for job shop", ICRA 1991), and is then improved until no two
// neighbouring blocks and no two tasks are better exchanged (onemachine_moves.go). When a
// population has nothing better to give another one begins.
type oneMachine struct {
	m      *model
	rng    *rand.Rand
	n      int
	perEnd int64 // what a minute costs that the last task ends later: each is one of setup, too
	beyond int64 // what a minute behind the horizon costs: more than all else
	fixed  int64 // what all orders cost besides
	took   []int // by task: attended minutes
	due    []int // for one that has none behind the horizon
	late   []int64
	flow   []int64
	to     []int32 // minutes of setup from each task, n: from the beginning, to another
	into   []int32 // the same by the task that they are for

	seq   []int32 // the order that is improved
	ends  []int   // by position
	costs []int64 // of the tasks in front of a position
	cost  int64   // of all
	shift shiftTable
	front int   // where the next moves begin
	ahead int64 // work done beyond what was asked for
	vain  int   // fronts in a row without a better move

	people []bred
	quiet  int // births since one was better than a person of the population
	kept   []bool
	best   *answer
}

// bred is an order that no move makes better.
type bred struct {
	seq  []int32
	cost int64
}

// mostBred is how many tasks there may be: moves are looked up in a table of their
// number squared.
const mostBred = 300

// How many orders a population has, and how many births go by without a better one until
// another population begins, in populations.
const (
	peopleBred   = 10
	patienceBred = 30
)

// newOneMachine returns nil if the problem is more than one machine, or too large.
func newOneMachine(m *model, start *answer, seed int64) *oneMachine {
	if start == nil || len(m.resources) != 1 || len(m.links) > 0 || m.weights.Moved != 0 || len(m.tasks) < 3 || len(m.tasks) > mostBred {
		return nil
	}
	if c := m.resources[0].setups; c == nil || c.hands >= 0 || c.clock != nil {
		return nil
	}
	for i := range m.tasks {
		w := &m.tasks[i]
		if w.station != 0 || w.clock != nil || w.unatt > 0 || w.att == 0 || w.zone >= 0 || w.fixed >= 0 ||
			w.release > 0 || w.last < m.horizon || w.grip > 1 || w.job >= 0 && (len(m.jobs[w.job].tasks) > 1 || m.jobs[w.job].clock != nil) {
			return nil
		}
	}
	n := len(m.tasks)
	o := &oneMachine{m: m, rng: rand.New(rand.NewPCG(uint64(seed), 0x1a3e)), n: n, perEnd: m.weights.Makespan + m.weights.Setup,
		seq: slices.Clone(start.seq[0]), ends: make([]int, n), costs: make([]int64, n+1), shift: newShiftTable(n), kept: make([]bool, n), best: start}
	o.price()
	if !o.priceBeyond() {
		return nil
	}
	o.begin()
	return o
}

// price notes what tasks cost, and their setups.
func (o *oneMachine) price() {
	m, n := o.m, o.n
	o.took, o.due, o.late, o.flow = make([]int, n), make([]int, n), make([]int64, n), make([]int64, n)
	o.to, o.into = make([]int32, (n+1)*n), make([]int32, (n+1)*n)
	c := m.resources[0].setups
	for t := range m.tasks {
		w := &m.tasks[t]
		o.took[t], o.due[t] = w.att, m.horizon+1
		o.fixed -= m.weights.Setup * int64(w.att)
		if w.job >= 0 {
			o.flow[t] = m.weights.Flow
			if j := &m.jobs[w.job]; j.due < never {
				o.late[t], o.due[t] = m.weights.Tardiness*j.weight, j.due
			}
		}
		for from := range n + 1 {
			state := c.initial
			if from < n {
				state = m.tasks[from].state
			}
			if state >= 0 {
				o.to[from*n+t] = int32(c.minutes[state][w.state])
			}
			o.into[t*(n+1)+from] = o.to[from*n+t]
		}
	}
}

// priceBeyond notes what a minute behind the horizon costs, and tells whether what any
// order costs can be counted with it.
func (o *oneMachine) priceBeyond() bool {
	longest := 0 // no order ends later
	for t, took := range o.took {
		longest += took + int(slices.Max(o.into[t*(o.n+1):][:o.n+1]))
	}
	worst := float64(o.perEnd) * float64(longest)
	for t := range o.took {
		worst += float64(o.flow[t])*float64(longest) + float64(o.late[t])*float64(max(0, longest-o.due[t]))
	}
	if worst*float64(max(1, longest-o.m.horizon)) > mostObjective {
		return false
	}
	o.beyond = 1 + 2*int64(worst) // twice, as it is rounded
	return true
}

func (o *oneMachine) chunk() int64 { return 16384 }

func (o *oneMachine) found() (*answer, int64, bool) { return o.best, 0, false }

func (o *oneMachine) meet(best *answer, _ int64) {
	if best != nil && best.value.cost < o.best.value.cost {
		o.best = best
		o.join(best.seq[0], best.value.cost)
	}
}

// run breeds orders. A unit of work is so many moves looked at, which takes about as long
// as to measure an order of 60 tasks anew.
func (o *oneMachine) run(b *budget) int64 {
	const unit = 16
	done := o.ahead
	for !b.over(done) {
		if o.vain < o.n {
			done += int64(1 + o.look()/unit)
			continue
		}
		o.grown()
		o.bear()
		done++
	}
	o.ahead = max(0, done-b.work)
	return done - o.ahead
}

// begin begins to improve the order.
func (o *oneMachine) begin() {
	o.measure()
	o.front, o.vain = o.rng.IntN(o.n), 0
}

// grown takes an order that no move makes better into the population.
func (o *oneMachine) grown() {
	cost := o.cost + o.fixed
	if cost < o.best.value.cost {
		o.best = o.answer()
	}
	o.quiet++
	o.join(o.seq, cost)
	if o.quiet > patienceBred*peopleBred {
		o.people, o.quiet = o.people[:0], 0
	}
}

// join takes an order in, instead of the worst where there is no room. Of two that cost the
// same one is enough: most often they are nearly the same.
func (o *oneMachine) join(seq []int32, cost int64) {
	worst := 0
	for k := range o.people {
		if o.people[k].cost == cost {
			return
		}
		if o.people[k].cost > o.people[worst].cost {
			worst = k
		}
	}
	switch {
	case len(o.people) < peopleBred:
		o.people = append(o.people, bred{slices.Clone(seq), cost})
	case cost < o.people[worst].cost:
		copy(o.people[worst].seq, seq)
		o.people[worst].cost, o.quiet = cost, 0
	}
}

// bear begins another order: at random while there are few, else a child of two.
func (o *oneMachine) bear() {
	if len(o.people) < peopleBred {
		o.rng.Shuffle(o.n, func(i, j int) { o.seq[i], o.seq[j] = o.seq[j], o.seq[i] })
		o.begin()
		return
	}
	a, b := o.rng.IntN(peopleBred), o.rng.IntN(peopleBred-1)
	if b >= a {
		b++
	}
	length := o.n/4 + o.rng.IntN(o.n/2) // a quarter of it to three
	o.cross(o.people[a].seq, o.people[b].seq, o.rng.IntN(o.n-length+1), length)
	o.begin()
}

// cross makes the order of a stretch of one, which stays where it is, and all else as it
// comes in the other.
func (o *oneMachine) cross(one, other []int32, from, length int) {
	clear(o.kept)
	for k := from; k < from+length; k++ {
		o.seq[k] = one[k]
		o.kept[one[k]] = true
	}
	k := 0
	for _, t := range other {
		if k == from {
			k += length
		}
		if !o.kept[t] {
			o.seq[k] = t
			k++
		}
	}
}

// answer is the plan of the order.
func (o *oneMachine) answer() *answer {
	n := o.n
	a := &answer{start: make([]int, n), setup: make([]int, n), from: make([]int, n), seq: [][]int32{slices.Clone(o.seq)}}
	end := make([]int, n)
	for k, t := range o.seq {
		a.setup[t] = o.setup(k)
		end[t] = o.ends[k]
		a.start[t] = end[t] - o.took[t]
	}
	o.m.nameStates(a)
	a.value = o.m.value(a.start, end, a.setup, make([]int, len(o.m.jobs)))
	return a
}
