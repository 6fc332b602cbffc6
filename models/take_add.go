package models

import (
	"context"
	"fmt"

	"gorm.io/gorm"
)

// AddPiece stores one more piece with a commission that is open or held, whole or
// not at all, and counts its edition on: what is being changed elsewhere on the
// edition before is then refused as Stale, and so is a piece thought out on an
// edition that is past. It refuses a name that another piece of the commission
// has, and what TakeCommission refuses of a piece.
func (s *Store) AddPiece(ctx context.Context, commission ID, edition int64, n NewPiece) (ID, error) {
	if err := n.check(); err != nil {
		return 0, err
	}
	t := taker{commission: commission, piece: n}
	err := s.write(ctx, "add the piece", func(tx *gorm.DB) (*Change, error) {
		e := &editor{store: s, tx: tx}
		if err := e.open(commission, edition); err != nil {
			return nil, err
		}
		if err := e.pieceNameFree(n.Name); err != nil {
			return nil, err
		}
		t.tx = tx
		if err := t.take(); err != nil {
			return nil, err
		}
		return &Change{Kind: ChangedCommission}, e.countOn()
	})
	if err != nil {
		return 0, err
	}
	return t.piece.ID, nil
}

// pieceNameFree refuses a name that would not tell two pieces apart.
func (e *editor) pieceNameFree(name string) error {
	var same int64
	if err := e.tx.Model(&Piece{}).Where("commission_id = ? AND name = ?", e.commission.ID, name).Count(&same).Error; err != nil {
		return fmt.Errorf("look for a piece of the same name: %w", err)
	}
	if same > 0 {
		return conflict("piece", name, "“%s” has a piece called “%s” already: give this one another name.", e.commission.Name, name)
	}
	return nil
}
