package sequence

import (
	"errors"
	"fmt"
	"slices"
)

// Check tells whether the plan keeps every rule of the file contract for a
// valid problem, and whether what it says of itself (ends, tardiness, setups,
// objective, bound, status) is true. It returns nil, or all that is wrong,
// joined; each error names the tasks and the rule.
//
// It was written from the contract alone and shares nothing with the search: it
// is what the search is trusted by. It takes O(n log n) for n uses, links and
// windows, and the wet times the dusty tasks of a zone.
//
// What Check cannot verify is a proof: that a bound holds or that no plan exists.
// Of a plan that says infeasible it checks only that the conflict names tasks.
func Check(p *Problem, plan *Plan) error {
	if plan.Version != Version {
		return fmt.Errorf("version: the plan is of version %d, not %d", plan.Version, Version)
	}
	switch plan.Status {
	case Optimal, Feasible:
	case Infeasible:
		return checkConflict(p, plan)
	default:
		return fmt.Errorf("status: a plan cannot have the status %q", plan.Status)
	}
	c := newChecker(p, plan)
	c.checkPlaced()
	if len(c.errs) > 0 {
		return errors.Join(c.errs...) // the rest needs every task in its place
	}
	for i := range p.Tasks {
		c.checkTask(&p.Tasks[i])
	}
	c.checkLinks()
	c.checkZones()
	c.checkStations()
	c.checkCapacities()
	c.checkJobs()
	c.checkObjective()
	return errors.Join(c.errs...)
}

// checkConflict checks what a plan that says infeasible says.
func checkConflict(p *Problem, plan *Plan) error {
	known := map[string]bool{}
	for i := range p.Tasks {
		known[p.Tasks[i].ID] = true
	}
	if len(plan.Conflict) == 0 {
		return errors.New("conflict: a plan that says infeasible names no tasks")
	}
	for _, id := range plan.Conflict {
		if !known[id] {
			return fmt.Errorf("conflict: no task has the id %q", id)
		}
	}
	return nil
}

// checker holds a problem and a plan, indexed, and what is wrong so far.
type checker struct {
	p         *Problem
	plan      *Plan
	resources map[string]*Resource
	tasks     map[string]*Task
	weights   map[string]int // of the jobs
	placed    map[string]PlanTask
	calendars map[string]hours // by name
	shared    map[string]hours // common to sets of resources met so far
	errs      []error
}

func newChecker(p *Problem, plan *Plan) *checker {
	c := &checker{p: p, plan: plan, resources: map[string]*Resource{}, tasks: map[string]*Task{}, weights: map[string]int{},
		placed: map[string]PlanTask{}, calendars: map[string]hours{}, shared: map[string]hours{}}
	for i := range p.Resources {
		c.resources[p.Resources[i].ID] = &p.Resources[i]
	}
	for i := range p.Tasks {
		c.tasks[p.Tasks[i].ID] = &p.Tasks[i]
	}
	for _, j := range p.Jobs {
		c.weights[j.ID] = j.Weight
	}
	for _, pt := range plan.Tasks {
		c.placed[pt.ID] = pt
	}
	for name, windows := range p.Calendars {
		c.calendars[name] = newHours(windows)
	}
	return c
}

func (c *checker) fail(format string, args ...any) {
	c.errs = append(c.errs, fmt.Errorf(format, args...))
}

// checkPlaced wants every task exactly once.
func (c *checker) checkPlaced() {
	times := map[string]int{}
	for _, pt := range c.plan.Tasks {
		times[pt.ID]++
		if c.tasks[pt.ID] == nil {
			c.fail("tasks: the plan places %q, which is no task", pt.ID)
		}
	}
	for i := range c.p.Tasks {
		if id := c.p.Tasks[i].ID; times[id] != 1 {
			c.fail("tasks: the plan places task %q %d times, not once", id, times[id])
		}
	}
}

// calendar returns the hours of a calendar; without a name, around the clock.
func (c *checker) calendar(name string) hours {
	if name == "" {
		return aroundTheClock
	}
	return c.calendars[name]
}

// common returns the hours common to the calendars of the named resources.
func (c *checker) common(resources ...string) hours {
	var names []string
	for _, id := range resources {
		names = append(names, c.resources[id].Calendar)
	}
	slices.Sort(names)
	names = slices.Compact(names)
	key := fmt.Sprintf("%q", names)
	if h, known := c.shared[key]; known {
		return h
	}
	h := aroundTheClock
	for _, name := range names {
		h = h.and(c.calendar(name))
	}
	c.shared[key] = h
	return h
}

// attendedHours are the minutes in which the task's attended time runs: common to
// all resources it uses from S to A, the station of its setup among them.
func (c *checker) attendedHours(t *Task) hours {
	var used []string
	for _, u := range t.Uses {
		if u.During != Unattended {
			used = append(used, u.Resource)
		}
	}
	if t.Setup != nil {
		used = append(used, t.Setup.Resource)
	}
	return c.common(used...)
}

// setupHours are the minutes in which a setup of the station runs: common to the
// station and the hands of its setups.
func (c *checker) setupHours(station string) hours {
	if hands := c.resources[station].Setups.Hands; hands != nil {
		return c.common(station, hands.Resource)
	}
	return c.common(station)
}

