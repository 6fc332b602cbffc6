package checks

import (
	"slices"

	"faceside/models/pattern"
	"faceside/models/phrase"
)

var addSandInside = &made{kind: "sand-inside", verb: "Sand", says: "Sand to 180 what will be out of reach: ", phase: pattern.Sanding, station: "sanding-bench", minutes: 10, dusty: true, caution: dustCaution}

var accessChecks = []Check{
	{
		Key: "not-together-yet", Title: "Work on something that is not together yet", Severity: Stops, Source: practice,
		Why:  "What is done to an assembly comes after the step that makes it.",
		find: notTogether,
	}, {
		Key: "closed-in", Title: "A place that cannot be reached any more", Severity: Stops, Source: practice,
		Why:  "What is done to a loose piece comes before the glue-up or fitting that closes it in: after it no machine and no hand gets there.",
		find: closedIn,
	}, {
		Key: "inside-unsanded", Title: "Closed before it is sanded inside", Severity: Warns, Source: practice,
		Why: "Inside corners of a glued frame or case can no longer be sanded along the grain.",
		find: rule{
			later: closesForFinish, earlier: sanding, on: hidden, add: addSandInside, why: "what the glue-up closes off is sanded before it",
			reason: func(o *order, i int, lacking []string) phrase.Phrase {
				return phrase.Of("%s closes in the %s before anything sands them.", o.called(i), o.names(lacking))
			},
		}.broken,
	},
}

func notTogether(o *order) []Finding {
	var out []Finding
	for j := range o.steps {
		for _, key := range o.steps[j].Assemblies {
			m, made := o.maker[key]
			if !made || m == j || o.before(m, j) {
				continue
			}
			out = append(out, Finding{
				Steps: o.keysOf(j, m), Parts: []string{key},
				Reason: phrase.Of("%s works on the %s, but does not wait for %s, which makes it.", o.called(j), o.name(key), o.called(m)),
				Remedy: &Remedy{phrase.Of("Do it after %s.", o.called(m)), []Edit{o.later(j, m, "it must be together first")}},
			})
		}
	}
	return out
}

func closedIn(o *order) []Finding {
	var out []Finding
	for j := range o.steps {
		for _, key := range items(&o.steps[j]) {
			m, gone := o.takenBefore(key, j)
			if !gone {
				continue
			}
			out = append(out, Finding{
				Steps: o.keysOf(j, m), Parts: []string{key},
				Reason: phrase.Of("%s works on the %s by itself, but %s has built it in by then.", o.called(j), o.name(key), o.called(m)),
				Remedy: &Remedy{phrase.Of("Do it before %s.", o.called(m)), []Edit{o.earlier(j, m, "it is done while the pieces are still apart")}},
			})
		}
	}
	return out
}

// takenBefore says whether too few of a part or assembly are left loose for a step,
// and which step built in the first of them.
func (o *order) takenBefore(key string, j int) (first int, gone bool) {
	total, taken := 1, 0
	if p := o.part[key]; p != nil {
		total = p.Quantity
	}
	first = -1
	for _, in := range o.inside[key] {
		m, made := o.maker[in]
		if !made || m == j || !o.before(m, j) {
			continue
		}
		use := 1
		for _, p := range o.assembly[in].Parts {
			if p.Part == key {
				use = p.Quantity
			}
		}
		taken += use
		if first < 0 || m < first {
			first = m
		}
	}
	return first, first >= 0 && taken+o.takes(j, key) > total
}

// closesForFinish says whether a step closes a frame or case that is coated later,
// by itself or inside something.
func closesForFinish(o *order, i int) bool {
	if !slices.Contains([]string{"glue-frame", "glue-carcase", "glue-box"}, o.steps[i].Kind) {
		return false
	}
	above := []string{o.steps[i].Makes}
	for n := 0; n < len(above); n++ {
		if len(o.doing(above[n], coating)) > 0 {
			return true
		}
		above = append(above, o.inside[above[n]]...)
	}
	return false
}

// hidden are the milled pieces that a step closes in and that are not sanded as part
// of something smaller.
func hidden(o *order, i int) []string {
	a := o.assembly[o.steps[i].Makes]
	if a == nil {
		return nil
	}
	var out []string
	for _, key := range holds(a) {
		if !o.sandedWithin(key, i) && (o.assembly[key] != nil || o.worked(key)) && !slices.Contains(a.Loose, key) {
			out = append(out, key)
		}
	}
	return out
}

// sandedWithin says whether all that an assembly holds was sanded before a step.
func (o *order) sandedWithin(key string, at int) bool {
	if o.someBefore(o.doing(key, sanding), at) {
		return true
	}
	a := o.assembly[key]
	if a == nil {
		return !o.worked(key)
	}
	return !slices.ContainsFunc(holds(a), func(in string) bool { return !o.sandedWithin(in, at) })
}
