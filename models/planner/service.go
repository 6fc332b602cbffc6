package planner

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/sequence"
)

// Options tune the planner. The zero value is fit for a shop.
type Options struct {
	Debounce   time.Duration // how long a change waits for the next one; 0: 30 ms
	FirstLimit time.Duration // from posing the problem to saving the first plan after a change; 0: 30 ms
	Improve    time.Duration // for the whole search after a change; 0: 5 s
	// ForeseeAfter is how long a plan stands before promises are told from it: while
	// somebody taps or the search goes on there is a better one in a moment; 0: 3 s.
	ForeseeAfter time.Duration
	Work         int64 // not 0: a budget of schedules instead of the two limits, so that plans are the same on every machine
	Cores        int   // that search at once; 0: 1
	Seed         int64 // of the search's random choices

	OnRun func(Ran) // told of each search of Run when it is over; nil: nobody is
}

// Ran is how one search went.
type Ran struct {
	Outcome string // "saved", "overtaken" by newer records before a plan was saved, or "failed"
	Took    time.Duration
}

func (o Options) withDefaults() Options {
	set := func(d *time.Duration, to time.Duration) {
		if *d == 0 {
			*d = to
		}
	}
	set(&o.Debounce, 30*time.Millisecond)
	set(&o.FirstLimit, 30*time.Millisecond)
	set(&o.Improve, 5*time.Second)
	set(&o.ForeseeAfter, 3*time.Second)
	o.Cores = max(1, o.Cores)
	return o
}

// Status says how the plan stands to the records.
type Status struct {
	Planning     bool          // the records have changed and no plan of them is saved yet
	LastError    phrase.Phrase // why no plan could be made; empty when the last attempt went well
	PlanRevision int64         // of the records the current plan was made from; 0: none yet
	ShopRevision int64         // of the records now, as far as the planner knows
}

// Service keeps the shop's plan up to date.
type Service struct {
	store *models.Store
	log   *slog.Logger
	opt   Options

	mu     sync.Mutex
	status Status
	poke   chan struct{}      // holds one when there is a change to plan for
	halt   context.CancelFunc // ends the search that runs, nil if none does
	saved  bool               // a plan of that search
	late   bool               // and there were newer records by then
	runs   bool               // Run does
	busy   time.Time          // since when it makes a plan; zero: it makes none

	trying chan struct{} // held by the what-if that is searched for

	comparing sync.Mutex
	baseline  baseline // made last

	promises *Promises     // told last
	saves    chan struct{} // holds one when a plan was saved since
	told     func()        // hears of new promises
}

// New makes a planner over a store. It does nothing until Run or Plan is called.
func New(store *models.Store, log *slog.Logger, o Options) *Service {
	return &Service{store: store, log: log, opt: o.withDefaults(), poke: make(chan struct{}, 1), trying: make(chan struct{}, 1), saves: make(chan struct{}, 1)}
}

// Status returns what the planner is doing; it never waits for a search.
func (s *Service) Status() Status {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.status
}

// stuck is how much longer than its search a plan may be in the making.
const stuck = 2 * time.Minute

// Alive is an error where no plans are made: nothing runs, or one does not end.
func (s *Service) Alive() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	switch {
	case !s.runs:
		return errors.New("no planner runs")
	case !s.busy.IsZero() && time.Since(s.busy) > s.opt.Improve+stuck:
		return fmt.Errorf("a plan has been in the making for %s", time.Since(s.busy).Truncate(time.Second))
	}
	return nil
}

// Plan makes and saves a plan of the records as they are now, and returns it.
// It searches for FirstLimit, or with Work for that. Where the records change
// meanwhile it starts again, a few times.
func (s *Service) Plan(ctx context.Context) (*models.Plan, error) {
	for tries := 0; ; tries++ {
		plan, err := s.planOnce(ctx)
		if models.CodeOf(err) != models.Stale || tries == 4 {
			s.ended(err)
			return plan, err
		}
	}
}

func (s *Service) planOnce(ctx context.Context) (*models.Plan, error) {
	snap, err := s.store.Snapshot(ctx)
	if err != nil {
		return nil, fmt.Errorf("reading the shop: %w", err)
	}
	s.began(snap)
	o := s.search(nil)
	if o.Work == 0 {
		o.Limit = s.opt.FirstLimit
	}
	q, answer, err := solve(ctx, snap, o)
	if err != nil {
		return nil, err
	}
	return s.save(ctx, q, answer)
}

// search returns how the engine is to search.
func (s *Service) search(onPlan func(*posed, *sequence.Plan)) options {
	o := options{onPlan: onPlan}
	o.Cores, o.Seed, o.Work = s.opt.Cores, s.opt.Seed, s.opt.Work
	if o.Work == 0 {
		o.Limit = s.opt.Improve
	}
	return o
}

// save stores a plan as the current one.
func (s *Service) save(ctx context.Context, q *posed, answer *sequence.Plan) (*models.Plan, error) {
	plan := q.records(answer, s.store.Now())
	if err := s.store.SavePlan(ctx, plan); err != nil {
		return nil, fmt.Errorf("saving the plan: %w", err)
	}
	s.mu.Lock()
	s.saved, s.late = true, plan.Revision < s.status.ShopRevision
	s.status.PlanRevision, s.status.Planning = plan.Revision, s.late
	s.mu.Unlock()
	s.saidSaved()
	s.keepRun(ctx, q, answer, plan.ID)
	return plan, nil
}

func (s *Service) began(snap *models.Snapshot) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.status.PlanRevision == 0 && snap.Plan != nil {
		s.status.PlanRevision = snap.Plan.Revision // of an earlier run of the program
	}
	s.status.Planning = snap.Shop.Revision != s.status.PlanRevision
	s.status.ShopRevision = max(s.status.ShopRevision, snap.Shop.Revision)
}

// whyNot is the sentence of an error that a shop can mend, else what it says.
func whyNot(err error) phrase.Phrase {
	var known *models.Error
	if errors.As(err, &known) {
		return known.Sentence
	}
	return phrase.Of("%s.", err.Error())
}

// failed tells whether planning failed. What was broken off, or made of older records,
// did not: the change that caused it is planned for next.
func failed(err error) bool {
	return err != nil && !errors.Is(err, context.Canceled) && models.CodeOf(err) != models.Stale
}

// ended notes how planning went.
func (s *Service) ended(err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.status.Planning = s.late
	switch {
	case err == nil:
		s.status.LastError = phrase.Phrase{}
	case failed(err):
		s.status.LastError = whyNot(err)
	}
}
