package models

import (
	"context"
	"flag"

	"gorm.io/gorm"
)

// PowerCuts is how often the power is cut in the tests of it.
var PowerCuts = flag.Int("cuts", 300, "how often the power is cut")

// Pragma sets something of the connection that writes, past what OpenStore sees to.
func (s *Store) Pragma(setting string) error { return s.w.Exec("PRAGMA " + setting).Error }

// ShortenLog has what is in the log alone brought into the file from so many pages on,
// looked at after each commit, and from each page on where the log is longer than last.
func (s *Store) ShortenLog(pages, last int) {
	s.writing <- struct{}{}
	s.log.pages, s.log.every, s.log.last = pages, 1, last
	<-s.writing
}

// Shorten brings what is in the log alone into the file now, where it is so many pages.
func (s *Store) Shorten(pages int) error { return s.shortenLog(pages) }

// Settle waits until the log is shortened after the commits that there were.
func (s *Store) Settle() {
	for range 2 { // what is wanted before is done when the second is taken
		s.log.wanted <- 1 << 30
	}
}

// Log is how many pages are in the log, and how many of them in the file, too.
func (s *Store) Log() (length, there int, err error) {
	w, err := s.w.DB()
	if err != nil {
		return 0, 0, err
	}
	return checkpoint(w, "NOOP")
}

// Path is where the records are.
func (s *Store) Path() string { return s.path }

// AgeAdmitted makes what is kept of who was let in older than it may be.
func (s *Store) AgeAdmitted() {
	s.admitted.mu.Lock()
	defer s.admitted.mu.Unlock()
	for shown, once := range s.admitted.all {
		once.read = once.read.Add(-signInKeptFor)
		s.admitted.all[shown] = once
	}
}

// Admitted is of how many it is kept.
func (s *Store) Admitted() int { return len(s.admitted.all) }

// How many plans are kept, and how many bytes of the problems they answer.
const (
	KeptPlans        = keptPlans
	KeptProblemBytes = keptProblemBytes
)

// CountProblems is how many problems are kept.
func (s *Store) CountProblems(ctx context.Context) (n int64, err error) {
	err = s.read(ctx, "read an earlier plan", func(tx *gorm.DB) error { return tx.Model(&planProblem{}).Count(&n).Error })
	return n, err
}
