package sequence

import "sync/atomic"

// previous tells whether people have seen a plan.
func (m *model) previous() bool {
	for t := range m.tasks {
		if m.tasks[t].seen() {
			return true
		}
	}
	return false
}

// keptOrder is the order of the previous plan: what starts at a given time first,
// what was in no plan last.
func (m *model) keptOrder() []int {
	return m.sortedBy(func(t int) [2]int {
		switch w := &m.tasks[t]; {
		case w.fixed >= 0:
			return [2]int{-never, w.fixed}
		case w.seen():
			return [2]int{w.prev, 0}
		}
		return [2]int{never, m.early[t]}
	})
}

// keepPrevious mends the previous plan in several ways, each of one schedule or a few,
// and takes the best. Every task keeps its place in the order, and either its start,
// if it can, or only the order; on its setup's station it goes behind the others, or in
// between them where there is room. Or all that can stay stays, and the others go where
// there is room between them.
func (im *improver) keepPrevious(tails []int, stop *atomic.Bool) {
	m := im.d.m
	order := m.sortedBy(func(t int) [2]int {
		if w := &m.tasks[t]; w.seen() {
			return [2]int{w.prev, m.early[t]}
		}
		return [2]int{m.early[t], m.dueOf(t) - tails[t]}
	})
	if m.weights.Moved > 0 {
		im.try(order)
		staying := im.staying(order)
		im.between(true)
		im.try(staying)
		im.try(order)
		im.setStick(make([]bool, len(im.stick)))
	}
	im.between(true)
	im.try(order)
	im.between(false)
	for _, list := range [][]int{order, m.keptOrder()} {
		if !im.try(list) && !im.solved && im.d.rescue(list, rescueTries, stop) {
			im.adopt()
		}
	}
}

// between lets tasks go in between others on their setup's station, or not.
func (im *improver) between(others bool) { im.d.last, im.d.dirty = !others, true }

// try takes the schedule of a list if it is the best so far.
func (im *improver) try(list []int) bool {
	if !im.d.decode(list) {
		return false
	}
	im.adopt()
	return true
}

// staying is an order with those first that can stay where they were, each behind
// what it waits for.
func (im *improver) staying(order []int) []int {
	d := im.d
	d.arrange(order)
	d.reset()
	d.dirty = true
	list, others := make([]int, 0, len(order)), []int{}
	away := make([]bool, len(order))
	for _, t := range d.next {
		away[t] = !d.stays(t, away)
		if away[t] {
			others = append(others, t)
		} else {
			list = append(list, t)
		}
	}
	return append(list, others...)
}

// stays places a task where it was, or where it is given to be, if it can be there
// and nothing that it waits for is away.
func (d *decoder) stays(t int, away []bool) bool {
	w := &d.m.tasks[t]
	if w.fixed < 0 && !w.seen() {
		return false
	}
	for _, b := range d.before[t] {
		if away[b] {
			return false
		}
	}
	lo, hi := d.window(t)
	at := d.find(t, lo, hi)
	if at > hi || w.fixed < 0 && d.m.moved(w, at) {
		return false
	}
	d.put(t, at)
	return true
}
