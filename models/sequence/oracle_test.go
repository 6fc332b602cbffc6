package sequence

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The oracle answers tiny problems by trying every start of every task and every
// order of the tasks on each station, minute by minute, as the file contract
// says and in the plainest way. It shares nothing with the search, and with the
// checker only the types.

// bruteForce returns an optimal plan, or nil where the problem has none.
func bruteForce(p *Problem) *Plan {
	o := newOracle(p)
	for i := range p.Tasks {
		o.from[i], o.to[i] = 0, p.Horizon
	}
	return o.run()
}

// bruteForceAt returns the best plan with the given starts, or nil.
func bruteForceAt(p *Problem, starts []int) *Plan {
	o := newOracle(p)
	for i := range p.Tasks {
		o.from[i], o.to[i] = starts[i], starts[i]
	}
	return o.run()
}

type oracle struct {
	p        *Problem
	from, to []int // the starts to try
	resource map[string]int
	open     map[string][]bool // by calendar, minute by minute
	attended [][]bool          // by task: minutes in which its attended time runs
	setup    [][]bool          // by task: minutes in which its setup runs

	stations []string
	orders   map[string][]int // the order of the tasks on each station now tried
	minutes  []int            // of the setup of each task in these orders
	at       []PlanTask
	placed   []bool
	used     [][]int // by resource and minute
	wet      map[string][]int
	dusty    map[string][]int

	best     int64
	bestPlan *Plan
}

func newOracle(p *Problem) *oracle {
	n := len(p.Tasks)
	o := &oracle{p: p, from: make([]int, n), to: make([]int, n), resource: map[string]int{}, open: map[string][]bool{},
		orders: map[string][]int{}, minutes: make([]int, n), at: make([]PlanTask, n), placed: make([]bool, n),
		wet: map[string][]int{}, dusty: map[string][]int{}, best: 1 << 62}
	for name, windows := range p.Calendars {
		o.open[name] = make([]bool, p.Horizon+1)
		for _, w := range windows {
			for m := w[0]; m < w[1] && m <= p.Horizon; m++ {
				o.open[name][m] = true
			}
		}
	}
	for i, r := range p.Resources {
		o.resource[r.ID] = i
		o.used = append(o.used, make([]int, p.Horizon+1))
		if r.Setups != nil {
			o.stations = append(o.stations, r.ID)
		}
	}
	for _, z := range p.Zones {
		o.wet[z], o.dusty[z] = make([]int, p.Horizon+1), make([]int, p.Horizon+1)
	}
	for i := range p.Tasks {
		o.openMinutes(&p.Tasks[i])
	}
	return o
}

// openMinutes works out when the attended time and the setup of a task can run.
func (o *oracle) openMinutes(t *Task) {
	var attended, setup []string
	for _, u := range t.Uses {
		if u.During == Attended || u.During == All {
			attended = append(attended, u.Resource)
		}
	}
	if t.Setup != nil {
		attended = append(attended, t.Setup.Resource)
		setup = append(setup, t.Setup.Resource)
		if h := o.p.Resources[o.resource[t.Setup.Resource]].Setups.Hands; h != nil {
			setup = append(setup, h.Resource)
		}
	}
	common := func(resources []string) []bool {
		all := make([]bool, o.p.Horizon+1)
		for m := range all {
			all[m] = true
			for _, id := range resources {
				if calendar := o.p.Resources[o.resource[id]].Calendar; calendar != "" {
					all[m] = all[m] && o.open[calendar][m]
				}
			}
		}
		return all
	}
	o.attended = append(o.attended, common(attended))
	o.setup = append(o.setup, common(setup))
}

// run tries every order of the tasks on each station.
func (o *oracle) run() *Plan {
	o.order(0)
	return o.bestPlan
}

