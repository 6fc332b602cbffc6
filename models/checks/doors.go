package checks

import (
	"slices"

	"faceside/models/pattern"
	"faceside/models/phrase"
)

var doorChecks = []Check{
	{
		Key: "cut-after-coat", Title: "Fitting after the finish", Severity: Warns, Source: practice,
		Why:  "A plane, a chisel or a hinge bit that comes to finished wood bruises it and leaves bare edges: doors and drawers are fitted, and hinges cut in, while all is bare wood.",
		find: cutAfterCoat,
	}, {
		Key: "no-trial-hang", Title: "Hung without a trial", Severity: Warns, Source: practice,
		Why:  "What a door wants planed off shows only when it hangs: hung on trial in bare wood, it goes on at the end without a plane.",
		find: noTrialHang,
	},
}

func cutAfterCoat(o *order) []Finding {
	var out []Finding
	for _, j := range o.all(hinging) {
		var late []string
		var edits []Edit
		coat := -1
		for _, key := range items(&o.steps[j]) {
			at := slices.IndexFunc(o.doing(key, coating), func(i int) bool { return o.before(i, j) })
			if at < 0 {
				continue
			}
			if late = append(late, key); coat < 0 {
				coat = o.doing(key, coating)[at]
			}
			edits = append(edits, o.earlier(j, o.finishing(key)[0], "a tool comes to bare wood, not to finish"))
		}
		if len(late) == 0 {
			continue
		}
		out = append(out, Finding{
			Steps: o.keysOf(j, coat), Parts: late,
			Reason: phrase.Of("%s comes to the %s after %s.", o.called(j), o.names(late), o.called(coat)),
			Remedy: &Remedy{phrase.Of("Do it before the finish begins."), edits},
		})
	}
	return out
}

// finishing are the steps of the finish on something, the first of them first: the
// sanding, the dusting, the coats.
func (o *order) finishing(key string) []int { return o.doing(key, sanding|easing|dusting|coating) }

var addTrial = &made{kind: "hang-on-trial", verb: "Hang", says: "Hang on trial, look at gap and swing, take off again: ", phase: pattern.Fitting, station: "bench", minutes: 15,
	caution: "Two people for a large door: support it until a hinge holds it."}

func noTrialHang(o *order) []Finding {
	var out []Finding
	for _, j := range o.all(hanging) {
		for _, key := range items(&o.steps[j]) {
			fitted := o.doing(key, hinging)
			if len(fitted) == 0 || o.someBefore(o.doing(key, tryingHung), j) {
				continue
			}
			out = append(out, Finding{
				Steps: o.keysOf(j), Parts: []string{key},
				Reason: phrase.Of("Nothing hangs the %s on trial before %s.", o.name(key), o.called(j)),
				Remedy: o.trial(key, fitted, j),
			})
		}
	}
	return out
}

// trial is the remedy that hangs a door on trial when it is fitted, before its finish
// where that comes later.
func (o *order) trial(key string, fitted []int, hang int) *Remedy {
	next := hang
	if finish := o.finishing(key); len(finish) > 0 && !slices.ContainsFunc(fitted, func(i int) bool { return o.before(finish[0], i) }) {
		next = finish[0]
	}
	why := "a door is hung on trial in bare wood"
	if there := o.doing(key, tryingHung); len(there) > 0 {
		return &Remedy{phrase.Of("Put %s before %s.", o.called(there[0]), o.called(next)), []Edit{o.earlier(there[0], next, why)}}
	}
	s, ok := rule{add: addTrial}.step(o, hang, []string{key})
	if !ok {
		return nil
	}
	return &Remedy{phrase.Of("Add the step “%s” before %s.", s.Name, o.called(next)),
		[]Edit{AddStep{Step: s, After: o.keysOf(fitted...), Before: o.keysOf(next), Why: why}}}
}
