package models

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"faceside/models/wood"

	"gorm.io/gorm"
)

// Board is a board or sheet on hand, or several that are equal.
type Board struct {
	ID      ID     // the number chalked on it
	Species string // species key
	Quarter string // thickness as sold, e.g. "8/4"; "" for sheet goods
	// Thickness is as measured; 0 for a board that was not measured. Sheets have one.
	Thickness     wood.Length
	Length, Width wood.Length
	Count         int // at least 1, at most 500; 1 where defects are marked
	// Log names the log it was sawn from, and InLog its place there, from 1: boards
	// that follow each other match in colour. Several equal boards take the places
	// from InLog on. "" and 0 for not known.
	Log     string
	InLog   int
	Note    string
	CutFrom ID            // number of the board that an offcut was cut from; 0: it is none
	Defects []BoardDefect `gorm:"-"` // by number
}

// BoardDefect is a rectangle on a board that no part may cover: a knot, a check, wane.
type BoardDefect struct {
	ID            ID
	BoardID       ID
	X, Y          wood.Length // from the left end along the grain, from the lower edge across it
	Length, Width wood.Length // along the grain and across it
	Note          string
}

// mostBoards is the most boards of one record.
const mostBoards = 500

// Boards lists the boards on hand with their defects: species by species, thick
// before thin, long before short.
func (s *Store) Boards(ctx context.Context) ([]Board, error) {
	var all []Board
	err := s.read(ctx, "list the boards", func(tx *gorm.DB) error {
		if err := tx.Order("species, length DESC, width DESC, id").Find(&all).Error; err != nil {
			return fmt.Errorf("read the boards: %w", err)
		}
		var defects []BoardDefect
		if err := tx.Order("board_id, id").Find(&defects).Error; err != nil {
			return fmt.Errorf("read the defects: %w", err)
		}
		for i := range all {
			for _, d := range defects {
				if d.BoardID == all[i].ID {
					all[i].Defects = append(all[i].Defects, d)
				}
			}
		}
		return nil
	})
	slices.SortStableFunc(all, func(a, b Board) int {
		return cmp.Or(cmp.Compare(a.Species, b.Species), cmp.Compare(b.nominal(), a.nominal()))
	})
	return all, err
}

// nominal is the thickness a board is known by.
func (b *Board) nominal() wood.Length {
	if q, known := quarterOf(b.Quarter); known {
		return q.Rough
	}
	return b.Thickness
}

func quarterOf(name string) (wood.Quarter, bool) {
	i := slices.IndexFunc(wood.Quarters, func(q wood.Quarter) bool { return q.Name == name })
	if i < 0 {
		return wood.Quarter{}, false
	}
	return wood.Quarters[i], true
}

// BoardByID reads one board with its defects; a NotFound error if it is not there.
func (s *Store) BoardByID(ctx context.Context, id ID) (Board, error) {
	var b *Board
	err := s.read(ctx, "read the board", func(tx *gorm.DB) error {
		var err error
		if b, err = get[Board](tx, "board", id); err != nil {
			return err
		}
		return tx.Where("board_id = ?", id).Order("id").Find(&b.Defects).Error
	})
	if err != nil {
		return Board{}, err
	}
	return *b, nil
}

// SaveBoard adds a board (ID 0) or changes one, and returns it with its ID. Defects
// are left as they are; a size that no longer holds one of them is refused.
func (s *Store) SaveBoard(ctx context.Context, b Board) (Board, error) {
	b.Log = strings.TrimSpace(b.Log)
	if err := b.check(); err != nil {
		return b, err
	}
	err := s.write(ctx, "save the board", func(tx *gorm.DB) (*Change, error) {
		if err := b.fits(tx); err != nil {
			return nil, err
		}
		return &Change{Kind: ChangedShop}, save(tx, "board", &b, b.ID,
			"Species", "Quarter", "Thickness", "Length", "Width", "Count", "Log", "InLog", "Note")
	})
	return b, err
}

// check refuses fields that cannot be.
func (b *Board) check() error {
	return first(
		keyGiven("species", b.Species), b.checkThickness(),
		lengthBetween("length", b.Length, 1), lengthBetween("width", b.Width, 1),
		between("count", b.Count, 1, mostBoards, "boards"),
		textAtMost("log", b.Log, nameLimit), b.checkLog(),
		textAtMost("note", b.Note, noteLimit),
	)
}

// checkThickness holds solid wood to a quarter thickness, and sheet goods to one measured.
func (b *Board) checkThickness() error {
	if err := lengthBetween("thickness", b.Thickness, 0); err != nil {
		return err
	}
	if _, err := wood.SafeSpeciesOf(b.Species); err != nil {
		return first(b.sheetHasNoQuarter(), lengthBetween("thickness", b.Thickness, 1))
	}
	if _, known := quarterOf(b.Quarter); !known {
		var sold []string
		for _, q := range wood.Quarters {
			sold = append(sold, q.Name)
		}
		if b.Quarter == "" {
			return invalid("quarter", "", "The thickness as sold is missing: solid wood is sold as %s.", strings.Join(sold, ", "))
		}
		return invalid("quarter", b.Quarter, "The quarter %q is not one that is sold: %s.", b.Quarter, strings.Join(sold, ", "))
	}
	return nil
}

func (b *Board) sheetHasNoQuarter() error {
	if b.Quarter == "" {
		return nil
	}
	return invalid("quarter", b.Quarter, "%s comes in sheets, so its thickness is measured and it has no quarter such as %q.", b.Species, b.Quarter)
}

