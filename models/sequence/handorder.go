package sequence

import "slices"

// mostInHand bounds the tasks of a resource that are put in order two by two.
const mostInHand = 120

// addHandOrders orders every two tasks that only one pair of hands does, one task at a
// time: attended time and setups go one after the other there even where a night cuts
// them.
func (e *exact) addHandOrders() {
	m := e.m
	for r := range m.resources {
		if m.resources[r].capacity != 1 || m.resources[r].clock == nil {
			continue
		}
		if inHand := m.inHand(r); len(inHand) <= mostInHand {
			for _, i := range inHand {
				for _, j := range inHand {
					e.addHandOrder(r, i, j)
				}
			}
		}
	}
}

// inHand are the tasks that a resource attends to during all its hours, without a gap.
func (m *model) inHand(r int) []int32 {
	var tasks []int32
	for t := range m.tasks {
		w := &m.tasks[t]
		attends := func(u hold) bool { return u.res == r && u.span != unattendedSpan }
		if w.clock == m.resources[r].clock && w.att > 0 && slices.ContainsFunc(w.uses, attends) {
			tasks = append(tasks, int32(t))
		}
	}
	return tasks
}

// addHandOrder lets a task, and its setup where resource r does that, wait for another
// where that comes before it; links that order them already do that themselves.
func (e *exact) addHandOrder(r int, i, j int32) {
	if i == j || e.linked(i, j) {
		return
	}
	a := arc{kind: arcFollow, guarded: true, guard: e.before(i, j), i: i, j: j, x: e.start[i], y: e.start[j], from: atAttended, extra: -1}
	if s := e.m.tasks[j].station; s >= 0 && e.m.resources[s].setups.hands == r {
		a.kind, a.extra = arcVisit, e.setup[j]
	}
	e.arcs = append(e.arcs, a)
}
