package checks

import (
	"faceside/models/pattern"
	"faceside/models/phrase"
	"faceside/models/wood"
)

var jointChecks = []Check{
	{
		Key: "joint-after-shaping", Title: "Joints are cut while the faces are square", Severity: Stops, Source: practice,
		Why:  "A joint is set out from the face side and the face edge; once they are shaped away nothing true is left to measure from or to lay on the machine.",
		find: jointAfterShaping,
	}, {
		Key: "trim-after-joint", Title: "A trim that cuts into a joint", Severity: Stops, Source: practice,
		Why:  "Joints are set out from the final ends: a trim after them moves the shoulder or cuts the joint off.",
		find: trimAfterJoint,
	}, {
		Key: "dowel-exposed", Title: "A dowel or screw that the trim or the edge would lay bare", Severity: Stops, Source: practice,
		Why:  "A dowel, loose tenon or screw near the end shows when the panel is trimmed or its edge is shaped.",
		find: dowelExposed,
	}, {
		Key: "mortise-walls", Title: "Thin walls beside a mortise", Severity: Warns, Source: practice,
		Why:  "A mortise, slot or hole wider than half the wood leaves walls that split.",
		find: mortiseWalls,
	}, {
		Key: "tenons-meet", Title: "Two tenons meet inside a post", Severity: Warns, Source: practice,
		Why:  "Rails from two sides of a post share the wood inside it: where their tenons or dowels meet, the second rail does not close, and a saw must come to it with the glue already on.",
		find: tenonsMeet,
	}, {
		Key: "dado-depth", Title: "A dado deeper than half the wood", Severity: Warns, Source: practice,
		Why:  "A third of the thickness holds a shelf; more than half leaves the side to break along it.",
		find: dadoDepth,
	},
}

func jointAfterShaping(o *order) []Finding {
	var out []Finding
	for _, j := range o.all(jointing) {
		for _, key := range items(&o.steps[j]) {
			for _, i := range o.doing(key, shaping) {
				if o.steps[i].KeepsFaces || !o.before(i, j) {
					continue
				}
				out = append(out, Finding{
					Steps: o.keysOf(i, j), Parts: []string{key},
					Reason: phrase.Of("%s takes faces of the %s away before %s, which is set out from them.", o.called(i), o.name(key), o.called(j)),
					Remedy: &Remedy{phrase.Of("Shape it after %s.", o.called(j)), []Edit{o.later(i, j, "joints are cut while the faces they are set out from are square")}},
				})
			}
		}
	}
	return out
}

func trimAfterJoint(o *order) []Finding {
	var out []Finding
	for _, j := range o.all(trimming) {
		for _, key := range items(&o.steps[j]) {
			for _, i := range o.doing(key, jointing) {
				if o.before(i, j) {
					out = append(out, Finding{
						Steps: o.keysOf(i, j), Parts: []string{key},
						Reason: phrase.Of("%s comes before %s, which cuts the %s to its size and would cut into the joint.", o.called(i), o.called(j), o.name(key)),
						Remedy: &Remedy{phrase.Of("Cut the joint after %s.", o.called(j)), []Edit{o.later(i, j, "joints are set out from the trimmed ends")}},
					})
				}
			}
		}
	}
	return out
}

// slotHalf is half the width of a usual loose tenon in a panel's edge, or of a pocket
// for a screw.
const slotHalf = 10 * millimetre

// bare is how much wood must stay over a dowel: common practice, no source.
const bare = 5 * millimetre

func dowelExposed(o *order) []Finding {
	var out []Finding
	for _, i := range o.all(jointing) {
		inset := value(&o.steps[i], "inset", 0)
		if inset == 0 {
			continue // nothing is said about it
		}
		half := value(&o.steps[i], "diameter", 2*slotHalf) / 2
		for _, key := range items(&o.steps[i]) {
			for _, panel := range o.inside[key] {
				cut, edge := o.cutOff(key, panel, i), o.edgeShaped(panel)
				need := cut + edge + half + bare
				if inset >= need || cut+edge == 0 {
					continue
				}
				out = append(out, Finding{
					Steps: o.keysOf(i), Parts: []string{key, panel},
					Reason: phrase.Of("%s starts %s from the end; the trim takes %s there and the edge %s more, so the first one would show or break out. At least %s is wanted.",
						o.called(i), o.say(inset), o.say(cut), o.say(edge), o.say(need)),
					Remedy: o.change(i, phrase.Of("Keep the first one %s from the end.", o.say(need)), func(s *pattern.Step) { s.With = withLength(s.With, "inset", need) }),
				})
			}
		}
	}
	return out
}

// cutOff is what the trim of a panel takes off each end of its boards.
func (o *order) cutOff(board, panel string, at int) wood.Length {
	long := o.size(board, at).Length
	if p := o.part[board]; p != nil {
		long = p.Finished.Length
	}
	for _, t := range o.doing(panel, trimming) {
		to := value(&o.steps[t], "length", long)
		if to <= 0 || to >= long {
			continue
		}
		return (long - (long/to)*to) / 2 // several equal pieces may come from one panel
	}
	return 0
}

// edgeShaped is how far shaping takes the edges of a panel back.
func (o *order) edgeShaped(panel string) wood.Length {
	var most wood.Length
	for _, i := range o.doing(panel, shaping) {
		most = max(most, value(&o.steps[i], "size", 0), value(&o.steps[i], "radius", 0))
	}
	return most
}

// withLength is a step's values with one length changed.
func withLength(with []pattern.MeasureValue, key string, to wood.Length) []pattern.MeasureValue {
	out := []pattern.MeasureValue{{Key: key, IsLength: true, Length: to}}
	for _, v := range with {
		if v.Key != key {
			out = append(out, v)
		}
	}
	return out
}

func mortiseWalls(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		var hole wood.Length
		switch o.steps[i].Kind {
		case "mortise", "slot-mortise":
			hole = value(&o.steps[i], "width", 0)
		case "dowel-holes":
			hole = value(&o.steps[i], "diameter", 0)
		}
		for _, p := range o.steps[i].Parts {
			thick := min(o.part[p.Part].Finished.Thickness, o.part[p.Part].Finished.Width)
			if 2*hole <= thick {
				continue
			}
			out = append(out, Finding{
				Steps: o.keysOf(i), Parts: []string{p.Part},
				Reason: phrase.Of("%s takes %s out of the %s, which is %s thick: the walls are thinner than the joint.", o.called(i), o.say(hole), o.name(p.Part), o.say(thick)),
			})
		}
	}
	return out
}

func dadoDepth(o *order) []Finding {
	var out []Finding
	for i := range o.steps {
		if o.steps[i].Kind != "dado" {
			continue
		}
		depth := value(&o.steps[i], "depth", 0)
		for _, key := range items(&o.steps[i]) {
			thick := o.size(key, i).Thickness
			if p := o.part[key]; p != nil {
				thick = p.Finished.Thickness
			}
			if 2*depth <= thick {
				continue
			}
			third := thick / 3
			out = append(out, Finding{
				Steps: o.keysOf(i), Parts: []string{key},
				Reason: phrase.Of("%s is %s deep in wood %s thick; a third, %s, is enough.", o.called(i), o.say(depth), o.say(thick), o.say(third)),
				Remedy: o.change(i, phrase.Of("Cut it %s deep.", o.say(third)), func(s *pattern.Step) {
					s.With = withLength(s.With, "depth", third)
					s.Name = "Cut dados " + o.say(third) + " deep: " + o.names(items(s)).String()
				}),
			})
		}
	}
	return out
}
