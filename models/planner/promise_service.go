package planner

import (
	"context"
	"errors"
	"time"

	"faceside/models"
	"faceside/models/behind"
)

const (
	// weeksPlayed is how many weeks a promise is told from.
	weeksPlayed = 2000
	// foreseeEvery is the least time between two beginnings.
	foreseeEvery = 20 * time.Second
	// foreseeAtLast is how long newer plans are waited for, and from what age of the
	// promises on they do not break the playing off any more: where somebody taps all
	// the time no promise would be told at all.
	foreseeAtLast = time.Minute
	// foreseeShare is the part of one processor that playing takes at most.
	foreseeShare = 4
)

// Promises returns what was foreseen last, of the current plan or one before it;
// nil before the first. It never waits.
func (s *Service) Promises() *Promises {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.promises
}

// OnPromises has f called, which must be quick, when there are new promises. It is
// set before Run.
func (s *Service) OnPromises(f func()) { s.told = f }

// Foresee plays the weeks of the current plan at once and keeps what it says.
func (s *Service) Foresee(ctx context.Context) (*Promises, error) {
	return s.foresee(ctx, nil)
}

func (s *Service) foresee(ctx context.Context, pause func(context.Context)) (*Promises, error) {
	snap, err := s.store.Snapshot(ctx)
	if err != nil {
		return nil, err
	}
	p, err := s.playOut(ctx, snap, playing{plays: weeksPlayed, cores: 1, pause: pause})
	if err != nil {
		return nil, err
	}
	s.mu.Lock()
	s.promises = p
	s.mu.Unlock()
	return p, nil
}

// playOut plays weeks of the plan of a snapshot, at the pace that the shop had so far.
func (s *Service) playOut(ctx context.Context, snap *models.Snapshot, o playing) (*Promises, error) {
	turned, err := s.store.Outcomes(ctx)
	if err != nil {
		return nil, err
	}
	o.seed = s.opt.Seed
	return foresee(ctx, snap, turned, o)
}

// foreseeAll plays the weeks of each plan that stands for a while, until ctx ends.
// It takes one processor, and leaves it to others most of the time.
func (s *Service) foreseeAll(ctx context.Context) {
	for s.settled(ctx) {
		began := time.Now()
		s.foreseeOnce(ctx)
		if !pause(ctx, time.Until(began.Add(foreseeEvery))) {
			return
		}
	}
}

// settled waits for a plan, and until none was saved for a while, but not for ever;
// false when ctx ended.
func (s *Service) settled(ctx context.Context) bool {
	select {
	case <-ctx.Done():
		return false
	case <-s.saves:
	}
	last := time.NewTimer(foreseeAtLast)
	defer last.Stop()
	for {
		quiet := time.NewTimer(s.opt.ForeseeAfter)
		select {
		case <-ctx.Done():
		case <-last.C:
		case <-quiet.C:
		case <-s.saves:
			quiet.Stop()
			continue
		}
		quiet.Stop()
		return ctx.Err() == nil
	}
}

// foreseeOnce plays the weeks of the current plan, unless a newer one breaks it off.
func (s *Service) foreseeOnce(ctx context.Context) {
	playing, stop := context.WithCancel(ctx)
	defer stop()
	done := make(chan error, 1)
	go behind.Do(func() {
		_, err := s.foresee(playing, leaveShare)
		done <- err
	})
	newer := false
	for {
		select {
		case <-s.saves:
			if newer = true; !s.promisesOld() {
				stop()
			}
		case err := <-done:
			if newer {
				s.saidSaved()
			}
			s.foreseen(err)
			return
		}
	}
}

// promisesOld says whether the promises told are of a plan that is long gone.
func (s *Service) promisesOld() bool {
	p := s.Promises()
	return p == nil || s.store.Now().Sub(p.At) > foreseeAtLast
}

// foreseen tells that there are new promises. Why no plan could be made is told with
// the plan already.
func (s *Service) foreseen(err error) {
	var known *models.Error
	switch {
	case err == nil && s.told != nil:
		s.told()
	case err != nil && !errors.Is(err, context.Canceled) && !errors.As(err, &known):
		s.log.Error("playing weeks", "error", models.Logged(err))
	}
}

// saidSaved has the weeks of a new plan played when there is time.
func (s *Service) saidSaved() {
	select {
	case s.saves <- struct{}{}:
	default:
	}
}

// leaveShare leaves the processor to others after a stretch of playing.
func leaveShare(ctx context.Context) { pause(ctx, (foreseeShare-1)*restEvery) }