func (o *oracle) order(station int) {
	if station == len(o.stations) {
		o.place(0)
		return
	}
	id := o.stations[station]
	var tasks []int
	for i := range o.p.Tasks {
		if s := o.p.Tasks[i].Setup; s != nil && s.Resource == id {
			tasks = append(tasks, i)
		}
	}
	permutations(tasks, 0, func(order []int) {
		o.orders[id] = order
		o.priceSetups(o.p.Resources[o.resource[id]].Setups, order)
		o.order(station + 1)
	})
}

func permutations(list []int, from int, visit func([]int)) {
	if from >= len(list) {
		visit(list)
		return
	}
	for k := from; k < len(list); k++ {
		list[from], list[k] = list[k], list[from]
		permutations(list, from+1, visit)
		list[from], list[k] = list[k], list[from]
	}
}

// priceSetups says how long each setup takes in an order of one station.
func (o *oracle) priceSetups(s *Setups, order []int) {
	for k, i := range order {
		to := o.p.Tasks[i].Setup.State
		var before string
		switch {
		case k > 0:
			before = o.p.Tasks[order[k-1]].Setup.State
		case s.Initial != nil:
			before = *s.Initial
		default:
			o.minutes[i] = 0
			continue
		}
		o.minutes[i] = s.Default
		if before == to {
			o.minutes[i] = 0
		}
		for _, pair := range s.Pairs {
			if pair.From == before && pair.To == to {
				o.minutes[i] = pair.Minutes
			}
		}
	}
}

// place tries every start of task i and goes on with the next task.
func (o *oracle) place(i int) {
	cost := o.cost()
	if cost >= o.best {
		return // more tasks never make it cheaper
	}
	if i == len(o.p.Tasks) {
		o.best, o.bestPlan = cost, o.plan(cost)
		return
	}
	for s := o.from[i]; s <= o.to[i]; s++ {
		if !o.times(i, s) || !o.linksHold(i) || !o.inOrder(i) {
			continue
		}
		o.placed[i] = true
		o.hold(i, 1)
		if o.fits(i) {
			o.place(i + 1)
		}
		o.hold(i, -1)
		o.placed[i] = false
	}
}

// times works out the times of task i with start s; false where they break a
// rule that concerns it alone.
func (o *oracle) times(i, s int) bool {
	t := &o.p.Tasks[i]
	if s < 0 || s < t.Release || t.Start != nil && *t.Start != s {
		return false
	}
	at := s
	for left := t.Attended; left > 0; at++ {
		if at >= o.p.Horizon {
			return false
		}
		switch {
		case o.attended[i][at]:
			left--
		case !t.Interruptible:
			return false
		case left == t.Attended && t.Start == nil:
			return false // it does not start on a working minute
		}
	}
	begin := s
	for left := o.minutes[i]; left > 0; {
		begin--
		if begin < 0 {
			return false
		}
		if o.setup[i][begin] {
			left--
		} else if !t.Interruptible && left < o.minutes[i] {
			return false
		}
	}
	o.at[i] = PlanTask{ID: t.ID, SetupStart: begin, Start: s, AttendedEnd: at, End: at + t.Unattended}
	return at+t.Unattended <= o.p.Horizon && (t.Deadline == nil || at+t.Unattended <= *t.Deadline)
}

// linksHold looks at the links between task i and those placed before.
func (o *oracle) linksHold(i int) bool {
	index := func(id string) int {
		return slices.IndexFunc(o.p.Tasks, func(t Task) bool { return t.ID == id })
	}
	for _, l := range o.p.Links {
		b, a := index(l.Before), index(l.After)
		if a != i && b != i || a != i && !o.placed[a] || b != i && !o.placed[b] {
			continue
		}
		point := o.at[b].End
		if l.From == FromStart {
			point = o.at[b].Start
		} else if l.From == FromAttended {
			point = o.at[b].AttendedEnd
		}
		lag := o.at[a].Start - point
		if lag < l.Min || l.Max != nil && lag > *l.Max {
			return false
		}
	}
	return true
}

