package sequence

import (
	"fmt"
	"slices"
)

// lift takes the reasons of a hold out of a problem, and moves the held task alone
// to where it could then be. What others hold stays theirs: where the task is given
// something of its own (hours, a station) that is the same thing once more, taken by
// stand-ins whenever the others have it.
type lift struct {
	q      *Problem
	plan   *Plan
	task   *Task
	of     *checker // the problem and the plan before
	kinds  map[ReasonKind]bool
	open   map[string]bool
	plenty map[string]bool
	hold   Hold
}

func lifted(p *Problem, plan *Plan, id string, h Hold) (*Problem, *Plan) {
	q, moved := *p, *plan
	l := &lift{q: &q, plan: &moved, of: newChecker(p, plan), kinds: map[ReasonKind]bool{}, open: map[string]bool{}, plenty: map[string]bool{}, hold: h}
	q.Tasks, q.Resources, q.Links = slices.Clone(p.Tasks), slices.Clone(p.Resources), nil
	moved.Tasks, moved.Setups = slices.Clone(plan.Tasks), slices.Clone(plan.Setups)
	at := slices.IndexFunc(q.Tasks, func(t Task) bool { return t.ID == id })
	l.task = &q.Tasks[at]
	l.task.Uses = slices.Clone(l.task.Uses)
	dropped := map[int]bool{}
	for _, r := range h.Reasons {
		l.kinds[r.Kind] = true
		switch r.Kind {
		case ByLink:
			dropped[r.Link] = true
		case ByResource:
			l.plenty[r.Resource] = true
		case ByCalendar:
			l.open[r.Calendar] = true
		case ByRelease:
			l.task.Release = 0
		case ByStart:
			l.task.Start = nil
		case ByZone:
			l.task.Zone = nil
		}
	}
	for k, link := range p.Links {
		if !dropped[k] {
			q.Links = append(q.Links, link)
		}
	}
	task := *l.task // the slice of tasks grows, and with it moves
	l.task = &task
	l.resources()
	minutes, from := l.station()
	q.Tasks[at] = task
	l.place(id, minutes, from)
	return &q, &moved
}

func (l *lift) resource(id string) *Resource {
	return &l.q.Resources[slices.IndexFunc(l.q.Resources, func(r Resource) bool { return r.ID == id })]
}

// twin is the same resource once more, taken whenever others have the first, unless
// there is plenty; "open" if its hours are lifted.
func (l *lift) twin(id string, empty bool) string {
	twin := *l.resource(id)
	twin.ID, twin.Setups = id+" twin", nil
	for _, r := range l.q.Resources {
		if r.ID == twin.ID {
			return twin.ID
		}
	}
	if l.open[twin.Calendar] {
		twin.Calendar = ""
	}
	if l.plenty[id] {
		twin.Capacity += 1000
	}
	l.q.Resources = append(l.q.Resources, twin)
	if empty {
		return twin.ID
	}
	hold := func(_, resource string, from, to, amount int) {
		if resource == id && from < to && amount > 0 {
			l.standIn(Task{Unattended: to - from, Uses: []Use{{twin.ID, amount, Unattended}}}, from)
		}
	}
	for i := range l.of.p.Tasks {
		t := &l.of.p.Tasks[i]
		if t.ID == l.task.ID {
			continue
		}
		l.of.holdUses(t, l.of.placed[t.ID], hold)
		if t.Setup != nil {
			l.of.holdStation(t, l.of.placed[t.ID], hold)
		}
	}
	return twin.ID
}

// standIn adds a task at a given start.
func (l *lift) standIn(t Task, at int) {
	t.ID, t.Start = fmt.Sprint("stand-in ", len(l.q.Tasks)), &at
	l.q.Tasks = append(l.q.Tasks, t)
	l.plan.Tasks = append(l.plan.Tasks, PlanTask{t.ID, at, at, at, at + t.Unattended})
}

// resources gives the task what it needs of resources that are lifted.
func (l *lift) resources() {
	for id := range l.plenty {
		if r := l.resource(id); r.Setups == nil {
			r.Capacity += 1000
		}
	}
	attended := map[string]bool{}
	for _, u := range l.task.Uses {
		attended[u.Resource] = attended[u.Resource] || u.During != Unattended
	}
	for i := range l.task.Uses {
		u := &l.task.Uses[i]
		r := l.resource(u.Resource)
		if l.task.Setup != nil && u.Resource == l.task.Setup.Resource {
			continue
		}
		if l.open[r.Calendar] && attended[u.Resource] || l.plenty[r.ID] && r.Setups != nil {
			u.Resource = l.twin(r.ID, false)
		}
	}
}

