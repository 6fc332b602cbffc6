package checks

import (
	"slices"

	"faceside/models/pattern"
	"faceside/models/phrase"
	"faceside/models/wood"
)

const glueClassSource = "glue times by class near 21 °C (70 °F), models/wood GlueClasses: Lee Valley, “Working with PVA glues”, and others named there; the maker's own sheet comes first"

var addDryFit = &made{kind: "dry-fit", verb: "Dry-fit", says: "Dry-fit, clamps and cauls laid out: ", phase: pattern.GlueUp, station: "bench", minutes: 3, caution: "Clamps under load: tighten evenly, keep fingers clear."}
var addScrape = &made{kind: "clean-glue", verb: "Scrape", says: "Scrape the glue: ", phase: pattern.Shaping, station: "bench", minutes: 5, caution: "Sharp edge tools: cut away from yourself, work clamped."}
var addMask = &made{kind: "mask", verb: "Mask", says: "Mask what will be glued: ", phase: pattern.Finishing, station: "bench", minutes: 4}

var glueChecks = []Check{
	{
		Key: "open-time", Title: "More than the glue's open time", Severity: Stops, Source: glueClassSource,
		Why:  "Glue that skins over before the last clamp is on does not hold: the glue-up is split into stages, or takes a slower glue.",
		find: openTime,
	}, {
		Key: "glue-cold", Title: "Too cold for the glue", Severity: Stops, Source: "Lee Valley, “Working with PVA glues”: below its least temperature a PVA dries chalky and holds nothing",
		Why:  "Below its least temperature a glue does not form a film: the joint looks closed and is weak.",
		find: glueCold,
	}, {
		Key: "clamp-time", Title: "Out of the clamps too early", Severity: Stops, Source: glueClassSource + "; cold lengthens them: WOOD magazine, “Give the glue time”",
		Why:  "A joint taken out of its clamps before the glue holds opens again.",
		find: clampTime,
	}, {
		Key: "in-clamps", Title: "Work on something still in clamps", Severity: Stops, Source: practice,
		Why:  "What is in clamps cannot be worked, and a joint that is worked before it holds opens.",
		find: inClamps,
	}, {
		Key: "glue-clamps", Title: "Not clamps enough", Severity: Stops, Source: practice,
		Why:  "Clamps are laid out before the glue is opened: one that is missing then is a lost joint.",
		find: glueClamps,
	}, {
		Key: "clamp-spacing", Title: "Clamps too far apart", Severity: Warns, Source: "force spreads at about 45 degrees, so clamps stand twice the width of board and caul apart: from memory (models/wood, ClampSpacing)",
		Why:  "Between clamps that stand too far apart the joint stays open.",
		find: clampSpacing,
	}, {
		Key: "hands", Title: "More hands than the shop has", Severity: Stops, Source: practice,
		Why:  "A step that needs two people cannot be done by one.",
		find: tooManyHands,
	}, {
		Key: "glue-alone", Title: "A long glue-up alone", Severity: Warns, Source: practice,
		Why:  "Alone, the far end of a long glue-up sets while the near end is being clamped.",
		find: glueAlone,
	}, {
		Key: "sunken-joints", Title: "Flattened before the moisture has evened out", Severity: Warns,
		Source: "Wood Handbook, FPL-GTR-282, chapter 10: a day or more for edge-glued panels before flattening (from memory)",
		Why:    "Water-based glue swells the wood along the joints; flattened while swollen, the joints sink later and show.",
		find:   sunkenJoints,
	}, {
		Key: "no-dry-fit", Title: "Glued without a dry fit", Severity: Tells, Source: practice,
		Why:  "A joint that does not close is found dry, and not with glue on it.",
		find: noDryFit,
	}, {
		Key: "glue-left-on", Title: "Hard glue on what is flattened", Severity: Tells, Source: practice,
		Why: "Squeezed-out glue loads the abrasive of the drum and chips the plane.",
		find: rule{
			later: doing(flattening | flushing), earlier: scraping, add: addScrape, why: "hard glue would load the drum or chip the plane",
			on: func(o *order, i int) []string { return o.glued(o.steps[i].Assemblies) },
			reason: func(o *order, i int, lacking []string) phrase.Phrase {
				return phrase.Of("%s comes before the glue of the %s is scraped off.", o.called(i), o.names(lacking))
			},
		}.broken,
	}, {
		Key: "interrupted", Title: "A glue-up or coat that could be interrupted", Severity: Stops, Source: practice,
		Why:  "Once glue or finish is open it is carried through: a break in the middle spoils it.",
		find: mayBeInterrupted,
	}, {
		Key: "glue-on-finish", Title: "Glue on finish", Severity: Stops, Source: practice,
		Why:  "Glue does not hold on finish: what will be glued is masked before the coat.",
		find: glueOnFinish,
	},
}

