package checks

import (
	"slices"

	"faceside/models/pattern"
	"faceside/models/phrase"
	"faceside/models/wood"
)

const millimetre = wood.Millimetre

// Least thicknesses that a machine may take unless its manual says otherwise: 3/8 in
// at the jointer (a jointer's manual, manualshive.com), 3/16 in at the planer (a
// user's account of a planer's manual).
const (
	thinAtJointer = wood.Inch * 3 / 8
	thinAtPlaner  = wood.Inch * 3 / 16
	shortAtRouter = 12 * wood.Inch // thecraftsmanspath.com; Popular Woodworking no. 165, page 55
)

var machineChecks = []Check{
	{
		Key: "planed-two-grains", Title: "The planer tears grain that runs two ways", Severity: Stops, Source: practice,
		Why:  "Knives tear out wood that lies across their path, and can throw the work: an assembly whose grain runs two ways is flushed on the drum sander or by hand.",
		find: planedTwoGrains,
	}, {
		Key: "planed-end-grain", Title: "End grain does not go through the planer", Severity: Stops, Source: practice,
		Why:  "A planer breaks end grain out at the far edge and can throw the work.",
		find: planedEndGrain,
	}, {
		Key: "wider-than-jointer", Title: "A board wider than the jointer", Severity: Stops, Source: practice,
		Why:  "A board wider than the jointer is flattened on a sled in the planer, or by hand, and not run with its guard off.",
		find: widerThanJointer,
	}, {
		Key: "two-drum-passes", Title: "Wider than the drum sander closed", Severity: Tells, Source: practice,
		Why:  "An open-ended drum takes twice its width: two passes at each height, the work turned end for end.",
		find: twoDrumPasses,
	}, {
		Key: "beyond-station", Title: "Larger than the machine takes", Severity: Stops, Source: "the station's limits as entered; the machine's manual",
		Why:  "Work beyond a machine's limits jams or cannot be held.",
		find: beyondStation,
	}, {
		Key: "too-short", Title: "Shorter than the machine may take", Severity: Stops, Source: "the station's limits as entered; 12 in is common for jointers (a jointer's manual, manualshive.com)",
		Why:  "A short piece tips into the cutter or between the feed rollers.",
		find: tooShort,
	}, {
		Key: "too-thin", Title: "Thinner than the machine may take", Severity: Stops,
		Source: "3/8 in at the jointer: a jointer's manual, manualshive.com; 3/16 in at the planer: a user's account of a manual. The machine's own manual comes first",
		Why:    "Thin work lifts, shatters or is drawn into the cutter.",
		find:   tooThin,
	}, {
		Key: "short-at-router", Title: "Short work at the router table", Severity: Tells, Source: "12 in, hands 3 in away: thecraftsmanspath.com; Popular Woodworking no. 165, page 55",
		Why:  "Hands come near the cutter: shape a longer piece and cut it after, or hold it in a jig.",
		find: shortWork,
	}, {
		Key: "too-big-for-table", Title: "Too big to lie on the machine", Severity: Warns, Source: practice,
		Why:  "A frame that stands out in three directions cannot be guided over a table: the machine work comes before the glue-up that closes it.",
		find: tooBigForTable,
	},
}

// feeding are kinds of station that pull or push work past a cutter with knives.
var feeding = []string{"planer", "jointer"}

func planedTwoGrains(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		if !slices.Contains(feeding, o.kindOf(i)) {
			continue
		}
		for _, key := range o.steps[i].Assemblies {
			if o.endUp(key) || !o.crossed(key) {
				continue
			}
			out = append(out, Finding{
				Steps: o.keysOf(i), Parts: []string{key},
				Reason: phrase.Of("%s runs the %s over the knives of the %s, but its grain runs two ways: it would tear out.", o.called(i), o.name(key), o.kindOf(i)),
				Remedy: o.toDrum(i, key),
			})
		}
	}
	return out
}

