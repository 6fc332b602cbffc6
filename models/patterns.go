package models

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"

	"faceside/models/phrase"
)

// OwnPattern is a pattern that the shop keeps for itself, as the text of its file.
type OwnPattern struct {
	ID     ID
	Key    string
	Title  string
	Source string // at most 256 KiB
	MadeAt time.Time
}

// sourceLimit is the longest text of a pattern, in bytes.
const sourceLimit = 256 << 10

// OwnPatterns lists the shop's own patterns in the order in which they were
// kept: one may use those before it.
func (s *Store) OwnPatterns(ctx context.Context) ([]OwnPattern, error) {
	var all []OwnPattern
	err := s.read(ctx, "list the patterns", func(tx *gorm.DB) error { return tx.Order("id").Find(&all).Error })
	return all, err
}

// KeepPattern stores a pattern of the shop's own. A key that one has already is
// refused. That the text can be read is for the caller to see to.
func (s *Store) KeepPattern(ctx context.Context, p OwnPattern) (OwnPattern, error) {
	p.ID, p.MadeAt = 0, s.Now()
	err := first(keyGiven("key", p.Key), nameGiven("title", p.Title))
	if err == nil && (p.Source == "" || len(p.Source) > sourceLimit) {
		err = invalid("source", fmt.Sprint(len(p.Source), " bytes"), "The pattern's text has %d bytes; between 1 and %d can be kept.", len(p.Source), sourceLimit)
	}
	if err != nil {
		return p, err
	}
	err = s.write(ctx, "keep the pattern", func(tx *gorm.DB) (*Change, error) {
		if err := unused[OwnPattern](tx, "key", "key", p.Key, 0); err != nil {
			return nil, err
		}
		return &Change{Kind: ChangedShop}, create(tx, "pattern", []*OwnPattern{&p})
	})
	return p, err
}

// RemovePattern removes one of the shop's own patterns. Commissions made from it
// keep their steps.
func (s *Store) RemovePattern(ctx context.Context, key string) error {
	return s.write(ctx, "remove the pattern", func(tx *gorm.DB) (*Change, error) {
		done := tx.Where("key = ?", key).Delete(&OwnPattern{})
		if done.Error == nil && done.RowsAffected == 0 {
			return nil, &Error{Code: NotFound, Field: "pattern", Value: key, Sentence: phrase.Of("The shop keeps no pattern %q of its own.", key)}
		}
		return &Change{Kind: ChangedShop}, done.Error
	})
}
