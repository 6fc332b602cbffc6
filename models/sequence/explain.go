package sequence

import (
	"fmt"
	"slices"
)

// Why says what keeps one task of a plan from starting earlier.
type Why struct {
	Task  string `json:"task"`
	Start int    `json:"start"`
	// Holds are the ways in which it is held, each enough by itself to change: first
	// what holds it to the very minute, then, where that is closed hours, what kept it
	// out of the hours before. None where it starts at 0.
	Holds []Hold `json:"holds"`
}

// Hold is what has to go, all of it, for a task to start at Earlier while all other
// tasks stay where they are, and the orders on the stations too. Every reason in it is
// needed for that. A hold without reasons says that nothing keeps the task: the search
// put it later.
type Hold struct {
	Earlier int      `json:"earlier"`
	Reasons []Reason `json:"reasons"`
}

// ReasonKind says what kind of thing holds a task.
type ReasonKind string

// The kinds of reasons, and what it means that they go.
const (
	ByRelease  ReasonKind = "release"  // it must not start earlier: its release is 0
	ByStart    ReasonKind = "start"    // its start is given: it is not
	ByLink     ReasonKind = "link"     // a least lag behind a task, or a greatest lag before one: the link is dropped
	ByResource ReasonKind = "resource" // too little of a resource is left: there is enough of it
	ByStation  ReasonKind = "station"  // the station of its setup is taken: it has one of its own, which stands the same
	BySetup    ReasonKind = "setup"    // there is no time for its setup: the setup takes none
	ByCalendar ReasonKind = "calendar" // the hours are closed: what it uses under that calendar is always there
	ByZone     ReasonKind = "zone"     // the air of its zone is wet or dusty: it is in no zone
)

// Reason is one thing that holds a task, in the ids of the problem.
type Reason struct {
	Kind ReasonKind `json:"kind"`
	// Tasks are those that hold what the task waits for: the other end of the link, all
	// that use the resource or the air at the last minute that is in the way, the one
	// before it on its station.
	Tasks    []string `json:"tasks,omitempty"`
	Resource string   `json:"resource,omitempty"` // of a resource, a station or a setup
	ForSetup bool     `json:"for_setup,omitzero"`
	Calendar string   `json:"calendar,omitempty"`
	Zone     string   `json:"zone,omitempty"`
	Link     int      `json:"link"`     // index of the link in the problem, -1: none
	Earliest int      `json:"earliest"` // the earliest start that this reason allows, the others aside
}

// Explain says for every task of a plan what keeps it where it is, in the order of
// the problem's tasks; or for some of them, where those are named. It looks at nothing
// but the problem and the plan. A plan that breaks a rule of the contract is an error.
// It takes time linear in tasks × (uses + links), and once more the number of tasks
// for each resource that holds one.
func Explain(p *Problem, plan *Plan, only ...string) ([]Why, error) {
	if err := p.Validate(); err != nil {
		return nil, err
	}
	if plan.Status != Optimal && plan.Status != Feasible {
		return nil, fmt.Errorf("explaining the plan: its status is %q, so it places no tasks", plan.Status)
	}
	if err := Check(p, plan); err != nil {
		return nil, fmt.Errorf("explaining the plan: %w", err)
	}
	x := newExplainer(p, plan)
	all := make([]Why, 0, len(p.Tasks))
	for t := range p.Tasks {
		if len(only) == 0 || slices.Contains(only, p.Tasks[t].ID) {
			all = append(all, x.why(t))
		}
	}
	return all, nil
}

// explainer holds a plan as a schedule out of which one task at a time is taken.
type explainer struct {
	*schedule
	p *Problem
}

func newExplainer(p *Problem, plan *Plan) *explainer {
	x := &explainer{newSchedule(compile(p, nil)), p}
	index := map[string]int{}
	for t := range p.Tasks {
		index[p.Tasks[t].ID] = t
	}
	for _, pt := range plan.Tasks {
		t := index[pt.ID]
		x.start[t], x.att[t], x.end[t] = pt.Start, pt.AttendedEnd, pt.End
		x.occupy(t, 1)
	}
	c := newChecker(p, plan)
	for r := range p.Resources {
		if p.Resources[r].Setups == nil {
			continue
		}
		for pos, v := range c.inOrder(&p.Resources[r]) {
			t := index[v.id]
			x.seq[r] = append(x.seq[r], int32(t))
			minutes, _ := x.ahead(t, pos)
			x.resetup(t, minutes)
		}
	}
	return x
}

// trial is a task to be placed elsewhere, and what of the rules is set aside.
type trial struct {
	work
	t, was   int        // the task, and where the plan has it
	minutes  int        // of its setup
	hours    *workClock // of its setup
	previous int        // the task before it on its station, -1: none
	own      bool       // it has the station to itself
	links    map[int32]bool
	plenty   map[int]bool // resources of which there is enough
	open     []string     // calendars that are always open to it
	unnamed  bool         // nobody asks who is in the way
}

