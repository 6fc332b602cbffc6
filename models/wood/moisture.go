package wood

import (
	"fmt"
	"math"
)

// The range in which the equation of moisture is used: that of the Handbook's
// table, 30 to 270 °F, and 5 to 95 % relative humidity.
const (
	leastMoistureC, greatestMoistureC = -1.2, 132.3
	leastHumidity, greatestHumidity   = 5.0, 95.0
)

// EquilibriumMoisture is the moisture content in percent that wood comes to in
// air of a temperature in °C and a relative humidity in percent (5 to 95).
//
// Source: Wood Handbook (FPL-GTR-282, 2021), chapter 4, equation (4-5), in its
// °C form. The Handbook warns that a tenth of a percent only shows trends: the
// value is midway between wetting and drying, mostly of Sitka spruce.
func EquilibriumMoisture(tempC, humidity float64) (float64, error) {
	switch {
	case !(tempC >= leastMoistureC && tempC <= greatestMoistureC):
		return 0, fmt.Errorf("a temperature of %g °C is outside %g to %g °C", tempC, leastMoistureC, greatestMoistureC)
	case !(humidity >= leastHumidity && humidity <= greatestHumidity):
		return 0, fmt.Errorf("a relative humidity of %g %% is outside %g to %g %%", humidity, leastHumidity, greatestHumidity)
	}
	t, h := tempC, humidity/100
	w := 349 + 1.29*t + 0.0135*t*t
	k := 0.805 + 0.000736*t - 0.00000273*t*t
	k1 := 6.27 - 0.00938*t - 0.000303*t*t
	k2 := 1.91 + 0.0407*t - 0.000293*t*t
	kh := k * h
	return 1800 / w * (kh/(1-kh) + (k1*kh+2*k1*k2*kh*kh)/(1+k1*kh+k1*k2*kh*kh)), nil
}

// HumidityFor is the relative humidity in percent at which wood comes to a
// moisture content in percent at a temperature in °C: EquilibriumMoisture the
// other way, found by halving to a thousandth. A content the air cannot give
// between 5 and 95 % is an error.
func HumidityFor(tempC, moisture float64) (float64, error) {
	low, high := leastHumidity, greatestHumidity
	driest, err := EquilibriumMoisture(tempC, low)
	if err != nil {
		return 0, err
	}
	wettest, err := EquilibriumMoisture(tempC, high)
	if err != nil {
		return 0, err
	}
	if !(moisture >= driest && moisture <= wettest) {
		return 0, fmt.Errorf("at %g °C the air gives wood %.1f to %.1f %% moisture, not %g %%", tempC, driest, wettest, moisture)
	}
	for high-low > 0.001 {
		middle := (low + high) / 2
		at, err := EquilibriumMoisture(tempC, middle)
		if err != nil {
			return 0, err
		}
		if at < moisture {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2, nil
}

// Days is an honest range of days.
type Days struct{ Least, Greatest int }

// Acclimatise is how long stickered stock takes to come to the air of the shop:
// half a week to two weeks for each inch of thickness, 2 days at least, and no
// time where the wood is within one percent already. A meter tells better.
//
// Common practice, no source.
func Acclimatise(thickness Length, moisture, equilibrium float64) Days {
	if math.Abs(moisture-equilibrium) <= 1 {
		return Days{}
	}
	inches := float64(thickness) / float64(Inch)
	return Days{Least: max(2, int(math.Ceil(3.5*inches))), Greatest: max(4, int(math.Ceil(14*inches)))}
}
