package sequence

import "sort"

// answer is a complete schedule taken out of a search.
type answer struct {
	value value
	start []int
	setup []int // minutes of setup before each task
	from  []int // state that its station is in before the task, -1: none
	seq   [][]int32
}

// answer copies the schedule, all tasks being placed.
func (d *decoder) answer() *answer {
	a := &answer{
		value: d.value(), start: append([]int(nil), d.start...), setup: append([]int(nil), d.setup...),
		from: make([]int, len(d.start)),
	}
	for _, seq := range d.seq {
		a.seq = append(a.seq, append([]int32(nil), seq...))
	}
	d.m.nameStates(a)
	return a
}

// nameStates fills in the state that each task finds its station in.
func (m *model) nameStates(a *answer) {
	for r, seq := range a.seq {
		for i, t := range seq {
			if i == 0 {
				a.from[t] = m.resources[r].setups.initial
			} else {
				a.from[t] = m.tasks[seq[i-1]].state
			}
		}
	}
}

// order lists the tasks by start.
func (a *answer) order() []int {
	list := make([]int, len(a.start))
	for i := range list {
		list[i] = i
	}
	sort.SliceStable(list, func(x, y int) bool { return a.start[list[x]] < a.start[list[y]] })
	return list
}

// plan writes an answer out in the ids of the problem.
func (m *model) plan(a *answer) *Plan {
	p := &Plan{Version: Version, Objective: a.value.cost, Conflict: []string{}, Setups: []PlanSetup{},
		Tasks: make([]PlanTask, 0, len(m.tasks)), Jobs: make([]PlanJob, 0, len(m.jobs)), Trace: []TracePoint{}}
	jobEnd := make([]int, len(m.jobs))
	for i := range m.tasks {
		w := &m.tasks[i]
		t := PlanTask{ID: w.id, SetupStart: a.start[i], Start: a.start[i], AttendedEnd: w.attEnd(a.start[i]), End: w.end(a.start[i])}
		if a.setup[i] > 0 {
			c := m.resources[w.station].setups
			t.SetupStart, _ = w.setupStart(c.clock, a.start[i], a.setup[i])
			p.Setups = append(p.Setups, PlanSetup{
				Resource: m.resources[w.station].id, From: c.names[a.from[i]], To: c.names[w.state],
				Start: t.SetupStart, Minutes: a.setup[i], For: w.id,
			})
		}
		if w.job >= 0 {
			jobEnd[w.job] = max(jobEnd[w.job], t.End)
		}
		p.Tasks = append(p.Tasks, t)
	}
	sort.SliceStable(p.Setups, func(x, y int) bool { return p.Setups[x].Start < p.Setups[y].Start })
	for j := range m.jobs {
		p.Jobs = append(p.Jobs, PlanJob{ID: m.jobs[j].id, End: jobEnd[j], Tardiness: m.jobs[j].tardiness(jobEnd[j])})
	}
	return p
}
