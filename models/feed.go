package models

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"fmt"
	"time"

	"gorm.io/gorm"

	"faceside/models/phrase"
)

// Feed is a calendar that other programs may read by an address nobody can guess.
type Feed struct {
	ID       ID
	PersonID *ID    // nil: of the whole shop
	Secret   string // what of the address only those know who were given it
	MadeAt   time.Time
	EndedAt  *time.Time // since when the address does not count any more; nil: it does
}

// Feeds lists the calendars that can be read now.
func (s *Store) Feeds(ctx context.Context) ([]Feed, error) {
	var all []Feed
	err := s.read(ctx, "read the calendars", func(tx *gorm.DB) error {
		return tx.Where("ended_at IS NULL").Order("id").Find(&all).Error
	})
	return all, err
}

// RenewFeed gives a person's calendar, or for nil the shop's, a new address. The one
// before it is over from now on.
func (s *Store) RenewFeed(ctx context.Context, person *ID) (Feed, error) {
	// rand.Text has 128 random bits at least.
	feed := Feed{PersonID: person, Secret: rand.Text(), MadeAt: s.Now()}
	err := s.write(ctx, "renew the address of the calendar", func(tx *gorm.DB) (*Change, error) {
		if person != nil {
			if _, err := get[Person](tx, "person", *person); err != nil {
				return nil, err
			}
		}
		if _, err := endFeed(tx, person, feed.MadeAt); err != nil {
			return nil, err
		}
		return nil, tx.Create(&feed).Error // no other screen shows it
	})
	return feed, err
}

// EndFeed takes the address of a calendar back; from then on nobody can read it.
func (s *Store) EndFeed(ctx context.Context, person *ID) error {
	return s.write(ctx, "take the address of the calendar back", func(tx *gorm.DB) (*Change, error) {
		ended, err := endFeed(tx, person, s.Now())
		if err == nil && ended == 0 {
			err = &Error{Code: NotFound, Field: "calendar", Sentence: phrase.Of("This calendar has no address that could be taken back.")}
		}
		return nil, err
	})
}

func endFeed(tx *gorm.DB, person *ID, at time.Time) (ended int64, err error) {
	done := feedsOf(tx, person).Where("ended_at IS NULL").Update("ended_at", at)
	if done.Error != nil {
		return 0, fmt.Errorf("end the address of before: %w", done.Error)
	}
	return done.RowsAffected, nil
}

func feedsOf(tx *gorm.DB, person *ID) *gorm.DB {
	if person == nil {
		return tx.Model(&Feed{}).Where("person_id IS NULL")
	}
	return tx.Model(&Feed{}).Where("person_id = ?", *person)
}

// OpenFeed returns the calendar of a person, or for nil of the shop, if the secret is
// that of its address. NotFound if it never was, Gone if it was. How long it takes
// says nothing of how much of a secret was right.
func (s *Store) OpenFeed(ctx context.Context, person *ID, secret string) (Feed, error) {
	var all []Feed
	err := s.read(ctx, "read the calendars", func(tx *gorm.DB) error {
		return feedsOf(tx, person).Order("id").Find(&all).Error
	})
	if err != nil {
		return Feed{}, err
	}
	var found *Feed
	for i := range all {
		if subtle.ConstantTimeCompare([]byte(all[i].Secret), []byte(secret)) == 1 {
			found = &all[i]
		}
	}
	switch {
	case found == nil:
		return Feed{}, &Error{Code: NotFound, Field: "calendar", Sentence: phrase.Of("There is no calendar at this address. The Shop screen shows those there are.")}
	case found.EndedAt != nil:
		return Feed{}, &Error{Code: Gone, Field: "calendar", Sentence: phrase.Of("The address of this calendar was renewed or taken back, and is read by nobody any more. The Shop screen shows the one that counts.")}
	}
	return *found, nil
}