func (b *Board) checkLog() error {
	switch {
	case b.Log == "" && b.InLog != 0:
		return invalid("log", b.Log, "The place %d is in no log: name the log too, or leave both empty.", b.InLog)
	case b.Log != "":
		return between("place in the log", b.InLog, 1, 100_000, "")
	}
	return nil
}

// fits refuses what does not go with the other records.
func (b *Board) fits(tx *gorm.DB) error {
	var defects []BoardDefect
	if b.ID != 0 {
		was, err := get[Board](tx, "board", b.ID)
		if err != nil {
			return err
		}
		b.CutFrom = was.CutFrom
		if err := tx.Where("board_id = ?", b.ID).Order("id").Find(&defects).Error; err != nil {
			return fmt.Errorf("read the defects of board %d: %w", b.ID, err)
		}
	}
	if len(defects) > 0 && b.Count > 1 {
		return invalid("count", b.Count, "Board %d has marked defects, so it stands for itself: its count is 1, not %d.", b.ID, b.Count)
	}
	if err := b.hold(tx, defects); err != nil {
		return err
	}
	return b.placeFree(tx)
}

// hold refuses a size that leaves out a marked defect.
func (b *Board) hold(tx *gorm.DB, defects []BoardDefect) error {
	units, err := shopUnits(tx)
	if err != nil {
		return err
	}
	for _, d := range defects {
		for _, side := range []struct {
			field   string
			of, end wood.Length
		}{{"length", b.Length, d.X + d.Length}, {"width", b.Width, d.Y + d.Width}} {
			if side.end > side.of {
				return invalid(side.field, side.of.Exactly(units), "The %s %s leaves out a marked defect that reaches to %s: remove its mark first.",
					Named(side.field), side.of.Exactly(units), side.end.Exactly(units))
			}
		}
	}
	return nil
}

// shopUnits is what the shop measures in, for sentences that give a length.
func shopUnits(tx *gorm.DB) (string, error) {
	var shop Shop
	if err := tx.Select("units").First(&shop, 1).Error; err != nil {
		return "", fmt.Errorf("read the shop's units: %w", err)
	}
	return shop.Units, nil
}

// placeFree refuses a place in a log that another board has. Offcuts of one board
// share its place.
func (b *Board) placeFree(tx *gorm.DB) error {
	if b.Log == "" {
		return nil
	}
	others := tx.Where("log = ? AND id <> ? AND in_log < ? AND in_log + count > ?", b.Log, b.ID, b.InLog+b.Count, b.InLog)
	if b.CutFrom != 0 {
		others = others.Where("cut_from = 0")
	}
	there, err := one[Board](others)
	if err != nil {
		return fmt.Errorf("look for the place in the log: %w", err)
	}
	if there != nil {
		return invalid("place in the log", b.InLog, "The place %d in the log %q is taken by board %d.", max(b.InLog, there.InLog), b.Log, there.ID)
	}
	return nil
}

// RemoveBoard takes a record of boards off the rack, with its marks.
func (s *Store) RemoveBoard(ctx context.Context, id ID) error {
	return s.write(ctx, "remove the board", func(tx *gorm.DB) (*Change, error) {
		if _, err := get[Board](tx, "board", id); err != nil {
			return nil, err
		}
		return &Change{Kind: ChangedShop}, tx.Delete(&Board{}, id).Error
	})
}

// MarkDefect marks a defect on a board that stands for itself, and returns it with
// its ID. What is not wholly on the board is refused.
func (s *Store) MarkDefect(ctx context.Context, d BoardDefect) (BoardDefect, error) {
	d.ID = 0
	err := first(lengthBetween("distance from the left end", d.X, 0), lengthBetween("distance from the lower edge", d.Y, 0),
		lengthBetween("length", d.Length, 1), lengthBetween("width", d.Width, 1), textAtMost("note", d.Note, noteLimit))
	if err != nil {
		return d, err
	}
	err = s.write(ctx, "mark the defect", func(tx *gorm.DB) (*Change, error) {
		b, err := get[Board](tx, "board", d.BoardID)
		if err != nil {
			return nil, err
		}
		if b.Count > 1 {
			return nil, invalid("count", b.Count, "Board %d stands for %d equal boards: lower its count and add the one with the defect by itself.", b.ID, b.Count)
		}
		units, err := shopUnits(tx)
		if err != nil {
			return nil, err
		}
		if err := d.on(b, units); err != nil {
			return nil, err
		}
		return &Change{Kind: ChangedShop}, tx.Create(&d).Error
	})
	return d, err
}

// on refuses a defect that reaches beyond its board.
func (d *BoardDefect) on(b *Board, units string) error {
	if end := d.X + d.Length; end > b.Length {
		return invalid("length", d.Length.Exactly(units), "The defect would reach to %s from the left end, and the board is %s long.",
			end.Exactly(units), b.Length.Exactly(units))
	}
	if top := d.Y + d.Width; top > b.Width {
		return invalid("width", d.Width.Exactly(units), "The defect would reach to %s from the lower edge, and the board is %s wide.",
			top.Exactly(units), b.Width.Exactly(units))
	}
	return nil
}

// UnmarkDefect takes the mark of a defect off a board.
func (s *Store) UnmarkDefect(ctx context.Context, board, id ID) error {
	return s.write(ctx, "remove the mark", func(tx *gorm.DB) (*Change, error) {
		d, err := get[BoardDefect](tx, "defect", id)
		if err != nil {
			return nil, err
		}
		if d.BoardID != board {
			return nil, notFound("defect", id)
		}
		return &Change{Kind: ChangedShop}, tx.Delete(&BoardDefect{}, id).Error
	})
}
