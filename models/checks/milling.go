package checks

import (
	"fmt"
	"slices"

	"faceside/models/pattern"
	"faceside/models/phrase"
)

const (
	jointerCaution = "Jointer: guard over the head, push blocks, nothing shorter or thinner than the machine's manual allows, hands never over the head."
	dustCaution    = "Dust: collector on, mask on. Follow the machine's manual and local rules."
)

var addFace = &made{kind: "joint-face", verb: "Joint", says: "Joint one face: ", phase: pattern.Milling, station: "jointer", minutes: 4, dusty: true, caution: jointerCaution}
var addEdge = &made{kind: "joint-edge", verb: "Joint", says: "Joint one edge square to the face: ", phase: pattern.Milling, station: "jointer", minutes: 4, dusty: true, caution: jointerCaution}

var millingChecks = []Check{
	{
		Key: "face-first", Title: "A face is jointed before the planer", Severity: Stops, Source: practice,
		Why: "The planer makes the upper face parallel to the lower one: a bent face below gives a bent board.",
		find: rule{
			later: doing(planing), earlier: facing, on: looseOf, add: addFace, why: "the planer bears on the jointed face",
			reason: func(o *order, i int, lacking []string) phrase.Phrase {
				return phrase.Of("%s comes with no jointed face on %s: the planer copies the face that lies on its bed.", o.called(i), o.names(lacking))
			},
		}.broken,
	}, {
		Key: "edge-after-face", Title: "A face is jointed before the edge", Severity: Stops, Source: practice,
		Why: "An edge is square only to a flat face held to the fence.",
		find: rule{
			later: doing(edging), earlier: facing, on: looseOf, add: addFace, why: "the edge is jointed square to the jointed face",
			reason: func(o *order, i int, lacking []string) phrase.Phrase {
				return phrase.Of("%s comes before a face of %s is flat, so nothing true bears on the fence.", o.called(i), o.names(lacking))
			},
		}.broken,
	}, {
		Key: "two-faces", Title: "Two faces are jointed before a square goes through the planer", Severity: Stops, Source: practice,
		Why: "A square is planed from two faces that are true and square to each other; with one, it comes out a diamond.",
		find: rule{
			later: func(o *order, i int) bool { return o.steps[i].Kind == "plane-square" }, earlier: edging, on: looseOf, add: addEdge,
			why: "both faces that lie on the planer's bed must be true and square to each other",
			reason: func(o *order, i int, lacking []string) phrase.Phrase {
				return phrase.Of("%s planes both ways, but only one face of %s is jointed: it would come out a diamond.", o.called(i), o.names(lacking))
			},
		}.broken,
	}, {
		Key: "edge-before-rip", Title: "A straight edge runs on the fence", Severity: Stops, Source: practice,
		Why: "A crooked edge on the fence binds the blade and can throw the board back.",
		find: rule{
			later: doing(ripping), earlier: edging, on: looseOf, add: addEdge, why: "the jointed edge runs on the fence",
			reason: func(o *order, i int, lacking []string) phrase.Phrase {
				return phrase.Of("%s comes before an edge of %s is jointed: a crooked edge on the fence can bind and kick back.", o.called(i), o.names(lacking))
			},
		}.broken,
	}, {
		Key: "crosscut-last", Title: "Cut to length after the machines", Severity: Warns, Source: practice,
		Why:  "Jointer and planer bite a little deeper at the ends, and short work is hard to feed: the final length comes after them.",
		find: crosscutLast,
	}, {
		Key: "resawn-rest", Title: "Resawn wood rests", Severity: Warns, Source: practice,
		Why:  "A board that has been opened moves for a day or more; planed at once it does not stay flat.",
		find: resawnRest,
	}, {
		Key: "two-settings", Title: "A square needs one planer setting", Severity: Warns, Source: practice,
		Why:  "Run both ways at one setting the section comes out square; a second setting is never quite the same.",
		find: twoSettings,
	}, {
		Key: "near-settings", Title: "Two planer settings that could be one", Severity: Tells, Source: practice,
		Why:  "Each setting of the planer costs minutes; a hair's difference is seldom wanted.",
		find: nearSettings,
	},
}

