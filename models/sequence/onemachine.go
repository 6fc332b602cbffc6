package sequence

import (
	"math"
	"math/rand/v2"
)

// oneMachine anneals the order of tasks on a single station with setups where
// nothing else binds them: no links, hands, calendars or zones, one task a job.
// A trial costs O(tasks behind the first change) plain arithmetic, without a
// decoder.
type oneMachine struct {
	m      *model
	rng    *rand.Rand
	c      *changes
	seq    []int32
	trial  []int32
	times  []int   // end of the task at each position of seq
	costs  []int64 // cost up to each position of seq
	at     int64
	best   *answer
	cycle  int
	step   int
	length int
	heat   float64
	cool   float64
	worse  float64
}

// newOneMachine returns nil if the problem is more than one machine.
func newOneMachine(m *model, start *answer, seed int64) *oneMachine {
	if start == nil || len(m.resources) != 1 || len(m.links) > 0 || m.weights.Moved != 0 || m.resources[0].setups == nil || len(m.tasks) < 3 {
		return nil
	}
	o := &oneMachine{m: m, rng: rand.New(rand.NewPCG(uint64(seed), 0x1a3e)), c: m.resources[0].setups}
	for i := range m.tasks {
		w := &m.tasks[i]
		if w.station != 0 || w.clock != nil || w.unatt > 0 || w.att == 0 || w.zone >= 0 || w.fixed >= 0 ||
			w.release > 0 || w.last < m.horizon || w.grip > 1 || w.job >= 0 && len(m.jobs[w.job].tasks) > 1 {
			return nil
		}
	}
	if o.c.hands >= 0 || o.c.clock != nil {
		return nil
	}
	n := len(m.tasks)
	o.trial, o.times, o.costs = make([]int32, n), make([]int, n), make([]int64, n)
	o.best = start
	o.load(start)
	o.newCycle()
	return o
}

func (o *oneMachine) load(a *answer) {
	o.seq = append(o.seq[:0], a.seq[0]...)
	o.at = o.measure(o.seq, 0, math.MaxInt64)
	o.settle(0)
}

// taskCost is what a task costs that ends at a time, setups and makespan aside.
func (o *oneMachine) taskCost(t int32, end int) int64 {
	if j := o.m.tasks[t].job; j >= 0 {
		return o.m.jobCost(&o.m.jobs[j], end)
	}
	return 0
}

// before returns the state, time and cost in front of a position of seq.
func (o *oneMachine) before(k int) (state, now int, cost int64) {
	if k == 0 {
		return o.c.initial, 0, 0
	}
	return o.m.tasks[o.seq[k-1]].state, o.times[k-1], o.costs[k-1]
}

// next returns the end of a task and its cost with its setup.
func (o *oneMachine) next(t int32, state, now int) (end int, cost int64) {
	w := &o.m.tasks[t]
	minutes := 0
	if state >= 0 {
		minutes = o.c.minutes[state][w.state]
	}
	end = now + minutes + w.att
	return end, o.taskCost(t, end) + o.m.weights.Setup*int64(minutes)
}

// measure returns the cost of a sequence that equals seq in front of position k,
// or gives up above a limit.
func (o *oneMachine) measure(seq []int32, k int, limit int64) int64 {
	state, now, sum := o.before(k)
	for _, t := range seq[k:] {
		end, cost := o.next(t, state, now)
		sum += cost
		if sum > limit {
			return sum
		}
		state, now = o.m.tasks[t].state, end
	}
	sum += o.m.weights.Makespan * int64(now)
	if now > o.m.horizon {
		return math.MaxInt64
	}
	return sum
}

// settle notes times and costs of seq from position k on.
func (o *oneMachine) settle(k int) {
	state, now, sum := o.before(k)
	for ; k < len(o.seq); k++ {
		t := o.seq[k]
		end, cost := o.next(t, state, now)
		sum += cost
		o.times[k], o.costs[k] = end, sum
		state, now = o.m.tasks[t].state, end
	}
}

func (o *oneMachine) chunk() int64 { return 16384 }

func (o *oneMachine) found() (*answer, int64, bool) { return o.best, 0, false }

func (o *oneMachine) meet(best *answer, _ int64) {
	if best != nil && best.value.cost < o.best.value.cost {
		o.best = best
		o.load(best)
	}
}

func (o *oneMachine) run(b *budget) int64 {
	done := int64(0)
	for ; !b.over(done); done++ {
		if o.step >= o.length {
			o.cycle++
			o.newCycle()
		}
		o.step++
		o.heat *= o.cool
		o.change()
	}
	return done
}

// newCycle begins an annealing cycle, longer than the one before, from the best.
func (o *oneMachine) newCycle() {
	n := len(o.seq)
	o.step, o.length, o.heat, o.cool = 0, 20*n, 0, 1
	if o.cycle == 0 {
		return
	}
	o.length = 50 * n << min(o.cycle, 9)
	o.heat = max(1, o.worse) * 0.3
	o.cool = math.Pow(0.1/o.heat, 1/float64(o.length))
	if o.cycle%2 == 1 {
		o.load(o.best)
	}
}

// change tries one random move: a block of tasks to another place, or two tasks
// exchanged.
func (o *oneMachine) change() {
	n := len(o.seq)
	i, j := o.rng.IntN(n), o.rng.IntN(n)
	if i == j {
		return
	}
	copy(o.trial, o.seq)
	first := min(i, j)
	switch o.rng.IntN(3) {
	case 0:
		o.trial[i], o.trial[j] = o.trial[j], o.trial[i]
	case 1:
		moveBlock(o.trial, o.seq, i, j, 1)
	default:
		length := 2 + o.rng.IntN(min(8, n-1))
		if max(i, j)+length > n {
			return
		}
		moveBlock(o.trial, o.seq, i, j, length)
	}
	limit := int64(math.MaxInt64)
	if o.cycle > 0 {
		limit = o.at + int64(o.heat*20) + 1
	}
	cost := o.measure(o.trial, first, limit)
	if cost == math.MaxInt64 {
		return
	}
	if cost > o.at {
		o.worse += (min(float64(cost-o.at), 5*o.worse+1) - o.worse) / 100
		if o.rng.Float64() >= math.Exp(float64(o.at-cost)/max(o.heat, 1e-9)) {
			return
		}
	}
	o.seq, o.trial = o.trial, o.seq
	o.at = cost
	o.settle(first)
	if cost < o.best.value.cost {
		o.best = o.answer()
	}
}

// moveBlock writes to trial the sequence with so many tasks from position i
// moved to position j.
func moveBlock(trial, seq []int32, i, j, length int) {
	if i < j {
		copy(trial[i:j], seq[i+length:j+length])
	} else {
		copy(trial[j+length:i+length], seq[j:i])
	}
	copy(trial[j:j+length], seq[i:i+length])
}

func (o *oneMachine) answer() *answer {
	n := len(o.seq)
	a := &answer{start: make([]int, n), setup: make([]int, n), from: make([]int, n), seq: [][]int32{append([]int32(nil), o.seq...)}}
	end := make([]int, n)
	state, now := o.c.initial, 0
	for _, t := range o.seq {
		w := &o.m.tasks[t]
		if state >= 0 {
			a.setup[t] = o.c.minutes[state][w.state]
		}
		a.start[t] = now + a.setup[t]
		end[t] = a.start[t] + w.att
		state, now = w.state, end[t]
	}
	o.m.nameStates(a)
	a.value = o.m.value(a.start, end, a.setup, make([]int, len(o.m.jobs)))
	return a
}
