package checks

import (
	"slices"

	"faceside/models/pattern"
	"faceside/models/phrase"
	"faceside/models/wood"
)

const finishSource = "finish times by class near 21 °C and 50 % humidity (models/wood, FinishClasses, with their sources); the maker's own sheet comes first"

var finishChecks = []Check{
	{
		Key: "coat-too-soon", Title: "The next coat too soon", Severity: Stops, Source: finishSource,
		Why:  "A coat on one that has not let go of its solvent wrinkles or stays soft.",
		find: coatTooSoon,
	}, {
		Key: "coat-too-late", Title: "The next coat too late", Severity: Warns, Source: finishSource,
		Why:  "After its recoat window a coat is too hard to bond with: it is rubbed down first, or the next one comes in time.",
		find: coatTooLate,
	}, {
		Key: "drying-time", Title: "Too little time to dry", Severity: Stops, Source: finishSource,
		Why:  "A coat that is not counted dry in time is touched wet.",
		find: dryingTime,
	}, {
		Key: "touched-wet", Title: "Work on a wet coat", Severity: Stops, Source: finishSource,
		Why:  "A wet coat takes marks and dust.",
		find: touchedWet,
	}, {
		Key: "finish-cold", Title: "Too cold for the finish", Severity: Stops, Source: "below about 55 °F a finish may stay tacky: woodwiki.org; the maker's own sheet comes first",
		Why:  "A finish that is too cold does not harden.",
		find: finishCold,
	}, {
		Key: "two-finishes", Title: "One finish over another that has not cured", Severity: Warns, Source: practice,
		Why:  "A different finish holds only on one that has cured, if at all: the makers' sheets must allow it.",
		find: twoFinishes,
	}, {
		Key: "coat-on-wax", Title: "A coat over wax", Severity: Stops, Source: practice,
		Why:  "Nothing holds on wax: it comes last.",
		find: coatOnWax,
	}, {
		Key: "fit-before-last-coat", Title: "Fitted before the last coat", Severity: Stops, Source: practice,
		Why:  "A top that is fitted before its last coat is stuck to its base by it, and bare where nobody can reach.",
		find: fitBeforeLastCoat,
	}, {
		Key: "metal-before-finish", Title: "Hardware before the finish", Severity: Warns, Source: practice,
		Why:  "Hinges and pulls are fitted to try them, come off for the finish, and go on at the end.",
		find: metalBeforeFinish,
	},
}

// coat is a finish with its times at the shop's temperature and humidity; false
// where the shop has it not or it cannot be told.
func (o *order) coat(finish string) (wood.Finish, bool) {
	f := o.finish[finish]
	if f == nil {
		return wood.Finish{}, false
	}
	now, err := wood.Finish{
		Name: f.Name, Hardening: wood.HardeningOf(f.Key), DryMin: f.DryMin, RecoatLeastMin: f.RecoatLeastMin,
		RecoatGreatestMin: f.RecoatGreatestMin, CureMin: f.CureMin, LeastTempC: f.LeastTempC,
	}.At(o.shop.TemperatureC, o.shop.HumidityPct)
	return now, err == nil // too cold is a finding of its own
}

// coatPairs visits every coat that goes right over another on the same wood.
func (o *order) coatPairs(visit func(key string, i, j int)) {
	for _, key := range o.sandedThings() {
		coats := o.doing(key, coating)
		for _, j := range coats {
			last := -1
			for _, i := range coats {
				if o.before(i, j) && (last < 0 || o.before(last, i)) {
					last = i
				}
			}
			if last >= 0 {
				visit(key, last, j)
			}
		}
	}
}

// window is the link that lets a coat follow another in a window.
func (o *order) window(i, j, least, greatest int) Edit {
	l := pattern.Link{Before: o.steps[i].Key, After: o.steps[j].Key, From: pattern.FromAttended, Min: least, Why: "the next coat bonds only inside the recoat window"}
	if greatest > 0 {
		l.Max = &greatest
	}
	return AddLink{l}
}

