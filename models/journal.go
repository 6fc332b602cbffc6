package models

import (
	"context"
	"slices"

	"gorm.io/gorm"
)

// JournalFilter chooses rows of the journal; zero fields choose all.
type JournalFilter struct {
	StepID       ID
	StationID    ID
	CommissionID ID
	AfterSeq     int64 // rows after this one
	Limit        int   // at most so many, the oldest; 0: all
	Newest       int   // at most so many, the newest; 0: all
}

// Journal returns rows of the journal in the order of their Seq, undos and
// what they took back among them.
func (s *Store) Journal(ctx context.Context, f JournalFilter) ([]Tap, error) {
	var taps []Tap
	err := s.read(ctx, "read the journal", func(tx *gorm.DB) error {
		q := tx.Where("seq > ?", f.AfterSeq)
		if f.StepID != 0 {
			q = q.Where("step_id = ?", f.StepID)
		}
		if f.StationID != 0 {
			q = q.Where("station_id = ?", f.StationID)
		}
		if f.CommissionID != 0 {
			q = q.Where("step_id IN (?)", tx.Model(&Step{}).Select("id").Where("commission_id = ?", f.CommissionID))
		}
		if f.Newest > 0 {
			defer func() { slices.Reverse(taps) }()
			return q.Order("seq DESC").Limit(f.Newest).Find(&taps).Error
		}
		if f.Limit > 0 {
			q = q.Limit(f.Limit)
		}
		return q.Order("seq").Find(&taps).Error
	})
	return taps, err
}

// lastTaps returns the newest rows that count, newest first.
func lastTaps(tx *gorm.DB, limit int, of ID) ([]Tap, error) {
	var taps []Tap
	q := tx.Where("kind <> ? AND NOT EXISTS (SELECT 1 FROM taps u WHERE u.undoes = taps.seq)", TapUndo).Order("seq DESC").Limit(limit)
	if of != 0 {
		q = q.Where("step_id IN (?)", tx.Model(&Step{}).Select("id").Where("commission_id = ?", of))
	}
	return taps, q.Find(&taps).Error
}