// leaves returns when task i gives its setup's station back.
func (o *oracle) leaves(i int) int {
	for _, u := range o.p.Tasks[i].Uses {
		if u.Resource == o.p.Tasks[i].Setup.Resource && u.During != Attended {
			return o.at[i].End
		}
	}
	return o.at[i].AttendedEnd
}

// inOrder wants the tasks placed on the station of task i one after the other.
func (o *oracle) inOrder(i int) bool {
	if o.p.Tasks[i].Setup == nil {
		return true
	}
	order := o.orders[o.p.Tasks[i].Setup.Resource]
	mine := slices.Index(order, i)
	for k, other := range order {
		if k < mine && o.placed[other] && o.at[i].SetupStart < o.leaves(other) {
			return false
		}
		if k > mine && o.placed[other] && o.at[other].SetupStart < o.leaves(i) {
			return false
		}
	}
	return true
}

// hold adds what task i takes in each minute, or with sign -1 gives it back.
func (o *oracle) hold(i, sign int) {
	t, at := &o.p.Tasks[i], o.at[i]
	for m := at.SetupStart; m < at.End; m++ {
		for r, resource := range o.p.Resources {
			o.used[r][m] += sign * o.demand(i, resource, m)
		}
		if t.Zone != nil && t.Zone.Kind == Wet && m >= at.Start {
			o.wet[t.Zone.Name][m] += sign
		}
		if t.Zone != nil && t.Zone.Kind == Dusty && m >= at.Start && m < at.AttendedEnd {
			o.dusty[t.Zone.Name][m] += sign
		}
	}
}

// demand returns how much of a resource task i takes in minute m.
func (o *oracle) demand(i int, r Resource, m int) int {
	t, at := &o.p.Tasks[i], o.at[i]
	own := t.Setup != nil && t.Setup.Resource == r.ID
	listed := 0
	for _, u := range t.Uses {
		switch {
		case u.Resource != r.ID:
		case m >= at.AttendedEnd:
			if u.During != Attended {
				listed += u.Amount
			}
		case u.During == Unattended:
		case own:
			listed += u.Amount
		case m >= at.Start && (r.Calendar == "" || o.attended[i][m]):
			listed += u.Amount
		}
	}
	if own && m < at.AttendedEnd {
		return max(1, listed)
	}
	if t.Setup != nil && m < at.Start && o.setup[i][m] {
		if h := o.p.Resources[o.resource[t.Setup.Resource]].Setups.Hands; h != nil && h.Resource == r.ID {
			listed += h.Amount
		}
	}
	return listed
}

// fits looks at capacities and zones in the minutes of task i.
func (o *oracle) fits(i int) bool {
	for m := o.at[i].SetupStart; m < o.at[i].End; m++ {
		for r := range o.p.Resources {
			if o.used[r][m] > o.p.Resources[r].Capacity {
				return false
			}
		}
		for _, z := range o.p.Zones {
			if o.wet[z][m] > 0 && o.dusty[z][m] > 0 {
				return false
			}
		}
	}
	return true
}

// jobEnd returns the end of a job as far as its tasks are placed.
func (o *oracle) jobEnd(j Job) (end int, begun bool) {
	for i := range o.p.Tasks {
		if o.placed[i] && o.p.Tasks[i].Job == j.ID {
			end, begun = max(end, o.at[i].End), true
		}
	}
	return end, begun
}

func (o *oracle) tardiness(j Job) int {
	end, begun := o.jobEnd(j)
	late := 0
	if !begun || j.Due == nil {
		return 0
	}
	for m := *j.Due; m < end; m++ {
		if j.Calendar == "" || m >= 0 && o.open[j.Calendar][m] {
			late++
		}
	}
	return late
}

