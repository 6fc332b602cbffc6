package checks

import (
	"slices"

	"faceside/models/pattern"
	"faceside/models/phrase"
)

// rule says that some steps want another step on the same wood before them.
type rule struct {
	later   func(o *order, i int) bool
	earlier trade
	on      func(o *order, i int) []string // the wood that wants it; nil: all a step works on
	reason  func(o *order, i int, lacking []string) phrase.Phrase
	why     string // of the links that the remedy makes
	add     *made  // the step to add where there is none; nil: none can be added
}

// made is a step that a remedy can add.
type made struct {
	kind, verb, says string
	phase            pattern.Phase
	station          string // kind of station
	minutes          int    // for each part or assembly; common practice, no source
	dusty            bool
	caution          string
}

// doing is the condition of a rule that steps do any of some things.
func doing(t trade) func(*order, int) bool {
	return func(o *order, i int) bool { return does(&o.steps[i], t) }
}

// broken finds every step that lacks what a rule wants before it.
func (r rule) broken(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		if !r.later(o, i) {
			continue
		}
		list := items(&o.steps[i])
		if r.on != nil {
			list = r.on(o, i)
		}
		var lacking []string
		for _, key := range list {
			if !o.someBefore(o.doing(key, r.earlier), i) {
				lacking = append(lacking, key)
			}
		}
		if len(lacking) > 0 {
			f := Finding{Steps: []string{o.steps[i].Key}, Parts: lacking, Reason: r.reason(o, i, lacking)}
			f.Remedy = r.remedy(o, i, lacking)
			out = append(out, f)
		}
	}
	return out
}

// remedy puts the step that is wanted in its place, or adds it.
func (r rule) remedy(o *order, i int, lacking []string) *Remedy {
	m := &Remedy{}
	var none []string
	moved := map[int]bool{}
	for _, key := range lacking {
		there := o.doing(key, r.earlier)
		there = slices.DeleteFunc(there, func(j int) bool { return j == i })
		if len(there) == 0 {
			none = append(none, key)
			continue
		}
		if j := there[0]; !moved[j] {
			moved[j] = true
			m.Edits = append(m.Edits, o.earlier(j, i, r.why))
			m.Say = m.Say.Then(phrase.Of("Put %s before %s.", o.called(j), o.called(i)))
		}
	}
	if len(none) > 0 {
		s, ok := r.step(o, i, none)
		if !ok {
			return nil
		}
		m.Edits = append(m.Edits, AddStep{Step: s, After: o.predecessors(i), Before: []string{o.steps[i].Key}, Why: r.why})
		m.Say = m.Say.Then(phrase.Of("Add the step “%s” before %s.", s.Name, o.called(i)))
	}
	return m
}

// step is the step to add for some parts and assemblies; false where it cannot be.
func (r rule) step(o *order, i int, on []string) (pattern.Step, bool) {
	if r.add == nil {
		return pattern.Step{}, false
	}
	at := slices.IndexFunc(o.shop.Stations, func(s pattern.Station) bool { return s.Kind == r.add.station })
	if at < 0 {
		return pattern.Step{}, false
	}
	s := pattern.Step{
		Key: o.freeKey(o.steps[i].Key + "-" + r.add.kind), Name: r.add.says + o.names(on).String(), Kind: r.add.kind, Phase: r.add.phase, Verb: r.add.verb,
		Station: o.shop.Stations[at].Key, Attended: 3 + r.add.minutes*len(on), Interruptible: true, Hands: 1, Dusty: r.add.dusty,
		KeepsFaces: o.steps[i].KeepsFaces,
	}
	if r.add.caution != "" {
		s.Cautions = []string{r.add.caution}
	}
	for _, key := range on {
		if o.part[key] != nil {
			s.Parts = append(s.Parts, pattern.PartUse{Part: key, Quantity: o.takes(i, key)})
		} else {
			s.Assemblies = append(s.Assemblies, key)
		}
	}
	return s, true
}

// takes is how many of a part a step works on; all there are where it does not say.
func (o *order) takes(i int, key string) int {
	for _, p := range o.steps[i].Parts {
		if p.Part == key {
			return p.Quantity
		}
	}
	if p := o.part[key]; p != nil {
		return p.Quantity
	}
	return 1
}

// freeKey is a step key that is not taken.
func (o *order) freeKey(key string) string {
	for {
		if _, taken := o.place[key]; !taken {
			return key
		}
		key += "-more"
	}
}

// predecessors are the steps that directly come before a step.
func (o *order) predecessors(i int) []string {
	var out []string
	for _, l := range o.b.Links {
		if l.After == o.steps[i].Key && !slices.Contains(out, l.Before) {
			out = append(out, l.Before)
		}
	}
	return out
}

// earlier is the edit that puts one step before another, moving the first.
func (o *order) earlier(i, j int, why string) Edit {
	if o.before(j, i) {
		return Move{Step: o.steps[i].Key, Before: o.steps[j].Key, Why: why}
	}
	return o.link(i, j, why)
}

// later is the edit that puts a step after another, moving the first.
func (o *order) later(i, j int, why string) Edit {
	if o.before(i, j) {
		return Move{Step: o.steps[i].Key, After: o.steps[j].Key, Why: why}
	}
	return o.link(j, i, why)
}

// link is the edit that lets a step wait for the end of another.
func (o *order) link(i, j int, why string) Edit {
	return AddLink{pattern.Link{Before: o.steps[i].Key, After: o.steps[j].Key, From: pattern.FromEnd, Why: why}}
}

// names lists parts and assemblies in a sentence.
func (o *order) names(keys []string) phrase.Phrase {
	var out []string
	for _, key := range keys {
		out = append(out, o.name(key))
	}
	return phrase.List(out)
}

// afterAll finds steps that must wait for all of some others and do not.
func (o *order) afterAll(i int, wait []int) []int {
	var out []int
	for _, j := range wait {
		if j != i && !o.before(j, i) {
			out = append(out, j)
		}
	}
	return out
}

// keysOf are the keys of steps.
func (o *order) keysOf(steps ...int) []string {
	out := make([]string, 0, len(steps))
	for _, i := range steps {
		out = append(out, o.steps[i].Key)
	}
	return out
}

// change is the remedy that changes one step.
func (o *order) change(i int, say phrase.Phrase, set func(*pattern.Step)) *Remedy {
	s := o.steps[i]
	set(&s)
	return &Remedy{Say: say, Edits: []Edit{SetStep{s}}}
}
