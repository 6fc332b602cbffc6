package sequence

import (
	"context"
	"fmt"
	"slices"
	"sort"
	"sync/atomic"
)

// Rule names a way to choose the next task without looking ahead: what a shop
// does that has no plan. All rules keep every constraint of the problem.
type Rule string

const (
	// ByPromise does whole jobs one after the other, the earliest due first.
	ByPromise Rule = "commission-by-commission"
	// EarliestPromise takes, of the tasks that can start next, the one whose job
	// is due first (dispatching by earliest due date).
	EarliestPromise Rule = "earliest-promise"
	// NearestSetup takes, of the tasks that can start next, the one whose setup
	// is shortest, then the one due first.
	NearestSetup Rule = "nearest-setup"
	// LeastSlack takes, of the tasks that can start next, the one with the least
	// time between its start and the latest start that keeps its job's due time.
	LeastSlack Rule = "least-slack"
	// LongestTail takes, of the tasks that can start next, the one with the longest
	// chain of tasks behind it.
	LongestTail Rule = "longest-tail"
)

// Dispatch makes one plan by a rule, without search. Where greatest lags or
// deadlines leave a task without a place, tasks are put off or the order is
// changed until all fit; an error says that this failed. The plan's Bound is
// the simple bound of the problem.
func Dispatch(ctx context.Context, p *Problem, rule Rule) (*Plan, error) {
	bound := int64(0)
	d, err := placed(ctx, p, fmt.Sprintf("rule %s", rule), func(d *decoder, stop *atomic.Bool) (bool, error) {
		bound = d.m.lowerBound()
		return d.ruled(rule, 20*len(d.m.tasks)+200, stop)
	})
	if err != nil {
		return nil, err
	}
	plan := d.m.plan(d.answer())
	plan.Status, plan.Bound = Feasible, bound
	if plan.Bound == plan.Objective {
		plan.Status = Optimal
	}
	plan.Stats.Schedules = d.count
	return plan, nil
}

// ruled makes the schedule of a rule. Where it leaves a task without a place its list is
// changed, so many times at most; false if that was not enough.
func (d *decoder) ruled(rule Rule, tries int, stop *atomic.Bool) (bool, error) {
	d.last = true
	list, err := d.ruleList(rule, stop)
	if err != nil || stop.Load() {
		return false, err
	}
	return d.hasten(list, stop) || d.rescue(list, tries, stop), nil
}

func (d *decoder) ruleList(rule Rule, stop *atomic.Bool) ([]int, error) {
	m := d.m
	switch rule {
	case ByPromise:
		return m.jobList(), nil
	case EarliestPromise:
		return d.dispatch(stop, func(t, _ int) [2]int { return [2]int{m.dueOf(t), 0} }), nil
	case NearestSetup:
		return d.dispatch(stop, func(t, setup int) [2]int { return [2]int{setup, m.dueOf(t)} }), nil
	case LeastSlack:
		tails := m.tails()
		return d.dispatch(stop, func(t, _ int) [2]int { return [2]int{m.dueOf(t) - tails[t], 0} }), nil
	case LongestTail:
		tails := m.tails()
		return d.dispatch(stop, func(t, _ int) [2]int { return [2]int{-tails[t], m.dueOf(t)} }), nil
	}
	return nil, fmt.Errorf("there is no rule %q", rule)
}

func (m *model) dueOf(t int) int {
	if j := m.tasks[t].job; j >= 0 && m.jobs[j].due < never {
		return m.jobs[j].due
	}
	return 2 * m.horizon
}

// tails returns for each task roughly the minutes from its start to the end of
// the chain of links behind it, attended time stretched as much as closed hours
// stretch it on average.
func (m *model) tails() []int {
	stretched := func(t int) int {
		w := &m.tasks[t]
		if w.clock != nil && w.clock.total > 0 {
			return w.att * max(1, m.horizon/w.clock.total)
		}
		return w.att
	}
	return m.longestBehind(stretched, func(_ int, l *lag) bool { return l.min >= 0 })
}

// sortedBy returns all tasks in order of a key, smaller first.
func (m *model) sortedBy(key func(t int) [2]int) []int {
	list := make([]int, len(m.tasks))
	keys := make([][2]int, len(m.tasks))
	for i := range list {
		list[i], keys[i] = i, key(i)
	}
	sort.SliceStable(list, func(a, b int) bool {
		x, y := keys[list[a]], keys[list[b]]
		return x[0] < y[0] || x[0] == y[0] && x[1] < y[1]
	})
	return list
}

// jobList is the list of whole jobs in order of due, inside a job by earliest start.
func (m *model) jobList() []int {
	rank := make([]int, len(m.jobs)+1)
	order := make([]int, len(m.jobs))
	for j := range order {
		order[j] = j
	}
	sort.SliceStable(order, func(a, b int) bool { return m.jobs[order[a]].due < m.jobs[order[b]].due })
	for i, j := range order {
		rank[j] = i
	}
	return m.sortedBy(func(t int) [2]int {
		if j := m.tasks[t].job; j >= 0 {
			return [2]int{rank[j], m.early[t]}
		}
		return [2]int{len(m.jobs), m.early[t]}
	})
}

// hasten changes a list in which tasks come so late that the greatest lag behind another
// one has run out: they follow that one at once, with all that they wait for. Those that
// come too late even so put it off. Every task is brought forward once at most.
func (d *decoder) hasten(list []int, stop *atomic.Bool) bool {
	d.hastened = make([]bool, len(list))
	defer func() { d.hastened = nil }()
	for list = slices.Clone(list); !stop.Load(); {
		if d.decode(list) {
			return true
		}
		t := d.failed
		if t < 0 || d.hastened[t] {
			return false
		}
		lo, hi := d.window(t)
		behind, _ := d.holder(t, max(lo, d.seek(t, lo, hi, d.last)))
		if behind < 0 {
			return false
		}
		d.hastened[t] = true
		list = slices.DeleteFunc(append(list[:0], d.order...), func(u int) bool { return u == t })
		list = slices.Insert(list, slices.Index(list, behind)+1, t)
	}
	return false
}

// rescueTries is how many lists rescue tries as a rule. Dispatch, which has nothing else to
// fall back on, tries more.
const rescueTries = 30

// rescue changes a list in which some task found no place: that task, and the
// tasks it waits for, come forward further each time it fails. It tries at most
// so many lists.
func (d *decoder) rescue(list []int, tries int, stop *atomic.Bool) bool {
	list = append([]int(nil), list...)
	failures := make([]int, len(list))
	for ; tries > 0 && !stop.Load(); tries-- {
		t := d.failed
		failures[t]++
		pos := slices.Index(d.order, t)
		copy(list, d.order)
		to := max(0, pos-1<<min(20, failures[t]))
		copy(list[to+1:pos+1], list[to:pos])
		list[to] = t
		if d.decode(list) {
			return true
		}
	}
	return false
}