// checkTask checks the task's own times: setup, attended and unattended time,
// release, deadline, fixed start and horizon.
func (c *checker) checkTask(t *Task) {
	pt := c.placed[t.ID]
	if pt.SetupStart < 0 || pt.SetupStart > pt.Start || pt.Start > pt.AttendedEnd || pt.AttendedEnd > pt.End {
		c.fail("order of times: task %q has setup_start %d, start %d, attended_end %d, end %d", t.ID, pt.SetupStart, pt.Start, pt.AttendedEnd, pt.End)
		return
	}
	c.checkAttended(t, pt)
	if t.Setup == nil && pt.SetupStart != pt.Start {
		c.fail("setup: task %q needs none, but its setup_start %d is not its start %d", t.ID, pt.SetupStart, pt.Start)
	}
	if pt.End != pt.AttendedEnd+t.Unattended {
		c.fail("unattended time: task %q ends at %d, not %d minutes after %d", t.ID, pt.End, t.Unattended, pt.AttendedEnd)
	}
	if pt.Start < t.Release {
		c.fail("release: task %q starts at %d, before %d", t.ID, pt.Start, t.Release)
	}
	if t.Deadline != nil && pt.End > *t.Deadline {
		c.fail("deadline: task %q ends at %d, after %d", t.ID, pt.End, *t.Deadline)
	}
	if t.Start != nil && pt.Start != *t.Start {
		c.fail("start: task %q starts at %d, not at %d", t.ID, pt.Start, *t.Start)
	}
	if pt.End > c.p.Horizon {
		c.fail("horizon: task %q ends at %d, after %d", t.ID, pt.End, c.p.Horizon)
	}
}

// checkAttended wants exactly the attended minutes between S and A, the last
// minute before A among them, and the first one at S unless S is fixed; one
// piece of them where the task cannot be interrupted.
func (c *checker) checkAttended(t *Task, pt PlanTask) {
	h := c.attendedHours(t)
	pieces := h.within(pt.Start, pt.AttendedEnd)
	if worked := h.minutes(pt.Start, pt.AttendedEnd); worked != t.Attended {
		c.fail("attended time: task %q has %d working minutes in [%d, %d), not %d", t.ID, worked, pt.Start, pt.AttendedEnd, t.Attended)
		return
	}
	if t.Attended == 0 {
		if pt.AttendedEnd != pt.Start {
			c.fail("attended time: task %q has none, but its attended_end %d is not its start %d", t.ID, pt.AttendedEnd, pt.Start)
		}
		return
	}
	if last := pieces[len(pieces)-1]; last[1] != pt.AttendedEnd {
		c.fail("attended time: task %q is done at %d, but its attended_end is %d", t.ID, last[1], pt.AttendedEnd)
	}
	if !t.Interruptible && pt.AttendedEnd-pt.Start != t.Attended {
		c.fail("interruption: task %q cannot be interrupted, but its attended time [%d, %d) is cut", t.ID, pt.Start, pt.AttendedEnd)
	}
	if pieces[0][0] != pt.Start && t.Start == nil {
		c.fail("attended time: task %q starts at %d, which is no working minute", t.ID, pt.Start)
	}
}

// checkLinks checks least and greatest lags.
func (c *checker) checkLinks() {
	for _, l := range c.p.Links {
		before, start := c.placed[l.Before], c.placed[l.After].Start
		from, name := before.End, "end"
		switch l.From {
		case FromStart:
			from, name = before.Start, "start"
		case FromAttended:
			from, name = before.AttendedEnd, "attended_end"
		}
		if start < from+l.Min {
			c.fail("link: task %q starts at %d, less than %d minutes after the %s %d of task %q", l.After, start, l.Min, name, from, l.Before)
		}
		if l.Max != nil && start > from+*l.Max {
			c.fail("link: task %q starts at %d, more than %d minutes after the %s %d of task %q", l.After, start, *l.Max, name, from, l.Before)
		}
	}
}

// stay is the time a task spends somewhere.
type stay struct {
	id       string
	from, to int
}

// overlap tells whether two stays share a minute.
func (s stay) overlap(other stay) bool { return max(s.from, other.from) < min(s.to, other.to) }

// checkZones lets nothing dusty run while something is wet in the same zone.
func (c *checker) checkZones() {
	wet, dusty := map[string][]stay{}, map[string][]stay{}
	for i := range c.p.Tasks {
		t := &c.p.Tasks[i]
		if t.Zone == nil {
			continue
		}
		pt := c.placed[t.ID]
		if t.Zone.Kind == Wet {
			wet[t.Zone.Name] = append(wet[t.Zone.Name], stay{t.ID, pt.Start, pt.End})
		} else {
			dusty[t.Zone.Name] = append(dusty[t.Zone.Name], stay{t.ID, pt.Start, pt.AttendedEnd})
		}
	}
	for _, zone := range c.p.Zones {
		for _, w := range wet[zone] {
			for _, d := range dusty[zone] {
				if w.overlap(d) {
					c.fail("zone %q: task %q is wet in [%d, %d) while task %q raises dust in [%d, %d)", zone, w.id, w.from, w.to, d.id, d.from, d.to)
				}
			}
		}
	}
}

// checkObjective recomputes the objective and looks at bound and status.
func (c *checker) checkObjective() {
	if objective := c.p.Objective.Of(c.terms()); objective != c.plan.Objective {
		c.fail("objective: it is %d, the plan says %d", objective, c.plan.Objective)
	}
	if c.plan.Bound > c.plan.Objective {
		c.fail("bound: %d is above the objective %d", c.plan.Bound, c.plan.Objective)
	}
	if c.plan.Status == Optimal && c.plan.Bound != c.plan.Objective {
		c.fail("status: the plan says optimal, but its bound %d is not its objective %d", c.plan.Bound, c.plan.Objective)
	}
}
