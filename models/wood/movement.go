package wood

import (
	"fmt"
	"math"
)

// Cut is how the growth rings lie in a board, which decides how much it moves across
// its width.
type Cut string

// The cuts of a board.
const (
	FlatSawn    Cut = "flat-sawn"    // rings along the face: the width moves tangentially
	QuarterSawn Cut = "quarter-sawn" // rings square to the face: the width moves radially
	Mixed       Cut = "mixed"        // between the two, or not known: counted as flat-sawn
)

// Movement across the grain.
//
// Source: Wood Handbook, USDA Forest Products Laboratory FPL-GTR-190 (2010), chapter
// 13: equation (13-2), ΔD = D·C·(M2 − M1), within 6 to 14 % moisture content (page read
// at fliphtml5.com/kbpub/hdrb/Wood_Handbook/306), and for all else up to 30 % equation
// (13-3), ΔD = D·(M2 − M1) / (30·100/S − 30 + M1), whose form is from memory (a log
// builders' rule at timbertoolbox.com prints the same). The Handbook warns that for
// grain that is neither flat nor quarter this overstates the width and understates the
// thickness; boards kept from moving, and finished ones, move less.
const (
	linearLeast, linearMost = 6.0, 14.0
	fibreSaturation         = 30.0
)

// Movement is how much wider (or, where negative, narrower) a board becomes across the
// grain when its moisture content goes from one percentage to another, both 0 to 30.
func (s Species) Movement(width Length, cut Cut, fromPct, toPct float64) (Length, error) {
	if err := firstOf(sound("width", width), solidMoisture.check(fromPct), solidMoisture.check(toPct)); err != nil {
		return 0, err
	}
	coefficient, shrinkage := s.CT, s.Tangential
	switch cut {
	case QuarterSawn:
		coefficient, shrinkage = s.CR, s.Radial
	case FlatSawn, Mixed:
	default:
		return 0, &Error{Field: "cut", Value: string(cut), Limit: "flat-sawn, quarter-sawn or mixed",
			Message: fmt.Sprintf("The cut %q is none of flat-sawn, quarter-sawn and mixed.", cut)}
	}
	change := toPct - fromPct
	if coefficient > 0 && min(fromPct, toPct) >= linearLeast && max(fromPct, toPct) <= linearMost {
		return Length(math.Round(float64(width) * coefficient * change)), nil
	}
	if shrinkage <= 0 {
		return 0, unknownSpecies(s.Key, "a wood with a shrinkage", fmt.Sprintf("How %q shrinks outside 6 to 14 %% is not known.", s.Key))
	}
	return Length(math.Round(float64(width) * change / (fibreSaturation*100/shrinkage - fibreSaturation + fromPct))), nil
}

// Swing is how far a board moves over a year from the size it is made at.
type Swing struct {
	Shrinks, Swells Length // neither is negative
}

// Whole is the distance between the narrowest and the widest.
func (s Swing) Whole() Length { return s.Shrinks + s.Swells }

// Swing is how much a board of a width, made at a moisture content in per cent, will
// shrink and swell across the grain over the year of the place where it will live.
func (s Species) Swing(width Length, cut Cut, madePct float64, home Climate) (Swing, error) {
	dry, damp, err := home.Moisture()
	if err != nil {
		return Swing{}, fmt.Errorf("the year where it will live: %w", err)
	}
	narrow, err := s.safely(width, cut, madePct, min(dry, madePct))
	if err != nil {
		return Swing{}, err
	}
	wide, err := s.safely(width, cut, madePct, max(damp, madePct))
	if err != nil {
		return Swing{}, err
	}
	return Swing{Shrinks: -narrow, Swells: wide}, nil
}

// SeasonalMovement is the whole play that a flat-sawn board of a species, or of a group
// of species such as "oak", needs across the grain over the year of a HeatedHome:
// from its driest to its most humid weeks. For a name that is not in the table of
// woods (plywood, a bought piece) the error is an *Error.
func SeasonalMovement(width Length, name string) (Length, error) {
	s, err := SafeSpeciesOf(name)
	if err != nil {
		return 0, err
	}
	dry, damp, err := HeatedHome.Moisture()
	if err != nil {
		return 0, err
	}
	return s.safely(width, FlatSawn, dry, damp)
}

// safely is Movement, but never less than the part of it within 6 to 14 %. The two
// equations do not meet where one takes over: for red oak (13-3) gives a sixth less, and
// a wider range must not ask for less play.
func (s Species) safely(width Length, cut Cut, fromPct, toPct float64) (Length, error) {
	whole, err := s.Movement(width, cut, fromPct, toPct)
	if err != nil {
		return 0, err
	}
	linear := func(pct float64) float64 { return min(max(pct, linearLeast), linearMost) }
	part, err := s.Movement(width, cut, linear(fromPct), linear(toPct))
	if err != nil {
		return 0, err
	}
	if toPct < fromPct {
		return min(whole, part), nil
	}
	return max(whole, part), nil
}
