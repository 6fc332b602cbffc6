package sequence

import (
	"fmt"
	"slices"
)

// peerData is a problem as testdata/peer/shop.mzn wants it: names are numbers from
// 1, 0 is none, and all windows stand in one list. The fields are the parameters of
// the model.
type peerData struct {
	Horizon int `json:"horizon"`

	Calendars   int   `json:"calendars"`
	Windows     int   `json:"windows"`
	FirstWindow []int `json:"first_window"`
	LastWindow  []int `json:"last_window"`
	Opens       []int `json:"opens"`
	Length      []int `json:"length"`
	Worked      []int `json:"worked"`
	Next        []int `json:"next"`

	Tasks         int    `json:"tasks"`
	Attended      []int  `json:"attended"`
	Unattended    []int  `json:"unattended"`
	Interruptible []bool `json:"interruptible"`
	HoursOf       []int  `json:"hours_of"`
	Release       []int  `json:"release"`
	Deadline      []int  `json:"deadline"`
	Given         []int  `json:"given"`

	Links      int    `json:"links"`
	LinkBefore []int  `json:"link_before"`
	LinkAfter  []int  `json:"link_after"`
	LinkFrom   []int  `json:"link_from"`
	LinkMin    []int  `json:"link_min"`
	LinkMax    []int  `json:"link_max"`
	LinkHasMax []bool `json:"link_has_max"`

	Clashes int   `json:"clashes"`
	Wet     []int `json:"wet"`
	Dusty   []int `json:"dusty"`

	Visits     int       `json:"visits"`
	Visitor    []int     `json:"visitor"`
	State      []int     `json:"state"`
	Stays      []bool    `json:"stays"`
	SetupHours []int     `json:"setup_hours"`
	Aligned    []bool    `json:"aligned"`
	Stations   int       `json:"stations"`
	VisitsAt   []peerSet `json:"visits_at"`
	Initial    []int     `json:"initial"`
	CostsFrom  []int     `json:"costs_from"`
	States     []int     `json:"states"`
	Figures    int       `json:"figures"`
	Costs      []int     `json:"costs"`

	Resources int   `json:"resources"`
	Capacity  []int `json:"capacity"`
	Holds     int   `json:"holds"`
	Held      []int `json:"held"`
	Holder    []int `json:"holder"`
	Part      []int `json:"part"`
	Amount    []int `json:"amount"`
	HoldVisit []int `json:"hold_visit"`

	Hands      int   `json:"hands"`
	Hand       []int `json:"hand"`
	HandTask   []int `json:"hand_task"`
	HandVisit  []int `json:"hand_visit"`
	HandAmount []int `json:"hand_amount"`

	Jobs      int       `json:"jobs"`
	TasksOf   []peerSet `json:"tasks_of"`
	Promised  []bool    `json:"promised"`
	JobHours  []int     `json:"job_hours"`
	DueBefore []int     `json:"due_before"`
	Weight    []int     `json:"weight"`

	Planned      int   `json:"planned"`
	PlannedTask  []int `json:"planned_task"`
	PlannedStart []int `json:"planned_start"`
	Tolerance    int   `json:"tolerance"`

	Weights [5]int64 `json:"weights"`
	Most    int64    `json:"most"`
}

// peerSet is a set of whole numbers in MiniZinc's JSON.
type peerSet struct {
	Set []int `json:"set"`
}

// mostOfPeers is the largest objective that the peers may reckon with: some of them
// count in 32 bits and want room below the end of those.
const mostOfPeers = 400_000_000

// peerMaker makes peerData. It keeps the state names of each station, so that a
// peer's answer can be read.
type peerMaker struct {
	peerData
	p         *Problem
	c         *checker // for hours common to resources
	task      map[string]int
	resource  map[string]int
	job       map[string]int
	calendar  map[string]int // by what its windows are
	stateName [][]string     // by station; the last is the one at the origin, "" where it is null
	stationOf []int          // by visit
}

// newPeerMaker puts a valid problem into the words of the model. An error says what
// of the contract the model does not cover.
func newPeerMaker(p *Problem) (*peerMaker, error) {
	m := &peerMaker{p: p, c: newChecker(p, &Plan{}), task: map[string]int{}, resource: map[string]int{}, job: map[string]int{}, calendar: map[string]int{}}
	m.Horizon = p.Horizon
	for i, r := range p.Resources {
		m.resource[r.ID] = i + 1
		m.Capacity = append(m.Capacity, r.Capacity)
	}
	for i, j := range p.Jobs {
		m.job[j.ID] = i + 1
		m.TasksOf = append(m.TasksOf, peerSet{[]int{}})
	}
	m.Resources, m.Jobs = len(p.Resources), len(p.Jobs)
	for i := range p.Tasks {
		m.addTask(&p.Tasks[i])
	}
	m.addStations()
	for i := range p.Tasks {
		if err := m.addUses(&p.Tasks[i]); err != nil {
			return nil, err
		}
	}
	m.addLinks()
	m.addZones()
	m.addJobs()
	m.addObjective()
	return m, nil
}