// looseOf are the loose parts that a step works on.
func looseOf(o *order, i int) []string {
	var out []string
	for _, p := range o.steps[i].Parts {
		out = append(out, p.Part)
	}
	return out
}

func crosscutLast(o *order) []Finding {
	var out []Finding
	for _, i := range o.all(crosscutting) {
		for _, key := range looseOf(o, i) {
			for _, j := range o.doing(key, facing|planing) {
				if o.before(i, j) {
					out = append(out, Finding{
						Steps: o.keysOf(i, j), Parts: []string{key},
						Reason: phrase.Of("%s comes before %s: the ends would be sniped, and the piece is shorter to feed than it need be.", o.called(i), o.called(j)),
						Remedy: &Remedy{phrase.Of("Cut to length after %s.", o.called(j)), []Edit{o.later(i, j, "cut to length last, the ends carry no snipe")}},
					})
				}
			}
		}
	}
	return out
}

// restMinutes is how long opened or freshly glued wood is left alone. Common
// practice, no source.
const restMinutes = 24 * 60

func resawnRest(o *order) []Finding {
	var out []Finding
	for _, i := range o.all(resawing) {
		for _, key := range items(&o.steps[i]) {
			for _, j := range o.doing(key, planing) {
				if !o.before(i, j) || o.sinceAttended(i, j) >= restMinutes {
					continue
				}
				out = append(out, Finding{
					Steps: o.keysOf(j, i), Parts: []string{key},
					Reason: phrase.Of("%s may follow %s after %d minutes; opened wood goes on moving for a day or more.", o.called(j), o.called(i), o.sinceAttended(i, j)),
					Remedy: &Remedy{phrase.Of("Let it rest a day before %s.", o.called(j)), []Edit{AddLink{pattern.Link{
						Before: o.steps[i].Key, After: o.steps[j].Key, From: pattern.FromAttended, Min: restMinutes, Why: "resawn wood moves before it lies still",
					}}}},
				})
			}
		}
	}
	return out
}

func twoSettings(o *order) []Finding {
	var out []Finding
	for _, p := range o.b.Parts {
		if p.Finished.Width != p.Finished.Thickness {
			continue
		}
		steps := o.doing(p.Key, planing)
		for n, j := range steps {
			if n == 0 || o.steps[j].Setup == nil || o.steps[steps[0]].Setup == nil || o.steps[j].Setup.State == o.steps[steps[0]].Setup.State {
				continue
			}
			one := o.steps[steps[0]].Setup
			out = append(out, Finding{
				Steps: o.keysOf(j, steps[0]), Parts: []string{p.Key},
				Reason: phrase.Of("The %s is square (%s), but goes through the planer at two settings, %s and %s.", o.name(p.Key), o.say(p.Finished.Width), one.State, o.steps[j].Setup.State),
				Remedy: o.change(j, phrase.Of("Plane both faces at one setting."), func(s *pattern.Step) { s.Setup = one }),
			})
		}
	}
	return out
}

// nearEnough is how close two planer settings are that could be one: common
// practice, no source.
const nearEnough = millimetre * 6 / 10

func nearSettings(o *order) []Finding {
	var out []Finding
	var steps []int
	for _, i := range o.all(planing) {
		if value(&o.steps[i], "thickness", 0) > 0 {
			steps = append(steps, i)
		}
	}
	told := map[string]bool{}
	for n, i := range steps {
		for _, j := range steps[n+1:] {
			a, b := value(&o.steps[i], "thickness", 0), value(&o.steps[j], "thickness", 0)
			pair := fmt.Sprint(min(a, b), max(a, b))
			if a == b || max(a, b)-min(a, b) > nearEnough || told[pair] {
				continue
			}
			told[pair] = true
			out = append(out, Finding{
				Steps:  o.keysOf(i, j),
				Parts:  slices.Concat(looseOf(o, i), looseOf(o, j)),
				Reason: phrase.Of("%s planes to %s and %s to %s; one setting would serve both.", o.called(i), o.say(a), o.called(j), o.say(b)),
			})
		}
	}
	return out
}
