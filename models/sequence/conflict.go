package sequence

import "slices"

const (
	conflictTests = 400    // subsets tried to make a conflict smaller
	conflictWork  = 1000   // work of the exact search on each
	conflictProof = 10_000 // work where it is still open whether one of the last ones is needed,
	conflictMore  = 20     // so many times at most
)

// verdict says whether a problem has a plan.
type verdict uint8

const (
	isOpen verdict = iota
	hasNone
	hasPlan
)

// conflict names tasks that cannot be placed together, in the problem's order: all
// of them at worst, after leaving out what is not needed for the proof. It is
// irreducible where for each of them the others were shown to have a plan.
func (s *solver) conflict(p *Problem) (ids []string, irreducible bool) {
	tests, more, proved := conflictTests, conflictMore, false
	judge := func(tasks []int, work int64) verdict {
		if tests--; tests < 0 || s.stop.Load() {
			return isOpen
		}
		return s.judge(subProblem(p, tasks), work)
	}
	tasks := make([]int, len(p.Tasks))
	for i := range tasks {
		tasks[i] = i
	}
	if broken := slices.Clone(s.m.broken); len(broken) > 0 {
		slices.Sort(broken)
		if judge(broken, conflictWork) == hasNone {
			tasks = broken
		}
	}
	for chunk := (len(tasks) + 1) / 2; chunk >= 1 && tests > 0; chunk /= 2 {
		proved = chunk == 1
		for at := 0; at < len(tasks) && len(tasks) > 1 && tests > 0; {
			less := slices.Concat(tasks[:at], tasks[min(at+chunk, len(tasks)):])
			found := hasPlan
			if len(less) > 0 {
				found = judge(less, conflictWork)
			}
			if found == isOpen && chunk == 1 && more > 0 {
				more--
				found = judge(less, conflictProof)
			}
			if found == hasNone {
				tasks = less
				continue
			}
			proved = proved && found == hasPlan
			at += chunk
		}
	}
	for _, t := range tasks {
		ids = append(ids, p.Tasks[t].ID)
	}
	return ids, proved && tests >= 0 && !s.stop.Load() || len(tasks) == 1
}

// judge tells whether a problem has a plan, as far as a little work shows it.
func (s *solver) judge(p *Problem, work int64) verdict {
	m := s.compile(p)
	switch {
	case s.stop.Load():
		return isOpen
	case m.broken != nil:
		return hasNone
	}
	if e := newExact(m, s.o.Seed); e != nil {
		e.run((&budget{work: work, stop: &s.stop}).begin())
		switch {
		case e.search.best != nil:
			return hasPlan
		case e.dead:
			return hasNone
		}
	}
	if im := newImprover(m, s.o.Seed); work > conflictWork && !s.stop.Load() {
		im.begin(&s.stop, func() bool { return true })
		if im.solved {
			return hasPlan
		}
	}
	return isOpen
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
