package sequence

import (
	"cmp"
	"fmt"
	"slices"
)

// Room is how far the start of one task may slip.
type Room struct {
	Task   string  `json:"task"`
	Floats []Float `json:"floats"` // one for each job with a due time, in the problem's order
}

// Float is the latest start of a task by which one job does not end after its due time,
// or no later still where the plan ends it after that.
type Float struct {
	Job    string `json:"job"`
	Latest int    `json:"latest"`
}

// Floats says for every task of a plan how far it may slip, while everything else
// slips only as far as it is pushed and every order is kept: of any two tasks that
// want the same resource, station or air, the one that is through before the other
// begins stays before it. All tasks at their latest starts for one job are a plan
// again. Another order may leave more room. Given starts, deadlines, greatest lags
// and the horizon are kept too. Where a resource is used in the gaps of a task that
// is cut, all that use it stay where they are.
// It takes time linear in jobs × ties, of which there are as many as tasks that
// follow each other directly, and in the square of the tasks.
func Floats(p *Problem, plan *Plan) ([]Room, error) {
	if err := p.Validate(); err != nil {
		return nil, err
	}
	if plan.Status != Optimal && plan.Status != Feasible {
		return nil, fmt.Errorf("floats: the plan's status is %q, so it places no tasks", plan.Status)
	}
	if err := Check(p, plan); err != nil {
		return nil, fmt.Errorf("floats: %w", err)
	}
	o := newTies(newExplainer(p, plan))
	rooms := make([]Room, len(p.Tasks))
	for t := range p.Tasks {
		rooms[t] = Room{Task: p.Tasks[t].ID, Floats: []Float{}}
	}
	for j := range p.Jobs {
		if p.Jobs[j].Due == nil {
			continue
		}
		for t, latest := range o.latest(j) {
			rooms[t].Floats = append(rooms[t].Floats, Float{p.Jobs[j].ID, latest})
		}
	}
	return rooms, nil
}

// tie keeps a moment of one task so long after a moment of another.
type tie struct {
	before, after int
	from, to      moment
	lag           int
}

// ties are those of a plan's orders, and the tasks that must not move at all.
type ties struct {
	*explainer
	list  []tie
	stuck []bool
}

func newTies(x *explainer) *ties {
	o := &ties{explainer: x, stuck: make([]bool, len(x.m.tasks))}
	for t := range x.m.tasks {
		o.stuck[t] = x.m.tasks[t].fixed >= 0
	}
	for _, l := range x.m.links {
		if l.before == l.after {
			o.stuck[l.before] = true // when it is cut may hang on its start
			continue
		}
		o.list = append(o.list, tie{l.before, l.after, l.from, atStart, l.min})
		if l.max < never {
			o.list = append(o.list, tie{l.after, l.before, atStart, l.from, -l.max})
		}
	}
	o.ofResources()
	o.ofStations()
	o.ofZones()
	slices.SortStableFunc(o.list, func(a, b tie) int { return cmp.Compare(x.start[b.after], x.start[a.after]) })
	return o
}

// holding is the stay of one task with a resource, gaps included.
type holding struct {
	task     int
	from, to moment
	amount   int
}

// at is when a moment of a task is that starts at a time.
func (o *ties) at(t int, k moment, start int) int {
	w := &o.m.tasks[t]
	switch {
	case k != atSetup:
		return w.point(k, start)
	case w.station < 0:
		return start
	}
	from, _ := w.setupStart(o.m.resources[w.station].setups.clock, start, o.setup[t])
	return from
}

// holdings lists who holds what, by resource.
func (o *ties) holdings() [][]holding {
	all := make([][]holding, len(o.m.resources))
	for t := range o.m.tasks {
		w := &o.m.tasks[t]
		for _, u := range w.uses {
			h := holding{t, atStart, atAttended, u.amount}
			switch u.span {
			case unattendedSpan:
				h.from, h.to = atAttended, atEnd
			case wholeSpan:
				h.to = atEnd
			}
			all[u.res] = append(all[u.res], h)
		}
		if w.station >= 0 && o.setup[t] > 0 {
			all[w.station] = append(all[w.station], holding{t, atSetup, atStart, 1})
			if c := o.m.resources[w.station].setups; c.hands >= 0 {
				all[c.hands] = append(all[c.hands], holding{t, atSetup, atStart, c.amount})
			}
		}
	}
	return all
}