// cost is the objective of the tasks placed so far and of all setups.
func (o *oracle) cost() int64 {
	w := o.p.Objective
	cost, makespan := int64(0), 0
	for i := range o.p.Tasks {
		cost += w.Setup * int64(o.minutes[i])
		if o.placed[i] {
			makespan = max(makespan, o.at[i].End)
		}
	}
	cost += w.Makespan * int64(makespan)
	for _, j := range o.p.Jobs {
		end, _ := o.jobEnd(j)
		cost += w.Flow*int64(end) + w.Tardiness*int64(j.Weight)*int64(o.tardiness(j))
	}
	if o.p.Previous == nil {
		return cost
	}
	for _, s := range o.p.Previous.Starts {
		for i := range o.p.Tasks {
			if o.placed[i] && o.p.Tasks[i].ID == s.ID && max(o.at[i].Start-s.Start, s.Start-o.at[i].Start) > o.p.Previous.Tolerance {
				cost += w.Moved
			}
		}
	}
	return cost
}

// plan writes down what is placed now.
func (o *oracle) plan(cost int64) *Plan {
	plan := &Plan{Version: Version, Status: Optimal, Objective: cost, Bound: cost, Tasks: slices.Clone(o.at)}
	for _, j := range o.p.Jobs {
		end, _ := o.jobEnd(j)
		plan.Jobs = append(plan.Jobs, PlanJob{ID: j.ID, End: end, Tardiness: o.tardiness(j)})
	}
	for _, station := range o.stations {
		state := ""
		if initial := o.p.Resources[o.resource[station]].Setups.Initial; initial != nil {
			state = *initial
		}
		for _, i := range o.orders[station] {
			to := o.p.Tasks[i].Setup.State
			if o.minutes[i] > 0 {
				plan.Setups = append(plan.Setups, PlanSetup{Resource: station, From: state, To: to, Start: o.at[i].SetupStart, Minutes: o.minutes[i], For: o.p.Tasks[i].ID})
			}
			state = to
		}
	}
	return plan
}

