package checks

import (
	"fmt"
	"slices"

	"faceside/models/pattern"
	"faceside/models/phrase"
)

var addSand = &made{kind: "sand", verb: "Sand", says: "Sand to 180: ", phase: pattern.Sanding, station: "sanding-bench", minutes: 20, dusty: true, caution: dustCaution}
var addDustOff = &made{kind: "dust-off", verb: "Wipe", says: "Vacuum and wipe off all dust: ", phase: pattern.Finishing, station: "finish-room", minutes: 5}
var addRubDown = &made{kind: "rub-down", verb: "Rub down", says: "Rub down lightly and wipe off: ", phase: pattern.Sanding, station: "sanding-bench", minutes: 8, dusty: true, caution: dustCaution}

var sandingChecks = []Check{
	{
		Key: "coat-before-sanding", Title: "Finish before sanding", Severity: Stops, Source: practice,
		Why: "Every scratch and mill mark shows under finish, and finish loads the abrasive: wood is sanded before its first coat.",
		find: rule{
			later: doing(coating), earlier: sanding, add: addSand, why: "wood is sanded before its first coat",
			on: func(o *order, i int) []string {
				return slices.DeleteFunc(items(&o.steps[i]), func(key string) bool { return o.sandedWithin(key, i) })
			},
			reason: func(o *order, i int, lacking []string) phrase.Phrase {
				return phrase.Of("%s comes before the %s is sanded.", o.called(i), o.names(lacking))
			},
		}.broken,
	}, {
		Key: "sanding-after-coat", Title: "Sanding through finish", Severity: Stops, Source: practice,
		Why:  "Sanding after a coat cuts through it; between coats finish is only rubbed down.",
		find: sandingAfterCoat,
	}, {
		Key: "dust-off-first", Title: "Dust under the first coat", Severity: Warns, Source: practice,
		Why: "Dust that is not taken off stands in the finish as specks.",
		find: rule{
			later: func(o *order, i int) bool { return does(&o.steps[i], coating) }, earlier: dusting, add: addDustOff, why: "dust shows under finish",
			on: func(o *order, i int) []string {
				return slices.DeleteFunc(items(&o.steps[i]), func(key string) bool { return o.someBefore(o.doing(key, coating), i) })
			},
			reason: func(o *order, i int, lacking []string) phrase.Phrase {
				return phrase.Of("Nothing takes the dust off the %s before %s.", o.names(lacking), o.called(i))
			},
		}.broken,
	}, {
		Key: "rub-between", Title: "Coat on coat without rubbing down", Severity: Tells, Source: practice,
		Why:  "Rubbed down, a coat takes the next one better and loses its specks.",
		find: rubBetween,
	}, {
		Key: "grit-jump", Title: "A jump of grits", Severity: Warns, Source: practice + "; the grades are those of FEPA P grits (ISO 6344)",
		Why:  "Each grit takes out the scratches of the one before; over more than one grade they stay, and show under finish.",
		find: gritJump,
	}, {
		Key: "grit-back", Title: "A coarser grit after a finer one", Severity: Warns, Source: practice,
		Why:  "A coarser grit puts back the scratches that the finer one took out.",
		find: gritBack,
	},
}

func sandingAfterCoat(o *order) []Finding {
	var out []Finding
	for _, j := range o.all(sanding | easing) {
		for _, key := range items(&o.steps[j]) {
			coats := o.doing(key, coating)
			at := slices.IndexFunc(coats, func(i int) bool { return o.before(i, j) })
			if at < 0 {
				continue
			}
			out = append(out, Finding{
				Steps: o.keysOf(j, coats[at]), Parts: []string{key},
				Reason: phrase.Of("%s comes after %s and would cut through it.", o.called(j), o.called(coats[at])),
				Remedy: &Remedy{phrase.Of("Sand it before %s.", o.called(coats[at])), []Edit{o.earlier(j, coats[at], "wood is sanded before its first coat")}},
			})
		}
	}
	return out
}

func rubBetween(o *order) []Finding {
	var out []Finding
	o.coatPairs(func(key string, i, j int) {
		if o.rubbedBetween(key, i, j) {
			return
		}
		out = append(out, Finding{
			Steps: o.keysOf(j, i), Parts: []string{key},
			Reason: phrase.Of("%s goes on %s, which nothing rubs down.", o.called(j), o.called(i)),
			Remedy: o.rubDown(key, j),
		})
	})
	return out
}

