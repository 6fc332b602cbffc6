package wood

import (
	"fmt"
	"math"
)

// Glue is a glue's times near 21 °C (70 °F), in minutes: class values or the maker's
// own sheet, which always comes first.
type Glue struct {
	Name       string
	OpenMin    int // from spreading to closing
	ClampMin   int // in clamps, unstressed
	CureMin    int // to full strength
	LeastTempC float64
}

// The rule for cold: clamp and cure time double for each 15 °F below 70 °F, and the
// temperature of the wood counts more than that of the air. Source: WOOD magazine,
// "Give the glue time" (woodmagazine.com), which says it of yellow PVA glue; for other
// glues it is common practice, no source. A second page agrees roughly: 30 to 45 min at
// 70 °F, 60 to 90 at 50 to 55 °F (craftedwoodcreations.com, "Wood glue dry time").
// Warmth is taken on the safe side only: it shortens the open time by the same rule
// (common practice, no source), never the clamp or cure time.
const (
	standardC = 21.0              // what class times hold at; cold counts from below it,
	warmC     = (70.0 - 32) / 1.8 // and warmth from above 70 °F, which is the same by name
	doublingC = 15 / 1.8
	HottestC  = 40.0 // beyond it no rule of thumb holds: common practice, no source
)

var (
	airTemperature  = span{"air's temperature", -30, HottestC, "°C"}
	woodTemperature = span{"wood's temperature", -30, HottestC, "°C"}
)

// At is the glue with its times corrected for the temperature of the air and of the
// wood, both in °C up to 40: clamp and cure time by the colder, open time by the
// warmer. Below the glue's least temperature, of either, it is refused: a PVA dries
// chalky there and holds nothing (Lee Valley, "Working with PVA glues").
func (g Glue) At(airC, woodC float64) (Glue, error) {
	err := firstOf(g.timed(), airTemperature.check(airC), woodTemperature.check(woodC))
	if err == nil && airC < g.LeastTempC {
		err = tooCold("air's temperature", "air", g.Name, airC, g.LeastTempC)
	}
	if err == nil && woodC < g.LeastTempC {
		err = tooCold("wood's temperature", "wood", g.Name, woodC, g.LeastTempC)
	}
	if err != nil {
		return Glue{}, err
	}
	slower := math.Max(1, math.Exp2((standardC-min(airC, woodC))/doublingC))
	quicker := math.Max(1, math.Exp2((max(airC, woodC)-warmC)/doublingC))
	g.OpenMin = max(1, int(float64(g.OpenMin)/quicker+roundingError))
	g.ClampMin = stretched(g.ClampMin, slower)
	g.CureMin = stretched(g.CureMin, slower)
	return g, nil
}

// timed refuses a glue whose times cannot be.
func (g Glue) timed() error {
	return firstOf(minutesFrom("open time", 1, g.OpenMin), minutesFrom("clamp time", 0, g.ClampMin), minutesFrom("cure time", 0, g.CureMin))
}

// mostMinutes bounds a time of glue or finish: two years.
const mostMinutes = 2 * 525_600

func minutesFrom(field string, least, minutes int) error {
	return span{field, float64(least), mostMinutes, "min"}.check(float64(minutes))
}

// roundingError of a factor must not add or take a minute.
const roundingError = 1e-6

// stretched is a time multiplied, whole minutes up.
func stretched(minutes int, by float64) int {
	return int(math.Ceil(float64(minutes)*by - roundingError))
}

// InFives rounds a corrected time up to 5 minutes: no rule of thumb is finer. A time
// that was not corrected stays as the shop entered it.
func InFives(now, entered int) int {
	if now == entered {
		return now
	}
	return (now + 4) / 5 * 5
}

func tooCold(field, where, what string, is, least float64) error {
	now, wanted := FormatTemperature(is, Millimetres), FormatTemperature(least, Millimetres)
	return &Error{Field: field, Value: now, Limit: "at least " + wanted,
		Message: fmt.Sprintf("%s needs at least %s; the %s is at %s.", what, wanted, where, now)}
}

// Minutes is a range of minutes.
type Minutes struct{ Least, Most int }

// GlueClass is a class of glue and what is printed of it near 21 °C: a range to plan
// with, never a maker's instruction.
type GlueClass struct {
	Key, Name         string
	Open, Clamp, Cure Minutes
	LeastTempC        float64
	Mark              Mark
	Source            string
}

// GlueClasses lists the classes. Where sources differ the range holds both: PVA open
// time is 10 to 20 min in one and 5 in another, so plan on 5 to 10. UF powder is used
// at 70 to 72 °F.
var GlueClasses = []GlueClass{
	{"pva", "PVA", Minutes{5, 20}, Minutes{30, 90}, Minutes{1440, 1440}, 10, Read, `Lee Valley, "Working with PVA glues"; 5 min: woodworkingarchive.biz`},
	{"pva-slow", "PVA, long open time", Minutes{20, 30}, Minutes{30, 90}, Minutes{1440, 1440}, 10, Memory, "open: total assembly time of PVA, from memory; the rest as PVA"},
	{"polyurethane", "Polyurethane, one part", Minutes{15, 30}, Minutes{60, 240}, Minutes{1440, 1440}, 10, Memory, "it needs moisture"},
	{"epoxy", "Epoxy, two parts, by formula", Minutes{2, 120}, Minutes{4, 2880}, Minutes{1440, 10080}, 2, Quoted, "diydata.com, synthetic glues; cure and least temperature from memory"},
	{"hot-hide", "Hot hide glue", Minutes{1, 10}, Minutes{0, 90}, Minutes{1440, 1440}, 20, Quoted, "diydata.com, natural glues; rubbed joints need no clamps; least temperature: a warm shop, no figure printed"},
	{"hide", "Liquid hide glue", Minutes{10, 10}, Minutes{720, 720}, Minutes{1440, 1440}, 15.6, Quoted, "woodworkingarchive.biz; least temperature from memory"},
	{"urea", "Urea-formaldehyde powder", Minutes{20, 20}, Minutes{720, 720}, Minutes{1440, 1440}, 21, Quoted, "20 min and 12 h; 72 °F, at most 12 h and 24 h: Popular Woodworking no. 178, page 40"},
}
