package sequence

import (
	"fmt"
	"slices"
)

// Earliest returns when a job of a valid problem can end at the earliest by links,
// calendars, releases and given starts alone, as if it had everything to itself, and
// the chain of its tasks that sets this: each follows the one before it as soon as it
// can, and the last one ends then. Nothing is tried; O(tasks + links).
func Earliest(p *Problem, job string) (end int, chain []string, err error) {
	if err := p.Validate(); err != nil {
		return 0, nil, err
	}
	m := compile(p, nil)
	last := -1
	for t := range m.tasks {
		if j := m.tasks[t].job; j >= 0 && m.jobs[j].id == job && m.early[t] < never && (last < 0 || m.minEnd[t] > m.minEnd[last]) {
			last = t
		}
	}
	if last < 0 {
		return 0, nil, fmt.Errorf("job %q has no task that has a place", job)
	}
	seen := make([]bool, len(m.tasks))
	for t := last; t >= 0 && !seen[t]; t = m.pusher(t) {
		seen[t] = true
		chain = append(chain, m.tasks[t].id)
	}
	slices.Reverse(chain)
	return m.minEnd[last], chain, nil
}

// pusher returns the task behind which another starts at the earliest; -1 where no
// task sets that.
func (m *model) pusher(t int) int {
	w := &m.tasks[t]
	if m.early[t] == w.nextStart(max(0, w.release)) {
		return -1
	}
	for _, k := range w.in {
		l := &m.links[k]
		if b := &m.tasks[l.before]; l.before != t && w.nextStart(b.point(l.from, m.early[l.before])+l.min) == m.early[t] {
			return l.before
		}
	}
	return -1
}
