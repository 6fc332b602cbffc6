package pattern

import (
	"fmt"
	"strings"

	"faceside/models/wood"
)

// place chooses the first station of the kind that takes everything the step
// works on, and says in how many passes. None is an error that names the part,
// the dimension, the value and the limit.
func (b *builder) place(k *kind, made *Step) int {
	var refusals []string
	found := false
	for _, s := range b.shop.Stations {
		if s.Kind != k.station {
			continue
		}
		found = true
		passes, refusal := b.takes(s, k, made)
		if refusal == "" {
			made.Station = s.Key
			if passes > 1 {
				made.Note = strings.TrimSpace(made.Note + " Wider than " + s.Name + " closed: two passes at each height, turning the work end for end.")
			}
			return passes
		}
		refusals = append(refusals, refusal)
	}
	if !found {
		b.errs.add("", k.station, "%s needs a station of the kind %q; the shop has none", made.Name, k.station)
		return 1
	}
	b.errs.add("", "", "%s: no station takes it: %s", made.Name, strings.Join(refusals, "; "))
	return 1
}

// instead is the kind of step that takes the place of one whose work no station of
// the shop takes, where another station takes it then; else nil.
func (b *builder) instead(k *kind, made *Step) *kind {
	other := b.lib.catalogue.kinds[k.instead]
	if other == nil {
		return nil
	}
	there, fits := b.fits(k, made)
	if _, otherFits := b.fits(other, made); !there || fits || !otherFits {
		return nil
	}
	return other
}

// fits says whether the shop has a station of a kind's sort, and one that takes the work.
func (b *builder) fits(k *kind, made *Step) (there, fits bool) {
	for _, s := range b.shop.Stations {
		if s.Kind == k.station {
			_, refusal := b.takes(s, k, made)
			there, fits = true, fits || refusal == ""
		}
	}
	return there, fits
}

// takes says in how many passes a station takes the step's work, or why not.
func (b *builder) takes(s Station, k *kind, made *Step) (passes int, refusal string) {
	passes = 1
	if k.handles == nil {
		return passes, ""
	}
	b.eachItem(made, k.handles.rough, func(name string, _ int, z Size) {
		across, through := z.Width, z.Thickness
		acrossName, throughName := "wide", "thick"
		if k.handles.onEdge {
			across, through, acrossName, throughName = through, across, throughName, acrossName
		}
		limit := s.MaxWidth
		if s.OpenEnded {
			limit *= 2
		}
		switch {
		case refusal != "":
		case s.MaxWidth > 0 && across > limit:
			refusal = b.refusal(s, name, across, acrossName, "at most", limit)
		case s.MaxThickness > 0 && through > s.MaxThickness:
			refusal = b.refusal(s, name, through, throughName, "at most", s.MaxThickness)
		case s.MinLength > 0 && z.Length < s.MinLength:
			refusal = b.refusal(s, name, z.Length, "long", "at least", s.MinLength)
		case s.MaxWidth > 0 && across > s.MaxWidth:
			passes = 2
		}
	})
	return passes, refusal
}

func (b *builder) refusal(s Station, part string, value wood.Length, dimension, bound string, limit wood.Length) string {
	return fmt.Sprintf("%s is %s %s and %s takes %s %s", part, b.shown.length(value), dimension, s.Name, bound, b.shown.length(limit))
}