// Optima worked out by hand.
func TestOracleOnProblemsSolvedByHand(t *testing.T) {
	task := func(id string, attended int, more ...func(*Task)) Task {
		task := Task{ID: id, Attended: attended}
		for _, change := range more {
			change(&task)
		}
		return task
	}
	uses := func(resource string, during During) func(*Task) {
		return func(t *Task) { t.Uses = append(t.Uses, Use{resource, 1, during}) }
	}
	state := func(resource, state string) func(*Task) {
		return func(t *Task) { t.Setup = &SetupNeed{resource, state} }
	}
	cases := []struct {
		name string
		p    Problem
		best int64 // -1: no plan
	}{
		{"one after the other", Problem{Horizon: 12, Resources: []Resource{{ID: "m", Capacity: 1}},
			Tasks:     []Task{task("a", 3, uses("m", Attended)), task("b", 4, uses("m", Attended))},
			Objective: Weights{Makespan: 1}}, 7},
		// Open [0,4) and [6,10): b (4 minutes, uncut) waits for the second window
		// if a goes first, so b goes first and a follows in the second: 9.
		{"not cut by the break", Problem{Horizon: 12, Calendars: map[string][]Window{"d": {{0, 4}, {6, 10}}},
			Resources: []Resource{{ID: "h", Capacity: 1, Calendar: "d"}},
			Tasks:     []Task{task("a", 3, uses("h", Attended)), task("b", 4, uses("h", Attended))},
			Objective: Weights{Makespan: 1}}, 9},
		// Cut: 7 minutes of work in 4 + 3.
		{"cut by the break", Problem{Horizon: 12, Calendars: map[string][]Window{"d": {{0, 4}, {6, 10}}},
			Resources: []Resource{{ID: "h", Capacity: 1, Calendar: "d"}},
			Tasks:     []Task{{ID: "a", Attended: 7, Interruptible: true, Uses: []Use{{"h", 1, Attended}}}},
			Objective: Weights{Makespan: 1}}, 9},
		// a, a, b with one setup of 2, against a, b, a with two.
		{"setups kept together", Problem{Horizon: 14, Resources: []Resource{{ID: "m", Capacity: 1, Setups: &Setups{Default: 2}}},
			Tasks:     []Task{task("1", 2, state("m", "x")), task("2", 2, state("m", "y")), task("3", 2, state("m", "x"))},
			Objective: Weights{Makespan: 1}}, 8},
		// Closing the glue-up first lets it cure while the cut runs.
		{"cure beside other work", Problem{Horizon: 14, Resources: []Resource{{ID: "h", Capacity: 1}},
			Tasks:     []Task{task("cut", 5, uses("h", Attended)), {ID: "glue", Attended: 1, Unattended: 6, Uses: []Use{{"h", 1, Attended}}}},
			Objective: Weights{Makespan: 1}}, 7},
		{"wet against dusty", Problem{Horizon: 14, Zones: []string{"z"},
			Tasks: []Task{{ID: "coat", Attended: 1, Unattended: 4, Zone: &ZoneUse{"z", Wet}}, {ID: "sand", Attended: 3, Zone: &ZoneUse{"z", Dusty}}},
			Jobs:  nil, Objective: Weights{Makespan: 1}}, 8},
		{"a cycle", Problem{Horizon: 14, Tasks: []Task{task("a", 1), task("b", 1)},
			Links: []Link{{Before: "a", After: "b"}, {Before: "b", After: "a"}}}, -1},
		{"a greatest lag kept", Problem{Horizon: 20, Resources: []Resource{{ID: "m", Capacity: 1}},
			Tasks:     []Task{task("a", 2), task("b", 2, uses("m", Attended)), {ID: "busy", Attended: 9, Start: new(1), Uses: []Use{{"m", 1, Attended}}}},
			Links:     []Link{{Before: "a", After: "b", Max: new(1)}},
			Objective: Weights{Makespan: 1}}, 12},
		{"late by working minutes", Problem{Horizon: 20, Calendars: map[string][]Window{"w": {{0, 4}, {8, 12}}},
			Jobs:      []Job{{ID: "j", Due: new(2), Weight: 3, Calendar: "w"}},
			Tasks:     []Task{{ID: "a", Job: "j", Attended: 4, Unattended: 5}},
			Objective: Weights{Tardiness: 1}}, 9}, // [2,4) and [8,9)
		{"a start kept", Problem{Horizon: 20, Tasks: []Task{task("a", 2)},
			Previous: &Previous{Tolerance: 1, Starts: []Start{{"a", 5}}}, Objective: Weights{Makespan: 1, Moved: 10}}, 6},
	}
	for _, c := range cases {
		c.p.Version = Version
		require.NoError(t, c.p.Validate(), c.name)
		plan := bruteForce(&c.p)
		if c.best < 0 {
			assert.Nil(t, plan, c.name)
			continue
		}
		require.NotNil(t, plan, c.name)
		assert.Equal(t, c.best, plan.Objective, c.name)
		assert.NoError(t, Check(&c.p, plan), c.name)
	}
}

// The first two operations of the first two jobs of FT06: job 2 alone takes
// 8 + 5 minutes, and job 1 is not in its way.
func TestOracleOnAJobShop(t *testing.T) {
	full := instance(t, "ft/ft06.jss")
	p := &Problem{Version: Version, Horizon: 23, Resources: full.Resources, Objective: Weights{Makespan: 1},
		Tasks: []Task{full.Tasks[0], full.Tasks[1], full.Tasks[6], full.Tasks[7]},
		Links: []Link{{Before: "1.1", After: "1.2"}, {Before: "2.1", After: "2.2"}}}
	plan := bruteForce(p)
	require.NotNil(t, plan)
	require.NoError(t, Check(p, plan))
	assert.Equal(t, int64(13), plan.Objective)
}