func (x *explainer) why(t int) Why {
	tr := x.takeOut(t)
	defer x.putBack(tr)
	why := Why{Task: tr.id, Start: tr.was, Holds: []Hold{}}
	if tr.was == 0 {
		return why
	}
	if at := x.firstFree(tr); at < tr.was {
		why.Holds = append(why.Holds, Hold{Earlier: at, Reasons: []Reason{}})
		return why
	}
	why.Holds = append(why.Holds, x.hold(tr, tr.was-1))
	free := *tr
	free.fixed = -1
	if before := free.prevStart(tr.was - 1); before >= 0 && before < tr.was-1 {
		why.Holds = append(why.Holds, x.hold(tr, before))
	}
	return why
}

// takeOut takes a task out of the schedule.
func (x *explainer) takeOut(t int) *trial {
	tr := &trial{work: x.m.tasks[t], t: t, was: x.start[t], minutes: x.setup[t], previous: -1, links: map[int32]bool{}, plenty: map[int]bool{}}
	x.occupy(t, -1)
	if tr.station >= 0 {
		tr.hours = x.m.resources[tr.station].setups.clock
		x.resetup(t, 0)
		if i := slices.Index(x.seq[tr.station], int32(t)); i > 0 {
			tr.previous = int(x.seq[tr.station][i-1])
		}
	}
	return tr
}

// putBack puts it back where it was.
func (x *explainer) putBack(tr *trial) {
	x.occupy(tr.t, 1)
	if tr.station >= 0 {
		x.resetup(tr.t, tr.minutes)
	}
}

// firstFree is the first start that the other tasks leave free to the task, behind
// the same one on its station.
func (x *explainer) firstFree(tr *trial) int {
	if tr.fixed >= 0 {
		return tr.was
	}
	tr.unnamed = true
	defer func() { tr.unnamed = false }()
	lo, _ := x.window(tr.t)
	if tr.previous >= 0 {
		lo = max(lo, x.leaves(tr.previous))
	}
	for at := tr.nextStart(lo); at < tr.was; {
		against := x.against(tr, at)
		if len(against) == 0 {
			return at
		}
		next := at + 1
		for _, r := range against {
			next = max(next, r.Earliest)
		}
		at = tr.nextStart(next)
	}
	return tr.was
}

// hold finds what has to go for the task to start at a time: what is in the way
// there, and what is then when that is gone.
func (x *explainer) hold(tr *trial, at int) Hold {
	h := Hold{Earlier: at, Reasons: []Reason{}}
	loose := *tr
	loose.links, loose.plenty = map[int32]bool{}, map[int]bool{}
	for {
		found := x.against(&loose, at)
		if len(found) == 0 {
			return h
		}
		h.Reasons = append(h.Reasons, found...)
		for _, r := range found {
			x.setAside(&loose, r)
		}
	}
}

// setAside takes a reason out of the task's way.
func (x *explainer) setAside(tr *trial, r Reason) {
	switch r.Kind {
	case ByRelease:
		tr.release = 0
	case ByStart:
		tr.fixed = -1
	case ByLink:
		tr.links[int32(r.Link)] = true
	case ByResource:
		tr.plenty[x.resource(r.Resource)] = true
	case ByStation:
		tr.own = true
	case BySetup:
		tr.minutes = 0
	case ByZone:
		tr.zone = -1
	case ByCalendar:
		tr.open = append(slices.Clone(tr.open), r.Calendar)
		x.openHours(tr)
	}
}

func (x *explainer) resource(id string) int {
	return slices.IndexFunc(x.p.Resources, func(r Resource) bool { return r.ID == id })
}

// clockOf is the clock of a resource for the task; nil where it is always there.
func (x *explainer) clockOf(tr *trial, r int) *workClock {
	if slices.Contains(tr.open, x.p.Resources[r].Calendar) {
		return nil
	}
	return x.m.resources[r].clock
}

// openHours works out anew when a task and its setup can be worked on.
func (x *explainer) openHours(tr *trial) {
	tr.clock = nil
	for _, r := range attendedWith(&tr.work) {
		tr.clock = x.m.common(tr.clock, x.clockOf(tr, r))
	}
	tr.uses = slices.Clone(tr.uses)
	for i := range tr.uses {
		if u := &tr.uses[i]; u.span == openSpan && (tr.clock == nil || x.clockOf(tr, u.res) == nil) {
			u.span = attendedSpan // what is always there is not given back
		}
	}
	if tr.station < 0 {
		return
	}
	c := x.m.resources[tr.station].setups
	tr.hours = x.clockOf(tr, tr.station)
	if c.hands >= 0 {
		tr.hours = x.m.common(tr.hours, x.clockOf(tr, c.hands))
	}
}

