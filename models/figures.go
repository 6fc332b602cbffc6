package models

import (
	"context"
	"errors"
	"fmt"
	"os"

	"gorm.io/gorm"
)

// What is told of the records to who looks after the program: sizes and counts, nothing
// of what they hold.

// Size is how many bytes the records take on the disk, with their log.
func (s *Store) Size() (bytes int64, err error) {
	for _, end := range []string{"", "-wal"} {
		info, err := os.Stat(s.path + end)
		if errors.Is(err, os.ErrNotExist) && end != "" {
			continue
		}
		if err != nil {
			return 0, fmt.Errorf("look how large the records are: %w", err)
		}
		bytes += info.Size()
	}
	return bytes, nil
}

// OpenQuestions is how many taps came too late to be possible and wait for a person's
// answer.
func (s *Store) OpenQuestions(ctx context.Context) (n int64, err error) {
	err = s.read(ctx, "count the taps that wait for an answer", func(tx *gorm.DB) error {
		return tx.Model(&ReturnedTap{}).Where("answer = ?", AnswerOpen).Count(&n).Error
	})
	return n, err
}
