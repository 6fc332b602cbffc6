package pattern

import (
	"slices"

	"faceside/models/wood"
)

// materialTimes finds the step's glue and finish in the shop, with their times at
// the shop's temperature and humidity, and notes their cautions. What the shop has
// not, or is too cold for, is an error next to the choice that took it.
func (b *builder) materialTimes(made *Step) values {
	v := make(values, 32) // room for what the caller adds
	for name := range materialReach {
		v[name] = 0.0
	}
	if made.Glue != "" {
		b.glueTimes(made, v)
	}
	if made.Finish != "" {
		b.finishTimes(made, v)
	}
	return v
}

func (b *builder) glueTimes(made *Step, v values) {
	i := slices.IndexFunc(b.shop.Glues, func(g Glue) bool { return g.Key == made.Glue })
	if i < 0 {
		b.errs.add(b.choiceOf["glues "+made.Glue], made.Glue, "the shop has no glue %q", made.Glue)
		return
	}
	g := b.shop.Glues[i]
	made.Cautions = appendNew(made.Cautions, g.Caution)
	if !b.airSuits(b.choiceOf["glues "+g.Key], g.Key, g.Name, g.LeastTempC) {
		return
	}
	sheet := wood.Glue{Name: g.Name, OpenMin: g.OpenMin, ClampMin: g.ClampMin, CureMin: g.CureMin, LeastTempC: g.LeastTempC}
	now, err := sheet.At(b.shop.TemperatureC, b.shop.TemperatureC) // stock rests in the shop, so it is as warm as the air
	if err != nil {
		b.errs.add(b.choiceOf["glues "+g.Key], g.Key, "%s", err)
		return
	}
	v["glue_open"] = float64(now.OpenMin)
	v["glue_clamp"], v["glue_cure"] = float64(wood.InFives(now.ClampMin, g.ClampMin)), float64(wood.InFives(now.CureMin, g.CureMin))
}

// airSuits notes that the shop is too cold or too hot for a glue or finish, in its own
// degrees.
func (b *builder) airSuits(choice, key, name string, leastC float64) bool {
	degrees := func(celsius float64) string { return wood.FormatTemperature(celsius, b.shop.Units) }
	switch now := b.shop.TemperatureC; {
	case now < leastC:
		b.errs.add(choice, key, "%s needs at least %s; the air is at %s.", name, degrees(leastC), degrees(now))
	case now > wood.HottestC:
		b.errs.add(choice, key, "The times of %s are known up to %s; the air is at %s.", name, degrees(wood.HottestC), degrees(now))
	default:
		return true
	}
	return false
}

func (b *builder) finishTimes(made *Step, v values) {
	i := slices.IndexFunc(b.shop.Finishes, func(f Finish) bool { return f.Key == made.Finish })
	if i < 0 {
		b.errs.add(b.choiceOf["finishes "+made.Finish], made.Finish, "the shop has no finish %q", made.Finish)
		return
	}
	f := b.shop.Finishes[i]
	made.Cautions = appendNew(made.Cautions, f.Caution)
	if !b.airSuits(b.choiceOf["finishes "+f.Key], f.Key, f.Name, f.LeastTempC) {
		return
	}
	sheet := wood.Finish{
		Name: f.Name, Hardening: wood.HardeningOf(f.Key), DryMin: f.DryMin, RecoatLeastMin: f.RecoatLeastMin,
		RecoatGreatestMin: f.RecoatGreatestMin, CureMin: f.CureMin, LeastTempC: f.LeastTempC,
	}
	now, err := sheet.At(b.shop.TemperatureC, b.shop.HumidityPct)
	if err != nil {
		b.errs.add(b.choiceOf["finishes "+f.Key], f.Key, "%s", err)
		return
	}
	for _, d := range sheet.Doubts(b.shop.TemperatureC, b.shop.HumidityPct, b.shop.Units) {
		made.Cautions = appendNew(made.Cautions, d)
	}
	v["finish_dry"], v["finish_cure"] = float64(now.DryMin), float64(now.CureMin)
	v["recoat_least"], v["recoat_greatest"] = float64(now.RecoatLeastMin), float64(now.RecoatGreatestMin)
}