// hours is the number of a calendar with these windows.
func (m *peerMaker) hours(h hours) int {
	if len(h) == len(aroundTheClock) && h[0] == aroundTheClock[0] {
		return 0
	}
	key := fmt.Sprint(h)
	if k, known := m.calendar[key]; known {
		return k
	}
	windows := append(hours{{0, 0}}, h.and(hours{{0, m.p.Horizon}})...)
	m.Calendars++
	m.calendar[key] = m.Calendars
	m.FirstWindow = append(m.FirstWindow, len(m.Opens)+1)
	worked := 0
	for i, w := range windows {
		next := m.p.Horizon + 1
		if i+1 < len(windows) {
			next = windows[i+1][0]
		}
		m.Opens, m.Length = append(m.Opens, w[0]), append(m.Length, w[1]-w[0])
		m.Worked, m.Next = append(m.Worked, worked), append(m.Next, next)
		worked += w[1] - w[0]
	}
	m.Windows = len(m.Opens)
	m.LastWindow = append(m.LastWindow, m.Windows)
	return m.Calendars
}

func (m *peerMaker) addTask(t *Task) {
	m.Tasks++
	m.task[t.ID] = m.Tasks
	m.Attended, m.Unattended = append(m.Attended, t.Attended), append(m.Unattended, t.Unattended)
	m.Interruptible = append(m.Interruptible, t.Interruptible)
	m.HoursOf = append(m.HoursOf, m.hours(m.c.attendedHours(t)))
	m.Release = append(m.Release, t.Release)
	deadline, given := m.p.Horizon, -1
	if t.Deadline != nil {
		deadline = min(deadline, *t.Deadline)
	}
	if t.Start != nil {
		given = *t.Start
		if given < 0 { // nothing begins before the origin
			deadline = -1
		}
	}
	m.Deadline, m.Given = append(m.Deadline, deadline), append(m.Given, given)
	if t.Job != "" {
		set := &m.TasksOf[m.job[t.Job]-1]
		set.Set = append(set.Set, m.Tasks)
	}
}

func (m *peerMaker) addStations() {
	for i := range m.p.Resources {
		r := &m.p.Resources[i]
		if r.Setups == nil {
			continue
		}
		m.Stations++
		number, names := map[string]int{}, []string{}
		known := func(state string) int {
			if number[state] == 0 {
				names = append(names, state)
				number[state] = len(names)
			}
			return number[state]
		}
		at := peerSet{[]int{}}
		for k := range m.p.Tasks {
			if t := &m.p.Tasks[k]; t.Setup != nil && t.Setup.Resource == r.ID {
				m.addVisit(t, known(t.Setup.State))
				at.Set = append(at.Set, m.Visits)
			}
		}
		m.VisitsAt = append(m.VisitsAt, at)
		m.Initial = append(m.Initial, known(r.Setups.state()))
		m.CostsFrom, m.States = append(m.CostsFrom, len(m.Costs)-len(names)), append(m.States, len(names))
		costs := newTariff(r.Setups)
		for _, from := range names {
			for _, to := range names {
				m.Costs = append(m.Costs, costs.minutes(from, to))
			}
		}
		m.stateName = append(m.stateName, names)
	}
	m.Figures = len(m.Costs)
}

func (m *peerMaker) addVisit(t *Task, state int) {
	m.Visits++
	m.stationOf = append(m.stationOf, m.Stations-1)
	m.Visitor, m.State = append(m.Visitor, m.task[t.ID]), append(m.State, state)
	m.Stays = append(m.Stays, slices.ContainsFunc(t.Uses, func(u Use) bool { return u.Resource == t.Setup.Resource && u.During != Attended }))
	k := m.hours(m.c.setupHours(t.Setup.Resource))
	m.SetupHours = append(m.SetupHours, k)
	atWork := t.Attended > 0 && (t.Start == nil || !t.Interruptible) // the start is a working minute
	m.Aligned = append(m.Aligned, k == m.HoursOf[m.task[t.ID]-1] && (atWork || k == 0))
}

