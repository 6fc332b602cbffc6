package sequence

import (
	"slices"
	"time"
)

// Where a special search makes the plans it mostly has the best one soon. From then on
// the proof is what is missing, so that most of its core goes to a second exact search.
// The two begin at other places, one asks from below and one from above, and between
// rounds they tell each other what they learned.
//
// Where a proof is far off plans of a project still come better for long, and most of the
// exact search's core goes to a second one that breeds. It is there for first populations,
// whose best it gives to the first.

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

// call sets the second exact search up once the proof is what is missing. Where stations
// have setups plans come better for long, and the core stays with what makes them.
func (s *solver) call() {
	if s.second != nil || s.o.Work > 0 || s.o.Cores < 2 || s.large() || !specialized(s.workers) || !s.proving() {
		return
	}
	first := s.exacts()
	if len(first) == 0 || len(first[0].orders) > 0 {
		return
	}
	if s.second = newExact(s.m, s.o.Seed+1); s.second == nil {
		return
	}
	s.second.search.noDives, s.second.search.noAims = true, true
	s.second.x.telling, first[0].x.telling = true, true
	s.workers = append(s.workers, s.second)
}

// The bound is near the best plan, or far off it, where what is between them is so many
// times the plan over its tasks: the more tasks there are the nearer it must be for a proof.
const nearBy, farFrom = 8, 12

// farAfter is how long a search must have gone on before a proof that is far off is called
// so.
const farAfter = 2 * time.Second

// callBreeder sets a second search that breeds up where a proof is far off, and lets it go
// where it no longer is. What it has bred goes to the first.
func (s *solver) callBreeder() {
	if s.o.Work > 0 || s.o.Cores < 2 || s.large() {
		return
	}
	first, ok := s.workers[0].(*project)
	if !ok {
		return
	}
	if s.breeder != nil {
		first.receive(s.breeder)
	}
	far := !s.within(farFrom) && time.Since(s.began) >= farAfter
	switch {
	case far && s.breeder == nil && len(s.exacts()) > 0:
		s.breeder = newProject(s.m, s.best, s.o.Seed+1)
		s.workers = append(s.workers, s.breeder)
	case !far && s.breeder != nil:
		s.workers = slices.DeleteFunc(s.workers, func(w worker) bool { return w == s.breeder })
		s.breeder = nil
	}
}

// within tells whether the bound is so near the best plan.
func (s *solver) within(times float64) bool {
	gap := float64(s.best.value.cost - s.bound)
	return gap*float64(len(s.m.tasks)) <= times*float64(s.best.value.cost)
}

// proving tells whether a proof is nearer than a better plan: plans have not come better
// for twice as long as it took to the best one, and the bound is near it.
func (s *solver) proving() bool {
	if s.best == nil {
		return false
	}
	last := time.Duration(s.trace[len(s.trace)-1].Seconds * float64(time.Second))
	if time.Since(s.began) < max(quietAtLeast, 3*last) {
		return false
	}
	return s.within(nearBy)
}

// share is the slice of a round that a worker gets: the second exact search and the one
// that makes the plans have one between them, and so have a second one that makes plans
// and all exact ones.
func (s *solver) share(w worker, slice time.Duration) time.Duration {
	e, exact := w.(*exact)
	switch {
	case exact && s.large():
		return slice / 5
	case s.breeder != nil && exact:
		return slice / 4 / time.Duration(len(s.exacts()))
	case s.breeder != nil && w == s.breeder:
		return slice * 3 / 4
	case s.breeder != nil:
		return slice
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
