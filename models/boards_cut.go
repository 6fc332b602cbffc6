package models

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"faceside/models/wood"

	"gorm.io/gorm"
)

// Cutting is boards that were cut.
type Cutting struct {
	ID       ID
	FormID   string // of the form that said so: the same one twice is one cutting
	Name     string // what was cut, e.g. "8/4 Walnut"
	At       time.Time
	UndoneAt *time.Time
	Boards   []CuttingBoard `gorm:"foreignKey:CuttingID"`
	Parts    []CuttingPart  `gorm:"foreignKey:CuttingID"`
}

// CuttingBoard is a record of boards that a cutting changed.
type CuttingBoard struct {
	ID        ID
	CuttingID ID
	BoardID   ID
	Used      int    // how many of its boards were cut into
	Before    *Board `gorm:"serializer:json"` // nil: it is new, an offcut or boards set apart
	After     *Board `gorm:"serializer:json"` // nil: it was used up
}

// CuttingPart is so many of a part that a cutting gave.
type CuttingPart struct {
	ID        ID
	CuttingID ID
	PartID    ID
	Quantity  int
}

// NewCutting is a cutting to be booked, as it was planned.
type NewCutting struct {
	FormID string
	Name   string
	Boards []BoardCut
	Parts  []PartCut
}

// BoardCut is one board that was cut into, as it lay in the rack when it was planned:
// a count of 1 and, with a log, its own place in it.
type BoardCut struct {
	Board   Board
	Offcuts []BoardArea // worth keeping: they come back as boards
}

// BoardArea is a rectangle of a board: X along the grain from the left end, Y across it
// from the lower edge.
type BoardArea struct{ X, Y, Length, Width wood.Length }

// PartCut is so many rough parts that were cut, in the sizes they were planned in.
type PartCut struct {
	PartID        ID
	Quantity      int
	Length, Width wood.Length // rough
}

// BookCutting takes the boards of a cutting off the rack, puts its offcuts back as
// boards of their own, and notes its parts as cut. It is booked wholly or not at all: a
// board that is not as it was planned with is refused, and so is a part that is cut
// already or of another size. The same form twice books once.
func (s *Store) BookCutting(ctx context.Context, n NewCutting) (Cutting, error) {
	n.Name = strings.TrimSpace(n.Name)
	c := Cutting{FormID: n.FormID, Name: n.Name, At: s.Now()}
	if err := n.check(); err != nil {
		return c, err
	}
	err := s.write(ctx, "book the cutting", func(tx *gorm.DB) (*Change, error) {
		booked, err := one[Cutting](tx.Where("form_id = ?", n.FormID))
		if err != nil {
			return nil, fmt.Errorf("look for the same form: %w", err)
		}
		if booked != nil {
			c = *booked
			return nil, nil
		}
		if err := tx.Create(&c).Error; err != nil {
			return nil, fmt.Errorf("store the cutting: %w", err)
		}
		b := booking{tx: tx, cutting: c.ID}
		return &Change{Kind: ChangedShop}, first(b.parts(n.Parts), b.boards(n.Boards))
	})
	return c, err
}

func (n *NewCutting) check() error {
	if n.FormID == "" || len(n.FormID) > 64 {
		return invalid("form_id", n.FormID, "The form has no id of its own (%q): load the page again.", n.FormID)
	}
	if len(n.Boards) == 0 || len(n.Parts) == 0 {
		return invalid("boards", len(n.Boards), "Nothing is cut: %d boards, %d parts.", len(n.Boards), len(n.Parts))
	}
	for _, u := range n.Boards {
		for _, o := range u.Offcuts {
			if o.X < 0 || o.Y < 0 || o.Length <= 0 || o.Width <= 0 || o.X+o.Length > u.Board.Length || o.Y+o.Width > u.Board.Width {
				return invalid("offcut", fmt.Sprint(o), "An offcut does not lie on board %d, which it is said to come from.", u.Board.ID)
			}
		}
	}
	return nameGiven("name", n.Name)
}

// booking is one cutting being booked.
type booking struct {
	tx      *gorm.DB
	cutting ID
}

