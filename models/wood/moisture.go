package wood

import "math"

// Equilibrium moisture content: what wood settles at, in per cent of its ovendry
// weight, after long enough in air of one temperature and relative humidity.
//
// Source: S. V. Glass and S. L. Zelinka, "Moisture Relations and Physical
// Properties of Wood", chapter 4 of the Wood Handbook, USDA Forest Products
// Laboratory FPL-GTR-282 (2021), equation (4-5), page 4-3; it is tabulated for 30 to
// 270 °F in Table 4-2, page 4-4. The coefficients were read in a transcription of
// the chapter. The chapter says that the table follows Sitka spruce, midway between
// taking up and giving off moisture, and that a tenth of a per cent is good only for
// showing trends. The equation is the rule here; the printed table differs from it
// by up to 0.07.

// The range of Table 4-2; outside it nothing is known here and values are refused.
var (
	tableCelsius    = span{"temperature", (30 - 32) / 1.8, (270 - 32) / 1.8, "°C"}
	tableFahrenheit = span{"temperature", 30, 270, "°F"}
	humidity        = span{"humidity", 0, 100, "%"}
)

// sorption holds W, K, K1 and K2 of equation (4-5) at one temperature.
type sorption struct{ w, k, k1, k2 float64 }

func sorptionCelsius(t float64) sorption {
	return sorption{
		w:  349 + 1.29*t + 0.0135*t*t,
		k:  0.805 + 0.000736*t - 0.00000273*t*t,
		k1: 6.27 - 0.00938*t - 0.000303*t*t,
		k2: 1.91 + 0.0407*t - 0.000293*t*t,
	}
}

func sorptionFahrenheit(t float64) sorption {
	return sorption{
		w:  330 + 0.452*t + 0.00415*t*t,
		k:  0.791 + 0.000463*t - 0.000000844*t*t,
		k1: 6.34 + 0.000775*t - 0.0000935*t*t,
		k2: 1.09 + 0.0284*t - 0.0000904*t*t,
	}
}

// moisture is equation (4-5) at a relative humidity h from 0 to 1.
func (s sorption) moisture(h float64) float64 {
	kh := s.k * h
	a, b := s.k1*kh, s.k1*s.k2*kh*kh
	return 1800 / s.w * (kh/(1-kh) + (a+2*b)/(1+a+b))
}

// humidityFor inverts the equation by halving: it rises with h all the way.
func (s sorption) humidityFor(moisturePct float64) (float64, error) {
	wet := math.Floor(s.moisture(1)*10) / 10
	if err := (span{"moisture content", 0, wet, "% (what air of that temperature can hold it at)"}).check(moisturePct); err != nil {
		return 0, err
	}
	low, high := 0.0, 1.0
	for range 60 { // until the halves are as fine as a float64
		if mid := (low + high) / 2; s.moisture(mid) < moisturePct {
			low = mid
		} else {
			high = mid
		}
	}
	return 100 * (low + high) / 2, nil
}

// Equilibrium is the moisture content in per cent that wood settles at in air of a
// temperature in °C (-1.1 to 132.2) and a relative humidity in per cent (0 to 100; the
// published table spans 5 to 95). Source: as above.
func Equilibrium(celsius, humidityPct float64) (float64, error) {
	if err := firstOf(tableCelsius.check(celsius), humidity.check(humidityPct)); err != nil {
		return 0, err
	}
	return sorptionCelsius(celsius).moisture(humidityPct / 100), nil
}

// EquilibriumF is Equilibrium with the source's own coefficients for °F (30 to 270);
// they differ from those for °C by less than 0.02 between 30 and 120 °F.
func EquilibriumF(fahrenheit, humidityPct float64) (float64, error) {
	if err := firstOf(tableFahrenheit.check(fahrenheit), humidity.check(humidityPct)); err != nil {
		return 0, err
	}
	return sorptionFahrenheit(fahrenheit).moisture(humidityPct / 100), nil
}

// HumidityFor is the relative humidity in per cent that holds wood at a moisture
// content in per cent, at a temperature in °C: the inverse of Equilibrium.
func HumidityFor(celsius, moisturePct float64) (float64, error) {
	if err := tableCelsius.check(celsius); err != nil {
		return 0, err
	}
	return sorptionCelsius(celsius).humidityFor(moisturePct)
}

// HumidityForF is HumidityFor at a temperature in °F: the inverse of EquilibriumF.
func HumidityForF(fahrenheit, moisturePct float64) (float64, error) {
	if err := tableFahrenheit.check(fahrenheit); err != nil {
		return 0, err
	}
	return sorptionFahrenheit(fahrenheit).humidityFor(moisturePct)
}

// Climate is the air of a place over the year: the driest and the most humid weeks.
type Climate struct {
	DryCelsius, DryHumidityPct     float64
	HumidCelsius, HumidHumidityPct float64
}

// HeatedHome is a house that is heated in winter, at about 70 °F all year.
// Common practice, no source; a maker who knows the client's house sets their own.
var HeatedHome = Climate{DryCelsius: 21, DryHumidityPct: 30, HumidCelsius: 21, HumidHumidityPct: 60}

// Moisture is the least and the greatest moisture content in per cent that wood
// nears over the year there. Thick or finished wood lags behind and does not quite
// reach either, so the range is on the safe side.
func (c Climate) Moisture() (least, most float64, err error) {
	if least, err = Equilibrium(c.DryCelsius, c.DryHumidityPct); err != nil {
		return 0, 0, err
	}
	if most, err = Equilibrium(c.HumidCelsius, c.HumidHumidityPct); err != nil {
		return 0, 0, err
	}
	return min(least, most), max(least, most), nil
}
