package checks

import (
	"faceside/models/phrase"
	"faceside/models/wood"
)

// millingLoss is what flattening one face and planing the other take off: what 4/4
// loses on its way from 1 in rough to 13/16 in (models/wood, Quarters).
const millingLoss = wood.Inch * 3 / 16

const quarterSource = "surfaced thickness of quarters: FDMC, “Best face forward”; Engineering ToolBox, “Hardwood lumber dimensions” (see models/wood, Quarters)"

var stockChecks = []Check{
	{
		Key: "square-from-stock", Title: "Stock too thin for the square", Severity: Warns, Source: quarterSource,
		Why:  "A square loses thickness on both pairs of faces: stock that only just measures up when rough leaves a flat spot or a smaller square.",
		find: func(o *order) []Finding { return stockTooThin(o, true) },
	}, {
		Key: "thickness-from-stock", Title: "Stock too thin after surfacing", Severity: Warns, Source: quarterSource,
		Why:  "What the jointer and the planer take off is gone: stock that only just measures up when rough comes out too thin.",
		find: func(o *order) []Finding { return stockTooThin(o, false) },
	},
}

func stockTooThin(o *order, square bool) []Finding {
	var out []Finding
	for _, p := range o.b.Parts {
		if (p.Finished.Width == p.Finished.Thickness) != square || len(o.doing(p.Key, planing)) == 0 {
			continue
		}
		asked, gives := o.stock(p.Rough.Thickness)
		if gives >= p.Finished.Thickness {
			continue
		}
		f := Finding{Parts: []string{p.Key}, Reason: phrase.Of("%s: to be %s thick, and %s stock is left at about %s when both faces are true.",
			o.title(p.Key), o.say(p.Finished.Thickness), asked, o.say(gives))}
		if square {
			f.Reason = f.Reason.Then(phrase.Of("The next square it gives is %s.", o.say(gives)))
		}
		if next, named, ok := o.thicker(p.Finished.Thickness); ok && next > p.Rough.Thickness {
			p.Rough.Thickness = next
			f.Remedy = &Remedy{phrase.Of("Take %s stock.", named), []Edit{SetPart{p}}}
		}
		out = append(out, f)
	}
	return out
}

// stock is the stock that a rough thickness asks for, by its name in the shop's
// units, and what it leaves: in inches quarters, in millimetres what is written.
func (o *order) stock(rough wood.Length) (name string, gives wood.Length) {
	if o.shop.Units == wood.Inches {
		for _, q := range wood.Quarters {
			if q.Rough >= rough {
				return q.Name, q.Surfaced
			}
		}
	}
	return o.say(rough), rough - millingLoss
}

// thicker is the least stock that leaves a finished thickness.
func (o *order) thicker(finished wood.Length) (rough wood.Length, name string, ok bool) {
	if o.shop.Units != wood.Inches {
		return finished + millingLoss, o.say(finished + millingLoss), true
	}
	q, err := wood.StockFor(finished)
	if err != nil {
		return 0, "", false // thicker than any quarter: it must be glued up
	}
	return q.Rough, q.Name, true
}

// solid says whether a part or assembly is a wide piece of solid wood: a board of
// wide or more, or a panel glued up edge to edge.
func (o *order) solid(key string) bool {
	if p := o.part[key]; p != nil {
		_, err := wood.SafeSpeciesOf(p.Species)
		return err == nil && p.Grain != "none" && p.Finished.Width >= wide
	}
	m, made := o.maker[key]
	return made && o.steps[m].Kind == "glue-panel" && !o.endUp(key)
}

// wide is from where on the movement of a board matters in a joint: common practice,
// no source.
const wide = 150 * millimetre

// species is the wood of a part, or of an assembly's first worked part.
func (o *order) species(key string) string {
	if p := o.part[key]; p != nil {
		return p.Species
	}
	for _, in := range holds(o.assembly[key]) {
		if p := o.part[in]; p != nil && o.worked(in) {
			return p.Species
		}
	}
	return ""
}

// worked says whether a part is one that the shop mills, and not bought (a dowel).
func (o *order) worked(key string) bool {
	for _, i := range o.on[key] {
		if o.steps[i].Makes == "" {
			return true
		}
	}
	return false
}
