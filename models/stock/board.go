package stock

import (
	"errors"

	"faceside/models/wood"
)

// Rect is a rectangle on a board: X and Length along the grain from the left end, Y and
// Width across it from the lower edge.
type Rect struct{ X, Y, Length, Width wood.Length }

// Right and Top are the far ends of the rectangle.
func (r Rect) Right() wood.Length { return r.X + r.Length }

// Top is the far edge of the rectangle.
func (r Rect) Top() wood.Length { return r.Y + r.Width }

// Area is in square metres.
func (r Rect) Area() float64 { return r.Length.Metres() * r.Width.Metres() }

// meets says whether the insides of two rectangles have a point in common.
func (r Rect) meets(o Rect) bool {
	return r.X < o.Right() && o.X < r.Right() && r.Y < o.Top() && o.Y < r.Top()
}

// holds says whether o lies within r.
func (r Rect) holds(o Rect) bool {
	return o.X >= r.X && o.Y >= r.Y && o.Right() <= r.Right() && o.Top() <= r.Top()
}

// Defect is a place that no part may cover (a knot, a check, wane), marked by the maker.
type Defect struct {
	Rect
	Note string
}

// Board is one board, or sheet, on hand.
type Board struct {
	ID      string
	Species string // species key
	Quarter string // "8/4", or "" for a sheet
	// Thickness as measured; 0 for not measured. A sheet must have one.
	Thickness     wood.Length
	Length, Width wood.Length
	Defects       []Defect
	// Log names the log a board was sawn from, and InLog its place in it: boards of one
	// log whose places follow each other match in colour. "" for not known.
	Log   string
	InLog int
	Note  string
	// CutFrom is the board that an offcut was cut from; "" for none. Offcuts of one
	// board share its place in the log.
	CutFrom string
}

func (b Board) rect() Rect { return Rect{Length: b.Length, Width: b.Width} }

// Check says what is wrong with a board's record: sizes beyond 0 to 100 m, a quarter
// that is not sold, a sheet without thickness, a defect that is not on the board.
func (b Board) Check() error {
	var errs []error
	named := func(err error) { errs = append(errs, on(err, "board %q", b.ID)) }
	if b.ID == "" {
		errs = append(errs, fault("a board has no ID"))
	}
	if b.Species == "" {
		named(fault("the species is missing"))
	}
	for _, d := range []dimension{{"length", b.Length}, {"width", b.Width}} {
		named(d.check())
	}
	if b.Thickness < 0 || b.Thickness > wood.Greatest {
		named(fault("the thickness, %s, must lie between 0 and %s", b.Thickness, metres(100)))
	}
	if b.Quarter == "" && b.Thickness == 0 {
		named(fault("a sheet, which has no quarter, needs its thickness"))
	}
	if _, known := quarterNamed(b.Quarter); b.Quarter != "" && !known {
		named(fault("the quarter %q is not one of those that are sold", b.Quarter))
	}
	for i, d := range b.Defects {
		if d.Length <= 0 || d.Width <= 0 || !b.rect().meets(d.Rect) {
			named(fault("defect %d (%s by %s at %s, %s) is not on the board", i+1, d.Length, d.Width, d.X, d.Y))
		}
	}
	return errors.Join(errs...)
}

func quarterNamed(name string) (wood.Quarter, bool) {
	for _, q := range wood.Quarters {
		if q.Name == name {
			return q, true
		}
	}
	return wood.Quarter{}, false
}
