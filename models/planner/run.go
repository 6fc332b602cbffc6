package planner

import (
	"context"
	"fmt"
	"sync"
	"time"

	"faceside/models"
	"faceside/models/behind"
	"faceside/models/sequence"
)

const (
	// saveEvery is the least time between two saved plans of one search: each
	// makes all screens draw themselves anew.
	saveEvery = time.Second
	// stillNothing is the wait for a first plan that takes longer than it should.
	stillNothing = 5 * time.Millisecond
	// lookAgain is how long a plan stands while nobody taps: after that its
	// starts have slipped so far that it is timed anew.
	lookAgain = 10 * time.Minute
	// planningShare is the part of the time in which plans are made at most while
	// somebody taps all the time, and longestPause the longest pause between two.
	planningShare = 4
	longestPause  = 2 * time.Second
)

// Run re-plans after every change of the records, when a rest is over, and
// every ten minutes while the shop is open, until ctx ends. A change breaks off
// the search that runs; where the work only went on, not before the search's first
// plan is saved: there would be none while somebody taps all the time. Beside that
// promises are told from plans that stand for a while. It returns nil when ctx ends;
// what goes wrong with one plan is logged and told by Status.
func (s *Service) Run(ctx context.Context) error {
	defer s.store.OnChange(s.changed)()
	var foreseeing sync.WaitGroup
	foreseeing.Go(func() { s.foreseeAll(ctx) })
	defer foreseeing.Wait()
	s.setRuns(true)
	defer s.setRuns(false)
	for {
		began := time.Now()
		next := s.round(ctx)
		if s.overtaken() && !pause(ctx, pauseAfter(time.Since(began))) {
			return nil
		}
		if !s.wait(ctx, next) {
			return nil
		}
	}
}

func (s *Service) setRuns(runs bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.runs = runs
}

// overtaken says whether the work went on before the plan of this round was saved.
func (s *Service) overtaken() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.late
}

// pauseAfter is how long the processor is left to others after a round that was
// overtaken.
func pauseAfter(round time.Duration) time.Duration {
	return min((planningShare-1)*round, longestPause)
}

// pause waits; false when ctx ended.
func pause(ctx context.Context, d time.Duration) bool {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
		return false
	case <-t.C:
		return true
	}
}

// changed is told of every change of the records. It does not wait.
func (s *Service) changed(c models.Change) {
	if !c.Planned() {
		return
	}
	s.mu.Lock()
	s.status.ShopRevision = max(s.status.ShopRevision, c.Revision)
	if s.halt != nil && (s.saved || !c.Progress) {
		s.halt()
	}
	s.mu.Unlock()
	select {
	case s.poke <- struct{}{}:
	default:
	}
}

// wait returns when there is something to plan for: a change and Debounce after
// it without another, or the given time from now (0: only a change). It is
// false when ctx ended.
func (s *Service) wait(ctx context.Context, after time.Duration) bool {
	var timer <-chan time.Time
	if after > 0 {
		t := time.NewTimer(after)
		defer t.Stop()
		timer = t.C
	}
	select {
	case <-ctx.Done():
		return false
	case <-timer:
		return true
	case <-s.poke:
	}
	for most := 4; most > 0; most-- { // taps that come one after the other are not waited for without end
		t := time.NewTimer(s.opt.Debounce)
		select {
		case <-ctx.Done():
			t.Stop()
			return false
		case <-t.C:
			return true
		case <-s.poke:
			t.Stop()
		}
	}
	return true
}

// round plans once and returns when to plan again though nothing changes.
func (s *Service) round(ctx context.Context) time.Duration {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	s.mu.Lock()
	s.halt, s.saved, s.late, s.busy = cancel, false, false, time.Now()
	s.mu.Unlock()
	snap, err := s.store.Snapshot(ctx)
	if err == nil {
		s.began(snap)
		err = s.improve(ctx, snap)
	}
	s.ran(err)
	s.ended(err)
	if failed(err) {
		s.log.Error("planning", "error", models.Logged(err))
	}
	if snap == nil {
		return time.Minute // the store did not answer: try again
	}
	return s.next(snap)
}

// ran notes that a search is over.
func (s *Service) ran(err error) {
	s.mu.Lock()
	r := Ran{Outcome: "overtaken", Took: time.Since(s.busy)}
	switch {
	case s.saved:
		r.Outcome = "saved"
	case failed(err):
		r.Outcome = "failed"
	}
	s.halt, s.busy = nil, time.Time{}
	s.mu.Unlock()
	if s.opt.OnRun != nil {
		s.opt.OnRun(r)
	}
}

// next returns how long after now the plan must be made anew by the clock
// alone; 0: never.
func (s *Service) next(snap *models.Snapshot) time.Duration {
	now := s.store.Now()
	cal := localCalendar(snap)
	at, ok := cal.open(now.Add(lookAgain))
	for i := range snap.Steps {
		if st := &snap.Steps[i]; standOf(st, snap.At) == atRest && (!ok || st.RestEndsAt.Before(at)) {
			at, ok = *st.RestEndsAt, true
		}
	}
	if !ok {
		return 0
	}
	return max(time.Millisecond, at.Sub(now))
}

// improve searches and saves what it finds: the first plan after FirstLimit,
// better ones now and then, the best at the end.
func (s *Service) improve(ctx context.Context, snap *models.Snapshot) error {
	ctx, cancel := context.WithCancel(ctx)
	var found latest
	done := make(chan error, 1)
	go behind.Do(func() {
		_, _, err := solve(ctx, snap, s.search(found.put))
		done <- err
	})
	ended, err := s.saveFound(ctx, &found, done)
	cancel()
	if !ended {
		<-done // nothing of this search outlives it
	}
	return err
}

// saveFound saves what a search finds until it is done; ended tells whether it is.
func (s *Service) saveFound(ctx context.Context, found *latest, done <-chan error) (ended bool, err error) {
	wake := time.NewTimer(s.opt.FirstLimit)
	defer wake.Stop()
	wait := stillNothing
	for {
		select {
		case err := <-done:
			if err == nil {
				_, err = s.saveLatest(ctx, found)
			}
			return true, err
		case <-wake.C:
			if s.opt.Work != 0 {
				continue // only the last plan is the same on every machine
			}
			saved, err := s.saveLatest(ctx, found)
			if err != nil {
				return false, err
			}
			if saved && s.overtaken() {
				return false, nil
			}
			if saved {
				wait = saveEvery
			}
			wake.Reset(wait)
		}
	}
}

// latest is the best plan found so far, until it is taken.
type latest struct {
	mu     sync.Mutex
	q      *posed
	answer *sequence.Plan
}

func (l *latest) put(q *posed, answer *sequence.Plan) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.q, l.answer = q, answer
}

func (l *latest) take() (q *posed, answer *sequence.Plan) {
	l.mu.Lock()
	defer l.mu.Unlock()
	q, answer, l.q, l.answer = l.q, l.answer, nil, nil
	return q, answer
}

// saveLatest saves the best plan that was found and not saved yet, and tells
// whether there was one.
func (s *Service) saveLatest(ctx context.Context, found *latest) (bool, error) {
	q, answer := found.take()
	if answer == nil || ctx.Err() != nil {
		return false, ctx.Err() // a change came: what was found is of older records
	}
	if _, err := s.save(ctx, q, answer); err != nil {
		return false, fmt.Errorf("while searching: %w", err)
	}
	return true, nil
}
