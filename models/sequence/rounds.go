package sequence

import (
	"slices"
	"sync"
	"sync/atomic"
	"time"
)

// The search goes on in rounds. A round is cut by work, and time, or who cancels, only
// ends the search: of a round that was broken off what the first searches had found by
// then counts, as far as they had done their whole share, and the rest is left out. So a
// plan hangs on nothing but the problem, the seed, the number of searches and the work
// done; the same amount of work makes exactly these rounds again.
//
// Where a special search makes the plans (jobshop.go, project.go, onemachine.go) the proof
// is mostly what is missing, and the cores are shared out by the clock: those plans are
// the same again only where Work ended the search that made them.

// worker is one search. Workers run side by side for a round and learn of each
// other only between rounds, so that a run does not depend on how they are
// spread over cores.
type worker interface {
	// chunk is the work of a round beside a search for the problem's kind: less where
	// a unit takes long, so that no worker waits long for another.
	chunk() int64
	// run searches until the budget is used up and returns the work done.
	run(b *budget) int64
	// meet tells the worker what is known before a round.
	meet(best *answer, bound int64)
	// found returns the best answer so far, nil if none, the best proved bound,
	// and whether the worker has proved that there is no better answer.
	found() (best *answer, bound int64, closed bool)
}

// budget ends a worker's round: after so much work, so much time, or when all stops.
type budget struct {
	work    int64
	slice   time.Duration // 0: no time
	until   time.Time
	counter *int64 // that must not pass most; nil: none
	most    int64
	nominal int64 // what the round is counted as; 0: the work done
	stop    *atomic.Bool
	tick    int
}

// begin starts the clock of a round.
func (b *budget) begin() *budget {
	if b.slice > 0 {
		b.until = time.Now().Add(b.slice)
	}
	return b
}

// over tells whether to end the round after 'done' units of work. It looks at
// the clock only every so many calls.
func (b *budget) over(done int64) bool {
	if done >= b.work || b.counter != nil && *b.counter >= b.most || b.stop.Load() {
		return true
	}
	if b.tick++; b.tick&7 == 0 && !b.until.IsZero() && time.Now().After(b.until) {
		b.tick--
		return true
	}
	return false
}

// The length of a round by work, as tasks placed by each search that makes plans: the
// first takes some 3 ms of a processor, later ones up to 25. An exact search lowers a
// bound in about the time in which three tasks are placed (measured on shop weeks of 60 and
// 100 steps: 1 to 2.6 µs, and 0.4 µs; 0.2 µs since only what differs is placed, and to give
// the searches that make plans so much more did them no good); where nothing goes by hours,
// two in the time of one (projects with greatest lags of 20 to 100 tasks: 0.4 to 1.7 µs, and
// 0.3 to 4 µs). What it takes beyond its share, as some of its steps are long, it pays back
// in the next rounds. Its share counts as an eighth of the schedules that take as long,
// since schedules are what work is asked for in; without hours it takes longer than they
// do, as there it is the one that gets on.
const (
	firstRound, longestRound = 12_000, 120_000
	placedAPush              = 3
	pushesAPlace             = 2 // without hours
	exactCounts              = 8
	// The first step of an exact search can be a long one, the longer the more pairs of
	// tasks there are: before it plans are made for a while, where it has little hope of
	// an end not longer than for so many tasks.
	pushesAPair = 5
)

// byClock tells whether the cores are shared out by the clock.
func (s *solver) byClock() bool { return s.o.Work == 0 && s.ofAKind() }

// ofAKind tells whether searches for the problem's kind make the plans.
func (s *solver) ofAKind() bool {
	return s.oneMachine() || specialized(s.workers)
}

// oneMachine tells whether a search for single machines makes the plans.
func (s *solver) oneMachine() bool {
	if len(s.workers) == 0 {
		return false
	}
	_, one := s.workers[0].(*oneMachine)
	return one
}

// usedUp tells whether the work to be done is done.
func (s *solver) usedUp() bool { return s.o.Work > 0 && s.spent >= s.o.Work }

// begun takes the first plans over and tells whether to go on with them.
func (s *solver) begun(first *improver) bool {
	if s.stop.Load() {
		s.broken(first)
		return false
	}
	s.spent = first.d.count
	s.collect(first)
	s.tell()
	return !s.stop.Load() && !s.usedUp()
}

// broken takes over what was found in work that was broken off, where there is no plan
// else. It cannot be made again.
func (s *solver) broken(from ...worker) {
	if s.best != nil {
		return
	}
	for _, w := range from {
		s.collect(w)
	}
	s.torn = true
	s.tell()
}