// rubDown rubs the last coat down before a step; nil where the shop has no place to.
func (o *order) rubDown(key string, j int) *Remedy {
	s, ok := rule{add: addRubDown}.step(o, j, []string{key})
	if !ok {
		return nil
	}
	return &Remedy{phrase.Of("Rub it down before %s.", o.called(j)), []Edit{AddStep{
		Step: s, After: o.predecessors(j), Before: []string{o.steps[j].Key}, Why: "each coat is rubbed down before the next",
	}}}
}

// grades are the usual grits for wood, each the next of the one before. FEPA P
// grades, ISO 6344 (from memory); 240 and finer are left to rubbing down.
var grades = []float64{36, 40, 50, 60, 80, 100, 120, 150, 180, 220, 240, 320, 400}

// grade is the place of the nearest grade that is not finer.
func grade(grit float64) int {
	at := 0
	for n, g := range grades {
		if g <= grit {
			at = n
		}
	}
	return at
}

// gritPairs visits what is sanded or drummed with one grit right after another.
func (o *order) gritPairs(visit func(key string, i, j int, from, to float64)) {
	for _, key := range o.sandedThings() {
		steps := slices.DeleteFunc(o.doing(key, sanding|flattening), func(i int) bool { return number(&o.steps[i], "grit") == 0 })
		for _, j := range steps {
			last := -1
			for _, i := range steps {
				if o.before(i, j) && (last < 0 || o.before(last, i)) {
					last = i
				}
			}
			if last >= 0 {
				visit(key, last, j, number(&o.steps[last], "grit"), firstGrit(&o.steps[j]))
			}
		}
	}
}

// firstGrit is the grit a step begins with.
func firstGrit(s *pattern.Step) float64 {
	if from := number(s, "from"); from > 0 {
		return from
	}
	return number(s, "grit")
}

// sandedThings lists parts and assemblies, in the order of the piece.
func (o *order) sandedThings() []string {
	var out []string
	for _, p := range o.b.Parts {
		out = append(out, p.Key)
	}
	for _, a := range o.b.Assemblies {
		out = append(out, a.Key)
	}
	return out
}

func gritJump(o *order) []Finding {
	var out []Finding
	o.gritPairs(func(key string, i, j int, from, to float64) {
		if grade(to)-grade(from) <= 2 {
			return
		}
		out = append(out, Finding{
			Steps: o.keysOf(j, i), Parts: []string{key},
			Reason: phrase.Of("%s goes from %g to %g; %g comes between.", o.called(j), from, to, grades[grade(from)+2]),
			Remedy: o.between(key, j, i, from, to),
		})
	})
	return out
}

// between adds the grits that are missing.
func (o *order) between(key string, j, i int, from, to float64) *Remedy {
	m := &Remedy{}
	after := o.predecessors(j)
	if !slices.Contains(after, o.steps[i].Key) {
		after = append(after, o.steps[i].Key)
	}
	for g := grade(from) + 2; grade(to)-g > 0; g += 2 {
		s, ok := rule{add: addSand}.step(o, j, []string{key})
		if !ok {
			return nil
		}
		s.Key = o.freeKey(fmt.Sprintf("%s-%g", o.steps[j].Key, grades[g]))
		s.Name = fmt.Sprintf("Sand to %g: %s", grades[g], o.name(key))
		s.With = []pattern.MeasureValue{{Key: "grit", Number: grades[g]}}
		m.Edits = append(m.Edits, AddStep{Step: s, After: after, Before: []string{o.steps[j].Key}, Why: "each grit takes out the scratches of the one before"})
		after = []string{s.Key}
		if m.Say.Empty() {
			m.Say = phrase.Of("Sand to %g in between.", grades[g])
		}
	}
	return m
}

func gritBack(o *order) []Finding {
	var out []Finding
	o.gritPairs(func(key string, i, j int, from, _ float64) {
		to := number(&o.steps[j], "grit") // what a step leaves counts, where it begins does not
		if to >= from {
			return
		}
		out = append(out, Finding{
			Steps: o.keysOf(j, i), Parts: []string{key},
			Reason: phrase.Of("%s goes back from %g to %g.", o.called(j), from, to),
			Remedy: &Remedy{phrase.Of("Sand with the coarser grit first."), []Edit{o.earlier(j, i, "the coarser grit comes first")}},
		})
	})
	return out
}
