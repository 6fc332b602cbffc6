package tapform

import (
	"math"
	"regexp"
	"strconv"
	"strings"
)

// spanUnits are the units a span may be typed in, whatever the shop's language.
var spanUnits = map[string]float64{
	"": 1, "min": 1, "minute": 1, "minutes": 1, "minuten": 1,
	"h": 60, "hour": 60, "hours": 60, "std": 60, "stunde": 60, "stunden": 60,
	"d": 1440, "day": 1440, "days": 1440, "tag": 1440, "tage": 1440, "tagen": 1440,
}

// MostSpan keeps what is typed within what any field of a form holds.
const MostSpan = 10_000_000

var (
	spanPiece = regexp.MustCompile(`([0-9]+(?:[.,][0-9]{1,2})?)\s*([a-z]*)\.?`)
	spanWhole = regexp.MustCompile(`^(?:[0-9]+(?:[.,][0-9]{1,2})?\s*[a-z]*\.?\s*)+$`)
)

// Span reads a span of time in minutes: "45" and "45 min", "4 h", "1.5 h", "1,5 Std.",
// "1 h 30", "7 days", "2 days 12 h", with any kind of space between. ok is false for
// anything else, and for what is no whole number of minutes.
func Span(text string) (minutes int, ok bool) {
	text = strings.ToLower(strings.Join(strings.Fields(text), " "))
	if !spanWhole.MatchString(text) {
		return 0, false
	}
	total, last := 0.0, math.Inf(1)
	for _, piece := range spanPiece.FindAllStringSubmatch(text, -1) {
		n, err := strconv.ParseFloat(strings.Replace(piece[1], ",", ".", 1), 64)
		unit, known := spanUnits[piece[2]]
		if err != nil || !known || unit >= last {
			return 0, false // "30 min 1 h" and "2 h 3 h" are slips
		}
		total, last = total+n*unit, unit
	}
	if total != math.Trunc(total) || total > MostSpan {
		return 0, false
	}
	return int(total), true
}
