package models

import (
	"context"
	"fmt"

	"gorm.io/gorm"

	"faceside/models/phrase"
)

// write runs fn in the one write transaction, then tells the subscribers. A
// nil Change says that nothing was changed. doing completes "Could not ...".
//
// It waits for its turn as long as ctx allows. Once begun, the transaction
// does not stop half-way because a page was closed.
func (s *Store) write(ctx context.Context, doing phrase.Key, fn func(tx *gorm.DB) (*Change, error)) error {
	select {
	case s.writing <- struct{}{}:
		defer func() { <-s.writing }()
	case <-ctx.Done():
		return failed(doing, ctx.Err())
	}
	if err := ctx.Err(); err != nil {
		return failed(doing, err)
	}
	var change *Change
	err := s.w.WithContext(context.WithoutCancel(ctx)).Transaction(func(tx *gorm.DB) error {
		var err error
		if change, err = fn(tx); err != nil || change == nil {
			return err
		}
		change.Revision, err = revise(tx, *change)
		return err
	})
	if err != nil {
		return failed(doing, err)
	}
	if change != nil {
		s.subs.tell(*change)
	}
	return nil
}

// revise counts a change on which plans hang; a plan is made from a revision and
// makes none.
func revise(tx *gorm.DB, change Change) (int64, error) {
	if change.Planned() {
		err := tx.Model(&Shop{}).Where("id = 1").UpdateColumn("revision", gorm.Expr("revision + 1")).Error
		if err != nil {
			return 0, fmt.Errorf("count the revision: %w", err)
		}
	}
	var shop Shop
	if err := tx.Select("revision").First(&shop, 1).Error; err != nil {
		return 0, fmt.Errorf("read the revision: %w", err)
	}
	return shop.Revision, nil
}

// read runs fn in one read transaction: all it sees is of one moment.
func (s *Store) read(ctx context.Context, doing phrase.Key, fn func(tx *gorm.DB) error) error {
	return failed(doing, s.r.WithContext(ctx).Transaction(fn))
}