func planedEndGrain(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		if !slices.Contains(feeding, o.kindOf(i)) {
			continue
		}
		for _, key := range o.steps[i].Assemblies {
			if o.endUp(key) {
				out = append(out, Finding{
					Steps: o.keysOf(i), Parts: []string{key},
					Reason: phrase.Of("%s runs the %s over the knives of the %s with its end grain up: the far edge breaks out, and the board can be thrown.", o.called(i), o.name(key), o.kindOf(i)),
					Remedy: o.toDrum(i, key),
				})
			}
		}
	}
	return out
}

// crossed says whether the grain of an assembly runs two ways: parts that say so, or
// a glue-up that sets pieces across each other.
func (o *order) crossed(key string) bool {
	a := o.assembly[key]
	if a == nil {
		return false
	}
	if m, made := o.maker[key]; made && slices.Contains([]string{"glue-frame", "glue-carcase", "glue-box"}, o.steps[m].Kind) {
		return true
	}
	grains := map[string]bool{}
	for _, p := range a.Parts {
		if part := o.part[p.Part]; part != nil && part.Grain != "none" {
			grains[part.Grain] = true
		}
	}
	return len(grains) > 1 || slices.ContainsFunc(a.Assemblies, o.crossed)
}

// endUp says whether an assembly stands with its end grain up: glued of strips that
// were sawn across a slab and turned.
func (o *order) endUp(key string) bool {
	a := o.assembly[key]
	return a != nil && slices.ContainsFunc(holds(a), func(in string) bool { return len(o.doing(in, turningStrips)) > 0 })
}

// toDrum does a step on the drum sander, or by hand where none takes the work.
func (o *order) toDrum(i int, key string) *Remedy {
	z := o.size(key, i)
	for _, st := range o.shop.Stations {
		if st.Kind == "drum-sander" && over(&st, z.Width, z.Thickness) == "" && z.Length >= st.MinLength {
			return o.change(i, phrase.Of("Flush it on the %s.", st.Name), func(s *pattern.Step) {
				s.Station, s.Kind, s.Verb, s.Phase = st.Key, "flush-drum", "Flush", pattern.Shaping
				s.Name = "Flush on the drum sander: " + o.name(key)
				s.Setup = &pattern.Setup{Family: "grit", State: "grit 80", Instruction: "Drum sander: 80 grit; light passes"}
				s.Cautions = []string{"Drum sander: light passes, nothing shorter than the manual allows, watch for heat and burning.", dustCaution}
			})
		}
	}
	return o.byHand(i, key)
}

// byHand does a flattening step with hand planes at the bench; nil where there is none.
func (o *order) byHand(i int, key string) *Remedy {
	at := slices.IndexFunc(o.shop.Stations, func(s pattern.Station) bool { return s.Kind == "bench" })
	if at < 0 {
		return nil
	}
	z := o.size(key, i)
	return o.change(i, phrase.Of("Flatten it by hand at the bench."), func(s *pattern.Step) {
		s.Station, s.Kind, s.Verb, s.Phase, s.Dusty, s.Setup = o.shop.Stations[at].Key, "flatten-hand", "Flatten", pattern.Shaping, false, nil
		s.Name = "Flatten by hand: " + o.name(key)
		s.Attended = max(s.Attended, 8+int(110*z.Length.Metres()*z.Width.Metres())) // as the step catalogue counts it
		s.Cautions = []string{"Sharp edge tools: cut away from yourself, work clamped."}
	})
}

// lying are the kinds whose work meets a station's limits: lying on its edge or on
// its face, still rough or already cut.
var lying = map[string]struct{ edge, rough bool }{
	"rough-rip": {rough: true}, "resaw": {edge: true, rough: true}, "joint-face": {rough: true}, "face-sled": {rough: true},
	"joint-edge": {edge: true, rough: true}, "plane-thickness": {rough: true}, "plane-square": {rough: true}, "rip-width": {rough: true},
	"flush-drum": {}, "flatten-drum": {}, "saw-strips": {}, "saw-curve": {}, "trim-panel": {},
}

