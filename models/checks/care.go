package checks

import (
	"slices"
	"strings"

	"faceside/models/pattern"
	"faceside/models/phrase"
	"faceside/models/wood"
)

var careChecks = []Check{
	{
		Key: "heavy-alone", Title: "Heavy for one", Severity: Warns, Source: "23 kg: load constant of the NIOSH lifting equation (NIOSH 94-110, from memory), for an easy lift; the wood's weight by class of density is common practice, no source",
		Why:  "What is heavy is lifted and fed by two.",
		find: heavyAlone,
	}, {
		Key: "long-alone", Title: "Long for one", Severity: Warns, Source: practice,
		Why:  "A long board tips off the outfeed or twists at the cutter: a second person or a stand takes its end.",
		find: longAlone,
	}, {
		Key: "no-caution", Title: "Nothing says what to mind", Severity: Warns, Source: practice,
		Why:  "A step that can hurt says what to mind, and that the machine's manual comes first.",
		find: noCaution,
	}, {
		Key: "rags", Title: "Nothing is said about rags and vapour", Severity: Warns,
		Source: "oily rags in approved metal cans, emptied daily: WAC 296-24-37013(3), as 29 CFR 1910.107(g)(3) (from memory); local fire code and the maker's sheet come first",
		Why:    "Rags with drying oil can set themselves on fire within hours.",
		find:   rags,
	}, {
		Key: "harmful-dust", Title: "Nothing is said about harmful dust", Severity: Warns,
		Source: "ACGIH notations listed by U.S. OSHA, Chemical Sampling Information 276185: oak and beech A1; IARC Group 1 for wood dust (vol. 62, 100C)",
		Why:    "The dust of oak and beech causes cancer of the nose: it is collected at the machine, and a mask is worn.",
		find:   harmfulDust,
	},
}

// Weight of dry wood by class of density, kg for a cubic metre: common practice, no
// source.
var heft = map[wood.Density]float64{wood.Light: 480, wood.Medium: 620, wood.Dense: 740}

const heavy = 23.0 // kg

// weight is the weight in kilograms of what a part or assembly holds, one of it.
func (o *order) weight(key string) float64 {
	if p := o.part[key]; p != nil {
		kind := wood.Medium
		if s, err := wood.SafeSpeciesOf(p.Species); err == nil {
			kind = s.Density
		}
		return p.Finished.Length.Metres() * p.Finished.Width.Metres() * p.Finished.Thickness.Metres() * heft[kind]
	}
	a := o.assembly[key]
	total := 0.0
	for _, p := range a.Parts {
		total += o.weight(p.Part) * float64(p.Quantity)
	}
	for _, in := range a.Assemblies {
		total += o.weight(in)
	}
	return total
}

// lifted are the kinds of station to which work is lifted.
var lifted = []string{"jointer", "planer", "table-saw", "band-saw", "drum-sander", "router-table", "mitre-station"}

func heavyAlone(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		s := &o.steps[i]
		if s.Hands > 1 || !slices.Contains(lifted, o.kindOf(i)) && !does(s, assembling) {
			continue
		}
		for _, key := range items(s) {
			kg := o.weight(key)
			if kg <= heavy {
				continue
			}
			out = append(out, Finding{
				Steps: o.keysOf(i), Parts: []string{key},
				Reason: phrase.Of("%s: about %.0f kg and %s has one person.", o.title(key), kg, o.called(i)),
				Remedy: o.second(i),
			})
			break
		}
	}
	return out
}

// longWork is from where on a board wants a second person at a machine: common
// practice, no source.
const longWork = 2400 * millimetre

func longAlone(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		if o.steps[i].Hands > 1 || !slices.Contains([]string{"jointer", "planer", "table-saw"}, o.kindOf(i)) {
			continue
		}
		for _, key := range items(&o.steps[i]) {
			if z := o.size(key, i); z.Length > longWork {
				out = append(out, Finding{
					Steps: o.keysOf(i), Parts: []string{key},
					Reason: phrase.Of("%s: %s long at the %s and %s has one person.", o.title(key), o.say(z.Length), o.station[o.steps[i].Station].Name, o.called(i)),
					Remedy: o.second(i),
				})
				break
			}
		}
	}
	return out
}

func noCaution(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		s := &o.steps[i]
		if len(s.Cautions) > 0 || !s.Dusty && !does(s, gluing|coating) {
			continue
		}
		say := "Follow the machine's manual and local rules: guards on, dust collector on, mask, hearing and eye protection."
		if !s.Dusty {
			say = "Gloves, ventilation; follow the maker's sheet and local rules."
		}
		out = append(out, Finding{
			Steps: o.keysOf(i), Reason: phrase.Of("%s says nothing of what to mind.", o.called(i)), Remedy: o.caution(i, say),
		})
	}
	return out
}

// caution adds a sentence to what a step says to mind.
func (o *order) caution(i int, say string) *Remedy {
	return o.change(i, phrase.Of("Add: %s", say), func(s *pattern.Step) { s.Cautions = append(slices.Clone(s.Cautions), say) })
}

func rags(o *order) []Finding {
	var out []Finding
	for _, i := range o.all(coating) {
		f := o.finish[o.steps[i].Finish]
		if f == nil || f.Caution == "" || slices.Contains(o.steps[i].Cautions, f.Caution) {
			continue
		}
		out = append(out, Finding{
			Steps: o.keysOf(i), Reason: phrase.Of("%s does not say what %s asks for.", o.called(i), f.Name), Remedy: o.caution(i, f.Caution),
		})
	}
	return out
}

func harmfulDust(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		s := &o.steps[i]
		if !s.Dusty || slices.ContainsFunc(s.Cautions, func(c string) bool { return strings.Contains(strings.ToLower(c), "mask") }) {
			continue
		}
		for _, p := range s.Parts {
			kind := o.part[p.Part].Species
			if !strings.Contains(kind, "oak") && !strings.Contains(kind, "beech") {
				continue
			}
			out = append(out, Finding{
				Steps: o.keysOf(i), Parts: []string{p.Part}, Reason: phrase.Of("%s raises dust of %s and says nothing of a mask.", o.called(i), kind),
				Remedy: o.caution(i, "The dust of this wood is a proven cause of nasal cancer: collect it at the machine and wear a mask."),
			})
			break
		}
	}
	return out
}
