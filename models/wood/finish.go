package wood

import (
	"fmt"
	"slices"
)

// Hardening is how a finish hardens, which decides what cold and damp do to it.
type Hardening string

// The ways.
const (
	ByOxygen  Hardening = "oxygen"  // oils, oil varnishes: they take oxygen from the air
	ByWater   Hardening = "water"   // waterborne coats: their water leaves
	BySolvent Hardening = "solvent" // shellac, lacquer: their solvent leaves
)

// Finish is a finish's times near 21 °C and 50 % humidity, in minutes: class values or
// the maker's own sheet, which always comes first.
type Finish struct {
	Name              string
	Hardening         Hardening
	DryMin            int // to the touch, so that no dust sticks
	RecoatLeastMin    int // no coat before
	RecoatGreatestMin int // after it the coat is abraded first; 0 for no such edge
	CureMin           int
	LeastTempC        float64
}

// Rules for cold and damp. Source: woodwiki.org, on polyurethane: below 65 °F times
// double; below 55 °F a coat may stay tacky; above 70 % relative humidity an oil may
// stop curing. That water leaves more slowly, and shellac and lacquer may blush, above
// 70 % is common practice, no source, and so is the doubling there.
const (
	coldC    = (65.0 - 32) / 1.8
	tackyC   = (55.0 - 32) / 1.8
	dampPct  = 70.0
	coldSlow = 2
	dampSlow = 2
)

// At is the finish with its times corrected for the air's temperature in °C (up to 40)
// and relative humidity in per cent. Both edges of the recoat window move, as the coat
// hardens more slowly; whoever is in doubt about the far edge abrades. Below the least
// temperature the finish is refused.
func (f Finish) At(airC, humidityPct float64) (Finish, error) {
	err := firstOf(f.timed(), airTemperature.check(airC), humidity.check(humidityPct))
	if err == nil && airC < f.LeastTempC {
		err = tooCold("air's temperature", "air", f.Name, airC, f.LeastTempC)
	}
	if err != nil {
		return Finish{}, err
	}
	slower := 1
	if airC < coldC {
		slower *= coldSlow
	}
	if humidityPct > dampPct {
		slower *= f.whenDamp()
	}
	f.DryMin, f.RecoatLeastMin, f.RecoatGreatestMin = f.DryMin*slower, f.RecoatLeastMin*slower, f.RecoatGreatestMin*slower
	f.CureMin *= slower
	return f, nil
}

// Doubts are what a maker should doubt about the finish in such air, in the degrees
// that go with a unit of length.
func (f Finish) Doubts(airC, humidityPct float64, units string) []string {
	var out []string
	if airC < coldC {
		out = append(out, fmt.Sprintf("Below %s it takes about twice its time.", FormatTemperature(coldC, units)))
	}
	if airC < tackyC {
		out = append(out, fmt.Sprintf("Below %s a coat may stay tacky.", FormatTemperature(tackyC, units)))
	}
	if humidityPct > dampPct {
		out = append(out, dampDoubts[f.Hardening])
	}
	return out
}

var dampDoubts = map[Hardening]string{
	ByOxygen:  "Above 70 % humidity an oil may stop curing: test a hidden spot before the next coat.",
	ByWater:   "Above 70 % humidity its water leaves slowly: test a hidden spot before the next coat.",
	BySolvent: "Above 70 % humidity it may turn white: wait for drier air.",
}

func (f Finish) whenDamp() int {
	if f.Hardening == BySolvent {
		return 1
	}
	return dampSlow
}

// timed refuses a finish that hardens in no known way, or whose times cannot be.
func (f Finish) timed() error {
	if dampDoubts[f.Hardening] == "" {
		return &Error{Field: "hardening", Value: string(f.Hardening), Limit: "oxygen, water or solvent",
			Message: fmt.Sprintf("The way %q in which %s hardens is none of oxygen, water and solvent.", string(f.Hardening), f.Name)}
	}
	err := firstOf(minutesFrom("drying time", 0, f.DryMin), minutesFrom("least recoat time", 0, f.RecoatLeastMin),
		minutesFrom("greatest recoat time", 0, f.RecoatGreatestMin), minutesFrom("cure time", 0, f.CureMin))
	if err == nil && f.RecoatGreatestMin != 0 && f.RecoatGreatestMin < f.RecoatLeastMin {
		err = &Error{Field: "greatest recoat time", Value: fmt.Sprintf("%d min", f.RecoatGreatestMin), Limit: fmt.Sprintf("at least %d min", f.RecoatLeastMin),
			Message: fmt.Sprintf("The greatest recoat time of %s, %d min, is shorter than its least, %d min.", f.Name, f.RecoatGreatestMin, f.RecoatLeastMin)}
	}
	return err
}

// FinishClass is a class of finish and what is printed of it near 21 °C and 50 %
// humidity: a range to plan with, never a maker's instruction. Oily and varnish rags
// can catch fire by themselves: a closed metal can at once, or flat to dry outdoors;
// the local fire code comes first.
type FinishClass struct {
	Key, Name         string
	Hardening         Hardening
	Dry, Recoat, Cure Minutes
	Mark              Mark
	Source            string
}

// FinishClasses lists the classes. Where sources differ the range holds both; plan on
// the long end.
var FinishClasses = []FinishClass{
	{"oil-polyurethane", "Oil-based polyurethane", ByOxygen, Minutes{180, 360}, Minutes{360, 1440}, Minutes{30240, 43200}, Quoted, "greenyplace.com (3 h, 6 h, sand after 24 h); woodwiki.org (4-6 h, 8-24 h); 3-4 weeks: sawmillcreek.org"},
	{"waterborne", "Waterborne", ByWater, Minutes{60, 120}, Minutes{120, 360}, Minutes{20160, 30240}, Quoted, "woodwiki.org, eatsip365.com"},
	{"wiping-varnish", "Wiping varnish", ByOxygen, Minutes{60, 240}, Minutes{240, 1440}, Minutes{20160, 43200}, Memory, ""},
	{"penetrating-oil", "Penetrating oil", ByOxygen, Minutes{720, 2880}, Minutes{1440, 10080}, Minutes{20160, 43200}, Memory, ""},
	{"shellac", "Shellac, 1-2 lb cut", BySolvent, Minutes{5, 15}, Minutes{60, 120}, Minutes{1440, 10080}, Memory, ""},
	{"nitro-lacquer", "Nitrocellulose lacquer", BySolvent, Minutes{5, 30}, Minutes{30, 120}, Minutes{10080, 30240}, Memory, ""},
}

// HardeningOf is how the finish of a class key hardens. An unknown key is taken for one
// that hardens by oxygen, the one that cold and damp slow the most.
func HardeningOf(key string) Hardening {
	i := slices.IndexFunc(FinishClasses, func(c FinishClass) bool { return c.Key == key })
	if i < 0 {
		return ByOxygen
	}
	return FinishClasses[i].Hardening
}
