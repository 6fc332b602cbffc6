package sequence

import "slices"

const (
	conflictTests = 400  // subsets tried to make a conflict smaller
	conflictWork  = 1000 // work of the exact search on each
)

// conflict names tasks that cannot be placed together, in the problem's order:
// all of them at worst, after leaving out what is not needed for the proof.
func (s *solver) conflict(p *Problem) []string {
	tests := conflictTests
	stillNone := func(tasks []int) bool {
		tests--
		return tests >= 0 && !s.stop.Load() && s.impossible(subProblem(p, tasks))
	}
	tasks := make([]int, len(p.Tasks))
	for i := range tasks {
		tasks[i] = i
	}
	if broken := slices.Clone(s.m.broken); len(broken) > 0 {
		slices.Sort(broken)
		if stillNone(broken) {
			tasks = broken
		}
	}
	for chunk := (len(tasks) + 1) / 2; chunk >= 1 && tests > 0; chunk /= 2 {
		for at := 0; at < len(tasks) && len(tasks) > 1 && tests > 0; {
			less := slices.Concat(tasks[:at], tasks[min(at+chunk, len(tasks)):])
			if len(less) > 0 && stillNone(less) {
				tasks = less
			} else {
				at += chunk
			}
		}
	}
	ids := []string{}
	for _, t := range tasks {
		ids = append(ids, p.Tasks[t].ID)
	}
	return ids
}

// impossible tells whether a problem is proved to have no plan with little work.
func (s *solver) impossible(p *Problem) bool {
	m := compile(p, &s.stop)
	if s.stop.Load() || m.broken != nil {
		return m.broken != nil
	}
	e := newExact(m, s.o.Seed)
	if e == nil {
		return false
	}
	e.run((&budget{work: conflictWork, stop: &s.stop}).begin())
	return e.dead && e.search.best == nil
}

// subProblem keeps some of the tasks and the links among them, without objective.
func subProblem(p *Problem, tasks []int) *Problem {
	sub := *p
	sub.Tasks, sub.Links, sub.Previous, sub.Objective = nil, nil, nil, Weights{}
	kept := map[string]bool{}
	for _, t := range tasks {
		sub.Tasks = append(sub.Tasks, p.Tasks[t])
		kept[p.Tasks[t].ID] = true
	}
	for _, l := range p.Links {
		if kept[l.Before] && kept[l.After] {
			sub.Links = append(sub.Links, l)
		}
	}
	return &sub
}
