package models

import (
	"context"
	"fmt"

	"gorm.io/gorm"
)

// standingTroubles are the rows of trouble with a kind that were not taken back.
const standingTroubles = `trouble <> '' AND NOT EXISTS (SELECT 1 FROM taps u WHERE u.undoes = taps.seq)`

// readTroubles reads the troubles that still bear on the work: those of steps
// that are not done.
func (s *Snapshot) readTroubles(tx *gorm.DB) error {
	open := tx.Model(&Step{}).Select("id").Where("commission_id IN ? AND state <> ?", s.commissionIDs(), Done)
	// "+": by the index of troubles, which are few, and not by that of steps, which leads
	// over all that was ever tapped for those that are open.
	if err := tx.Where(standingTroubles).Where("+step_id IN (?)", open).Order("seq").Find(&s.Troubles).Error; err != nil {
		return fmt.Errorf("read the troubles: %w", err)
	}
	return nil
}

// TroubleOf reads the newest trouble of a step that was not taken back, nil if
// there is none.
func (s *Store) TroubleOf(ctx context.Context, step ID) (*Tap, error) {
	var row *Tap
	err := s.read(ctx, "read the trouble", func(tx *gorm.DB) (err error) {
		row, err = one[Tap](tx.Where("step_id = ? AND kind = ? AND NOT EXISTS (SELECT 1 FROM taps u WHERE u.undoes = taps.seq)", step, TapTrouble).
			Order("seq DESC"))
		return err
	})
	return row, err
}

// spoiledCut counts, of parts that were booked as cut, those spoiled since, by part.
const spoiledCut = `SELECT CAST(j.key AS INTEGER) AS part_id, sum(j.value) AS quantity FROM taps, json_each(taps.details, '$.Uncut') j
	WHERE taps.trouble = 'spoiled' AND ` + standingTroubles + ` GROUP BY j.key`