// parts notes the parts as cut.
func (b *booking) parts(parts []PartCut) error {
	for _, p := range parts {
		part, err := get[Part](b.tx, "part", p.PartID)
		if err != nil {
			return err
		}
		cut, err := cutOf(b.tx, p.PartID)
		if err != nil {
			return err
		}
		switch {
		case p.Quantity < 1:
			return invalid("quantity", p.Quantity, "The quantity of “%s”, %d, is not at least 1.", part.Name, p.Quantity)
		case part.RoughLength != p.Length || part.RoughWidth != p.Width:
			return conflict("part", part.Name, "The rough size of “%s” was changed since this was planned: plan the cuts again.", part.Name)
		case cut+p.Quantity > part.Quantity:
			return conflict("part", part.Name, "Of “%s”, %d of %d are booked as cut already, and this plan cuts %d more: plan the cuts again.", part.Name, cut, part.Quantity, p.Quantity)
		}
		row := CuttingPart{CuttingID: b.cutting, PartID: p.PartID, Quantity: p.Quantity}
		if err := b.tx.Create(&row).Error; err != nil {
			return fmt.Errorf("note part %d as cut: %w", p.PartID, err)
		}
	}
	return nil
}

// stillCut counts, of parts that were ever booked as cut, those that are and were not
// spoiled since, by part.
const stillCut = `SELECT b.part_id, max(0, b.quantity - coalesce(s.quantity, 0)) AS quantity
	FROM (SELECT p.part_id, sum(p.quantity) AS quantity FROM cutting_parts p JOIN cuttings c ON c.id = p.cutting_id
		WHERE c.undone_at IS NULL GROUP BY p.part_id) b
	LEFT JOIN (` + spoiledCut + `) s ON s.part_id = b.part_id`

// cutOf is how many of a part are booked as cut and were not spoiled since.
func cutOf(tx *gorm.DB, part ID) (int, error) {
	var n int
	if err := tx.Raw("SELECT coalesce(sum(quantity), 0) FROM ("+stillCut+") WHERE part_id = ?", part).Scan(&n).Error; err != nil {
		return 0, fmt.Errorf("count what is cut of part %d: %w", part, err)
	}
	return n, nil
}

// boards takes boards off the rack, record by record, and puts the offcuts back.
func (b *booking) boards(cuts []BoardCut) error {
	of := map[ID][]BoardCut{}
	for _, u := range cuts {
		of[u.Board.ID] = append(of[u.Board.ID], u)
	}
	for _, id := range sortedKeys(of) {
		if err := b.take(id, of[id]); err != nil {
			return err
		}
	}
	for _, u := range cuts { // when all are off the rack: an offcut takes the place of its board in the log
		for _, o := range u.Offcuts {
			if err := b.add(u.Board.offcut(o)); err != nil {
				return err
			}
		}
	}
	return nil
}

// take takes boards of one record off the rack.
func (b *booking) take(id ID, cuts []BoardCut) error {
	was, err := boardAsIs(b.tx, id)
	if err != nil {
		return err
	}
	if was == nil {
		return conflict("board", id, "Board %d is not on the rack any more: plan the cuts again.", id)
	}
	for _, u := range cuts {
		if !was.gives(u.Board) {
			return conflict("board", id, "Board %d was changed since this was planned: plan the cuts again.", id)
		}
	}
	left, err := was.without(cuts)
	if err != nil {
		return err
	}
	row := CuttingBoard{CuttingID: b.cutting, BoardID: id, Used: len(cuts), Before: was}
	if len(left) > 0 {
		row.After = &left[0]
		err = b.tx.Model(&left[0]).Select("Count", "InLog").Updates(&left[0]).Error
	} else {
		err = b.tx.Delete(&Board{}, id).Error
	}
	if err == nil {
		err = b.tx.Create(&row).Error
	}
	if err != nil {
		return fmt.Errorf("take board %d off the rack: %w", id, err)
	}
	for _, apart := range left[min(1, len(left)):] {
		apart.ID = 0
		if err := b.add(apart); err != nil {
			return err
		}
	}
	return nil
}

