package models

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"faceside/models/phrase"
)

// Tries is how often in a row a secret was given wrongly.
type Tries struct {
	Whose     ID    `gorm:"primaryKey;autoIncrement:false"` // a person; 0: the planner's passphrase
	Asker     asker `gorm:"primaryKey"`                     // who tried
	Failed    int
	WaitUntil *time.Time // no try is looked at before; nil: it is
	LockedAt  *time.Time // none is until the planner frees the person
}

// thePlanner is whose the tries at the planner's passphrase are.
const thePlanner ID = 0

// PINTries is how many wrong PINs in a row lock a person. NIST SP 800-63B-4
// (section 3.2.2, from memory) allows at most 100; six digits want fewer.
const PINTries = 10

// From the third failure on a further try has to wait, each time twice as long.
const (
	freeFailures = 2
	firstWait    = 5 * time.Second
	longestWait  = 15 * time.Minute
)

// waitAfter is how long nothing is tried after so many failures in a row.
func waitAfter(failed int) time.Duration {
	if failed <= freeFailures {
		return 0
	}
	wait := firstWait
	for n := freeFailures + 1; n < failed && wait < longestWait; n++ {
		wait *= 2
	}
	return min(wait, longestWait)
}

// try holds a secret against the hash that is kept. counted finds that and counts the
// try as a failure first; whoever finds it right takes that back. So many at once are
// not more than so many one after another.
func (s *Store) try(ctx context.Context, secret string, counted func(tx *gorm.DB) (hash string, wrong int, err error)) (wrong int, right bool, err error) {
	leave, err := s.hashing.enter(ctx)
	if err != nil {
		return 0, false, failed("sign in", err)
	}
	defer leave()
	var hash string
	err = s.write(ctx, "sign in", func(tx *gorm.DB) (*Change, error) {
		hash, wrong, err = counted(tx)
		return nil, err
	})
	if err != nil {
		return 0, false, err
	}
	if right, err = matches(hash, secret); err != nil {
		return wrong, false, failed("sign in", err)
	}
	return wrong, right, nil
}

// countTry counts one more failure of who asks, or refuses to try at all.
func (s *Store) countTry(tx *gorm.DB, whose ID, by asker) (int, error) {
	row, err := triesOf(tx, whose, by)
	if err != nil {
		return 0, err
	}
	now := s.Now()
	if err := row.mayTry(now); err != nil {
		return 0, err
	}
	row.Failed++
	row.WaitUntil = nil
	if wait := waitAfter(row.Failed); wait > 0 {
		until := now.Add(wait)
		row.WaitUntil = &until
	}
	if whose != thePlanner && row.Failed >= PINTries {
		row.LockedAt = &now
	}
	if err := tx.Clauses(clause.OnConflict{UpdateAll: true}).Create(&row).Error; err != nil {
		return 0, fmt.Errorf("count a try: %w", err)
	}
	return row.Failed, nil
}

func triesOf(tx *gorm.DB, whose ID, by asker) (Tries, error) {
	row, err := one[Tries](tx.Where("whose = ? AND asker = ?", whose, by))
	if err != nil {
		return Tries{}, fmt.Errorf("look how often it failed: %w", err)
	}
	if row == nil {
		return Tries{Whose: whose, Asker: by}, nil
	}
	return *row, nil
}

// mayTry refuses a try while nothing is tried.
func (t *Tries) mayTry(now time.Time) error {
	if t.LockedAt != nil {
		return &Error{Code: Barred, Field: "pin", Sentence: phrase.Of("Locked after %d wrong PINs in a row. The planner frees it, on the Shop screen under People and tablets.", t.Failed)}
	}
	if t.WaitUntil == nil || !now.Before(*t.WaitUntil) {
		return nil
	}
	wait := t.WaitUntil.Sub(now)
	seconds := int((wait + time.Second - 1) / time.Second)
	if t.Whose == thePlanner {
		return &Error{Code: TooSoon, Field: "passphrase", Wait: wait, Sentence: phrase.Of("The passphrase was wrong %d times in a row, so nothing is tried for another %d seconds. Nobody is locked out for good: on the machine that serves, “faceside unlock” ends the wait and “faceside passphrase” sets a new one.", t.Failed, seconds)}
	}
	return &Error{Code: TooSoon, Field: "pin", Wait: wait, Sentence: phrase.Of("The PIN was wrong %d times in a row: wait another %d seconds.", t.Failed, seconds)}
}

// forgive forgets the failures at somebody's secret.
func forgive(tx *gorm.DB, whose ID) (bool, error) {
	return forget(tx.Where("whose = ?", whose))
}

// forget forgets the failures that are asked for.
func forget(asked *gorm.DB) (bool, error) {
	done := asked.Delete(&Tries{})
	if done.Error != nil {
		return false, fmt.Errorf("forget the failures: %w", done.Error)
	}
	return done.RowsAffected > 0, nil
}

// Unlock frees a person, or for 0 the planner's passphrase, from waiting and locks.
func (s *Store) Unlock(ctx context.Context, whose ID) error {
	return s.write(ctx, "free the lock", func(tx *gorm.DB) (*Change, error) {
		event := SignInEvent{Kind: EventFreed}
		if whose != thePlanner {
			if _, err := get[Person](tx, "person", whose); err != nil {
				return nil, err
			}
			event.PersonID = &whose
		}
		freed, err := forgive(tx, whose)
		if err != nil || !freed {
			return nil, err
		}
		return nil, s.noteEvent(tx, event)
	})
}
