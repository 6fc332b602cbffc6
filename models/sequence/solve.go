package sequence

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"sync"
	"sync/atomic"
	"time"
)

// Options says how long and how to search.
type Options struct {
	Limit  time.Duration // wall clock; 0: none
	Work   int64         // schedules generated, conflicts of the exact search included; 0: none
	Seed   int64         // of all random choices
	Cores  int           // goroutines that search at once; 0: 1
	OnPlan func(*Plan)   // each better plan as it is found; may be nil; called from one goroutine at a time
	OnStep func(Step)    // each round that found something; may be nil; called like OnPlan

	// Without* switch one of the two searches off, for tests and comparisons.
	WithoutImprove, WithoutExact bool
}

// Step is what is known after so much work. With Work and no Limit the steps are the
// same in every run.
type Step struct {
	Work      int64 // done so far
	Planned   bool  // there is a plan
	Objective int64 // of the best plan
	Bound     int64 // proved
}

// String is one line of a trace: work, objective and bound.
func (s Step) String() string {
	objective := "-"
	if s.Planned {
		objective = strconv.FormatInt(s.Objective, 10)
	}
	return fmt.Sprintf("%10d %12s %12d", s.Work, objective, s.Bound)
}

// defaultLimit holds where Options name neither a limit nor an amount of work.
const defaultLimit = 10 * time.Second

// Solve searches for a plan of least objective until it is proved optimal or
// infeasible, the limit or the work is used up, or ctx is done; then it returns
// the best plan so far. Only an invalid problem is an error. The status is
// Unknown where no plan was found and none was proved impossible. With Work and
// no Limit the same seed gives the same plan on any number of cores.
func Solve(ctx context.Context, p *Problem, o Options) (*Plan, error) {
	if err := p.Validate(); err != nil {
		return nil, err
	}
	if o.Limit == 0 && o.Work == 0 {
		o.Limit = defaultLimit
	}
	if o.Limit > 0 {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, o.Limit)
		defer cancel()
	}
	s := &solver{o: o, began: time.Now(), done: func() bool { return ctx.Err() != nil }}
	defer context.AfterFunc(ctx, func() { s.stop.Store(true) })()
	s.m = compile(p, &s.stop)
	if s.m.broken != nil {
		s.infeasible = true
		return s.finish(p), nil
	}
	if s.stop.Load() {
		return s.finish(p), nil
	}
	s.bound = s.m.lowerBound()
	s.open()
	s.step()
	s.rounds()
	return s.finish(p), nil
}

// solver is one run of Solve: the searches, and what they know in common.
type solver struct {
	o          Options
	m          *model
	began      time.Time
	stop       atomic.Bool
	done       func() bool // tells whether the search is to end; stop says so a little later
	workers    []worker
	best       *answer
	bound      int64
	infeasible bool
	trace      []TracePoint
	spent      int64
	last       Step   // told of last
	second     *exact // helps the first one where plans hardly come better any more
}

// worker is one search. Workers run side by side for a round and learn of each
// other only between rounds, so that a run does not depend on how they are
// spread over cores.
type worker interface {
	// chunk is the work of a round where work, not time, is what ends it: less
	// where a unit takes long, so that no worker waits long for another.
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
	work  int64
	slice time.Duration // 0: no time
	until time.Time
	stop  *atomic.Bool
	tick  int
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
	if done >= b.work || b.stop.Load() {
		return true
	}
	if b.tick++; b.tick&7 == 0 && !b.until.IsZero() && time.Now().After(b.until) {
		b.tick--
		return true
	}
	return false
}

// open sets the workers up and makes the first plan.
func (s *solver) open() {
	if len(s.m.tasks) == 0 {
		s.take(&answer{})
		return
	}
	var searches []worker
	if !s.o.WithoutImprove {
		first := newImprover(s.m, s.o.Seed)
		s.spent = first.begin(&s.stop, func() {
			s.spent = first.d.count
			s.collect(first)
		})
		s.collect(first)
		searches = append(searches, s.special(first, s.o.Seed))
	}
	if !s.o.WithoutExact && !s.stop.Load() {
		if e := newExact(s.m, s.o.Seed); e != nil {
			e.search.noDives = specialized(searches)
			searches = append(searches, e)
		}
	}
	s.workers = searches
	if s.o.Work == 0 && !s.o.WithoutImprove {
		more := s.o.Cores - len(s.workers)
		if s.large() {
			more = s.o.Cores - 1
		}
		for k := 2; k < more+2; k++ {
			seed := s.o.Seed + int64(k)*7919
			s.workers = append(s.workers, s.special(newImprover(s.m, seed), seed))
		}
	}
}

// large tells whether the exact search has little hope of an end, so that it
// gets little time.
func (s *solver) large() bool { return len(s.m.tasks) > 150 }

