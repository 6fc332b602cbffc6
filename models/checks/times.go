package checks

import (
	"slices"

	"faceside/models/pattern"
	"faceside/models/phrase"
)

var timeChecks = []Check{
	{
		Key: "milled-long-ago", Title: "Milled long before the joints", Severity: Warns, Source: practice,
		Why:  "Milled wood goes on moving: after days the faces are no longer true, and joints set out from them do not fit.",
		find: milledLongAgo,
	}, {
		Key: "dust-while-wet", Title: "Dust while a coat is wet", Severity: Warns, Source: practice,
		Why:  "Dust that settles on a wet coat stays in it.",
		find: dustWhileWet,
	},
}

// milledKeeps is how long milled wood stays true enough to set out joints from:
// common practice, no source.
const milledKeeps = 5 * 24 * 60

func milledLongAgo(o *order) []Finding {
	var out []Finding
	for _, p := range o.b.Parts {
		for _, i := range o.doing(p.Key, planing) {
			for _, j := range o.on[p.Key] {
				s := &o.steps[j]
				if !o.before(i, j) || !does(s, jointing) && s.Kind != "glue-panel" && s.Kind != "glue-blocks" {
					continue
				}
				least := o.sinceAttended(i, j)
				late, planned := o.planned(i, j)
				if least <= milledKeeps && (!planned || late <= milledKeeps || o.bounded(i, j)) {
					continue
				}
				f := Finding{
					Steps: o.keysOf(j, i), Parts: []string{p.Key},
					Reason: phrase.Of("%s comes at least %d days after %s; after about %d the faces are no longer true.", o.called(j), max(least, late)/1440, o.called(i), milledKeeps/1440),
				}
				if least <= milledKeeps {
					most := milledKeeps
					f.Remedy = &Remedy{phrase.Of("Mill it later: keep the joints within five days of it."), []Edit{AddLink{pattern.Link{
						Before: o.steps[i].Key, After: s.Key, From: pattern.FromAttended, Max: &most, Why: "milled wood goes on moving",
					}}}}
				}
				out = append(out, f)
				break // the first joint says it for all
			}
		}
	}
	return out
}

// bounded says whether a link keeps a step within days of another; a plan made
// before the link was added does not know of it yet.
func (o *order) bounded(i, j int) bool {
	return slices.ContainsFunc(o.b.Links, func(l pattern.Link) bool {
		return l.Before == o.steps[i].Key && l.After == o.steps[j].Key && l.Max != nil && *l.Max <= milledKeeps
	})
}

func dustWhileWet(o *order) []Finding {
	var out []Finding
	for _, i := range o.all(coating) {
		wet, known := o.plan[o.steps[i].Key]
		if !known {
			continue
		}
		for j := range o.steps {
			dusty, there := o.plan[o.steps[j].Key]
			if !there || dusty.Worked || !o.steps[j].Dusty || !o.sameAir(i, j) || dusty.AttendedEnds <= wet.Starts || dusty.Starts >= wet.Ends {
				continue
			}
			least := o.steps[i].Unattended
			f := Finding{
				Steps:  o.keysOf(j, i),
				Reason: phrase.Of("In the plan %s raises dust while %s is wet.", o.called(j), o.called(i)),
			}
			if !o.before(j, i) && !slices.ContainsFunc(o.b.Links, func(l pattern.Link) bool { return l.Before == o.steps[i].Key && l.After == o.steps[j].Key }) {
				f.Remedy = &Remedy{phrase.Of("Do it when the coat is dry."), []Edit{AddLink{pattern.Link{
					Before: o.steps[i].Key, After: o.steps[j].Key, From: pattern.FromAttended, Min: least, Why: "no dust while a coat is wet",
				}}}}
			}
			if f.Remedy == nil && o.ended(i, j) {
				continue // the next plan keeps them apart
			}
			out = append(out, f)
		}
	}
	return out
}

// sameAir says whether two steps are done in the same zone. Stations that stand in
// none, as far as anybody said, stand together.
func (o *order) sameAir(i, j int) bool {
	return o.station[o.steps[i].Station].Zone == o.station[o.steps[j].Station].Zone
}
