package main

import (
	"fmt"
	"time"
)

// spread counts how long something took that was done many times: to a tenth of a
// millisecond, and in the same little memory for an hour of it as for a minute.
type spread struct {
	counts []int // by tenths of a millisecond, rounded up
	n      int
	most   time.Duration
}

const (
	spreadStep = 100 * time.Microsecond
	spreadEnd  = time.Minute // what took longer counts as this, but for the longest
)

func (s *spread) add(d time.Duration) {
	i := int((min(max(d, 0), spreadEnd) + spreadStep - 1) / spreadStep)
	for len(s.counts) <= i {
		s.counts = append(s.counts, 0)
	}
	s.counts[i]++
	s.n++
	s.most = max(s.most, d)
}

// percentile is what a part of all, from 0 to 1, took at most.
func (s *spread) percentile(p float64) time.Duration {
	below := 0
	for i, n := range s.counts {
		if below += n; float64(below) > p*float64(s.n) {
			return time.Duration(i) * spreadStep
		}
	}
	return s.most
}

func (s *spread) String() string {
	ms := func(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }
	return fmt.Sprintf("p50 %.1f ms, p99 %.1f ms, most %.1f ms", ms(s.percentile(0.5)), ms(s.percentile(0.99)), ms(s.most))
}
