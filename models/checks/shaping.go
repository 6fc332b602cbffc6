package checks

import (
	"faceside/models/pattern"
	"faceside/models/phrase"
)

var addSawCurve = &made{kind: "saw-curve", verb: "Saw", says: "Saw the curve 2 mm outside the line: ", phase: pattern.Shaping, station: "band-saw", minutes: 5, dusty: true,
	caution: "Band saw: guard down to just above the work, fingers out of the line of the blade. " + dustCaution}

var shapingChecks = []Check{
	{
		Key: "trim-before-glue-up", Title: "Trimmed before the glue-up", Severity: Stops, Source: practice,
		Why:  "Boards slip a little in the clamps: a panel is cut to its size only when it is glued, or its ends do not line up.",
		find: trimBeforeGlueUp,
	}, {
		Key: "trim-before-flat", Title: "Trimmed before it is flat", Severity: Warns, Source: practice,
		Why: "A panel that rocks on the saw's table is not cut square, and can bind.",
		find: rule{
			later: doing(trimming), earlier: flattening, why: "the saw needs a flat panel",
			on: func(o *order, i int) []string {
				var out []string
				for _, key := range o.steps[i].Assemblies {
					if len(o.doing(key, flattening)) > 0 {
						out = append(out, key)
					}
				}
				return out
			},
			reason: func(o *order, i int, lacking []string) phrase.Phrase {
				return phrase.Of("%s comes before the %s is flat.", o.called(i), o.names(lacking))
			},
		}.broken,
	}, {
		Key: "shaped-before-clamps", Title: "Shaped before clamps that need it square", Severity: Stops, Source: practice,
		Why:  "Clamps bear on flat, parallel faces: on a shaped one they slip, or press the joint out of square.",
		find: shapedBeforeClamps,
	}, {
		Key: "saw-before-router", Title: "The router takes the whole curve", Severity: Warns, Source: practice,
		Why: "A router that takes more than a few millimetres along a template tears out and kicks: the band saw takes the waste first.",
		find: rule{
			later: doing(fromTemplate), earlier: sawingCurve, add: addSawCurve, why: "the saw leaves the router only a little to take off",
			reason: func(o *order, i int, lacking []string) phrase.Phrase {
				return phrase.Of("%s comes before the waste on the %s is sawn off.", o.called(i), o.names(lacking))
			},
		}.broken,
	}, {
		Key: "template-first", Title: "The template comes first", Severity: Stops, Source: practice,
		Why:  "The router's bearing follows a template that must be there.",
		find: templateFirst,
	},
}

func trimBeforeGlueUp(o *order) []Finding {
	var out []Finding
	for _, j := range o.all(trimming) {
		for _, key := range o.steps[j].Assemblies {
			m, made := o.maker[key]
			if made && does(&o.steps[m], gluing) && !o.before(m, j) {
				out = append(out, Finding{
					Steps: o.keysOf(j, m), Parts: []string{key},
					Reason: phrase.Of("%s cuts the %s to its size, but does not wait for %s.", o.called(j), o.name(key), o.called(m)),
					Remedy: &Remedy{phrase.Of("Trim it when it is glued."), o.afterFlat(j, m, key)},
				})
			}
		}
		for _, p := range o.steps[j].Parts {
			for _, key := range o.glued(o.inside[p.Part]) {
				m := o.maker[key]
				if !o.before(j, m) {
					continue
				}
				s := o.steps[j]
				s.Parts, s.Assemblies = nil, []string{key}
				out = append(out, Finding{
					Steps: o.keysOf(j, m), Parts: []string{p.Part, key},
					Reason: phrase.Of("%s cuts loose boards to size that %s then glues: they slip in the clamps and no longer line up.", o.called(j), o.called(m)),
					Remedy: &Remedy{phrase.Of("Trim the %s when it is glued.", o.name(key)), append([]Edit{SetStep{s}}, o.afterFlat(j, m, key)...)},
				})
			}
		}
	}
	return out
}

// afterFlat are the edits that put a step on a panel after its glue-up and what
// flattens it.
func (o *order) afterFlat(j, m int, panel string) []Edit {
	out := []Edit{o.later(j, m, "a panel is trimmed after its glue-up")}
	for _, f := range o.doing(panel, flattening) {
		out = append(out, o.later(j, f, "the saw needs a flat panel"))
	}
	return out
}

func shapedBeforeClamps(o *order) []Finding {
	var out []Finding
	for _, i := range o.all(shaping) {
		if o.steps[i].KeepsFaces {
			continue
		}
		for _, key := range items(&o.steps[i]) {
			for _, in := range o.glued(o.inside[key]) {
				m := o.maker[in]
				if len(o.steps[m].Clamps) == 0 || !o.before(i, m) {
					continue
				}
				out = append(out, Finding{
					Steps: o.keysOf(i, m), Parts: []string{key},
					Reason: phrase.Of("%s shapes the %s before %s, whose clamps need flat faces.", o.called(i), o.name(key), o.called(m)),
					Remedy: o.shapeAfter(i, m, in),
				})
			}
		}
	}
	return out
}

// shapeAfter shapes what a glue-up has made instead of its pieces; nil where that
// would only move the trouble to the next glue-up.
func (o *order) shapeAfter(i, m int, made string) *Remedy {
	if len(o.glued(o.inside[made])) > 0 {
		return nil
	}
	s := o.steps[i]
	s.Parts, s.Assemblies = nil, []string{made}
	return &Remedy{phrase.Of("Shape it when the %s is out of its clamps.", o.name(made)), []Edit{SetStep{s}, o.later(i, m, "the clamps need flat faces")}}
}

func templateFirst(o *order) []Finding {
	templates := o.all(templating)
	var out []Finding
	for _, i := range o.all(fromTemplate) {
		if len(templates) == 0 || o.someBefore(templates, i) {
			continue
		}
		out = append(out, Finding{
			Steps:  o.keysOf(i, templates[0]),
			Reason: phrase.Of("%s does not wait for %s.", o.called(i), o.called(templates[0])),
			Remedy: &Remedy{phrase.Of("Make the template first."), []Edit{o.earlier(templates[0], i, "the router's bearing follows the template")}},
		})
	}
	return out
}
