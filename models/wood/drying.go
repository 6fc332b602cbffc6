package wood

import "fmt"

// coldC is the temperature under which a finish takes twice its time: 65 °F.
const coldC = (65.0 - 32) / 1.8

// DryingFactor multiplies the drying and recoat times a maker gives for 21 °C:
// 1 at 18.3 °C (65 °F) and above, 2 below. Below least, in °C, the finish may
// stay tacky for good: that is an error, as is a temperature that cannot be.
//
// Source: woodwiki.org, "Polyurethane": below 65 °F times double, below 55 °F a
// coat may stay tacky. It is a rule of thumb; the maker's sheet comes first.
func DryingFactor(tempC, least float64) (float64, error) {
	switch {
	case !(tempC > -60 && tempC < 80):
		return 0, fmt.Errorf("%g °C is not the temperature of a shop", tempC)
	case tempC < least:
		return 0, fmt.Errorf("it needs at least %g °C; the shop is at %g °C", least, tempC)
	case tempC < coldC:
		return 2, nil
	}
	return 1, nil
}

// TooDampForOil says whether an oil or oil-based varnish may stop drying: over
// 70 % relative humidity. Source: as DryingFactor.
func TooDampForOil(humidity float64) bool { return humidity > 70 }