// special returns a search made for the problem's kind where there is one, else
// the general one.
func (s *solver) special(general *improver, seed int64) worker {
	if shop := newShopTabu(s.m, s.best, seed); shop != nil {
		return shop
	}
	if project := newProject(s.m, s.best, seed); project != nil {
		return project
	}
	if one := newOneMachine(s.m, s.best, seed); one != nil {
		return one
	}
	return general
}

// rounds lets the workers search until there is nothing left to find or to spend.
func (s *solver) rounds() {
	slice := 10 * time.Millisecond
	for len(s.workers) > 0 && !s.closed() && !s.stop.Load() {
		s.call()
		budgets := make([]*budget, len(s.workers))
		left := s.o.Work - s.spent
		if s.o.Work > 0 && left <= 0 {
			return
		}
		for i, w := range s.workers {
			budgets[i] = &budget{work: never, stop: &s.stop}
			if s.o.Work > 0 {
				budgets[i].work = max(0, min(w.chunk(), left))
				left -= w.chunk()
			} else {
				budgets[i].slice = s.share(w, slice)
			}
			w.meet(s.best, s.bound)
		}
		s.exchange()
		s.round(budgets)
		s.workers = slices.DeleteFunc(s.workers, func(w worker) bool {
			e, ok := w.(*exact)
			return ok && e.x.halted
		})
		slice = min(slice*5/4, 100*time.Millisecond)
	}
}

// round runs every worker once, on as many cores as were given, and gathers
// what they found.
func (s *solver) round(budgets []*budget) {
	cores := max(1, s.o.Cores)
	if cores == 1 {
		for i, w := range s.workers {
			s.spent += w.run(budgets[i].begin())
		}
	} else {
		var wg sync.WaitGroup
		work := make([]int64, len(s.workers))
		free := make(chan struct{}, cores)
		for i, w := range s.workers {
			wg.Add(1)
			free <- struct{}{} // in this order: two short slices share a core
			go func() {
				defer wg.Done()
				work[i] = w.run(budgets[i].begin())
				<-free
			}()
		}
		wg.Wait()
		for _, n := range work {
			s.spent += n
		}
	}
	for _, w := range s.workers {
		s.collect(w)
	}
	s.step()
}

// step tells what is known now, if that is more than before.
func (s *solver) step() {
	now := Step{Work: s.spent, Bound: s.bound}
	if s.best != nil {
		now.Planned, now.Objective, now.Bound = true, s.best.value.cost, min(s.bound, s.best.value.cost)
	}
	told := s.last
	told.Work = now.Work
	if s.o.OnStep == nil || now == told && s.last != (Step{}) {
		return
	}
	s.last = now
	s.o.OnStep(now)
}

// collect takes over what a worker found.
func (s *solver) collect(w worker) {
	best, bound, closed := w.found()
	if best != nil {
		s.take(best)
	}
	s.bound = max(s.bound, bound)
	if closed {
		if s.best == nil {
			s.infeasible = true
		} else {
			s.bound = max(s.bound, s.best.value.cost)
		}
	}
}

// take makes an answer the best one if it is.
func (s *solver) take(a *answer) {
	if s.best != nil && a.value.cost >= s.best.value.cost {
		return
	}
	s.best = a
	s.trace = append(s.trace, TracePoint{Seconds: time.Since(s.began).Seconds(), Objective: a.value.cost})
	if s.o.OnPlan != nil {
		s.o.OnPlan(s.plan())
		if s.done() { // who has seen enough need not wait
			s.stop.Store(true)
		}
	}
}

// closed tells whether nothing is left to find.
func (s *solver) closed() bool {
	return s.infeasible || s.best != nil && s.best.value.cost <= s.bound
}

// plan writes out the best answer and what is known of it.
func (s *solver) plan() *Plan {
	p := s.m.plan(s.best)
	p.Bound, p.Status = min(s.bound, p.Objective), Feasible
	if p.Bound == p.Objective {
		p.Status = Optimal
	}
	p.Trace = append(p.Trace, s.trace...)
	p.Stats = s.stats()
	return p
}

func (s *solver) stats() Stats {
	return Stats{Schedules: s.spent, Seconds: time.Since(s.began).Seconds(), Seed: s.o.Seed}
}

// finish is the plan to return when the search is over.
func (s *solver) finish(p *Problem) *Plan {
	switch {
	case s.best != nil:
		return s.plan()
	case s.infeasible:
		conflict, irreducible := s.conflict(p)
		return &Plan{Version: Version, Status: Infeasible, Stats: s.stats(), Conflict: conflict, Irreducible: irreducible,
			Tasks: []PlanTask{}, Jobs: []PlanJob{}, Setups: []PlanSetup{}, Trace: []TracePoint{}}
	}
	return &Plan{Version: Version, Status: Unknown, Bound: s.bound, Stats: s.stats(), Conflict: []string{},
		Tasks: []PlanTask{}, Jobs: []PlanJob{}, Setups: []PlanSetup{}, Trace: []TracePoint{}}
}