func coatTooSoon(o *order) []Finding {
	var out []Finding
	o.coatPairs(func(key string, i, j int) {
		f, known := o.coat(o.steps[i].Finish)
		if !known || o.sinceAttended(i, j) >= f.RecoatLeastMin {
			return
		}
		out = append(out, Finding{
			Steps: o.keysOf(j, i), Parts: []string{key},
			Reason: phrase.Of("%s may follow %s after %d minutes; %s wants %d at %s and %g %% humidity.", o.called(j), o.called(i), max(0, o.sinceAttended(i, j)), f.Name, f.RecoatLeastMin, o.warmth(), o.shop.HumidityPct),
			Remedy: &Remedy{phrase.Of("Wait %d minutes.", f.RecoatLeastMin), []Edit{o.window(i, j, f.RecoatLeastMin, f.RecoatGreatestMin)}},
		})
	})
	return out
}

func coatTooLate(o *order) []Finding {
	var out []Finding
	o.coatPairs(func(key string, i, j int) {
		f, known := o.coat(o.steps[i].Finish)
		if !known || f.RecoatGreatestMin == 0 || o.rubbedBetween(key, i, j) {
			return
		}
		if late, planned := o.planned(i, j); planned && late > f.RecoatGreatestMin {
			out = append(out, Finding{
				Steps: o.keysOf(j, i), Parts: []string{key},
				Reason: phrase.Of("In the plan %s follows %s after %d minutes; the recoat window of %s closes after %d.", o.called(j), o.called(i), late, f.Name, f.RecoatGreatestMin),
				Remedy: o.rubDown(key, j),
			})
			return
		}
		bounded := slices.ContainsFunc(o.b.Links, func(l pattern.Link) bool {
			return l.Before == o.steps[i].Key && l.After == o.steps[j].Key && l.Max != nil &&
				sinceStart(&o.steps[i], l.From)-o.steps[i].Attended+*l.Max <= f.RecoatGreatestMin
		})
		if bounded {
			return
		}
		out = append(out, Finding{
			Steps: o.keysOf(j, i), Parts: []string{key},
			Reason: phrase.Of("Nothing keeps %s within %d minutes of %s, when the recoat window of %s closes.", o.called(j), f.RecoatGreatestMin, o.called(i), f.Name),
			Remedy: &Remedy{phrase.Of("Keep it inside the recoat window."), []Edit{o.window(i, j, f.RecoatLeastMin, f.RecoatGreatestMin)}},
		})
	})
	return out
}

// rubbedBetween says whether something rubs the wood down between two steps.
func (o *order) rubbedBetween(key string, i, j int) bool {
	return slices.ContainsFunc(o.doing(key, rubbing), func(r int) bool { return o.before(i, r) && o.before(r, j) })
}

// planned is how many minutes lie between the end of a step's attended part and the
// start of another in the plan. It is not known where the other is behind us: there
// is nothing to be done about it any more.
func (o *order) planned(i, j int) (minutes int, known bool) {
	one, first := o.plan[o.steps[i].Key]
	other, second := o.plan[o.steps[j].Key]
	return other.Starts - one.AttendedEnds, first && second && !other.Worked
}

func dryingTime(o *order) []Finding {
	var out []Finding
	for _, i := range o.all(coating) {
		f, known := o.coat(o.steps[i].Finish)
		if !known || o.steps[i].Unattended >= f.DryMin {
			continue
		}
		out = append(out, Finding{
			Steps:  o.keysOf(i),
			Reason: phrase.Of("%s dries for %d minutes; %s wants %d at %s and %g %% humidity.", o.called(i), o.steps[i].Unattended, f.Name, f.DryMin, o.warmth(), o.shop.HumidityPct),
			Remedy: o.change(i, phrase.Of("Let it dry for %d minutes.", f.DryMin), func(s *pattern.Step) { s.Unattended, s.Rest = f.DryMin, pattern.Drying }),
		})
	}
	return out
}

