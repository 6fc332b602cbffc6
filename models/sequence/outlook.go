package sequence

import "math"

// outlook is a lower bound of the objective that a partial schedule can still
// come to: each job, and the whole, ends no earlier than the tasks placed so far
// and the minutes of the links behind them say. It lets the decoder give a
// schedule up as soon as it is worse than what is asked for.
type outlook struct {
	m      *model
	toJob  []int // least minutes from S of a task to the end of its job
	toLast []int // and to the end of all; nil if the makespan has no weight
	outlookState
	base  outlookState // where nothing is placed
	limit int64        // cost above which a schedule is given up
	undo  []outlookStep
}

type outlookState struct {
	jobEnd  []int // bound of the end of each job
	lastEnd int
	cost    int64
}

func (s *outlookState) set(to *outlookState) {
	s.jobEnd = append(s.jobEnd[:0], to.jobEnd...)
	s.lastEnd, s.cost = to.lastEnd, to.cost
}

type outlookStep struct {
	job, jobEnd, lastEnd int
	cost                 int64
}

func newOutlook(m *model) outlook {
	o := outlook{m: m, toJob: m.tailsWithin(true), limit: math.MaxInt64}
	if m.weights.Makespan > 0 {
		o.toLast = m.tailsWithin(false)
	}
	o.base.jobEnd = make([]int, len(m.jobs))
	for t := range m.tasks {
		if m.early[t] >= never {
			continue // such a problem is never decoded
		}
		if j := m.tasks[t].job; j >= 0 {
			o.base.jobEnd[j] = max(o.base.jobEnd[j], m.minEnd[t])
		}
		o.base.lastEnd = max(o.base.lastEnd, m.minEnd[t])
	}
	o.base.cost = m.weights.Makespan * int64(o.base.lastEnd)
	for j := range m.jobs {
		o.base.cost += m.jobCost(&m.jobs[j], o.base.jobEnd[j])
	}
	o.clear()
	return o
}

// tailsWithin returns for each task the least minutes from its start to the end
// of the links behind it, of those within its job or of all.
func (m *model) tailsWithin(job bool) []int {
	att := func(t int) int { return m.tasks[t].att }
	return m.longestBehind(att, func(t int, l *lag) bool {
		return l.after != t && (!job || m.tasks[l.after].job == m.tasks[t].job)
	})
}

// longestBehind returns for each task the minutes from its start to the end of
// the longest chain of followed links behind it, with att its attended minutes.
// Where links go round in a circle the chain ends.
func (m *model) longestBehind(att func(t int) int, follow func(t int, l *lag) bool) []int {
	n := len(m.tasks)
	tails, open := make([]int, n), make([]bool, n)
	for i := range tails {
		tails[i] = -1
	}
	var tail func(t int) int
	tail = func(t int) int {
		if tails[t] >= 0 || open[t] {
			return max(0, tails[t])
		}
		open[t] = true
		w, attended := &m.tasks[t], att(t)
		longest := attended + w.unatt
		for _, k := range w.out {
			l := &m.links[k]
			if !follow(t, l) {
				continue
			}
			from := l.min
			switch l.from {
			case atAttended:
				from += attended
			case atEnd:
				from += attended + w.unatt
			}
			longest = max(longest, from+tail(l.after))
		}
		tails[t] = longest
		return longest
	}
	for t := range tails {
		tail(t)
	}
	return tails
}

func (o *outlook) clear() {
	o.set(&o.base)
	o.undo = o.undo[:0]
}

// placed takes into account that a task starts at s.
func (o *outlook) placed(t, s int) {
	j := o.m.tasks[t].job
	step := outlookStep{job: j, lastEnd: o.lastEnd, cost: o.cost}
	if j >= 0 {
		step.jobEnd = o.jobEnd[j]
		if end := s + o.toJob[t]; end > o.jobEnd[j] {
			job := &o.m.jobs[j]
			o.cost += o.m.jobCost(job, end) - o.m.jobCost(job, o.jobEnd[j])
			o.jobEnd[j] = end
		}
	}
	if o.toLast != nil && s+o.toLast[t] > o.lastEnd {
		o.cost += o.m.weights.Makespan * int64(s+o.toLast[t]-o.lastEnd)
		o.lastEnd = s + o.toLast[t]
	}
	o.undo = append(o.undo, step)
}

// taken undoes the last placed.
func (o *outlook) taken() {
	step := o.undo[len(o.undo)-1]
	o.undo = o.undo[:len(o.undo)-1]
	if step.job >= 0 {
		o.jobEnd[step.job] = step.jobEnd
	}
	o.lastEnd, o.cost = step.lastEnd, step.cost
}

func (o *outlook) hopeless() bool { return o.cost > o.limit }
