package models

import (
	"context"

	"gorm.io/gorm"
)

// Writable says whether the records can be written, by writing: a few kilobytes reach
// the disk, and nothing is changed. The error says why not, as that of a tap would.
func (s *Store) Writable(ctx context.Context) error {
	return s.write(ctx, "write the records", func(tx *gorm.DB) (*Change, error) {
		// There and back again: SQLite writes no page on which nothing was changed.
		return nil, first(
			tx.Exec("UPDATE shop SET revision = revision + 1 WHERE id = 1").Error,
			tx.Exec("UPDATE shop SET revision = revision - 1 WHERE id = 1").Error)
	})
}
