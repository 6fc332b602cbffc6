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
	if err := tx.Where(standingTroubles).Where("step_id IN (?)", open).Order("seq").Find(&s.Troubles).Error; err != nil {
		return fmt.Errorf("read the troubles: %w", err)
	}
	return nil
}

// TroubleBySeq reads the row of a trouble with a kind, and the row that took it
// back, nil where it stands.
func (s *Store) TroubleBySeq(ctx context.Context, seq int64) (trouble Tap, undo *Tap, err error) {
	err = s.read(ctx, "read the trouble", func(tx *gorm.DB) error {
		var rows []Tap
		if err := tx.Where("(seq = ? AND trouble <> '') OR undoes = ?", seq, seq).Order("seq").Find(&rows).Error; err != nil {
			return err
		}
		if len(rows) == 0 || rows[0].Seq != seq {
			return notFound("trouble", seq)
		}
		if trouble = rows[0]; len(rows) > 1 {
			undo = &rows[1]
		}
		return nil
	})
	return trouble, undo, err
}

// spoiledCut counts, of parts that were booked as cut, those spoiled since, by part.
const spoiledCut = `SELECT CAST(j.key AS INTEGER) AS part_id, sum(j.value) AS quantity FROM taps, json_each(taps.details, '$.Uncut') j
	WHERE taps.trouble = 'spoiled' AND ` + standingTroubles + ` GROUP BY j.key`

// spoiledOf is how many of a part that was booked as cut were spoiled since.
func spoiledOf(tx *gorm.DB, part ID) (int, error) {
	var n int
	if err := tx.Raw("SELECT coalesce(sum(quantity), 0) FROM ("+spoiledCut+") WHERE part_id = ?", part).Scan(&n).Error; err != nil {
		return 0, fmt.Errorf("count what was spoiled of part %d: %w", part, err)
	}
	return n, nil
}
