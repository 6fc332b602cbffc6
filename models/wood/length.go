package wood

import (
	"fmt"
	"math/big"
	"strconv"
)

// Length is an exact length in whole nanometres: a 64th of an inch is 396 875 nm
// and a thousandth of a millimetre 1 000 nm, so neither ever drifts. What is not a
// whole number of nanometres (a third of an inch, a 128th) is refused when it is
// typed, never rounded unseen. An inch is 25.4 mm exactly (international yard and
// pound agreement, 1959; NIST SP 811, Appendix B; from memory).
type Length int64

// Units of Length.
const (
	Millimetre Length = 1_000_000
	Inch       Length = 25_400_000
	Foot       Length = 12 * Inch
)

// Greatest is the longest length ParseLength reads: 100 m, longer than any
// board and far from overflowing.
const Greatest = 100_000 * Millimetre

// The units a shop may show lengths in and leave out when typing them.
const (
	Inches      = "inch"
	Millimetres = "mm"
)

// Format shows a length the way the shop reads it. In inches it is rounded to
// the nearest 1/fraction (a half away from 0) and reduced, e.g. `1 13/16"`; a
// fraction other than 1, 2, 4 ... 64 counts as 16. In anything else it is
// millimetres with at most one decimal, e.g. "45 mm" or "20.6 mm". What Format
// writes, ParseLength reads, and Format writes the same again. For a field that is
// saved as it stands use Exactly.
func (l Length) Format(units string, fraction int) string {
	sign := ""
	if l < 0 {
		sign, l = "-", -l
	}
	if units != Inches {
		return sign + tenths(l) + " mm"
	}
	den := int64(Inch / grid(Inches, fraction))
	num := (int64(l)*den*2 + int64(Inch)) / (2 * int64(Inch))
	whole, num := num/den, num%den
	for num != 0 && num%2 == 0 {
		num, den = num/2, den/2
	}
	switch {
	case num == 0:
		return fmt.Sprintf(`%s%d"`, sign, whole)
	case whole == 0:
		return fmt.Sprintf(`%s%d/%d"`, sign, num, den)
	default:
		return fmt.Sprintf(`%s%d %d/%d"`, sign, whole, num, den)
	}
}

// grid is the step to which Format rounds.
func grid(units string, fraction int) Length {
	if units != Inches {
		return Millimetre / 10
	}
	if fraction < 1 || fraction > 64 || fraction&(fraction-1) != 0 {
		fraction = 16
	}
	return Inch / Length(fraction)
}

// Within narrows the limits of a length, both 0 or more, to what Format can show
// exactly, so that a limit that is read can also be typed. Limits with no such
// length between them are returned as they are.
func Within(least, greatest Length, units string, fraction int) (Length, Length) {
	step := grid(units, fraction)
	low, high := (least+step-1)/step*step, greatest/step*step
	if low > high {
		return least, greatest
	}
	return low, high
}

// Exactly writes a length of 0 or more so that ParseLength reads exactly it back:
// in inches as a fraction down to 64ths, else as a decimal of at most six places
// (`0.3"`), else, and for every other unit, in millimetres, e.g. "46.0375 mm".
func (l Length) Exactly(units string) string {
	if units == Inches {
		if l%(Inch/64) == 0 {
			return l.Format(Inches, 64)
		}
		inches := big.NewRat(int64(l), int64(Inch))
		if places, finite := inches.FloatPrec(); finite && places <= 6 {
			return inches.FloatString(places) + `"`
		}
	}
	mm := big.NewRat(int64(l), int64(Millimetre))
	places, _ := mm.FloatPrec() // at most 6: a nanometre is a millionth
	return mm.FloatString(places) + " mm"
}

// tenths is a length that is not negative, in millimetres to one decimal.
func tenths(l Length) string {
	t := (int64(l) + int64(Millimetre)/20) / (int64(Millimetre) / 10)
	if t%10 == 0 {
		return strconv.FormatInt(t/10, 10)
	}
	return fmt.Sprintf("%d.%d", t/10, t%10)
}

// Millimetres is the length in millimetres, for formulas of time and area.
func (l Length) Millimetres() float64 { return float64(l) / float64(Millimetre) }

// Metres is the length in metres, for formulas of time and area.
func (l Length) Metres() float64 { return l.Millimetres() / 1000 }