func touchedWet(o *order) []Finding {
	var out []Finding
	for _, i := range o.all(coating) {
		f, known := o.coat(o.steps[i].Finish)
		if !known {
			continue
		}
		for _, key := range items(&o.steps[i]) {
			for _, j := range o.on[key] {
				if !o.before(i, j) || does(&o.steps[j], coating) || o.sinceAttended(i, j) >= f.DryMin {
					continue
				}
				out = append(out, Finding{
					Steps: o.keysOf(j, i), Parts: []string{key},
					Reason: phrase.Of("%s may start %d minutes after %s; it is dry after %d.", o.called(j), max(0, o.sinceAttended(i, j)), o.called(i), f.DryMin),
					Remedy: &Remedy{phrase.Of("Wait until it is dry."), []Edit{AddLink{pattern.Link{
						Before: o.steps[i].Key, After: o.steps[j].Key, From: pattern.FromAttended, Min: f.DryMin, Why: "a wet coat takes marks and dust",
					}}}},
				})
			}
		}
	}
	return out
}

func finishCold(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		f := o.finish[o.steps[i].Finish]
		if f == nil || o.shop.TemperatureC >= f.LeastTempC {
			continue
		}
		out = append(out, Finding{
			Steps:  o.keysOf(i),
			Reason: phrase.Of("%s needs at least %s for %s; the shop is at %s.", o.called(i), o.degrees(f.LeastTempC), f.Name, o.warmth()),
		})
	}
	return out
}

func twoFinishes(o *order) []Finding {
	var out []Finding
	o.coatPairs(func(key string, i, j int) {
		one, other := o.steps[i].Finish, o.steps[j].Finish
		f, known := o.coat(one)
		if one == other || !known || o.sinceAttended(i, j) >= f.CureMin {
			return
		}
		out = append(out, Finding{
			Steps: o.keysOf(j, i), Parts: []string{key},
			Reason: phrase.Of("%s is another finish than %s, which cures for %d days.", o.called(j), o.called(i), f.CureMin/1440),
			Remedy: o.change(j, phrase.Of("Use %s for this coat too.", f.Name), func(s *pattern.Step) { s.Finish, s.Unattended = one, max(s.Unattended, f.DryMin) }),
		})
	})
	return out
}

func coatOnWax(o *order) []Finding {
	var out []Finding
	for _, i := range o.all(waxing) {
		for _, key := range items(&o.steps[i]) {
			for _, j := range o.doing(key, coating) {
				if o.before(i, j) {
					out = append(out, Finding{
						Steps: o.keysOf(i, j), Parts: []string{key},
						Reason: phrase.Of("%s comes before %s, which would not hold on it.", o.called(i), o.called(j)),
						Remedy: &Remedy{phrase.Of("Wax it after the last coat."), []Edit{o.later(i, j, "nothing holds on wax")}},
					})
				}
			}
		}
	}
	return out
}

func fitBeforeLastCoat(o *order) []Finding {
	var out []Finding
	for _, i := range o.all(assembling) {
		a := o.assembly[o.steps[i].Makes]
		if a == nil {
			continue
		}
		for _, key := range holds(a) {
			late := o.afterAll(i, o.doing(key, coating))
			if len(late) == 0 {
				continue
			}
			m := &Remedy{Say: phrase.Of("Fit it after %s.", o.called(late[len(late)-1]))}
			for _, j := range late {
				m.Edits = append(m.Edits, o.later(i, j, "it is fitted after the last coat"))
			}
			out = append(out, Finding{
				Steps: append(o.keysOf(i), o.keysOf(late...)...), Parts: []string{key},
				Reason: phrase.Of("%s does not wait for %s.", o.called(i), o.called(late[len(late)-1])), Remedy: m,
			})
		}
	}
	return out
}

func metalBeforeFinish(o *order) []Finding {
	var out []Finding
	for _, i := range o.all(fittingMetal) {
		for _, key := range items(&o.steps[i]) {
			late := o.afterAll(i, o.doing(key, coating))
			if len(late) == 0 {
				continue
			}
			m := &Remedy{Say: phrase.Of("Fit it after the last coat.")}
			for _, j := range late {
				m.Edits = append(m.Edits, o.later(i, j, "hardware goes on after the last coat"))
			}
			out = append(out, Finding{
				Steps: append(o.keysOf(i), o.keysOf(late...)...), Parts: []string{key},
				Reason: phrase.Of("%s does not wait for %s.", o.called(i), o.called(late[len(late)-1])), Remedy: m,
			})
		}
	}
	return out
}