// station gives the task its station once more, where that or its setup is lifted,
// and returns the minutes and the first state of its setup.
func (l *lift) station() (minutes int, from string) {
	if l.task.Setup == nil {
		return 0, ""
	}
	id := l.task.Setup.Resource
	was := l.of.placed[l.task.ID]
	minutes = l.of.setupHours(id).minutes(was.SetupStart, was.Start)
	for _, s := range l.plan.Setups {
		if s.For == l.task.ID {
			from = s.From
		}
	}
	if l.kinds[BySetup] {
		minutes, from = 0, ""
	}
	r := *l.resource(id)
	hands := ""
	if r.Setups.Hands != nil {
		hands = r.Setups.Hands.Resource
	}
	opened := l.open[r.Calendar] || hands != "" && l.open[l.resource(hands).Calendar]
	if !l.kinds[BySetup] && !l.kinds[ByStation] && !opened {
		return minutes, from
	}
	setups := &Setups{Default: 0}
	if minutes > 0 {
		setups.Initial, setups.Pairs = &from, []Pair{{from, l.task.Setup.State, minutes}}
	}
	if hands != "" {
		amount := *r.Setups.Hands
		if l.open[l.resource(hands).Calendar] {
			amount.Resource = l.twin(hands, false)
		}
		setups.Hands = &amount
	}
	twin := l.twin(id, l.kinds[ByStation])
	l.resource(twin).Setups = setups
	l.ghost(id, was.Start)
	for i := range l.task.Uses {
		if l.task.Uses[i].Resource == id {
			l.task.Uses[i].Resource = twin
		}
	}
	l.task.Setup = &SetupNeed{twin, l.task.Setup.State}
	return minutes, from
}

// ghost stands on the task's old station for no time, and leaves it as the task did.
func (l *lift) ghost(id string, at int) {
	r := l.resource(id)
	old := newTariff(r.Setups)
	setups := *r.Setups
	setups.Pairs = slices.Clone(setups.Pairs)
	known := map[string]bool{}
	if setups.Initial != nil {
		known[*setups.Initial] = true
	}
	for _, t := range l.of.p.Tasks {
		if t.Setup != nil && t.Setup.Resource == id {
			known[t.Setup.State] = true
		}
	}
	for state := range known {
		setups.Pairs = append(setups.Pairs, Pair{state, "ghost", 0}, Pair{"ghost", state, old.minutes(l.task.Setup.State, state)})
	}
	r.Setups = &setups
	l.standIn(Task{Setup: &SetupNeed{id, "ghost"}}, at)
}

// place moves the task, and says of the plan what is then true.
func (l *lift) place(id string, minutes int, from string) {
	c := newChecker(l.q, l.plan)
	at := l.hold.Earlier
	pt := PlanTask{ID: id, SetupStart: at, Start: at, AttendedEnd: at}
	if l.task.Attended > 0 {
		pt.AttendedEnd = forward(c.attendedHours(l.task), at, l.task.Attended)
	}
	pt.End = pt.AttendedEnd + l.task.Unattended
	l.plan.Setups = slices.DeleteFunc(l.plan.Setups, func(s PlanSetup) bool { return s.For == id })
	if minutes > 0 {
		station := l.task.Setup.Resource
		pt.SetupStart = backward(c.setupHours(station), at, minutes)
		l.plan.Setups = append(l.plan.Setups, PlanSetup{station, from, l.task.Setup.State, pt.SetupStart, minutes, id})
	}
	l.plan.Tasks[slices.IndexFunc(l.plan.Tasks, func(t PlanTask) bool { return t.ID == id })] = pt
	l.follower(id)
	l.plan.Jobs = newChecker(l.q, l.plan).jobs()
	l.plan.Objective, l.plan.Bound, l.plan.Status = l.q.Objective.Of(Measure(l.q, l.plan)), 0, Feasible
}

// follower says that the one behind the ghost is set up from the ghost's state.
func (l *lift) follower(id string) {
	old := l.of.tasks[id].Setup
	if old == nil || l.task.Setup.Resource == old.Resource {
		return
	}
	order := l.of.inOrder(l.of.resources[old.Resource])
	i := slices.IndexFunc(order, func(v visit) bool { return v.id == id })
	for k := range l.plan.Setups {
		if i+1 < len(order) && l.plan.Setups[k].For == order[i+1].id {
			l.plan.Setups[k].From = "ghost"
		}
	}
}

// forward is when so many minutes of the hours are over.
func forward(h hours, from, minutes int) int {
	for _, piece := range h.within(from, 1<<40) {
		if length := piece[1] - piece[0]; length < minutes {
			minutes -= length
		} else {
			return piece[0] + minutes
		}
	}
	return 1 << 40
}

// backward is when so many minutes of the hours begin that end by a time.
func backward(h hours, to, minutes int) int {
	pieces := h.within(-1<<40, to)
	for i := len(pieces) - 1; i >= 0; i-- {
		if length := pieces[i][1] - pieces[i][0]; length < minutes {
			minutes -= length
		} else {
			return pieces[i][1] - minutes
		}
	}
	return -1 << 40
}
