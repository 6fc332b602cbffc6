package models

import "slices"

type saidKey struct{}

// Said is a copy of the snapshot with its texts as a screen shows them: names of
// steps, parts, stations and materials, setups, cautions, notes and reasons. What
// people call their commissions, and each other, stays as it is. It is for showing
// only: what is written back comes from the records as they are. It is made once,
// in the shop's language, and shared like the snapshot itself.
func (s *Snapshot) Said(say func(string) string) *Snapshot {
	return s.Keep(saidKey{}, func() any { return s.inWords(say) }).(*Snapshot)
}

func (s *Snapshot) inWords(say func(string) string) *Snapshot {
	c := s.Copied()
	c.Zones = said(s.Zones, func(r *Zone) { r.Name = say(r.Name) })
	c.Stations = said(s.Stations, func(r *Station) { r.Name, r.Caution = say(r.Name), say(r.Caution) })
	c.Setups = said(s.Setups, func(r *Setup) { r.State, r.Instruction = say(r.State), say(r.Instruction) })
	c.Clamps = said(s.Clamps, func(r *ClampClass) { r.Name = say(r.Name) })
	c.Glues = said(s.Glues, func(r *Glue) { r.Name, r.Caution = say(r.Name), say(r.Caution) })
	c.Finishes = said(s.Finishes, func(r *Finish) { r.Name, r.Caution = say(r.Name), say(r.Caution) })
	c.Pieces = said(s.Pieces, func(r *Piece) { r.Name = say(r.Name) })
	c.Parts = said(s.Parts, func(r *Part) { r.Name, r.Note = say(r.Name), say(r.Note) })
	c.Assemblies = said(s.Assemblies, func(r *Assembly) { r.Name = say(r.Name) })
	c.Links = said(s.Links, func(r *Link) { r.Why = say(r.Why) })
	c.Steps = said(s.Steps, func(r *Step) {
		r.Name, r.Note, r.SetTo = say(r.Name), say(r.Note), say(r.SetTo)
		r.Cautions = slices.Clone(r.Cautions)
		for i := range r.Cautions {
			r.Cautions[i] = say(r.Cautions[i])
		}
	})
	return c
}

func said[T any](records []T, say func(*T)) []T {
	c := slices.Clone(records)
	for i := range c {
		say(&c[i])
	}
	return c
}
