package sequence

import "slices"

// bounds computes the earliest and latest start of every task from releases,
// deadlines, fixed starts, calendars and links, and notes the tasks that leave
// no room for each other or for themselves.
func (m *model) bounds() {
	n := len(m.tasks)
	m.early, m.late, m.minEnd = make([]int, n), make([]int, n), make([]int, n)
	raised, lowered := make([]int, n), make([]int, n)
	for i := range m.tasks {
		w := &m.tasks[i]
		raised[i], lowered[i] = -1, -1
		m.early[i], m.late[i] = w.nextStart(max(0, w.release)), w.lastStartBy(w.last-w.unatt)
		if w.fixed >= 0 {
			m.early[i], m.late[i] = w.nextStart(max(w.fixed, m.early[i])), min(w.fixed, m.late[i])
		}
		for _, u := range w.uses {
			if u.amount > m.resources[u.res].capacity {
				m.late[i] = -1
			}
		}
	}
	if m.broken = m.positiveCycle(); m.broken == nil {
		m.settle(raised, lowered)
	}
	for i := range m.tasks {
		if m.early[i] < never {
			m.minEnd[i] = m.tasks[i].end(m.early[i])
		}
	}
}

// settle carries bounds along links until nothing changes, a task has no start
// left, or so much was carried that bounds must be creeping up minute by minute
// (they hold all the same); raised and lowered name the task that gave the last
// change.
func (m *model) settle(raised, lowered []int) {
	n := len(m.tasks)
	queue, queued := make([]int, 0, n), make([]bool, n)
	push := func(i int) {
		if !queued[i] {
			queued[i] = true
			queue = append(queue, i)
		}
	}
	for i := 0; i < n; i++ {
		push(i)
	}
	raise := func(i, to, by int) {
		if to = m.tasks[i].nextStart(to); to > m.early[i] {
			m.early[i], raised[i] = to, by
			push(i)
		}
	}
	lower := func(i, to, by int) {
		if to < m.late[i] {
			m.late[i], lowered[i] = to, by
			push(i)
		}
	}
	for left := 100_000 + 100*n; len(queue) > 0 && left > 0; left-- {
		if left&63 == 0 && m.halted() {
			return
		}
		i := queue[0]
		queue = queue[1:]
		queued[i] = false
		if m.early[i] > m.late[i] {
			m.broken = chain(i, raised, lowered)
			return
		}
		for _, k := range m.tasks[i].out {
			l := &m.links[k]
			raise(l.after, m.tasks[i].point(l.from, m.early[i])+l.min, i)
			if l.max < never {
				lower(l.after, m.tasks[l.after].prevStart(m.tasks[i].point(l.from, m.late[i])+l.max), i)
			}
		}
		for _, k := range m.tasks[i].in {
			l := &m.links[k]
			lower(l.before, m.tasks[l.before].lastStartFor(l.from, m.late[i]-l.min), i)
			if l.max < never {
				raise(l.before, m.tasks[l.before].firstStartOf(l.from, m.early[i]-l.max), i)
			}
		}
	}
}

// chain collects the tasks whose bounds led to task i having no start left, i first.
func chain(i int, raised, lowered []int) []int {
	tasks, seen := []int{i}, map[int]bool{i: true}
	for _, by := range [][]int{raised, lowered} {
		for k := by[i]; k >= 0 && !seen[k]; k = by[k] {
			seen[k] = true
			tasks = append(tasks, k)
		}
	}
	return tasks
}

// lowerBound is a bound of the whole objective from the earliest ends of the
// jobs and from the work that each resource has to do.
func (m *model) lowerBound() int64 {
	var sum int64
	makespan := 0
	for i := range m.tasks {
		makespan = max(makespan, m.minEnd[i])
	}
	for j := range m.jobs {
		end := 0
		for _, t := range m.jobs[j].tasks {
			end = max(end, m.minEnd[t])
		}
		sum += m.jobCost(&m.jobs[j], end)
	}
	if m.weights.Makespan > 0 {
		tails := m.tailsWithin(false)
		for r := range m.resources {
			makespan = max(makespan, m.workEnd(r), m.lineEnd(r, tails))
		}
		sum += m.weights.Makespan * int64(makespan)
	}
	for i := range m.tasks {
		w := &m.tasks[i]
		if w.seen() && (m.early[i] > w.prev+m.tolerance || m.late[i] < w.prev-m.tolerance) {
			sum += m.weights.Moved
		}
	}
	return sum
}

// lineEnd is the earliest time by which all can be over that goes through resource r
// one after the other: each has a head and a tail, and may be broken off and gone on
// with, which one with a longer tail does to one with a shorter (Jackson's rule; the
// bound of Carlier, "The one-machine sequencing problem", EJOR 11, 1982). O(uses²).
func (m *model) lineEnd(r int, tails []int) int {
	type use struct{ head, left, tail int }
	var uses []use
	for i := range m.tasks {
		w := &m.tasks[i]
		for _, u := range w.uses {
			if u.res != r || 2*u.amount <= m.resources[r].capacity || u.span != attendedSpan && u.span != wholeSpan {
				continue
			}
			long := w.att
			if u.span == wholeSpan {
				long += w.unatt
			}
			uses = append(uses, use{m.early[i], long, tails[i] - long})
			break
		}
	}
	slices.SortFunc(uses, func(a, b use) int { return a.head - b.head })
	end, now := 0, 0
	for came := 0; ; {
		if m.halted() {
			return end // what is over by then bounds, too
		}
		for came < len(uses) && uses[came].head <= now {
			came++
		}
		pick := -1
		for i := range uses[:came] {
			if uses[i].left > 0 && (pick < 0 || uses[i].tail > uses[pick].tail) {
				pick = i
			}
		}
		switch {
		case pick >= 0:
			u := &uses[pick]
			long := u.left
			if came < len(uses) {
				long = min(long, uses[came].head-now)
			}
			now, u.left = now+long, u.left-long
			end = max(end, now+u.tail)
		case came < len(uses):
			now = uses[came].head
		default:
			return end
		}
	}
}

// workEnd is the earliest time by which resource r can have done all attended
// work and the tails after it be over: energy over capacity.
func (m *model) workEnd(r int) int {
	energy, head, tail := 0, never, never
	for i := range m.tasks {
		w := &m.tasks[i]
		for _, u := range w.uses {
			if u.res != r || u.span == unattendedSpan {
				continue
			}
			energy += u.amount * w.att
			head = min(head, m.early[i])
			tail = min(tail, w.unatt)
		}
	}
	capacity := m.resources[r].capacity
	if energy == 0 || capacity <= 0 {
		return 0
	}
	return m.resources[r].clock.finish(head, (energy+capacity-1)/capacity) + tail
}
