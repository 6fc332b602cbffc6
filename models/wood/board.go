package wood

import (
	"fmt"
	"math"
)

// BoardFeet is the content of a board by W × L × T / 12, width and thickness in
// inches and length in feet; a thickness under 1 inch counts as 1 inch. It is
// exact, for estimates; Tally is how a yard counts.
//
// Source: American Hardwood Export Council, "Measurement" (americanhardwood.org,
// grading sawn lumber); thickness under 1 inch: Engineering basics, tpub.com.
func BoardFeet(length, width, thickness Length) float64 {
	return float64(width) / float64(Inch) * (float64(length) / float64(Foot)) * (float64(max(thickness, Inch)) / float64(Inch)) / 12
}

// SurfaceMeasure is the surface of a rough board in whole square feet: width in
// inches and fractions times length in whole feet (a fraction of a foot is
// dropped), over 12, to the nearest whole. Halves, which yards count up and down
// by turns, are counted up here.
//
// Source: as BoardFeet.
func SurfaceMeasure(length, width Length) int {
	feet := math.Floor(float64(length) / float64(Foot))
	return int(math.Floor(float64(width)/float64(Inch)*feet/12 + 0.5))
}

// Tally is the board feet a yard counts for one board: its surface measure times
// its thickness in inches, 1 at least. Source: as BoardFeet.
func Tally(length, width, thickness Length) float64 {
	return float64(SurfaceMeasure(length, width)) * float64(max(thickness, Inch)) / float64(Inch)
}

// Quarter is a thickness of rough hardwood as yards sell it, in quarters of an
// inch, and what it is when both faces are surfaced.
type Quarter struct {
	Name     string
	Rough    Length
	Surfaced Length
}

// Quarters lists the usual thicknesses, thinnest first.
//
// Source: surfaced thickness from Engineering ToolBox, "Hardwood Lumber
// Dimensions" (d_1462); 10/4 from memory.
var Quarters = []Quarter{
	{"4/4", Inch, 13 * Inch / 16},
	{"5/4", Inch + Inch/4, Inch + Inch/16},
	{"6/4", Inch + Inch/2, Inch + 5*Inch/16},
	{"8/4", 2 * Inch, Inch + 3*Inch/4},
	{"10/4", 2*Inch + Inch/2, 2*Inch + Inch/4},
	{"12/4", 3 * Inch, 2*Inch + 3*Inch/4},
	{"16/4", 4 * Inch, 3*Inch + 3*Inch/4},
}

// StockFor is the thinnest quarter that gives a finished thickness after
// surfacing. A thickness that is not positive, or more than 16/4 gives, is an
// error that names the value and the limit.
func StockFor(finished Length) (Quarter, error) {
	if finished <= 0 {
		return Quarter{}, fmt.Errorf("a thickness of %s cannot be cut; it must be more than 0", finished.Format(Millimetres, 0))
	}
	for _, q := range Quarters {
		if q.Surfaced >= finished {
			return q, nil
		}
	}
	thickest := Quarters[len(Quarters)-1]
	return Quarter{}, fmt.Errorf("a thickness of %s is more than %s gives (%s); glue it up from thinner stock",
		finished.Format(Inches, 16), thickest.Name, thickest.Surfaced.Format(Inches, 16))
}
