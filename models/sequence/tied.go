package sequence

import "slices"

const (
	// tiedWork bounds the search among the tasks of one tie.
	tiedWork = 500
	// mostTied is how many tasks a tie may have. The first plan waits for the look at it,
	// which takes some 5 ms for 50 tasks, 150 for 100 and 2 s for 200.
	mostTied = 50
)

// brokenTie returns tasks that greatest lags tie to each other and that have no plan
// among themselves, nil where none are found. Nothing of them hangs on hours, so that
// they have one at any time or at none: one of them is put somewhere, and beside it the
// lags leave the others little room. Where the whole horizon is open to them it shows
// late, for their bounds creep up through all of it.
func (m *model) brokenTie(p *Problem) []int {
	for _, tie := range m.ties() {
		sub := subProblem(p, tie)
		for i := range sub.Tasks {
			t := &sub.Tasks[i]
			t.Release, t.Deadline, t.Start = 0, nil, nil
		}
		// Wherever a plan has its first task, it fits into twice the horizon with that
		// task in the middle.
		sub.Horizon, sub.Tasks[0].Start = 2*p.Horizon, &p.Horizon
		tied := compile(sub, m.stop)
		if m.halted() {
			return nil
		}
		if tied.broken != nil {
			return tie
		}
		if e := newExact(tied, 0); e != nil {
			e.run(&budget{work: tiedWork, stop: m.stop})
			if e.dead && e.search.best == nil {
				return tie
			}
		}
	}
	return nil
}

// ties finds the sets of tasks that links keep near each other, from each to each, as
// far as these hang on no hours and no setups and are not too many.
func (m *model) ties() [][]int {
	if !m.maxLag {
		return nil
	}
	next := make([][]int, len(m.tasks))
	for _, g := range m.gaps() {
		next[g.from] = append(next[g.from], g.to)
	}
	ties := make([][]int, len(m.tasks))
	for t, k := range components(next) {
		if w := &m.tasks[t]; w.clock == nil && w.station < 0 {
			ties[k] = append(ties[k], t)
		}
	}
	return slices.DeleteFunc(ties, func(tie []int) bool { return len(tie) < 2 || len(tie) > mostTied })
}