// sheet is a step's glue with its times at the shop's temperature; false where the
// shop has it not or it cannot be told.
func (o *order) sheet(glue string) (wood.Glue, bool) {
	g := o.glue[glue]
	if g == nil {
		return wood.Glue{}, false
	}
	now, err := wood.Glue{Name: g.Name, OpenMin: g.OpenMin, ClampMin: g.ClampMin, CureMin: g.CureMin, LeastTempC: g.LeastTempC}.At(o.shop.TemperatureC, o.shop.TemperatureC)
	return now, err == nil // too cold is a finding of its own
}

func openTime(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		s := &o.steps[i]
		g, known := o.sheet(s.Glue)
		if !known || s.OpenTime <= g.OpenMin {
			continue
		}
		f := Finding{
			Steps:  o.keysOf(i),
			Reason: phrase.Of("From the first glue to the last clamp %s takes %d minutes; %s stays open for %d.", o.called(i), s.OpenTime, g.Name, g.OpenMin),
		}
		n := upTo(s.OpenTime, g.OpenMin)
		staged := &Remedy{phrase.Of("Glue it up in %d stages.", n), []Edit{Stages{s.Key, n}}}
		if _, err := Apply(o.b, staged); err == nil {
			f.Remedy = staged
		} else {
			f.Remedy = o.otherGlue(i)
		}
		out = append(out, f)
	}
	return out
}

// otherGlue takes the quickest glue of the shop that stays open long enough and is
// not too cold; nil where none does.
func (o *order) otherGlue(i int) *Remedy {
	best := -1
	for n := range o.shop.Glues {
		now, known := o.sheet(o.shop.Glues[n].Key)
		if known && now.OpenMin >= o.steps[i].OpenTime && (best < 0 || now.ClampMin < o.shop.Glues[best].ClampMin) {
			best = n
		}
	}
	if best < 0 {
		return nil
	}
	g := o.shop.Glues[best]
	now, _ := o.sheet(g.Key)
	return o.change(i, phrase.Of("Glue it with %s.", g.Name), func(s *pattern.Step) {
		s.Glue, s.Unattended, s.Rest = g.Key, now.ClampMin, pattern.InClamps
		if g.Caution != "" && !slices.Contains(s.Cautions, g.Caution) {
			s.Cautions = append(slices.Clone(s.Cautions), g.Caution)
		}
	})
}

func glueCold(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		g := o.glue[o.steps[i].Glue]
		if g == nil || o.shop.TemperatureC >= g.LeastTempC {
			continue
		}
		out = append(out, Finding{
			Steps:  o.keysOf(i),
			Reason: phrase.Of("%s needs at least %s for %s; the shop is at %s, and the wood with it.", o.called(i), o.degrees(g.LeastTempC), g.Name, o.warmth()),
			Remedy: o.otherGlue(i),
		})
	}
	return out
}

func clampTime(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		g, known := o.sheet(o.steps[i].Glue)
		if !known || o.steps[i].Unattended >= g.ClampMin {
			continue
		}
		out = append(out, Finding{
			Steps:  o.keysOf(i),
			Reason: phrase.Of("%s rests %d minutes in its clamps; at %s %s wants %d.", o.called(i), o.steps[i].Unattended, o.warmth(), g.Name, g.ClampMin),
			Remedy: o.change(i, phrase.Of("Leave it %d minutes in its clamps.", g.ClampMin), func(s *pattern.Step) { s.Unattended, s.Rest = g.ClampMin, pattern.InClamps }),
		})
	}
	return out
}

func inClamps(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		made := o.steps[i].Makes
		if o.steps[i].Rest != pattern.InClamps || made == "" {
			continue
		}
		for _, j := range o.on[made] {
			if j == i || !o.before(i, j) || o.ended(i, j) {
				continue
			}
			out = append(out, Finding{
				Steps: o.keysOf(j, i), Parts: []string{made},
				Reason: phrase.Of("%s may start %d minutes after the clamps of %s are on; they stay on for %d.", o.called(j), max(0, o.sinceAttended(i, j)), o.called(i), o.steps[i].Unattended),
				Remedy: &Remedy{phrase.Of("Wait until it is out of its clamps."), []Edit{o.link(i, j, "it must come out of its clamps first")}},
			})
		}
	}
	return out
}

