package models

import (
	"fmt"
	"strconv"
	"sync"
	"time"

	"gorm.io/gorm"

	"faceside/models/phrase"
)

// The time of the records never runs backwards along the journal because the clock of
// the machine does: small computers wake with the date of their making, or the hour of
// the last time they were on, until the network tells them better. Against the time at
// which the newest row came,
//
//   - a clock that is a little behind (clockSlack) is waited for: time stands;
//   - one that is behind by up to a day, or stands in a year before this program was
//     written, is wrong: time goes on from that row by as much as the clock goes on;
//   - one that is behind by more, and in a year that can be, is believed: then it was
//     the row that came while the clock stood wrong.
//
// The last two are told (ClockTold). What a tablet's own clock said is kept as it was
// said (Tap.SaidAt), and nothing is refused.

const (
	clockSlack  = 5 * time.Minute
	clockBehind = 24 * time.Hour
)

// writtenIn is before any time at which this program ran.
var writtenIn = time.Date(2026, time.January, 1, 0, 0, 0, 0, time.UTC)

// journalClock is the clock of the machine, held to the journal's.
type journalClock struct {
	mu     sync.Mutex
	newest time.Time // when the newest row came
	from   time.Time // where the clock is wrong: the time from which it goes on,
	since  time.Time // and what the clock said then
}

// now corrects what the clock of the machine says.
func (j *journalClock) now(said time.Time) time.Time {
	j.mu.Lock()
	defer j.mu.Unlock()
	behind := j.newest.Sub(said)
	switch {
	case behind <= 0 || j.tooFar(said):
		j.from = time.Time{}
		return said
	case j.from.IsZero() && behind <= clockSlack:
		return j.newest
	case j.from.IsZero() || said.Before(j.since):
		j.from, j.since = j.newest, said
	}
	return j.from.Add(said.Sub(j.since))
}

// tooFar says whether the newest row rather than the clock is wrong.
func (j *journalClock) tooFar(said time.Time) bool {
	return j.newest.Sub(said) > clockBehind && !said.Before(writtenIn)
}

// came notes when the newest row of the journal came.
func (j *journalClock) came(at time.Time) {
	j.mu.Lock()
	defer j.mu.Unlock()
	j.newest = at
}

// readNewest reads when the newest row of the journal came.
func (j *journalClock) readNewest(tx *gorm.DB) error {
	row, err := one[Tap](tx.Select("at", "came_at").Order("seq DESC"))
	if err != nil {
		return fmt.Errorf("look for the newest tap: %w", err)
	}
	if row == nil {
		return nil
	}
	at := row.At
	if row.CameAt != nil {
		at = *row.CameAt
	}
	j.came(at)
	return nil
}

// Now returns the store's time in UTC, to the millisecond, as it is recorded.
func (s *Store) Now() time.Time { return s.time.now(s.clock()).UTC().Truncate(time.Millisecond) }

// ClockTold says what is wrong with the clock of the machine, by the times in zone;
// empty where nothing is.
func (s *Store) ClockTold(zone *time.Location) phrase.Phrase {
	said := s.clock()
	s.time.mu.Lock()
	newest, far := s.time.newest, s.time.tooFar(said)
	s.time.mu.Unlock()
	if newest.Sub(said) <= clockSlack {
		return phrase.Phrase{}
	}
	when := func(t time.Time) phrase.Phrase {
		t = t.In(zone)
		return phrase.Of("%[1]s %[2]s, %[3]s ## time of a year", phrase.Date(t), strconv.Itoa(t.Year()), phrase.Clock(t))
	}
	if far {
		return phrase.Of("The newest tap says %[1]s, and the clock of the server %[2]s: the tap came while that clock stood wrong. Times of rests and of work since then may be wrong.", when(newest), when(said))
	}
	return phrase.Of("The clock of the server says %[1]s, which is before the newest tap (%[2]s). Set it. Until then time goes on from that tap, and nothing that is tapped is lost.", when(said), when(newest))
}

// ClockRight is an error where the clock of the machine stands before the newest tap.
func (s *Store) ClockRight() error {
	if told := s.ClockTold(time.UTC); !told.Empty() {
		return fmt.Errorf("%s", told)
	}
	return nil
}
