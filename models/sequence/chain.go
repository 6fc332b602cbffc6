package sequence

import (
	"fmt"
	"slices"
)

// Earliest returns when a job of a valid problem can end at the earliest by links,
// calendars, releases and given starts alone, as if it had everything to itself, and
// the chain of tasks that sets this: each follows the one before it as soon as it can,
// or waits for it because of a greatest lag, and the last one ends then. Nothing is
// tried; O(tasks + links).
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
	c := chainer{m: m, seen: make([]bool, len(m.tasks))}
	c.back(last)
	slices.Reverse(c.chain)
	for _, t := range c.chain {
		chain = append(chain, m.tasks[t].id)
	}
	return m.minEnd[last], chain, nil
}

// chainer looks for a chain from a task back to one that starts as early as it could
// alone. A greatest lag makes a task wait for what comes after it: the chain then goes
// on from there.
type chainer struct {
	m     *model
	seen  []bool
	chain []int
}

// back extends the chain to a task and on to one that nothing holds back; false where
// that is not found. Each task is looked at once.
func (c *chainer) back(t int) bool {
	m, w := c.m, &c.m.tasks[t]
	c.seen[t] = true
	c.chain = append(c.chain, t)
	if m.early[t] == w.nextStart(max(0, w.release)) || w.fixed >= 0 {
		return true
	}
	for _, k := range w.in {
		l := &m.links[k]
		if !c.seen[l.before] && w.nextStart(m.tasks[l.before].point(l.from, m.early[l.before])+l.min) == m.early[t] && c.back(l.before) {
			return true
		}
	}
	for _, k := range w.out {
		l := &m.links[k]
		if !c.seen[l.after] && l.max < never && w.nextStart(w.firstStartOf(l.from, m.early[l.after]-l.max)) == m.early[t] && c.back(l.after) {
			return true
		}
	}
	if len(c.chain) > 1 {
		c.chain = c.chain[:len(c.chain)-1]
	}
	return false
}
