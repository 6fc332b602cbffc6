package pattern

import (
	"faceside/models/wood"
)

// millingWorks are what a step kind may take off a part.
var millingWorks = []string{string(wood.Crosscut), string(wood.Flatten), string(wood.Plane), string(wood.JointEdge), string(wood.RipEdge)}

// leastRough is the length that parts are left at until they are milled, so that
// jointer and planer can hold them: a little more than the 12 to 14 in that are
// common for these machines (common practice, no source; their manuals say).
const leastRough = 400 * wood.Millimetre

// roughSizes gives every part whose file says no rough size, and that does not come
// finished, the size it must have for what its steps take off.
func (b *builder) roughSizes(top *instance) {
	chains := map[string][]wood.Work{}
	b.eachInstance(top, func(in *instance) {
		for i := range in.pattern.steps {
			if err := b.takesOff(in, &in.pattern.steps[i], chains); err != nil {
				b.wrong(in, in.pattern.steps[i].key, err)
			}
		}
	})
	for i := range b.out.Parts {
		p := &b.out.Parts[i]
		if chain := chains[p.Key]; !b.sized[p.Key] && len(chain) > 0 {
			f := p.Finished
			rough, err := wood.Rough(wood.Size{Length: f.Length, Width: f.Width, Thickness: f.Thickness}, leastRough, chain...)
			if err != nil {
				b.errs.add("", "", "the rough size of %s: %s", p.Name, err)
				continue
			}
			p.Rough = Size{rough.Length, rough.Width, rough.Thickness}
		}
	}
}

// takesOff adds what a step takes off its parts.
func (b *builder) takesOff(in *instance, s *step, chains map[string][]wood.Work) error {
	k := b.lib.catalogue.kinds[s.kind]
	if len(k.takesOff) == 0 {
		return nil
	}
	there, err := s.when.holds(in.values)
	if err != nil || !there {
		return err
	}
	for _, u := range s.parts {
		if key, there := in.resolve(u.ref); there {
			chains[key] = append(chains[key], k.takesOff...)
		}
	}
	return nil
}