// ofResources keeps of any two holdings the order in which they are. At no time are
// then others together than were together before: stays without gaps that meet in
// pairs all meet at once.
func (o *ties) ofResources() {
	for r, all := range o.holdings() {
		var whole profile
		whole.reset()
		sum, stays := 0, make([]Window, len(all))
		for i, h := range all {
			stays[i] = Window{o.at(h.task, h.from, o.start[h.task]), o.at(h.task, h.to, o.start[h.task])}
			whole.add(stays[i][0], stays[i][1], h.amount)
			sum += h.amount
		}
		switch capacity := o.m.resources[r].capacity; {
		case sum <= capacity:
		case whole.blocked(0, never, capacity) >= 0:
			for _, h := range all {
				o.stuck[h.task] = true
			}
		default:
			o.keepApart(all, stays)
		}
	}
}

// keepApart ties each holding to those that follow it with none wholly in between:
// what comes after such a one is tied to that.
func (o *ties) keepApart(all []holding, stays []Window) {
	for i, a := range all {
		next := never // the end of the first that is over
		for k := range all {
			if k != i && stays[k][0] >= stays[i][1] {
				next = min(next, stays[k][1])
			}
		}
		for k, b := range all {
			if a.task != b.task && stays[i][1] <= stays[k][0] && stays[k][0] < next {
				o.list = append(o.list, tie{before: a.task, after: b.task, from: a.to, to: b.from})
			}
		}
	}
}

func (o *ties) ofStations() {
	for _, seq := range o.seq {
		for i := 1; i < len(seq); i++ {
			before := int(seq[i-1])
			o.list = append(o.list, tie{before: before, after: int(seq[i]), from: o.m.leavePoint(before), to: atSetup})
		}
	}
}

func (o *ties) ofZones() {
	for w := range o.m.tasks {
		for d := range o.m.tasks {
			if wet, dusty := &o.m.tasks[w], &o.m.tasks[d]; wet.zone < 0 || wet.zone != dusty.zone || !wet.wet || dusty.wet {
				continue
			}
			switch {
			case o.att[d] <= o.start[w]:
				o.list = append(o.list, tie{before: d, after: w, from: atAttended, to: atStart})
			case o.end[w] <= o.start[d]:
				o.list = append(o.list, tie{before: w, after: d, from: atEnd, to: atStart})
			}
		}
	}
}

// latest returns the latest starts that keep every order and the end of a job.
func (o *ties) latest(job int) []int {
	starts := make([]int, len(o.m.tasks))
	end := o.m.jobs[job].due
	for _, t := range o.m.jobs[job].tasks {
		end = max(end, o.end[t])
	}
	for t := range starts {
		w := &o.m.tasks[t]
		by := w.last
		if w.job == job {
			by = min(by, end)
		}
		starts[t] = o.fit(t, w.lastStartBy(by-w.unatt))
	}
	for changed := true; changed; {
		changed = false
		for i := range o.list {
			k := &o.list[i]
			by := o.at(k.after, k.to, starts[k.after]) - k.lag
			if o.at(k.before, k.from, starts[k.before]) <= by {
				continue
			}
			if to := o.fit(k.before, o.m.tasks[k.before].lastStartFor(k.from, by)); to < starts[k.before] {
				starts[k.before], changed = to, true
			}
		}
	}
	return starts
}

// fit is the last start up to a time before which the task's setup has a place. The
// plan's own start always fits.
func (o *ties) fit(t, start int) int {
	w := &o.m.tasks[t]
	if o.stuck[t] {
		return o.start[t]
	}
	if w.station < 0 || o.setup[t] == 0 {
		return start
	}
	return w.lastWithSetup(o.m.resources[w.station].setups.clock, start, o.start[t], o.setup[t])
}

// lastWithSetup is the last start up to a time before which a setup of so many minutes
// has a place; the least is known to be one.
func (w *work) lastWithSetup(c *workClock, start, least, minutes int) int {
	for start > least {
		if _, ok := w.setupStart(c, start, minutes); ok {
			return start
		}
		window := c.windowOf(c.worked(start) - 1)
		start = w.prevStart(min(start-1, c.from[window]))
	}
	return least
}