// rounds lets the workers search until there is nothing left to find or to spend.
func (s *solver) rounds() {
	slice, length := 10*time.Millisecond, int64(firstRound)
	for len(s.workers) > 0 && !s.closed() && !s.stop.Load() && !s.usedUp() {
		s.call()
		s.callLines()
		budgets := s.budgets(slice, length)
		for _, w := range s.workers {
			w.meet(s.best, s.bound)
		}
		s.exchange()
		s.round(budgets)
		s.workers = slices.DeleteFunc(s.workers, func(w worker) bool {
			switch w := w.(type) {
			case *exact:
				return w.x.halted
			case *handLine:
				return w.finished
			case *lineClimb:
				return w.finished
			}
			return false
		})
		slice, length = min(slice*5/4, 100*time.Millisecond), min(length*5/4, longestRound)
	}
}

// budgets shares a round out among the workers: so much time, where the clock does that,
// or so many placed tasks for each, as far as there is work left.
func (s *solver) budgets(slice time.Duration, length int64) []*budget {
	all := make([]*budget, len(s.workers))
	left := int64(never)
	if s.o.Work > 0 {
		left = s.o.Work - s.spent
	}
	for i, w := range s.workers {
		b := &budget{work: never, stop: &s.stop}
		all[i] = b
		if s.byClock() {
			b.slice = s.share(w, slice)
			continue
		}
		chunk := max(1, length/int64(len(s.m.tasks))*s.twentieths(w)/20)
		if s.ofAKind() {
			chunk = w.chunk()
		}
		e, exact := w.(*exact)
		counted := chunk
		if exact && !s.ofAKind() {
			counted = max(1, chunk/exactCounts)
		}
		b.work = max(0, min(counted, left))
		left -= counted
		if s.ofAKind() {
			continue
		}
		if b.nominal = b.work; exact && b.work > 0 {
			e.search.allowed += s.m.pushes(chunk * b.nominal / counted * int64(len(s.m.tasks)))
			b.work, b.counter, b.most = never, &e.x.pushed, e.search.allowed
		}
	}
	return all
}

// twentieths is how much of a round's length a worker gets. Where lines are they find most
// of the plans. Where there are few tasks exact searches get most once plans do not come
// better any more. The shares were chosen by trying on some 50 weeks of 57 to 110 tasks.
func (s *solver) twentieths(w worker) int64 {
	_, exact := w.(*exact)
	_, lines := w.(*handLine)
	_, climb := w.(*lineClimb)
	switch {
	case exact && s.few && s.stale():
		return 60
	case exact && s.large():
		return 4
	case climb && s.few:
		return 3
	case lines && s.few && s.stale():
		return 5
	case lines:
		return 40
	case s.few && s.stale() && !exact:
		return 3
	}
	return 20
}

// stale tells whether plans have not come better for a third of all work.
func (s *solver) stale() bool {
	return s.best != nil && s.spent >= leastStale && s.spent-s.better > s.spent/3
}

// leastStale is how much work there has to be before plans are called stale.
const leastStale = 5000

// pushes is how many bounds an exact search lowers while so many tasks are placed.
func (m *model) pushes(placed int64) int64 {
	if m.hasHours() {
		return placed / placedAPush
	}
	return placed * pushesAPlace
}

// hasHours tells whether anything goes by a calendar.
func (m *model) hasHours() bool {
	return slices.ContainsFunc(m.resources, func(r station) bool { return r.clock != nil })
}

// head is what the exact search lets the others have before it begins: nothing where
// they found no plan at first, for there may be none.
func (s *solver) head() int64 {
	if s.best == nil {
		return 0
	}
	n := int64(min(len(s.m.tasks), mostHopeful))
	return pushesAPair * n * n
}

// round runs every worker once, on as many cores as were given, and gathers
// what they found.
func (s *solver) round(budgets []*budget) {
	work := make([]int64, len(s.workers))
	var wg sync.WaitGroup
	free := make(chan struct{}, max(1, s.o.Cores))
	for i := range s.workers {
		if s.few { // those that take longest stand last
			i = len(s.workers) - 1 - i
		}
		w := s.workers[i]
		if s.o.Cores <= 1 {
			work[i] = w.run(budgets[i].begin())
			continue
		}
		free <- struct{}{} // in this order: two short slices share a core
		wg.Go(func() {
			work[i] = w.run(budgets[i].begin())
			<-free
		})
	}
	wg.Wait()
	stopped := s.stop.Load() && !s.byClock()
	for i, w := range s.workers {
		b := budgets[i]
		if b.work == 0 { // no work was left for it and those behind it
			break
		}
		if stopped && (b.nominal == 0 || work[i] < b.work) {
			s.broken(s.workers...)
			break
		}
		if b.nominal > 0 {
			work[i] = b.nominal
		}
		s.spent += work[i]
		s.collect(w)
	}
	s.tell()
	s.step()
}
