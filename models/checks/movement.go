package checks

import (
	"fmt"
	"slices"

	"faceside/models/pattern"
	"faceside/models/phrase"
	"faceside/models/wood"
)

const movementSource = "Wood Handbook, FPL-GTR-190 (2010), chapter 13, equations (13-2) and (13-3), Table 13-5 (models/wood, SeasonalMovement)"

var movementChecks = []Check{
	{
		Key: "panel-fixed", Title: "A solid panel that cannot move", Severity: Stops, Source: movementSource,
		Why:  "A solid panel glued into a frame splits, or pushes the frame apart, when it swells and shrinks across its grain.",
		find: panelFixed,
	}, {
		Key: "top-fixed", Title: "A solid top without slots", Severity: Stops, Source: movementSource,
		Why:  "A solid top is held so that it can move across its grain: by buttons or clips in slots, or screws in slotted holes.",
		find: topFixed,
	}, {
		Key: "cross-grain-glue", Title: "Wide glue across the grain", Severity: Warns, Source: movementSource + "; the limit is common practice, no source",
		Why:  "Glued across each other, one piece holds what the other wants to move; the wider, the likelier it cracks.",
		find: crossGrainGlue,
	}, {
		Key: "panel-play", Title: "A panel without room in its grooves", Severity: Warns, Source: movementSource,
		Why:  "A panel that fills its grooves when it goes in has nowhere to swell.",
		find: panelPlay,
	}, {
		Key: "one-sided-finish", Title: "A panel finished on one face", Severity: Warns, Source: practice,
		Why:  "Bare wood takes moisture faster than finished wood: a panel coated on one face cups.",
		find: oneSidedFinish,
	},
}

// moves is how far a part or assembly moves across its grain in a year; 0 where its
// wood is not in the table of woods.
func (o *order) moves(key string, width wood.Length) wood.Length {
	by, err := wood.SeasonalMovement(width, o.species(key))
	if err != nil {
		return 0 // sheet goods
	}
	return by
}

// panelWide is from where on one wide board counts as a panel, and not as a rail
// that only its ends hold: common practice, no source.
const panelWide = 250 * millimetre

func panelFixed(o *order) []Finding {
	var out []Finding
	for _, i := range o.all(gluing) {
		a := o.assembly[o.steps[i].Makes]
		if a == nil || o.steps[i].Kind != "glue-frame" {
			continue
		}
		framed := slices.ContainsFunc(a.Parts, func(p pattern.PartUse) bool {
			return o.worked(p.Part) && !o.solid(p.Part) && !slices.Contains(a.Loose, p.Part)
		})
		for _, key := range holds(a) {
			if p := o.part[key]; !framed || !o.solid(key) || slices.Contains(a.Loose, key) || p != nil && p.Finished.Width < panelWide {
				continue
			}
			width := o.size(key, i).Width
			free := *a
			free.Loose = append(slices.Clone(a.Loose), key)
			out = append(out, Finding{
				Steps: o.keysOf(i), Parts: []string{key, a.Key},
				Reason: phrase.Of("%s glues the %s fast on all sides; at %s wide it moves by about %s over the year.", o.called(i), o.name(key), o.say(width), o.say(o.moves(key, width))),
				Remedy: &Remedy{phrase.Of("Let the %s sit without glue.", o.name(key)), []Edit{SetAssembly{free}}},
			})
		}
	}
	return out
}

var addSlots = &made{kind: "fastener-slots", verb: "Rout", says: "Rout slots for the fasteners with the hand-held router: ", phase: pattern.Joinery, station: "bench", minutes: 15, dusty: true,
	caution: "Router: both hands on it, work clamped, feed against the cutter's turn. " + dustCaution}

func topFixed(o *order) []Finding {
	var out []Finding
	slots := o.all(slotting)
	for i := range o.steps {
		a := o.assembly[o.steps[i].Makes]
		if a == nil || o.steps[i].Kind != "fit-top" || o.someBefore(slots, i) {
			continue
		}
		at := slices.IndexFunc(a.Assemblies, o.solid)
		if at < 0 {
			continue
		}
		top := a.Assemblies[at]
		var base []string
		for _, key := range a.Assemblies {
			if key != top {
				base = append(base, key)
			}
		}
		width := o.size(top, i).Width
		f := Finding{
			Steps: o.keysOf(i), Parts: []string{top},
			Reason: phrase.Of("Nothing is slotted before %s; the %s moves by about %s over the year.", o.called(i), o.name(top), o.say(o.moves(top, width))),
		}
		if len(base) > 0 {
			f.Remedy = rule{earlier: slotting, add: addSlots, why: "the top must be able to move"}.remedy(o, i, base)
		}
		out = append(out, f)
	}
	return out
}

