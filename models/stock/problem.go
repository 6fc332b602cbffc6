package stock

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"faceside/models/wood"
)

// Limits of a problem: more is not the stock of a small shop.
const (
	mostPieces = 1000
	mostBoards = 500
	mostKerf   = 50 * wood.Millimetre
)

// First is the kind of the first cuts on a board.
type First string

// What may be cut first.
const (
	FirstCrosscut First = "crosscut"
	FirstRip      First = "rip"
	FirstEither   First = "either"
)

// Rules are how the shop saws.
type Rules struct {
	Kerf    wood.Length // taken by every cut, 0 to 50 mm
	EndTrim wood.Length // taken off both ends of every board, kerf included, for checks in them
	First   First
	// Stages is how often the saw may change between crosscutting and ripping, the
	// first cuts included; 0 for any number.
	Stages int
	// LeastRip is the least length of a piece that may be ripped: a short one can catch
	// the blade and be thrown, so short parts are ripped in a strip and then crosscut.
	LeastRip wood.Length
	// KeepLength and KeepWidth are the least size, without a defect, of an offcut worth keeping.
	KeepLength, KeepWidth wood.Length
}

// UsualRules are common practice, no source: a table-saw blade of 1/8 in, an inch off
// each end of a board, crosscut, rip, crosscut; offcuts worth keeping from 300 by 60 mm.
// Nothing shorter than 12 in is ripped (Popular Woodworking no. 165, page 55); the
// saw's own manual comes first.
var UsualRules = Rules{Kerf: wood.Inch / 8, EndTrim: wood.Inch, First: FirstCrosscut, Stages: 3, LeastRip: 12 * wood.Inch,
	KeepLength: 300 * wood.Millimetre, KeepWidth: 60 * wood.Millimetre}

func (r Rules) check() error {
	switch {
	case r.Kerf < 0 || r.Kerf > mostKerf:
		return fault("the kerf, %s, must lie between 0 and %s", r.Kerf, mostKerf)
	case r.EndTrim < 0 || r.EndTrim > wood.Greatest:
		return fault("the end trim, %s, must lie between 0 and %s", r.EndTrim, metres(100))
	case r.LeastRip < 0 || r.LeastRip > wood.Greatest:
		return fault("the least length to rip, %s, must lie between 0 and %s", r.LeastRip, metres(100))
	case r.KeepLength < 0 || r.KeepWidth < 0:
		return fault("the least offcut to keep, %s by %s, must not be negative", r.KeepLength, r.KeepWidth)
	case r.First != FirstCrosscut && r.First != FirstRip && r.First != FirstEither:
		return fault("the first cut, %q, must be crosscut, rip or either", r.First)
	case r.Stages != 0 && (r.Stages < 2 || r.Stages > 20):
		return fault("the stages, %d, must lie between 2 and 20, or be 0 for any number", r.Stages)
	}
	return nil
}

// Piece is so many equal rough parts to be cut.
type Piece struct {
	Key           string // unique in the problem
	Name          string
	Quantity      int
	Length, Width wood.Length // rough, along the grain and across
	Thickness     wood.Length // finished: a board measured thinner cannot give it
	Turn          bool        // it has no grain direction and may lie either way
	Match         string      // as Line.Match
	value         float64     // what placing one is worth; 0 for its area
}

// Problem is the pieces to be cut from one stock, and the boards on hand of it.
type Problem struct {
	Stock  Stock
	Boards []Board
	Pieces []Piece
	Rules  Rules
}

// Check says what is wrong with a problem; Solve asks it first.
func (p Problem) Check() error {
	errs := []error{p.Rules.check()}
	seen, places := map[string]bool{}, map[string]Board{}
	for _, b := range p.Boards {
		errs = append(errs, b.Check())
		if place := fmt.Sprintf("%s/%d", b.Log, b.InLog); b.Log != "" {
			if first, taken := places[place]; taken && (first.CutFrom == "" || b.CutFrom == "") {
				errs = append(errs, fault("the boards %q and %q have one place, %d, in the log %q", first.ID, b.ID, b.InLog, b.Log))
			}
			places[place] = b
		}
		if seen[b.ID] {
			errs = append(errs, fault("the board %q is listed twice", b.ID))
		}
		seen[b.ID] = true
		if b.stock() != p.Stock {
			errs = append(errs, fault("the board %q is %s, not %s", b.ID, b.stock(), p.Stock))
		}
	}
	errs = append(errs, p.checkPieces())
	if len(p.Boards) > mostBoards {
		errs = append(errs, fault("%d boards are more than the %d that can be planned at once", len(p.Boards), mostBoards))
	}
	return errors.Join(errs...)
}

func (p Problem) checkPieces() error {
	var errs []error
	seen, total := map[string]bool{}, 0
	for _, c := range p.Pieces {
		if c.Key == "" || seen[c.Key] {
			errs = append(errs, fault("the piece key %q is missing or listed twice", c.Key))
		}
		seen[c.Key] = true
		for _, d := range []dimension{{"length", c.Length}, {"width", c.Width}} {
			if err := d.check(); err != nil {
				errs = append(errs, on(err, "piece %q", c.Key))
			}
		}
		if c.Quantity < 1 || c.Quantity > mostPieces {
			errs = append(errs, fault("piece %q: the quantity, %d, must lie between 1 and %d", c.Key, c.Quantity, mostPieces))
		}
		total += max(0, min(c.Quantity, mostPieces+1))
	}
	if total > mostPieces {
		errs = append(errs, fault("%d pieces are more than the %d that can be planned at once", total, mostPieces))
	}
	return errors.Join(errs...)
}

// String names a stock as a maker does, e.g. "8/4 walnut" or "6 mm plywood".
func (s Stock) String() string {
	if s.Quarter == "" {
		return s.Thickness.Format(wood.Millimetres, 0) + " " + s.Species
	}
	return s.Quarter + " " + s.Species
}

// Problems sorts the lines of one or more commissions and the boards on hand by stock,
// one problem each, in the order of their stock's name. Boards that no line asks for
// and lines too thick for any stock are left out. A piece's key is
// commission/part.
func Problems(lines []Line, boards []Board, rules Rules) []Problem {
	at := map[Stock]int{}
	var out []Problem
	for _, l := range lines {
		if l.TooThick {
			continue
		}
		i, known := at[l.stock()]
		if !known {
			i = len(out)
			at[l.stock()] = i
			out = append(out, Problem{Stock: l.stock(), Rules: rules})
		}
		out[i].Pieces = append(out[i].Pieces, Piece{Key: l.Commission + "/" + l.Part, Name: l.Name, Quantity: l.Quantity,
			Length: l.Rough.Length, Width: l.Rough.Width, Thickness: l.Finished.Thickness, Turn: l.Grain == "none", Match: l.Match})
	}
	for _, b := range boards {
		if i, asked := at[b.stock()]; asked {
			out[i].Boards = append(out[i].Boards, b)
		}
	}
	slices.SortFunc(out, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.Stock.Species, b.Stock.Species), cmp.Compare(quarters(b.Stock.Quarter), quarters(a.Stock.Quarter)),
			cmp.Compare(b.Stock.Thickness, a.Stock.Thickness))
	})
	return out
}
