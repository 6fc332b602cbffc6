package sequence

import (
	"cmp"
	"math"
	"slices"
)

// jobOrder searches over orders of whole jobs: the tasks of the first are placed, then
// those of the second where there is room between them, and so on. What many jobs cost
// hangs on their order most of all, and the annealing, which moves a few tasks at a time,
// passes through worse lists before a job has overtaken another one. Here one job is moved
// to another place in the order until no such move makes the plan better; then a few
// change places, and it begins again (an iterated local search).
type jobOrder struct {
	im    *improver
	tasks [2][][]int // of each job, by longest tail and by earliest start; those of no job last
	by    int        // which of the two
	order []int      // the current order
	cost  int64      // of it
	trial []int      // the order that is tried
	next  int        // the move that is tried next
	idle  int        // moves tried since the order came better
	best  []int      // the best order
	least int64      // cost of it
	begun int        // local searches
	left  int        // schedules left to make
	list  []int      // scratch: the tasks in the order that is tried
}

const (
	// manyJobs is how many jobs there must be. Measured: most weeks of 14 to 17 commissions
	// come out better by a tenth after seconds, those of 3 to 7 no better.
	manyJobs = 12
	// ordersATask bounds the schedules made in search of an order, so many for each task.
	ordersATask = 15
	// changedPlaces is how many pairs of jobs change places before it begins again.
	changedPlaces = 3
)

// newJobOrder returns nil where there is not much in the order of jobs: where there are
// few of them, where the last end of all counts, or where people have seen a plan and
// would rather keep it.
func newJobOrder(im *improver) *jobOrder {
	m := im.d.m
	w := m.weights
	if len(m.jobs) < manyJobs || len(m.jobs) == len(m.tasks) || w.Tardiness == 0 && w.Flow == 0 || m.previous() {
		return nil
	}
	o := &jobOrder{im: im, least: math.MaxInt64, left: ordersATask * len(m.tasks)}
	tails := m.tails()
	for by, list := range [][]int{
		m.sortedBy(func(t int) [2]int { return [2]int{-tails[t]} }),
		m.sortedBy(func(t int) [2]int { return [2]int{m.early[t]} }),
	} {
		o.tasks[by] = make([][]int, len(m.jobs)+1)
		for _, t := range list {
			j := m.tasks[t].job
			if j < 0 {
				j = len(m.jobs)
			}
			o.tasks[by][j] = append(o.tasks[by][j], t)
		}
	}
	for j := range m.jobs {
		o.order = append(o.order, j)
	}
	slices.SortStableFunc(o.order, func(a, b int) int { return cmp.Compare(m.jobs[a].due, m.jobs[b].due) })
	return o
}

// step makes one schedule, and tells whether to go on.
func (o *jobOrder) step() bool {
	if o.begun == 0 || o.idle >= o.moves() {
		o.restart()
	} else {
		o.move()
	}
	o.left--
	return o.left > 0
}

// restart begins a local search, the tasks inside the jobs going by turns in one order
// and in the other: the first two of them from what the one before left, later ones near
// the best.
func (o *jobOrder) restart() {
	if o.begun == 0 {
		o.im.between(true)
	} else if o.cost < o.least {
		o.best, o.least = append(o.best[:0], o.order...), o.cost
	}
	if o.begun >= 2 && len(o.best) > 0 {
		o.order = append(o.order[:0], o.best...)
		for range changedPlaces {
			a, b := o.im.rng.IntN(len(o.order)), o.im.rng.IntN(len(o.order))
			o.order[a], o.order[b] = o.order[b], o.order[a]
		}
	}
	o.by = o.begun % 2
	o.begun++
	o.cost, o.idle = math.MaxInt64, 0
	o.trial = append(o.trial[:0], o.order...)
	o.judge()
}

// moves is how many there are: each job to each other place.
func (o *jobOrder) moves() int { return len(o.order) * (len(o.order) - 1) }

// move tries the next job in the next place.
func (o *jobOrder) move() {
	from, to := o.next/(len(o.order)-1), o.next%(len(o.order)-1)
	if to >= from {
		to++
	}
	o.next = (o.next + 1) % o.moves()
	o.idle++
	o.trial = append(o.trial[:0], o.order...)
	shiftIn(o.trial, from, to)
	o.judge()
}

// judge makes the plan of the order that is tried, which becomes the current one if it
// is better.
func (o *jobOrder) judge() {
	o.list = o.list[:0]
	for _, j := range o.trial {
		o.list = append(o.list, o.tasks[o.by][j]...)
	}
	o.list = append(o.list, o.tasks[o.by][len(o.order)]...)
	d := o.im.d
	d.outlook.limit = o.cost
	placed := d.decode(o.list)
	d.outlook.limit = math.MaxInt64
	if !placed {
		return
	}
	if cost := d.value().cost; cost < o.cost {
		o.cost, o.idle = cost, 0
		o.order, o.trial = o.trial, o.order
		o.im.adopt()
	}
}
