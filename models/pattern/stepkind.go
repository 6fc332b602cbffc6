package pattern

import (
	"math"
	"slices"
)

// StepKind is what the catalogue knows of a kind of step, for a step that a maker
// adds by hand.
type StepKind struct {
	Key, Name     string
	Phase         Phase
	Verb          string
	Station       string // kind of station
	Minutes       int    // attended, for one piece a metre long and a fifth wide; 0 where its kind's own values decide
	Interruptible bool
	Dusty, Wet    bool
	Glued, Coated bool // it is given a glue, a finish
	Rest          Rest
	Cautions      []string
}

// Kind is the kind of step with this key; false where there is none.
func (c *Catalogue) Kind(key string) (StepKind, bool) {
	k := c.kinds[key]
	if k == nil {
		return StepKind{}, false
	}
	out := StepKind{Key: k.key, Name: k.name, Phase: k.phase, Verb: k.verb, Station: k.station, Interruptible: k.interruptible,
		Dusty: k.dusty, Wet: k.wet, Glued: k.glued, Coated: k.coated, Rest: k.rest, Cautions: slices.Clone(k.cautions)}
	one := values{"pieces": 1.0, "run": 1.0, "surface": 0.2}
	if minutes, err := k.time.minutes(one, 1); err == nil && minutes <= greatestMinutes {
		out.Minutes = int(math.Ceil(minutes))
	}
	return out, true
}
