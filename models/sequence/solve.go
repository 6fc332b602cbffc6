package sequence

import (
	"context"
	"fmt"
	"strconv"
	"sync/atomic"
	"time"
)

// Options says how long and how to search.
type Options struct {
	Limit time.Duration // wall clock; 0: none
	Work  int64         // schedules generated, the exact search counted with them, those of a first plan at least; 0: none
	Seed  int64         // of all random choices
	Cores int           // goroutines that search at once; 0: 1
	// Searches is how many searches make plans. 0: with Work one, so that the plan is the
	// same on any number of cores; else as many as there are cores for.
	Searches int
	OnPlan   func(*Plan) // each better plan as it is found; may be nil; called from one goroutine at a time
	OnStep   func(Step)  // each round that found something; may be nil; called like OnPlan

	// Without* switch one of the two kinds of search off, and lines of tasks with either,
	// for tests and comparisons.
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
// Unknown where no plan was found and none was proved impossible.
//
// A plan whose Stats name the work it took is the same again, bound and status
// included, with that Work, Seed and number of Searches, on any number of cores
// and however the first search was ended (rounds.go).
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
	s.m = s.compile(p)
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

// compile states the problem, and looks for what shows before any search that it has no
// plan.
func (s *solver) compile(p *Problem) *model {
	m := compile(p, &s.stop)
	if m.broken == nil && !m.halted() {
		m.broken = m.brokenTie(p)
	}
	return m
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
	spent      int64  // up to where plans were taken last
	torn       bool   // what is known is from work that was broken off
	searches   int    // that make plans
	last       Step   // told of last
	second     *exact // helps the first one where plans hardly come better any more
	better     int64  // work up to where plans came better last
	lined      bool   // lines were called
	few        bool   // tasks, so that the exact search may come to its end
}

// open sets the workers up and makes the first plan. The exact search stands last
// among them (rounds.go).
func (s *solver) open() {
	if len(s.m.tasks) == 0 {
		s.take(&answer{})
		s.tell()
		return
	}
	var exacts []worker
	s.searches = 1
	if !s.o.WithoutImprove {
		first := newImprover(s.m, s.o.Seed)
		first.begin(&s.stop, func() bool { return s.begun(first) })
		s.begun(first)
		if s.stop.Load() || s.usedUp() {
			return
		}
		s.workers = append(s.workers, s.special(first, s.o.Seed))
	}
	if !s.o.WithoutExact {
		if e := newExact(s.m, s.o.Seed); e != nil {
			e.search.noDives = specialized(s.workers)
			exacts, e.search.allowed = append(exacts, e), e.x.pushed-s.head()
		}
	}
	if !s.o.WithoutImprove {
		s.searches = s.makers(len(exacts))
		for k := 2; k <= s.searches; k++ {
			seed := s.o.Seed + int64(k)*7919
			s.workers = append(s.workers, s.special(newImprover(s.m, seed), seed))
		}
	}
	if !s.o.WithoutImprove && !s.o.WithoutExact { // it makes plans and it proves
		if l := newHandLine(s.m); l != nil {
			s.workers = append(s.workers, l, l.twin(), newLineClimb(l))
		}
	}
	byHours := s.m.hasHours() && !s.ofAKind()
	for _, w := range exacts {
		w.(*exact).search.near.wanted = byHours
	}
	s.few = byHours && len(exacts) > 0 && len(s.m.tasks) <= s.m.few()
	s.workers = append(s.workers, exacts...)
}

// makers is how many searches are to make plans beside so many exact ones.
func (s *solver) makers(exacts int) int {
	switch {
	case s.o.Searches > 0:
		return s.o.Searches
	case s.o.Work > 0:
		return 1
	case s.large():
		return max(1, s.o.Cores)
	}
	return max(1, s.o.Cores-exacts)
}

// large tells whether the exact search has little hope of an end, so that it
// gets little time.
func (s *solver) large() bool {
	if s.oneMachine() {
		return len(s.m.tasks) > mostHopefulAlone
	}
	return len(s.m.tasks) > mostHopeful
}

// mostHopeful is how many tasks there may be for the exact search to have some hope.
const mostHopeful = 150

// mostHopefulAlone is the same where all is the order on one station with setups: there
// bounds stay far below the plans.
const mostHopefulAlone = 25

// fewTasks is how many tasks there may be, where work goes by hours, for the exact search to
// come to its end mostly, or near it, so that it gets most of the time. On weeks of 114 and
// 125 tasks of one person plans came out worse by it; so they did on projects with greatest
// lags and no hours.
const fewTasks = 110

// fewMended is the same where a plan is mended: of 78 and 88 tasks it came out worse by it
// within two seconds.
const fewMended = 64

// few is how many tasks are few.
func (m *model) few() int {
	if m.weights.Moved > 0 {
		return fewMended
	}
	return fewTasks
}

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
	if s.best == nil || a.value.cost < s.best.value.cost {
		s.best, s.better = a, s.spent
	}
}

// tell tells of the best plan if it is better than the one told of last.
func (s *solver) tell() {
	if n := len(s.trace); s.best == nil || n > 0 && s.best.value.cost >= s.trace[n-1].Objective {
		return
	}
	s.trace = append(s.trace, TracePoint{Seconds: time.Since(s.began).Seconds(), Objective: s.best.value.cost})
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
	stats := Stats{Schedules: s.spent, Seconds: time.Since(s.began).Seconds(), Seed: s.o.Seed}
	if !s.torn && !s.byClock() {
		stats.Work, stats.Searches = s.spent, s.searches
	}
	return stats
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
