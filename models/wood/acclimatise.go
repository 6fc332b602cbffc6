package wood

import "math"

// Days is an honest range of days: hardly sooner than Least, hardly later than Most.
type Days struct{ Least, Most int }

// How long wood takes to come near its equilibrium, stickered, in moving air.
// Common practice, no source. Two printed rules of thumb lie inside the range for
// inch boards: "at least a week" for boards up to 1 in (WOOD magazine, "How long
// should air-dried lumber sit?") and "one per cent a week" (a forum's "book answer",
// homeownershub.com). The shape is that of diffusion: what is left to go
// halves in equal times, and the time grows with the thickness, at least in step with
// it and at most with its square. A moisture meter always overrides it.
const (
	quickHalvingDays = 3.0  // for an inch of an open, light wood
	slowHalvingDays  = 10.0 // for an inch of a dense one
	closeEnough      = 1.0  // per cent of moisture content: what meters can tell
)

var (
	solidMoisture = span{"moisture content", 0, 30, "%"}
	stockedBoard  = span{"thickness", 1, 150, "mm"}
)

// Acclimatise is how long boards of a thickness (1 to 150 mm) take from one moisture
// content in per cent (0 to 30) to within one per cent of another. Where they are
// that near already the least is 0, and the most still a few days, because a meter
// reads the skin first.
func Acclimatise(thickness Length, fromPct, toPct float64) (Days, error) {
	err := firstOf(stockedBoard.check(thickness.Millimetres()), solidMoisture.check(fromPct), solidMoisture.check(toPct))
	if err != nil {
		return Days{}, err
	}
	inches := float64(thickness) / float64(Inch)
	halvings := math.Max(0, math.Log2(math.Abs(toPct-fromPct)/closeEnough))
	quick := quickHalvingDays * min(inches, inches*inches)
	slow := slowHalvingDays * max(inches, inches*inches)
	return Days{Least: int(math.Floor(quick * halvings)), Most: int(math.Ceil(slow * (halvings + 0.3)))}, nil
}
