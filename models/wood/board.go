package wood

import (
	"fmt"
	"math"
	"math/big"
)

// Board is the size of one board.
type Board struct{ Length, Width, Thickness Length }

// Yard is how a yard rounds when it counts board feet. A board foot is W·L·T/12, width
// and thickness in inches and length in feet.
//
// Source: American Hardwood Export Council, "Measurement" (americanhardwood.org,
// grading sawn lumber), after the rules of the National Hardwood Lumber Association:
// its own rule book was not seen. Stock tallied after kiln drying is net; its gross
// (green) content is about 7 to 8 % more (from memory).
type Yard string

// The ways of counting.
const (
	// BySurface: each board's surface measure is its full width times its length in
	// whole feet (a part of a foot is dropped) over 12, to the nearest whole square
	// foot, halves up and down by turns; times its thickness. The width "including
	// fractions of inches": goodwoodcorp.com, hardwood terminology.
	BySurface Yard = "surface measure"
	// ByWholeInch: the width is taken to the nearest whole inch (halves up and down by
	// turns), the length in whole feet, and the product is not rounded: the council's
	// tally, in which 5¼ in by 8½ ft is counted as 5 in by 8 ft.
	ByWholeInch Yard = "whole inches"
	// ByRoundingUp: width and length are taken up to the whole inch and foot, and odd
	// quarters up to the next even one (5/4 as 6/4). Some retail yards do so
	// (woodworkingtalk.com), against the practice above.
	ByRoundingUp Yard = "rounded up"
	// AsMeasured: nothing is rounded.
	AsMeasured Yard = "as measured"
)

// Count is the board feet a yard counts for some boards. A thickness under 1 inch
// counts as 1 inch (Engineering basics, tpub.com/engbas/6-3.htm), save AsMeasured.
type Count struct {
	Each  []float64 // in the order of the boards
	Total float64
}

// Count counts boards in the order given, which decides the halves. A board without a
// size, or a way of counting that is not known, is refused.
func (y Yard) Count(boards ...Board) (Count, error) {
	var c Count
	t := &turns{}
	for i, b := range boards {
		err := firstOf(sound("length", b.Length), sound("width", b.Width), sound("thickness", b.Thickness))
		if err != nil {
			return Count{}, fmt.Errorf("board %d: %w", i+1, err)
		}
		feet, err := y.feet(b, t)
		if err != nil {
			return Count{}, err
		}
		c.Each = append(c.Each, feet)
		c.Total += feet
	}
	return c, nil
}

func (y Yard) feet(b Board, t *turns) (float64, error) {
	counted := max(b.Thickness, Inch)
	wholeFeet := int64(b.Length / Foot)
	switch y {
	case BySurface:
		return float64(t.surface(b.Width, wholeFeet)) * inches(counted), nil
	case ByWholeInch:
		return float64(t.nearest(big.NewRat(int64(b.Width), int64(Inch)))*wholeFeet) * inches(counted) / 12, nil
	case ByRoundingUp:
		halfInches := up(counted, Inch/2) // an even number of quarters
		return float64(up(b.Width, Inch)*up(b.Length, Foot)*halfInches) / 24, nil
	case AsMeasured:
		return inches(b.Width) * inches(b.Length) / 12 * inches(b.Thickness) / 12, nil
	}
	return 0, &Error{Field: "yard", Value: string(y), Limit: fmt.Sprintf("%s, %s, %s or %s", BySurface, ByWholeInch, ByRoundingUp, AsMeasured),
		Message: fmt.Sprintf("The way of counting board feet %q is none of %s, %s, %s and %s.", string(y), BySurface, ByWholeInch, ByRoundingUp, AsMeasured)}
}

// turns rounds to whole numbers, exact halves up first and then down by turns.
type turns struct{ down bool }

// surface is the surface measure in square feet.
func (t *turns) surface(width Length, feet int64) int64 {
	return t.nearest(new(big.Rat).Mul(big.NewRat(int64(width), int64(Inch)), big.NewRat(feet, 12)))
}

// nearest rounds a number that is not negative.
func (t *turns) nearest(x *big.Rat) int64 {
	twice := new(big.Int).Mul(x.Num(), big.NewInt(2))
	whole := new(big.Int).Div(twice.Add(twice, x.Denom()), new(big.Int).Mul(x.Denom(), big.NewInt(2))).Int64()
	if new(big.Rat).Sub(big.NewRat(whole, 1), x).Cmp(big.NewRat(1, 2)) != 0 {
		return whole
	}
	if t.down = !t.down; t.down {
		return whole
	}
	return whole - 1
}

// SurfaceMeasure is the surface of one board in whole square feet, an exact half
// counted up; sizes are 0 or more. Source: as Yard.
func SurfaceMeasure(length, width Length) int {
	return int((&turns{}).surface(width, int64(length/Foot)))
}

// BoardFeet is the content of one board, unrounded save that a thickness under 1 inch
// counts as 1 inch: for estimates; sizes are 0 or more. A Yard's Count is what is paid
// for.
func BoardFeet(length, width, thickness Length) float64 {
	return inches(length) / 12 * inches(width) / 12 * inches(max(thickness, Inch))
}

func inches(l Length) float64 { return float64(l) / float64(Inch) }

// up is the least whole number of units that holds a length.
func up(l, unit Length) int64 { return int64(math.Ceil(float64(l) / float64(unit))) }
