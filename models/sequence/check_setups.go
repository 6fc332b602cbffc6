package sequence

import (
	"cmp"
	"fmt"
	"slices"
)

// visit is the stay of one task with a setup on its station: from the beginning
// of its setup until it leaves.
type visit struct {
	stay
	task  *Task
	start int // S
}

// visits lists the visits of a station in the order in which they come. Of
// several that take no time in the same minute the order is still open.
func (c *checker) visits(station string) []visit {
	var list []visit
	for i := range c.p.Tasks {
		t := &c.p.Tasks[i]
		if t.Setup == nil || t.Setup.Resource != station {
			continue
		}
		pt := c.placed[t.ID]
		list = append(list, visit{stay{t.ID, pt.SetupStart, leaves(t, pt)}, t, pt.Start})
	}
	slices.SortStableFunc(list, func(a, b visit) int { return cmp.Or(cmp.Compare(a.from, b.from), cmp.Compare(a.to, b.to)) })
	return list
}

// leaves returns when a task gives back its setup's station: at A, or at E where
// its uses hold the station in unattended time.
func leaves(t *Task, pt PlanTask) int {
	for _, u := range t.Uses {
		if u.Resource == t.Setup.Resource && u.During != Attended {
			return pt.End
		}
	}
	return pt.AttendedEnd
}

// tariff is what the setups of one resource cost.
type tariff struct {
	Setups
	pairs map[[2]string]int
}

func newTariff(s *Setups) tariff {
	t := tariff{Setups: *s, pairs: make(map[[2]string]int, len(s.Pairs))}
	for _, p := range s.Pairs {
		t.pairs[[2]string{p.From, p.To}] = p.Minutes
	}
	return t
}

// minutes returns what it takes to come from one state to another; from "" is
// the unknown initial state.
func (t tariff) minutes(from, to string) int {
	minutes, paired := t.pairs[[2]string{from, to}]
	switch {
	case from == "":
		return 0
	case paired:
		return minutes
	case from == to:
		return 0
	}
	return t.Default
}

// checkStations follows the state of each resource with setups through the plan.
func (c *checker) checkStations() {
	listed := map[string]PlanSetup{}
	for _, s := range c.plan.Setups {
		if _, twice := listed[s.For]; twice {
			c.fail("setups: the plan lists two for task %q", s.For)
		}
		listed[s.For] = s
		if t := c.tasks[s.For]; t == nil || t.Setup == nil {
			c.fail("setups: the plan lists one for %q, which is no task that needs a setup", s.For)
		}
	}
	for i := range c.p.Resources {
		if r := &c.p.Resources[i]; r.Setups != nil {
			c.checkStation(r, listed)
		}
	}
}

// state is the one that a resource is in at the origin, "" where none is known.
func (s *Setups) state() string {
	if s.Initial == nil {
		return ""
	}
	return *s.Initial
}

// inOrder lists the visits of a station in an order in which every setup takes the
// time that the plan gives it, where there is one.
func (c *checker) inOrder(r *Resource) []visit {
	visits := c.visits(r.ID)
	c.settleTies(newTariff(r.Setups), c.setupHours(r.ID), r.Setups.state(), visits)
	return visits
}

func (c *checker) checkStation(r *Resource, listed map[string]PlanSetup) {
	costs, h := newTariff(r.Setups), c.setupHours(r.ID)
	state, visits := r.Setups.state(), c.inOrder(r)
	for i, v := range visits {
		if i > 0 && v.from < visits[i-1].to {
			c.fail("station %q: task %q occupies it from %d, but task %q until %d", r.ID, v.id, v.from, visits[i-1].id, visits[i-1].to)
		}
		c.checkSetup(v, h, costs.minutes(state, v.task.Setup.State), state)
		c.checkListed(v, listed, PlanSetup{Resource: r.ID, From: state, To: v.task.Setup.State, Start: v.from, Minutes: costs.minutes(state, v.task.Setup.State), For: v.id})
		state = v.task.Setup.State
	}
}

// checkSetup wants exactly the minutes of the setup between its start and S, the
// first of them at its start, in one piece where the task cannot be interrupted.
func (c *checker) checkSetup(v visit, h hours, minutes int, state string) {
	if found := h.minutes(v.from, v.start); found != minutes {
		c.fail("setup: task %q needs %d minutes from state %q to %q, but [%d, %d) has %d working minutes", v.id, minutes, state, v.task.Setup.State, v.from, v.start, found)
		return
	}
	pieces := h.within(v.from, v.start)
	switch {
	case minutes == 0 && v.from != v.start:
		c.fail("setup: task %q needs none, but its setup_start %d is not its start %d", v.id, v.from, v.start)
	case minutes > 0 && pieces[0][0] != v.from:
		c.fail("setup: that of task %q begins at %d, but its setup_start is %d", v.id, pieces[0][0], v.from)
	case minutes > 0 && len(pieces) > 1 && !v.task.Interruptible:
		c.fail("interruption: task %q cannot be interrupted, but its setup in [%d, %d) is cut", v.id, v.from, v.start)
	}
}

// checkListed compares the plan's list of setups with what happens. A change of
// state that takes no time may be left out.
func (c *checker) checkListed(v visit, listed map[string]PlanSetup, real PlanSetup) {
	entry, found := listed[v.id]
	switch {
	case !found && real.Minutes > 0:
		c.fail("setups: the plan does not list that of task %q", v.id)
	case found && entry != real:
		c.fail("setups: the plan lists %s, but it is %s", showSetup(entry), showSetup(real))
	case found && real.Minutes == 0 && real.From == real.To:
		c.fail("setups: the plan lists one for task %q, which needs none", v.id)
	}
}

func showSetup(s PlanSetup) string {
	return fmt.Sprintf("%d minutes on %q from %q to %q at %d for task %q", s.Minutes, s.Resource, s.From, s.To, s.Start, s.For)
}

// settleTies brings visits that take no time in the same minute into an order in
// which every setup of the station takes the time that the plan gives it, where
// there is one; else it leaves them as they are. Without such visits it is linear.
func (c *checker) settleTies(costs tariff, h hours, state string, visits []visit) bool {
	if len(visits) == 0 {
		return true
	}
	tried := map[string]bool{}
	for k := 0; k < len(visits) && visits[k].from == visits[0].from && visits[k].to == visits[0].to; k++ {
		next := visits[k]
		if tried[next.task.Setup.State] {
			continue
		}
		tried[next.task.Setup.State] = true
		if costs.minutes(state, next.task.Setup.State) != h.minutes(next.from, next.start) {
			continue
		}
		visits[0], visits[k] = visits[k], visits[0]
		if c.settleTies(costs, h, next.task.Setup.State, visits[1:]) {
			return true
		}
		visits[0], visits[k] = visits[k], visits[0]
	}
	return false
}
