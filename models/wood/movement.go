package wood

import (
	"fmt"
	"math"
)

// Cut is how the growth rings lie in a board, which decides how much it moves
// across its width.
type Cut string

// The cuts of a board. Mixed counts as flat-sawn, the greater movement.
const (
	FlatSawn    Cut = "flat-sawn"
	QuarterSawn Cut = "quarter-sawn"
	Mixed       Cut = "mixed"
)

// Shrinkage is how a species moves with its moisture.
type Shrinkage struct {
	Radial, Tangential float64 // percent from green to oven-dry
	CR, CT             float64 // change for each percent of moisture, 6 to 14 %
}

// shrinkages by species key.
//
// Sources: Wood Handbook (FPL-GTR-190), Table 4-3 for shrinkage and Table 13-5
// for the coefficients. From memory and not seen in print: the shrinkage of red
// oak and hard maple, the tangential coefficient of yellow-poplar, and all of
// eastern white pine. "oak" stands for white or red oak not told apart: the
// greater of the two in each figure.
var shrinkages = map[string]Shrinkage{
	"ash":       {4.9, 7.8, 0.00169, 0.00274},  // white ash
	"white-oak": {5.6, 10.5, 0.00180, 0.00365}, // coefficients: commercial white oak
	"red-oak":   {4.0, 8.6, 0.00158, 0.00369},  // northern; coefficients: commercial red oak
	"oak":       {5.6, 10.5, 0.00180, 0.00369},
	"beech":     {5.5, 11.9, 0.00190, 0.00431}, // American beech
	"maple":     {4.8, 9.9, 0.00165, 0.00353},  // sugar maple
	"cherry":    {3.7, 7.1, 0.00126, 0.00248},  // black cherry
	"walnut":    {5.5, 7.8, 0.00190, 0.00274},  // black walnut
	"birch":     {7.3, 9.5, 0.00256, 0.00338},  // yellow birch
	"poplar":    {4.6, 8.2, 0.00158, 0.00289},  // yellow-poplar
	"pine":      {2.1, 6.1, 0.00071, 0.00212},  // eastern white pine
}

const fibreSaturation = 30 // percent; wood does not move above it

// ShrinkageOf is how a species moves; false where it is not known.
func ShrinkageOf(species string) (Shrinkage, bool) {
	s, known := shrinkages[species]
	return s, known
}

// Movement is how much wider (or, negative, narrower) a board of a species
// becomes across the grain when its moisture goes from one percentage to
// another, 0 to 30.
func Movement(width Length, species string, cut Cut, from, to float64) (Length, error) {
	s, known := shrinkages[species]
	if !known {
		return 0, fmt.Errorf("it is not known how the species %q moves", species)
	}
	return s.Across(width, cut, from, to)
}

// Across is Movement for these figures. Between 6 and 14 % it is the width times
// the coefficient times the change; outside, it follows the shrinkage from green
// to oven-dry.
//
// Source: Wood Handbook (FPL-GTR-190), chapter 13, equations (13-2) and (13-3);
// the second from memory. The Handbook warns that mixed grain moves less across
// and more through than this says.
func (s Shrinkage) Across(width Length, cut Cut, from, to float64) (Length, error) {
	if width < 0 {
		return 0, fmt.Errorf("a width of %s is negative", width.Format(Millimetres, 0))
	}
	for _, m := range []float64{from, to} {
		if !(m >= 0 && m <= fibreSaturation) {
			return 0, fmt.Errorf("a moisture of %g %% is outside 0 to %d %%", m, fibreSaturation)
		}
	}
	c, total := s.CT, s.Tangential
	switch cut {
	case QuarterSawn:
		c, total = s.CR, s.Radial
	case FlatSawn, Mixed:
	default:
		return 0, fmt.Errorf("the cut %q is none of %s, %s and %s", cut, FlatSawn, QuarterSawn, Mixed)
	}
	if min(from, to) >= 6 && max(from, to) <= 14 {
		return Length(math.Round(float64(width) * c * (to - from))), nil
	}
	return Length(math.Round(float64(width) * (to - from) / (fibreSaturation*100/total - fibreSaturation + from))), nil
}

// The dry and the damp end of a heated house's year, as relative humidity at
// 21 °C: common practice, no source.
const (
	roomC      = 21.0
	driestRoom = 30.0
	dampRoom   = 60.0
)

// SeasonalMovement is the whole play a flat-sawn board needs across the grain
// over the year of a heated house, from 30 % to 60 % relative humidity at 21 °C.
func SeasonalMovement(width Length, species string) (Length, error) {
	dry, err := EquilibriumMoisture(roomC, driestRoom)
	if err != nil {
		return 0, err
	}
	damp, err := EquilibriumMoisture(roomC, dampRoom)
	if err != nil {
		return 0, err
	}
	return Movement(width, species, FlatSawn, dry, damp)
}