// attendedWith lists the resources that a task uses in its attended time.
func attendedWith(w *work) []int {
	var list []int
	for _, u := range w.uses {
		if u.span != unattendedSpan {
			list = append(list, u.res)
		}
	}
	if w.station >= 0 {
		list = append(list, w.station)
	}
	return list
}

// against lists what is against the task starting at a time. What is looked at last
// may hang on what is looked at first, and is then not looked at.
func (x *explainer) against(tr *trial, at int) []Reason {
	if tr.fixed >= 0 && at != tr.fixed {
		return []Reason{{Kind: ByStart, Link: -1, Earliest: tr.fixed}}
	}
	if tr.nextStart(at) != at {
		return x.closed(tr, at)
	}
	var found []Reason
	if at < tr.release {
		found = append(found, Reason{Kind: ByRelease, Link: -1, Earliest: tr.release})
	}
	found = append(found, x.linksAgainst(tr, at)...)
	found = append(found, x.resourcesAgainst(tr, at)...)
	found = append(found, x.zoneAgainst(tr, at)...)
	return append(found, x.stationAgainst(tr, at)...)
}

// closed names the calendars that are closed in the task's attended time.
func (x *explainer) closed(tr *trial, at int) []Reason {
	var found []Reason
	for _, r := range attendedWith(&tr.work) {
		one := tr.work
		one.clock = x.clockOf(tr, r)
		name := x.p.Resources[r].Calendar
		named := slices.ContainsFunc(found, func(f Reason) bool { return f.Calendar == name })
		if next := one.nextStart(at); next != at && !named {
			found = append(found, Reason{Kind: ByCalendar, Calendar: name, Link: -1, Earliest: min(next, tr.was)})
		}
	}
	return found
}

func (x *explainer) linksAgainst(tr *trial, at int) []Reason {
	var found []Reason
	for _, k := range slices.Concat(tr.in, tr.out) {
		l := &x.m.links[k]
		point, start, other := 0, at, l.before
		switch {
		case tr.links[k] || l.before == tr.t && l.after == tr.t && slices.ContainsFunc(found, func(f Reason) bool { return f.Link == int(k) }):
			continue
		case l.before == tr.t && l.after == tr.t:
			point = tr.point(l.from, at)
		case l.before == tr.t:
			point, start, other = tr.point(l.from, at), x.start[l.after], l.after
		default:
			point = x.pointOf(l)
		}
		if start >= point+l.min && start <= point+l.max {
			continue
		}
		earliest := tr.was
		if l.before != tr.t {
			earliest = point + l.min
		} else if l.after != tr.t {
			earliest = min(tr.was, tr.firstStartOf(l.from, start-l.max))
		}
		found = append(found, Reason{Kind: ByLink, Tasks: []string{x.m.tasks[other].id}, Link: int(k), Earliest: earliest})
	}
	return found
}

// resourcesAgainst looks at all resources but the station of the task's setup.
func (x *explainer) resourcesAgainst(tr *trial, at int) []Reason {
	var found []Reason
	for i, u := range tr.uses {
		if u.res == tr.station || tr.plenty[u.res] || slices.ContainsFunc(found, func(f Reason) bool { return f.Resource == x.m.resources[u.res].id }) {
			continue
		}
		one := tr.work
		one.uses, one.zone = tr.uses[i:i+1], -1
		if last, earliest := x.clear(tr, &one, at); last >= 0 {
			found = append(found, Reason{Kind: ByResource, Tasks: x.holders(tr, u.res, last), Resource: x.m.resources[u.res].id, Link: -1, Earliest: earliest})
		}
	}
	return found
}

func (x *explainer) zoneAgainst(tr *trial, at int) []Reason {
	if tr.zone < 0 {
		return nil
	}
	one := tr.work
	one.uses = nil
	last, earliest := x.clear(tr, &one, at)
	if last < 0 {
		return nil
	}
	var tasks []string
	for t := range x.m.tasks {
		w := &x.m.tasks[t]
		until := x.end[t]
		if !w.wet {
			until = x.att[t]
		}
		if t != tr.t && w.zone == tr.zone && w.wet != tr.wet && x.start[t] <= last && last < until {
			tasks = append(tasks, w.id)
		}
	}
	return []Reason{{Kind: ByZone, Tasks: tasks, Zone: x.p.Zones[tr.zone], Link: -1, Earliest: earliest}}
}

// clear returns the last minute that is in the way of a task starting at a time, -1
// if none is, and the first start from which none is any more.
func (x *explainer) clear(tr *trial, w *work, at int) (last, earliest int) {
	last = x.lastTaken(w, at)
	for last >= 0 && at < tr.was {
		next := x.obstacle(w, at)
		if next <= at {
			break
		}
		at = w.nextStart(next)
	}
	return last, min(at, tr.was)
}