// add puts a new record of boards onto the rack.
func (b *booking) add(board Board) error {
	if err := board.placeFree(b.tx); err != nil {
		return err
	}
	if err := putBack(b.tx, &board); err != nil {
		return err
	}
	row := CuttingBoard{CuttingID: b.cutting, BoardID: board.ID, After: &board}
	if err := b.tx.Create(&row).Error; err != nil {
		return fmt.Errorf("note board %d: %w", board.ID, err)
	}
	return nil
}

// putBack stores a board with its defects, and gives all that have none a number.
func putBack(tx *gorm.DB, board *Board) error {
	if err := tx.Create(board).Error; err != nil {
		return fmt.Errorf("put board %d onto the rack: %w", board.ID, err)
	}
	for i := range board.Defects {
		board.Defects[i].ID, board.Defects[i].BoardID = 0, board.ID
		if err := tx.Create(&board.Defects[i]).Error; err != nil {
			return fmt.Errorf("mark the defects of board %d: %w", board.ID, err)
		}
	}
	return nil
}

// boardAsIs reads a board with its defects; nil where it is not there.
func boardAsIs(tx *gorm.DB, id ID) (*Board, error) {
	board, err := get[Board](tx, "board", id)
	var e *Error
	if errors.As(err, &e) && e.Code == NotFound {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	if err := tx.Where("board_id = ?", id).Order("id").Find(&board.Defects).Error; err != nil {
		return nil, fmt.Errorf("read the defects of board %d: %w", id, err)
	}
	return board, nil
}

// gives says whether one board, as it was planned with, is one of the record.
func (b *Board) gives(one Board) bool {
	if b.Log != "" && (one.InLog < b.InLog || one.InLog >= b.InLog+b.Count) {
		return false
	}
	one.InLog, one.Count = b.InLog, b.Count
	return b.alike(one)
}

// alike says whether two records tell the same of the wood; what is noted of it does not count.
func (b *Board) alike(o Board) bool {
	marks := func(all []BoardDefect) []BoardArea {
		var out []BoardArea
		for _, d := range all {
			out = append(out, BoardArea{d.X, d.Y, d.Length, d.Width})
		}
		return out
	}
	if !slices.Equal(marks(b.Defects), marks(o.Defects)) {
		return false
	}
	type told struct {
		species, quarter, log    string
		thickness, length, width wood.Length
		count, place             int
	}
	of := func(b *Board) told {
		return told{b.Species, b.Quarter, b.Log, b.Thickness, b.Length, b.Width, b.Count, b.InLog}
	}
	return of(b) == of(&o)
}

// without is what is left of a record when some of its boards are cut: runs of boards
// that follow each other in the log, the first of which keeps the number.
func (b *Board) without(cuts []BoardCut) ([]Board, error) {
	gone := make([]bool, b.Count)
	for i, u := range cuts {
		k := i
		if b.Log != "" {
			k = u.Board.InLog - b.InLog
		}
		if k >= b.Count || gone[k] {
			return nil, conflict("board", b.ID, "Board %d stands for %d boards, and this plan cuts into %d or into one twice: plan the cuts again.", b.ID, b.Count, len(cuts))
		}
		gone[k] = true
	}
	var left []Board
	for k := range gone {
		switch {
		case gone[k]:
		case k == 0 || gone[k-1]:
			run := *b
			run.Count = 1
			if b.Log != "" {
				run.InLog = b.InLog + k
			}
			left = append(left, run)
		default:
			left[len(left)-1].Count++
		}
	}
	return left, nil
}

// offcut is a part of a board that goes back onto the rack, with the defects on it.
func (b *Board) offcut(o BoardArea) Board {
	out := *b
	out.ID, out.CutFrom, out.Count = 0, b.ID, 1
	out.Length, out.Width, out.Defects = o.Length, o.Width, nil
	for _, d := range b.Defects {
		x, y := max(d.X, o.X), max(d.Y, o.Y)
		right, top := min(d.X+d.Length, o.X+o.Length), min(d.Y+d.Width, o.Y+o.Width)
		if right > x && top > y {
			out.Defects = append(out.Defects, BoardDefect{X: x - o.X, Y: y - o.Y, Length: right - x, Width: top - y, Note: d.Note})
		}
	}
	return out
}
