package wood

import "fmt"

// Quarter is a thickness of rough hardwood as yards sell it, in quarters of an inch,
// and what it is when both faces have been surfaced.
type Quarter struct {
	Name     string // "5/4"
	Quarters int    // 5
	Rough    Length // nominal, as sawn
	Surfaced Length // usual, both faces surfaced (S2S)
	Mark     Mark   // of Surfaced
	Rare     bool   // few yards keep it
}

// Quarters lists the thicknesses, thinnest first.
//
// Sources of the surfaced thickness: 4/4 in four places, among them FDMC, "Best face
// forward" (woodworkingnetwork.com), where 13/16 is the least for 4/4; the others as
// quoted by Engineering ToolBox, "Hardwood lumber dimensions" (d_1462) and
// renovation-headquarters.com, "Hardwood boards"; 10/4 from memory. One surfaced face
// (S1S) leaves 1/16 in more. The grading rules' own table was not seen.
var Quarters = []Quarter{
	{"4/4", 4, Inch, 13 * Inch / 16, Read, false},
	{"5/4", 5, 5 * Inch / 4, 17 * Inch / 16, Quoted, false},
	{"6/4", 6, 6 * Inch / 4, 21 * Inch / 16, Quoted, false},
	{"7/4", 7, 7 * Inch / 4, 24 * Inch / 16, Quoted, true},
	{"8/4", 8, 8 * Inch / 4, 28 * Inch / 16, Quoted, false},
	{"10/4", 10, 10 * Inch / 4, 36 * Inch / 16, Memory, false},
	{"12/4", 12, 12 * Inch / 4, 44 * Inch / 16, Quoted, false},
	{"16/4", 16, 16 * Inch / 4, 60 * Inch / 16, Quoted, false},
}

// Scant is how much thinner than its name kiln-dried rough stock may be: 1/16 in, as
// FDMC, "Best face forward", says of 4/4; taken for all.
const Scant = Inch / 16

// StockFor is the thinnest usual quarter whose surfaced thickness is a finished
// thickness or more. One that is not positive, or more than 16/4 gives, is refused.
func StockFor(finished Length) (Quarter, error) {
	return thinnest(finished, func(q Quarter) Length { return q.Surfaced })
}

// StockForMilling is the thinnest usual quarter from which the shop's own milling,
// which takes off loss in thickness (see Rough), still leaves a finished thickness,
// even where the stock is scant. Loss may be 0 or more.
func StockForMilling(finished, loss Length) (Quarter, error) {
	if loss < 0 || loss > Greatest {
		return Quarter{}, &Error{Field: "loss", Value: loss.Format(Inches, 64), Limit: "0 to 100 m",
			Message: fmt.Sprintf("The loss in milling, %s, must lie between 0 and 100 m.", loss.Format(Inches, 64))}
	}
	return thinnest(finished, func(q Quarter) Length { return q.Rough - Scant - loss })
}

func thinnest(finished Length, leaves func(Quarter) Length) (Quarter, error) {
	if err := sound("finished thickness", finished); err != nil {
		return Quarter{}, err
	}
	for _, q := range Quarters {
		if !q.Rare && leaves(q) >= finished {
			return q, nil
		}
	}
	last := Quarters[len(Quarters)-1]
	value, most := finished.Format(Inches, 64), leaves(last).Format(Inches, 64)
	return Quarter{}, &Error{Field: "finished thickness", Value: value, Limit: "at most " + most,
		Message: fmt.Sprintf("The finished thickness, %s, is more than %s stock leaves (%s); glue it up from thinner stock.", value, last.Name, most)}
}