func glueClamps(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		s := &o.steps[i]
		if !does(s, gluing) {
			continue
		}
		if len(s.Clamps) == 0 {
			out = append(out, Finding{Steps: o.keysOf(i), Reason: phrase.Of("%s has glue but no clamps.", o.called(i)), Remedy: o.twoClamps(i)})
		}
		for _, use := range s.Clamps {
			at := slices.IndexFunc(o.shop.Clamps, func(c pattern.ClampClass) bool { return c.Key == use.Class })
			if at < 0 {
				out = append(out, Finding{Steps: o.keysOf(i), Reason: phrase.Of("%s wants clamps of the class %q, which the shop has not.", o.called(i), use.Class), Remedy: o.twoClamps(i)})
			} else if c := o.shop.Clamps[at]; use.Count > c.Count {
				out = append(out, Finding{
					Steps:  o.keysOf(i),
					Reason: phrase.Of("%s wants %d of %s; the rack has %d.", o.called(i), use.Count, c.Name, c.Count),
					Remedy: o.longerClamps(i, use, c.Reach),
				})
			}
		}
	}
	return out
}

// twoClamps gives a glue-up two clamps that span it; nil where the rack has none.
func (o *order) twoClamps(i int) *Remedy {
	var need wood.Length
	if a := o.assembly[o.steps[i].Makes]; a != nil {
		need = max(a.Size.Width, a.Size.Thickness)
	}
	for _, c := range o.shop.Clamps {
		if c.Reach >= need && c.Count >= 2 {
			return o.change(i, phrase.Of("Lay out two of %s.", c.Name), func(s *pattern.Step) {
				s.Clamps, s.Rest = []pattern.ClampUse{{Class: c.Key, Count: 2}}, pattern.InClamps
				if g, known := o.sheet(s.Glue); known {
					s.Unattended = max(s.Unattended, g.ClampMin)
				}
			})
		}
	}
	return nil
}

// longerClamps takes a class with the same reach or more that has enough.
func (o *order) longerClamps(i int, use pattern.ClampUse, reach wood.Length) *Remedy {
	for _, c := range o.shop.Clamps {
		if c.Reach >= reach && c.Count >= use.Count {
			return o.change(i, phrase.Of("Take %d of %s.", use.Count, c.Name), func(s *pattern.Step) {
				s.Clamps = slices.Clone(s.Clamps)
				s.Clamps[slices.Index(s.Clamps, use)].Class = c.Key
			})
		}
	}
	return nil
}

// caul is the thickness of a usual caul: common practice, no source.
const caul = 25 * millimetre

func clampSpacing(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		s := &o.steps[i]
		along, board := value(s, "along", 0), value(s, "board", 0)
		if s.Kind != "glue-panel" || along <= 0 || board <= 0 || len(s.Clamps) == 0 {
			continue
		}
		have := 0
		for _, c := range s.Clamps {
			have += c.Count
		}
		apart := wood.ClampSpacing(board, caul)
		need := max(2, int((along+apart-1)/apart))
		if have >= need {
			continue
		}
		out = append(out, Finding{
			Steps:  o.keysOf(i),
			Reason: phrase.Of("%s has %d clamps on %s of joint; with boards of %s they may stand %s apart, so %d are wanted.", o.called(i), have, o.say(along), o.say(board), o.say(apart), need),
			Remedy: o.moreClamps(i, need-have),
		})
	}
	return out
}

// moreClamps adds clamps of the first class of a step; nil where the rack has too few.
func (o *order) moreClamps(i, more int) *Remedy {
	use := o.steps[i].Clamps[0]
	at := slices.IndexFunc(o.shop.Clamps, func(c pattern.ClampClass) bool { return c.Key == use.Class })
	if at < 0 || o.shop.Clamps[at].Count < use.Count+more {
		return nil
	}
	return o.change(i, phrase.Of("Lay out %d more.", more), func(s *pattern.Step) {
		s.Clamps = slices.Clone(s.Clamps)
		s.Clamps[0].Count += more
	})
}

func tooManyHands(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		if o.steps[i].Hands > o.shop.Hands {
			out = append(out, Finding{Steps: o.keysOf(i), Reason: phrase.Of("%s needs %d people; the shop has %d.", o.called(i), o.steps[i].Hands, o.shop.Hands)})
		}
	}
	return out
}