// crossGrainLimit is how much crossed pieces may move against each other: common
// practice, no source.
const crossGrainLimit = millimetre * 3

func crossGrainGlue(o *order) []Finding {
	var out []Finding
	for _, i := range o.all(gluing) {
		a := o.assembly[o.steps[i].Makes]
		if a == nil || o.steps[i].Kind != "glue-blocks" || !o.crossed(a.Key) {
			continue
		}
		by := o.moves(a.Key, a.Size.Width)
		if by <= crossGrainLimit {
			continue
		}
		out = append(out, Finding{
			Steps: o.keysOf(i), Parts: []string{a.Key},
			Reason: phrase.Of("%s glues pieces across each other over %s; the one moves by about %s over the year and the other does not.", o.called(i), o.say(a.Size.Width), o.say(by)),
		})
	}
	return out
}

func panelPlay(o *order) []Finding {
	var out []Finding
	for _, i := range o.all(gluing) {
		a := o.assembly[o.steps[i].Makes]
		if a == nil {
			continue
		}
		opening, deep, framed := o.grooves(a)
		for _, key := range a.Loose {
			if !framed || !o.solid(key) {
				continue
			}
			width := o.made(key)
			need := o.moves(key, width)
			room := opening + 2*deep - width
			if room >= need {
				continue
			}
			out = append(out, Finding{
				Steps: o.keysOf(i), Parts: []string{key, a.Key},
				Reason: phrase.Of("%s: %s wide with %s of room in its grooves; it moves by about %s over the year.", o.title(key), o.say(width), o.say(max(0, room)), o.say(need)),
				Remedy: o.narrower(key, opening+2*deep, need),
			})
		}
	}
	return out
}

// made is the width a part or panel is brought to.
func (o *order) made(key string) wood.Length {
	if p := o.part[key]; p != nil {
		return p.Finished.Width
	}
	width := o.assembly[key].Size.Width
	for _, t := range o.doing(key, trimming) {
		width = value(&o.steps[t], "width", width)
	}
	return width
}

// grooves are the width between the stiles of a frame and the depth of the grooves
// in them; false where it is no grooved frame.
func (o *order) grooves(a *pattern.Assembly) (opening, deep wood.Length, framed bool) {
	for _, p := range a.Parts {
		stile := o.part[p.Part]
		if stile == nil || stile.Finished.Length != a.Size.Length || p.Quantity != 2 {
			continue
		}
		for _, i := range o.on[p.Part] {
			if o.steps[i].Kind == "groove" {
				return a.Size.Width - 2*stile.Finished.Width, value(&o.steps[i], "depth", 0), true
			}
		}
	}
	return 0, 0, false
}

// narrower trims a panel so that it has room; nil where nothing trims it.
func (o *order) narrower(key string, between, need wood.Length) *Remedy {
	trims := o.doing(key, trimming)
	if len(trims) == 0 {
		return nil
	}
	to := between - need - millimetre
	return o.change(trims[0], phrase.Of("Trim it to %s.", o.say(to)), func(s *pattern.Step) {
		s.With = withLength(s.With, "width", to)
		s.Name = fmt.Sprintf("Trim the %s to %s by %s", o.name(key), o.say(to), o.say(value(s, "length", 0)))
		if s.Setup != nil {
			s.Setup = &pattern.Setup{Family: s.Setup.Family, State: s.Setup.Family + " " + o.say(to), Instruction: "Table saw: fence at " + o.say(to)}
		}
	})
}

func oneSidedFinish(o *order) []Finding {
	var out []Finding
	for key := range o.on {
		if !o.solid(key) {
			continue
		}
		faces, one := 0, -1
		for _, i := range o.doing(key, coating) {
			if number(&o.steps[i], "faces") == 1 {
				faces, one = faces+1, i
			} else {
				faces += 2
			}
		}
		if faces%2 == 0 {
			continue
		}
		out = append(out, Finding{
			Steps: o.keysOf(one), Parts: []string{key},
			Reason: phrase.Of("The coats on the %s cover one face more often than the other (%d faces in all): it would cup.", o.name(key), faces),
			Remedy: o.change(one, phrase.Of("Coat both faces."), func(s *pattern.Step) {
				s.Attended *= 2
				s.With = slices.DeleteFunc(slices.Clone(s.With), func(v pattern.MeasureValue) bool { return v.Key == "faces" })
				s.With = append(s.With, pattern.MeasureValue{Key: "faces", Number: 2})
			}),
		})
	}
	slices.SortFunc(out, func(x, y Finding) int { return slices.Compare(x.Parts, y.Parts) })
	return out
}
