package models

import (
	"context"
	"fmt"

	"gorm.io/gorm"
)

// UndoCutting takes a cutting back: its boards are whole on the rack again, its offcuts
// gone and its parts not cut. A board that was used or changed since is refused, and
// nothing is undone. Undone twice is undone once.
func (s *Store) UndoCutting(ctx context.Context, id ID) error {
	return s.write(ctx, "undo the cutting", func(tx *gorm.DB) (*Change, error) {
		c, err := get[Cutting](tx, "cutting", id)
		if err != nil || c.UndoneAt != nil {
			return nil, err
		}
		if err := tx.Where("cutting_id = ?", id).Order("id").Find(&c.Boards).Error; err != nil {
			return nil, fmt.Errorf("read the boards of cutting %d: %w", id, err)
		}
		if err := undoBoards(tx, c.Boards); err != nil {
			return nil, err
		}
		at := s.Now()
		c.UndoneAt = &at
		return &Change{Kind: ChangedShop}, tx.Model(c).Select("UndoneAt").Updates(c).Error
	})
}

// undoBoards takes what is new off the rack, then puts back what was used: a board
// takes its place in the log again.
func undoBoards(tx *gorm.DB, rows []CuttingBoard) error {
	now := make([]*Board, len(rows))
	for i := range rows {
		var err error
		if now[i], err = boardAsIs(tx, rows[i].BoardID); err != nil {
			return err
		}
		if err := rows[i].asLeft(now[i]); err != nil {
			return err
		}
		if rows[i].Before == nil {
			if err := tx.Delete(&Board{}, rows[i].BoardID).Error; err != nil {
				return fmt.Errorf("take board %d off the rack: %w", rows[i].BoardID, err)
			}
		}
	}
	for i := range rows {
		if rows[i].Before != nil {
			if err := rows[i].restore(tx, now[i]); err != nil {
				return err
			}
		}
	}
	return nil
}

// asLeft refuses a record that is not as the cutting left it. Equal boards that are in
// no log are told by their count alone, so others may have been used or put back since.
func (r *CuttingBoard) asLeft(now *Board) error {
	var same bool
	switch {
	case r.equals() && now == nil:
		same = true
	case r.equals():
		left := *r.Before
		left.Count = now.Count
		same = now.alike(left)
	case now == nil || r.After == nil:
		same = now == nil && r.After == nil
	default:
		same = now.alike(*r.After)
	}
	if same {
		return nil
	}
	if r.Before == nil {
		return conflict("board", r.BoardID, "Board %d came out of this cutting and was used or changed since, so the cutting cannot be undone.", r.BoardID)
	}
	return conflict("board", r.BoardID, "Board %d was used or changed since this cutting, so the cutting cannot be undone.", r.BoardID)
}

// equals says whether the record stood for equal boards in no log.
func (r *CuttingBoard) equals() bool { return r.Before != nil && r.Before.Log == "" }

// restore puts the boards that were used back into their record.
func (r *CuttingBoard) restore(tx *gorm.DB, now *Board) error {
	back := *r.Before
	if r.equals() {
		back.Count = r.Used
		if now != nil {
			back.Count += now.Count
		}
	}
	if back.Count > mostBoards {
		return conflict("board", r.BoardID, "Board %d would stand for %d boards; at most %d can be kept in one record.", r.BoardID, back.Count, mostBoards)
	}
	if err := back.placeFree(tx); err != nil {
		return err
	}
	if now == nil {
		return putBack(tx, &back)
	}
	if err := tx.Model(&back).Select("Count", "InLog").Updates(&back).Error; err != nil {
		return fmt.Errorf("put boards %d back onto the rack: %w", r.BoardID, err)
	}
	return nil
}

// Cuttings lists the newest cuttings, newest first, with their boards and parts.
func (s *Store) Cuttings(ctx context.Context, most int) ([]Cutting, error) {
	var all []Cutting
	err := s.read(ctx, "list the cuttings", func(tx *gorm.DB) error {
		return tx.Preload("Boards").Preload("Parts").Order("id DESC").Limit(most).Find(&all).Error
	})
	return all, err
}

// CuttingByID reads one cutting with its boards and parts; a NotFound error if it is not there.
func (s *Store) CuttingByID(ctx context.Context, id ID) (Cutting, error) {
	var c *Cutting
	err := s.read(ctx, "read the cutting", func(tx *gorm.DB) error {
		var err error
		c, err = get[Cutting](tx.Preload("Boards").Preload("Parts"), "cutting", id)
		return err
	})
	if err != nil {
		return Cutting{}, err
	}
	return *c, nil
}

// PartsByID reads parts of any commission, in the order of their numbers.
func (s *Store) PartsByID(ctx context.Context, ids []ID) ([]Part, error) {
	var all []Part
	err := s.read(ctx, "read the parts", func(tx *gorm.DB) error { return tx.Where("id IN ?", ids).Order("id").Find(&all).Error })
	return all, err
}