// addUses adds what the task holds. The model tells resources that are given back
// when work is cut from others by the kind of time it counts them in, and cannot
// have both in one resource.
func (m *peerMaker) addUses(t *Task) error {
	visit := slices.Index(m.Visitor, m.task[t.ID]) + 1
	inStation := 1
	for _, u := range t.Uses {
		if t.Setup != nil && t.Setup.Resource == u.Resource {
			if u.During != Unattended {
				inStation = max(inStation, u.Amount)
			}
			continue
		}
		r := m.c.resources[u.Resource]
		switch {
		case r.Calendar == "":
			m.hold(t, u.Resource, map[During]int{Attended: 1, Unattended: 2, All: 3}[u.During], u.Amount, 0)
		case u.During != Attended || r.Setups != nil || m.hours(m.c.calendar(r.Calendar)) != m.HoursOf[m.task[t.ID]-1]:
			return fmt.Errorf("task %q holds %q, which has hours, in other hours than those", t.ID, u.Resource)
		default:
			m.hand(t, u.Resource, 0, u.Amount)
		}
	}
	if visit == 0 {
		return nil
	}
	m.hold(t, t.Setup.Resource, 4, inStation, visit)
	hands := m.c.resources[t.Setup.Resource].Setups.Hands
	switch {
	case hands == nil:
	case m.c.resources[hands.Resource].Calendar == "" && m.SetupHours[visit-1] == 0:
		m.hold(t, hands.Resource, 5, hands.Amount, visit)
	case m.c.resources[hands.Resource].Calendar == "":
		return fmt.Errorf("the setups of %q use %q, which has no hours, and may be cut", t.Setup.Resource, hands.Resource)
	case m.hours(m.c.common(hands.Resource)) != m.SetupHours[visit-1]:
		return fmt.Errorf("the setups of %q need %q in other hours than its own", t.Setup.Resource, hands.Resource)
	default:
		m.hand(t, hands.Resource, visit, hands.Amount)
	}
	return nil
}

func (m *peerMaker) hold(t *Task, resource string, part, amount, visit int) {
	m.Holds++
	m.Held, m.Holder = append(m.Held, m.resource[resource]), append(m.Holder, m.task[t.ID])
	m.Part, m.Amount, m.HoldVisit = append(m.Part, part), append(m.Amount, amount), append(m.HoldVisit, visit)
}

func (m *peerMaker) hand(t *Task, resource string, visit, amount int) {
	m.Hands++
	m.Hand, m.HandTask = append(m.Hand, m.resource[resource]), append(m.HandTask, m.task[t.ID])
	m.HandVisit, m.HandAmount = append(m.HandVisit, visit), append(m.HandAmount, amount)
}

func (m *peerMaker) addLinks() {
	for _, l := range m.p.Links {
		m.Links++
		m.LinkBefore, m.LinkAfter = append(m.LinkBefore, m.task[l.Before]), append(m.LinkAfter, m.task[l.After])
		m.LinkFrom = append(m.LinkFrom, map[LinkFrom]int{"": 1, FromEnd: 1, FromStart: 2, FromAttended: 3}[l.From])
		most := 0
		if l.Max != nil {
			most = *l.Max
		}
		m.LinkMin, m.LinkMax, m.LinkHasMax = append(m.LinkMin, l.Min), append(m.LinkMax, most), append(m.LinkHasMax, l.Max != nil)
	}
}

func (m *peerMaker) addZones() {
	for i := range m.p.Tasks {
		w := &m.p.Tasks[i]
		if w.Zone == nil || w.Zone.Kind != Wet || w.Attended+w.Unattended == 0 {
			continue
		}
		for k := range m.p.Tasks {
			d := &m.p.Tasks[k]
			if d.Zone != nil && d.Zone.Kind == Dusty && d.Zone.Name == w.Zone.Name && d.Attended > 0 {
				m.Clashes++
				m.Wet, m.Dusty = append(m.Wet, i+1), append(m.Dusty, k+1)
			}
		}
	}
}

func (m *peerMaker) addJobs() {
	for _, j := range m.p.Jobs {
		h := m.c.calendar(j.Calendar)
		due := 0
		switch {
		case j.Due == nil:
		case *j.Due < 0:
			due = -h.minutes(*j.Due, 0)
		default:
			due = h.minutes(0, *j.Due)
		}
		m.Promised, m.DueBefore = append(m.Promised, j.Due != nil), append(m.DueBefore, due)
		m.JobHours, m.Weight = append(m.JobHours, m.hours(h)), append(m.Weight, j.Weight)
	}
}

func (m *peerMaker) addObjective() {
	w := m.p.Objective
	m.Weights, m.Most = [5]int64{w.Tardiness, w.Setup, w.Flow, w.Makespan, w.Moved}, mostOfPeers
	if m.p.Previous == nil {
		return
	}
	m.Tolerance = m.p.Previous.Tolerance
	for _, s := range m.p.Previous.Starts {
		m.Planned++
		m.PlannedTask, m.PlannedStart = append(m.PlannedTask, m.task[s.ID]), append(m.PlannedStart, s.Start)
	}
}
