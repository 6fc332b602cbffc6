package sequence

import "time"

// Where a special search makes the plans, or there are few tasks, the best one is mostly
// there soon. From then on the proof is what is missing, so that most of their core goes to a
// second exact search. The two begin at other places, one asks from below and one from
// above, and between rounds they tell each other what they learned.

// quietAtLeast is how long plans must not have come better before a second exact search
// is called.
const quietAtLeast = 200 * time.Millisecond

// specialized tells whether the plans are made by a search for the problem's kind that
// needs no decoder.
func specialized(searches []worker) bool {
	if len(searches) == 0 {
		return false
	}
	switch searches[0].(type) {
	case *project, *shopTabu:
		return true
	}
	return false
}

// call sets the second exact search up once the proof is what is missing.
func (s *solver) call() {
	first := s.exacts()
	if s.second != nil || len(first) == 0 || !s.wanting(first[0]) {
		return
	}
	if s.second = newExact(s.m, s.o.Seed+1); s.second == nil {
		return
	}
	s.second.search.allowed = s.second.x.pushed
	s.second.search.noDives, s.second.search.noAims = true, true
	s.second.x.telling, first[0].x.telling = true, true
	s.workers = append(s.workers, s.second)
}

// wanting tells whether a second exact search is wanted beside the first. Where work cuts
// the rounds that hangs on work alone. Where a special search makes plans for stations with
// setups they come better for long, and the core stays with it.
func (s *solver) wanting(first *exact) bool {
	if s.few {
		return s.stale()
	}
	return s.o.Work == 0 && s.o.Cores > 1 && !s.large() && specialized(s.workers) && len(first.orders) == 0 && s.proving()
}

// proving tells whether a proof is nearer than a better plan: plans have not come better
// for twice as long as it took to the best one, and the bound is not too far from it; the
// more tasks there are the nearer it must be.
func (s *solver) proving() bool {
	if s.best == nil {
		return false
	}
	last := time.Duration(s.trace[len(s.trace)-1].Seconds * float64(time.Second))
	if time.Since(s.began) < max(quietAtLeast, 3*last) {
		return false
	}
	gap := float64(s.best.value.cost - s.bound)
	return gap*float64(len(s.m.tasks)) <= 8*float64(s.best.value.cost)
}

// share is the slice of a round that a worker gets: the second exact search and the one
// that makes the plans have one between them.
func (s *solver) share(w worker, slice time.Duration) time.Duration {
	e, exact := w.(*exact)
	switch {
	case exact && s.large():
		return slice / 5
	case s.second == nil || s.second.x.halted || exact && e != s.second || !exact && w != s.workers[0]:
		return slice
	case exact == s.proving():
		return slice * 3 / 4
	}
	return slice / 4
}

// exacts returns the exact searches.
func (s *solver) exacts() []*exact {
	var all []*exact
	for _, w := range s.workers {
		if e, ok := w.(*exact); ok {
			all = append(all, e)
		}
	}
	return all
}

// exchange tells the exact searches what each other has learned since. What one learned
// holds below the best plan there was then, and all of them ask for less than that now.
func (s *solver) exchange() {
	all := s.exacts()
	if len(all) < 2 { // the other may have given itself up
		for _, e := range all {
			e.x.telling, e.x.fresh = false, nil
		}
		return
	}
	for _, e := range all {
		e.x.back(0)
	}
	heard := make([]int, len(all))
	for i, e := range all {
		heard[i] = len(e.x.trail)
	}
	for i, e := range all {
		for _, other := range all {
			if e != other {
				other.dead = other.dead || !other.hear(e.x.trail[e.x.told:heard[i]], e.x.fresh)
			}
		}
	}
	for _, e := range all {
		e.x.fresh, e.x.told = e.x.fresh[:0], len(e.x.trail)
	}
}

// hear takes bounds and clauses of another search of the same problem over; false means
// that there is no solution.
func (e *exact) hear(bounds []event, clauses []*clause) bool {
	for i := range bounds {
		if !e.x.set(lit{bounds[i].side, bounds[i].new}) {
			return false
		}
	}
	for _, of := range clauses {
		c, ok := e.x.attach(of.lits)
		if !ok {
			return false
		}
		if c != nil {
			c.lbd = of.lbd
			e.x.learned = append(e.x.learned, c)
		}
	}
	return true
}