// meets is the size of a part or assembly as it meets a step's station: across its
// width and through its thickness limit; false where limits do not matter.
func (o *order) meets(i int, key string) (across, through, along wood.Length, limited bool) {
	how, limited := lying[o.steps[i].Kind]
	z := o.size(key, i)
	if p := o.part[key]; p != nil && !how.rough {
		z = p.Finished
	}
	if how.edge {
		return z.Thickness, z.Width, z.Length, limited
	}
	return z.Width, z.Thickness, z.Length, limited
}

// over says which limit of a station is passed, as an adjective, or nothing.
func over(st *pattern.Station, across, through wood.Length) string {
	reach := st.MaxWidth
	if st.OpenEnded {
		reach *= 2
	}
	switch {
	case st.MaxWidth > 0 && across > reach:
		return "wide"
	case st.MaxThickness > 0 && through > st.MaxThickness:
		return "thick"
	}
	return ""
}

func widerThanJointer(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		st := o.station[o.steps[i].Station]
		if st.Kind != "jointer" || !does(&o.steps[i], facing) {
			continue
		}
		for _, key := range items(&o.steps[i]) {
			across, _, _, _ := o.meets(i, key)
			if st.MaxWidth == 0 || across <= st.MaxWidth {
				continue
			}
			out = append(out, Finding{
				Steps: o.keysOf(i), Parts: []string{key},
				Reason: phrase.Of("%s: %s wide and the %s takes %s.", o.title(key), o.say(across), st.Name, o.say(st.MaxWidth)),
				Remedy: o.sled(i, key),
			})
			break
		}
	}
	return out
}

// sled flattens the first face on a sled in the planer; nil where no planer takes it.
func (o *order) sled(i int, key string) *Remedy {
	across, through, _, _ := o.meets(i, key)
	for _, st := range o.shop.Stations {
		if st.Kind != "planer" || over(&st, across, through) != "" {
			continue
		}
		return o.change(i, phrase.Of("Flatten the face on a sled in the %s.", st.Name), func(s *pattern.Step) {
			s.Station, s.Kind, s.Verb = st.Key, "face-sled", "Flatten"
			s.Name = "Flatten one face on the planer sled: " + o.names(items(s)).String()
			s.Attended *= 2 // wedging each board: common practice, no source
			s.Setup = &pattern.Setup{Family: "sled", State: "sled on", Instruction: "Planer: sled in, every board wedged so that it cannot rock, light passes until the face is true"}
			s.Cautions = []string{"Planer: stand to one side, nothing shorter than the manual allows, let the feed do the work, never reach in.", dustCaution}
		})
	}
	return nil
}

func twoDrumPasses(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		st := o.station[o.steps[i].Station]
		if !st.OpenEnded || st.MaxWidth == 0 {
			continue
		}
		for _, key := range items(&o.steps[i]) {
			across, _, _, limited := o.meets(i, key)
			if limited && across > st.MaxWidth && across <= 2*st.MaxWidth {
				out = append(out, Finding{
					Steps: o.keysOf(i), Parts: []string{key},
					Reason: phrase.Of("%s: %s wide, more than the %s closed (%s): run it twice at each height and turn it end for end.", o.title(key), o.say(across), st.Name, o.say(st.MaxWidth)),
				})
			}
		}
	}
	return out
}

func beyondStation(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		st := o.station[o.steps[i].Station]
		for _, key := range items(&o.steps[i]) {
			across, through, _, limited := o.meets(i, key)
			passed := over(st, across, through)
			if !limited || passed == "" || (st.Kind == "jointer" && passed == "wide" && does(&o.steps[i], facing)) {
				continue
			}
			is, limit := across, st.MaxWidth
			if passed == "thick" {
				is, limit = through, st.MaxThickness
			} else if st.OpenEnded {
				limit *= 2
			}
			out = append(out, Finding{
				Steps: o.keysOf(i), Parts: []string{key},
				Reason: phrase.Of("%s: %s %s and the %s takes %s.", o.title(key), o.say(is), passed, st.Name, o.say(limit)),
				Remedy: o.otherStation(i, key),
			})
		}
	}
	return out
}