// longGlueUp is from where on a glue-up wants two people: common practice, no source.
const longGlueUp = 2000 * millimetre

func glueAlone(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		a := o.assembly[o.steps[i].Makes]
		if a == nil || !does(&o.steps[i], gluing) || o.steps[i].Hands > 1 {
			continue
		}
		long := max(a.Size.Length, a.Size.Width, a.Size.Thickness)
		if long <= longGlueUp {
			continue
		}
		out = append(out, Finding{
			Steps: o.keysOf(i), Parts: []string{a.Key},
			Reason: phrase.Of("%s: %s long and %s has one person.", o.title(a.Key), o.say(long), o.called(i)),
			Remedy: o.second(i),
		})
	}
	return out
}

// second calls a second person to a step; nil in a shop of one.
func (o *order) second(i int) *Remedy {
	if o.shop.Hands < 2 {
		return nil
	}
	return o.change(i, phrase.Of("Call a second person."), func(s *pattern.Step) { s.Hands = 2 })
}

func sunkenJoints(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		s := &o.steps[i]
		if s.Kind != "glue-panel" && s.Kind != "glue-blocks" {
			continue
		}
		for _, j := range o.doing(s.Makes, flattening) {
			if !o.before(i, j) || o.sinceAttended(i, j) >= restMinutes {
				continue
			}
			out = append(out, Finding{
				Steps: o.keysOf(j, i), Parts: []string{s.Makes},
				Reason: phrase.Of("%s may follow %s after %d minutes; the wood along the joints is swollen for about a day.", o.called(j), o.called(i), max(0, o.sinceAttended(i, j))),
				Remedy: &Remedy{phrase.Of("Let it lie a day first."), []Edit{AddLink{pattern.Link{Before: s.Key, After: o.steps[j].Key, From: pattern.FromAttended, Min: restMinutes, Why: "flattened before the moisture has evened out the joints would sink"}}}},
			})
		}
	}
	return out
}

func noDryFit(o *order) []Finding {
	frames := rule{
		later: func(o *order, i int) bool {
			return slices.Contains([]string{"glue-frame", "glue-carcase", "glue-box"}, o.steps[i].Kind)
		},
		earlier: trying, add: addDryFit, why: "joints are tried dry before there is glue on them",
		on: func(o *order, i int) []string {
			a := o.assembly[o.steps[i].Makes]
			if a == nil {
				return nil
			}
			var loose []string
			for _, key := range holds(a) {
				if o.someBefore(o.doing(key, trying), i) {
					return nil // one trial tries them all
				}
				if o.assembly[key] != nil || o.worked(key) {
					loose = append(loose, key)
				}
			}
			return loose
		},
		reason: func(o *order, i int, lacking []string) phrase.Phrase {
			return phrase.Of("Nothing is tried dry before %s.", o.called(i))
		},
	}
	return frames.broken(o)
}

// glued are those of some assemblies that a glue-up makes.
func (o *order) glued(keys []string) []string {
	var out []string
	for _, key := range keys {
		if m, made := o.maker[key]; made && does(&o.steps[m], gluing) {
			out = append(out, key)
		}
	}
	return out
}

func mayBeInterrupted(o *order) []Finding {
	var out []Finding
	for _, i := range o.all(gluing | coating) {
		if o.steps[i].Interruptible {
			out = append(out, Finding{
				Steps:  o.keysOf(i),
				Reason: phrase.Of("%s is marked as one that may be put down in the middle.", o.called(i)),
				Remedy: o.change(i, phrase.Of("Carry it through without a break."), func(s *pattern.Step) { s.Interruptible = false }),
			})
		}
	}
	return out
}

func glueOnFinish(o *order) []Finding {
	var out []Finding
	for _, i := range o.all(gluing) {
		a := o.assembly[o.steps[i].Makes]
		if a == nil {
			continue
		}
		for _, key := range holds(a) {
			if slices.Contains(a.Loose, key) {
				continue
			}
			for _, j := range o.doing(key, coating) {
				if !o.before(j, i) || o.someBefore(o.doing(key, masking), j) {
					continue
				}
				out = append(out, Finding{
					Steps: o.keysOf(j, i), Parts: []string{key},
					Reason: phrase.Of("%s puts finish on the %s before %s, and nothing is masked.", o.called(j), o.name(key), o.called(i)),
					Remedy: rule{earlier: masking, add: addMask, why: "glue does not hold on finish"}.remedy(o, j, []string{key}),
				})
				break
			}
		}
	}
	return out
}
