package wood

// Length is an exact length in whole nanometres: a 64th of an inch is 396 875 nm
// and a thousandth of a millimetre 1 000 nm, so neither ever drifts.
type Length int64

// Units of Length.
const (
	Millimetre Length = 1_000_000
	Inch       Length = 25_400_000
	Foot       Length = 12 * Inch
)