// otherStation does a step at another station of its kind that takes the work, or by
// hand where it flattens; nil where neither is there.
func (o *order) otherStation(i int, key string) *Remedy {
	for _, st := range o.shop.Stations {
		fits := func(key string) bool {
			across, through, along, _ := o.meets(i, key)
			return over(&st, across, through) == "" && along >= st.MinLength
		}
		if st.Kind == o.kindOf(i) && !slices.ContainsFunc(items(&o.steps[i]), func(key string) bool { return !fits(key) }) {
			return o.change(i, phrase.Of("Do it at the %s.", st.Name), func(s *pattern.Step) { s.Station = st.Key })
		}
	}
	if does(&o.steps[i], flattening) {
		return o.byHand(i, key)
	}
	return nil
}

func tooShort(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		st := o.station[o.steps[i].Station]
		for _, key := range items(&o.steps[i]) {
			_, _, along, limited := o.meets(i, key)
			if !limited || along >= st.MinLength {
				continue
			}
			f := Finding{
				Steps: o.keysOf(i), Parts: []string{key},
				Reason: phrase.Of("%s: %s long when it comes to the %s, which takes %s at least.", o.title(key), o.say(along), st.Name, o.say(st.MinLength)),
				Remedy: o.otherStation(i, key),
			}
			if p := o.part[key]; p != nil && p.Rough.Length >= st.MinLength {
				f.Remedy = o.cutAfter(i, key)
			}
			out = append(out, f)
		}
	}
	return out
}

// cutAfter moves the cuts to length after a step that wants the piece long.
func (o *order) cutAfter(i int, key string) *Remedy {
	m := &Remedy{Say: phrase.Of("Leave it long until after %s.", o.called(i))}
	for _, j := range o.doing(key, crosscutting) {
		if o.before(j, i) {
			m.Edits = append(m.Edits, o.later(j, i, "long stock is safe to feed"))
		}
	}
	return m
}

func tooThin(o *order) []Finding {
	var out []Finding
	least := map[string]wood.Length{"jointer": thinAtJointer, "planer": thinAtPlaner}
	for i := range o.steps {
		limit := least[o.kindOf(i)]
		for _, key := range items(&o.steps[i]) {
			thick := o.size(key, i).Thickness
			if p := o.part[key]; p != nil && does(&o.steps[i], planing) {
				thick = p.Finished.Thickness // what the last pass leaves
			}
			if thick >= limit {
				continue
			}
			out = append(out, Finding{
				Steps: o.keysOf(i), Parts: []string{key},
				Reason: phrase.Of("%s: only %s thick at the %s; unless its manual says otherwise %s is the least.", o.title(key), o.say(thick), o.kindOf(i), o.say(limit)),
			})
		}
	}
	return out
}

func shortWork(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		if o.kindOf(i) != "router-table" {
			continue
		}
		for _, key := range items(&o.steps[i]) {
			if z := o.size(key, i); z.Length < shortAtRouter {
				out = append(out, Finding{
					Steps: o.keysOf(i), Parts: []string{key},
					Reason: phrase.Of("%s: %s long at the router table, less than %s: hold it in a jig, or shape it before it is cut off.", o.title(key), o.say(z.Length), o.say(shortAtRouter)),
				})
			}
		}
	}
	return out
}

// bulky is how far an assembly may stand out in its least direction and still be
// guided over a table: common practice, no source.
const bulky = 200 * millimetre

func tooBigForTable(o *order) []Finding {
	tables := []string{"router-table", "table-saw", "band-saw", "mitre-station", "mortiser", "drill-press"}
	var out []Finding
	for i := range o.steps {
		if !slices.Contains(tables, o.kindOf(i)) {
			continue
		}
		for _, key := range o.steps[i].Assemblies {
			z := o.assembly[key].Size
			if least := min(z.Length, z.Width, z.Thickness); least > bulky {
				out = append(out, Finding{
					Steps: o.keysOf(i), Parts: []string{key},
					Reason: phrase.Of("%s: %s in the smallest direction; it cannot be guided at the %s.", o.title(key), o.say(least), o.station[o.steps[i].Station].Name),
				})
			}
		}
	}
	return out
}
