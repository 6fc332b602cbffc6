package pattern

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"faceside/models/phrase"
	"faceside/models/wood"
)

// What the fields of changes set, one function for each sort of field.

// wordSetting sets a text, in which expressions may stand in braces.
func wordSetting[T any](r *reader, s scalar, field string, reach names, to func(*T) *string) setting[T] {
	words := r.template(s, field, reach)
	return setting[T]{s, field, func(b *builder, v values, x *T) (err error) {
		*to(x), err = words.fill(v, b.top, b.shown)
		return err
	}}
}

// sizeSetting sets those of three dimensions that are given.
func sizeSetting[T any](r *reader, d *sizeDoc, near scalar, field string, reach names, to func(*T) *Size) setting[T] {
	given := []*formula{
		r.formula(d.Length, field+".length", isLength, reach), r.formula(d.Width, field+".width", isLength, reach),
		r.formula(d.Thickness, field+".thickness", isLength, reach),
	}
	return setting[T]{near, field, func(b *builder, v values, x *T) error {
		z := to(x)
		for i, dimension := range []*wood.Length{&z.Length, &z.Width, &z.Thickness} {
			if given[i] != nil {
				l, err := given[i].length(v)
				if err != nil {
					return err
				}
				*dimension = l
			}
			if *dimension <= 0 {
				return fmt.Errorf("the %s would be %s", []string{"length", "width", "thickness"}[i], b.shown.length(*dimension))
			}
		}
		return nil
	}}
}

// countSetting sets a whole number between two limits.
func countSetting(r *reader, s scalar, field string, reach names, least, greatest int, to func(*Step) *int) setting[Step] {
	f := r.formula(s, field, isNumber, reach)
	return setting[Step]{s, field, func(_ *builder, v values, x *Step) (err error) {
		*to(x), err = f.count(v, least, greatest)
		return err
	}}
}

// truthSetting sets true or false.
func truthSetting(r *reader, s scalar, field string, to func(*Step) *bool) setting[Step] {
	is := r.truth(s, field, false)
	return setting[Step]{s, field, func(_ *builder, _ values, x *Step) error {
		*to(x) = is
		return nil
	}}
}

// materialSetting sets a key of a glue or finish, "" for none.
func materialSetting(r *reader, s scalar, field string, reach names, to func(*Step) *string) setting[Step] {
	f := r.formula(s, field, isText, reach)
	return setting[Step]{s, field, func(_ *builder, v values, x *Step) (err error) {
		*to(x), err = f.text(v)
		return err
	}}
}

// plainSetting sets a text as it stands.
func plainSetting(s scalar, field string, set func(*Step, string)) setting[Step] {
	return setting[Step]{s, field, func(_ *builder, _ values, x *Step) error {
		set(x, s.text)
		return nil
	}}
}

// partsSetting sets which parts, and how many of each; nothing said is all.
func partsSetting[T any](r *reader, d *uses, near scalar, field string, reach names, to func(*T) *[]PartUse) setting[T] {
	given := r.partUses(*d, field, reach)
	return setting[T]{near, field, func(b *builder, v values, x *T) error {
		var out []PartUse
		for _, u := range given {
			p := b.parts[u.ref]
			if p == nil {
				b.leaveOut(u.at, field, phrase.Of("the part “%s”, which a change names, is not there", u.ref))
				continue
			}
			n := p.Quantity
			if u.quantity != nil {
				var err error
				if n, err = u.quantity.count(v, 1, greatestCount); err != nil {
					return fmt.Errorf("%s: %w", u.ref, err)
				}
			}
			if n > p.Quantity {
				return fmt.Errorf("it takes %d of %s; there are %d", n, small(p.Name), p.Quantity)
			}
			out = append(out, PartUse{Part: u.ref, Quantity: n})
		}
		*to(x) = out
		return nil
	}}
}

// isAssembly and isPartOrAssembly say what a list of keys may name.
func isAssembly(b *builder, key string) bool { return b.assemblies[key] != nil }

func isPartOrAssembly(b *builder, key string) bool {
	return b.assemblies[key] != nil || b.parts[key] != nil
}

// keysSetting sets a list of keys.
func keysSetting[T any](keys list, near scalar, field string, there func(*builder, string) bool, to func(*T) *[]string) setting[T] {
	return setting[T]{near, field, func(b *builder, _ values, x *T) error {
		var out []string
		for _, key := range keys {
			switch {
			case slices.Contains(out, key.text):
				return fmt.Errorf("%q stands there twice", key.text)
			case !there(b, key.text):
				b.leaveOut(key, field, phrase.Of("the assembly or part “%s”, which a change names, is not there", key.text))
			default:
				out = append(out, key.text)
			}
		}
		*to(x) = out
		return nil
	}}
}

// stationSetting finds the station: the one of the key where the shop has it, else
// the first of the kind.
func stationSetting(kind, at scalar, field string) setting[Step] {
	near := kind
	if !kind.set {
		near = at
	}
	return setting[Step]{near, field, func(b *builder, _ values, x *Step) error {
		found := ""
		for _, s := range b.shop.Stations {
			if kind.set && s.Kind != kind.text {
				continue
			}
			if at.set && s.Key == at.text {
				found = s.Key
				break
			}
			if kind.set && found == "" {
				found = s.Key
			}
		}
		if found == "" {
			return fmt.Errorf("%s needs a station of the kind %q; the shop has none", x.Name, kind.text)
		}
		x.Station = found
		return nil
	}}
}

// setupSetting sets the setup, or that there is none.
func setupSetting(r *reader, d *setupDoc, near scalar, field string, reach names) setting[Step] {
	if d.Family.set || d.State.set || d.Say.set {
		r.need(d.State, near, field+".state")
	}
	family, state, say := r.template(d.Family, field+".family", reach), r.template(d.State, field+".state", reach), r.template(d.Say, field+".say", reach)
	return setting[Step]{near, field, func(b *builder, v values, x *Step) error {
		if state == nil {
			x.Setup = nil
			return nil
		}
		made := &Setup{}
		for _, one := range []struct {
			from *template
			to   *string
		}{{family, &made.Family}, {state, &made.State}, {say, &made.Instruction}} {
			var err error
			if *one.to, err = one.from.fill(v, b.top, b.shown); err != nil {
				return err
			}
		}
		x.Setup = made
		return nil
	}}
}

// clampsSetting sets the clamps: of the class named where the shop has enough of
// it, else of those that open as far.
func clampsSetting(r *reader, docs []clampChangeDoc, near scalar, field string, reach names) setting[Step] {
	type clamp struct {
		class        string
		opens, count *formula
	}
	var all []clamp
	seen := map[string]bool{}
	for i, d := range docs {
		at := fmt.Sprintf("%s[%d]", field, i)
		if r.need(d.Class, near, at+".class"); seen[d.Class.text] {
			r.fail(d.Class, at+".class", "the class %q stands there twice", d.Class.text)
		}
		seen[d.Class.text] = true
		all = append(all, clamp{d.Class.text,
			r.needFormula(d.Reach, d.Class, at+".reach", isLength, reach), r.needFormula(d.Count, d.Class, at+".count", isNumber, reach)})
	}
	return setting[Step]{near, field, func(b *builder, v values, x *Step) error {
		x.Clamps = nil
		for _, c := range all {
			n, err := c.count.count(v, 1, greatestCount)
			if err != nil {
				return err
			}
			opens, err := c.opens.length(v)
			if err != nil {
				return err
			}
			if slices.ContainsFunc(b.shop.Clamps, func(have ClampClass) bool { return have.Key == c.class && have.Count >= n }) {
				x.hold(c.class, n)
				continue
			}
			for _, use := range b.clamps(x.Name, n, opens) {
				x.hold(use.Class, use.Count)
			}
		}
		return nil
	}}
}

// hold adds clamps of a class to those the step holds.
func (s *Step) hold(class string, n int) {
	for i := range s.Clamps {
		if s.Clamps[i].Class == class {
			s.Clamps[i].Count += n
			return
		}
	}
	s.Clamps = append(s.Clamps, ClampUse{Class: class, Count: n})
}

// withSetting sets the values of the step's kind that the checks read.
func withSetting(r *reader, with pairs, near scalar, field string, reach names) setting[Step] {
	var formulas []*formula
	for _, e := range with {
		formulas = append(formulas, r.formula(e.value, field+"."+e.key.text, 0, reach))
		if f := formulas[len(formulas)-1]; f != nil && f.gives != isLength && f.gives != isNumber {
			r.fail(e.value, field+"."+e.key.text, "it gives %s where a length or a number is wanted", f.gives)
		}
	}
	return setting[Step]{near, field, func(_ *builder, v values, x *Step) error {
		x.With = nil
		for i, e := range with {
			out, err := formulas[i].eval(v)
			if err != nil {
				return err
			}
			x.With = append(x.With, valueOf(parameter{key: e.key.text, sort: formulas[i].gives}, out))
		}
		return nil
	}}
}

// cautionsSetting sets the cautions.
func cautionsSetting(r *reader, texts list, near scalar, field string, reach names) setting[Step] {
	var all []*template
	for i, s := range texts {
		all = append(all, r.template(s, fmt.Sprintf("%s[%d]", field, i), reach))
	}
	return setting[Step]{near, field, func(b *builder, v values, x *Step) error {
		x.Cautions = nil
		for _, t := range all {
			text, err := t.fill(v, b.top, b.shown)
			if err != nil {
				return err
			}
			x.Cautions = append(x.Cautions, text)
		}
		return nil
	}}
}

// greatestWork bounds one step's attended minutes and greatestSpan its rest and the
// lags of links, as the shop's records do.
const (
	greatestWork = 100_000
	greatestSpan = 1_000_000
)

// stepChange reads what is said of a step.
func (r *reader) stepChange(d *stepChangeDoc, field string, p *Pattern, seen map[string]scalar) stepChange {
	r.madeKey(d.Step, p.header[0], field+".step", "step", seen)
	c := stepChange{key: d.Step, like: d.Like, kind: d.Kind, station: d.Station, behind: d.Behind, field: field}
	add := func(given bool, make func() setting[Step]) {
		if given {
			c.sets = append(c.sets, make())
		}
	}
	add(d.Name.set, func() setting[Step] {
		r.need(d.Name, d.Step, field+".name")
		return wordSetting(r, d.Name, field+".name", p.reach, func(s *Step) *string { return &s.Name })
	})
	add(d.Note.set, func() setting[Step] {
		return wordSetting(r, d.Note, field+".note", p.reach, func(s *Step) *string { return &s.Note })
	})
	add(d.Kind.set, func() setting[Step] {
		return plainSetting(d.Kind, field+".kind", func(s *Step, is string) { s.Kind = is })
	})
	add(d.Phase.set, func() setting[Step] {
		r.oneOf(d.Phase, d.Step, field+".phase", phaseNames...)
		return plainSetting(d.Phase, field+".phase", func(s *Step, is string) { s.Phase = Phase(is) })
	})
	add(d.Verb.set, func() setting[Step] {
		return plainSetting(d.Verb, field+".verb", func(s *Step, is string) { s.Verb = is })
	})
	add(d.Station.set || d.At.set, func() setting[Step] { return stationSetting(d.Station, d.At, field+".station") })
	add(d.Setup != nil, func() setting[Step] { return setupSetting(r, d.Setup, d.Step, field+".setup", p.reach) })
	for _, t := range []struct {
		s    scalar
		name string
		to   func(*Step) *bool
	}{
		{d.Interruptible, "interruptible", func(s *Step) *bool { return &s.Interruptible }}, {d.Dusty, "dusty", func(s *Step) *bool { return &s.Dusty }},
		{d.Wet, "wet", func(s *Step) *bool { return &s.Wet }}, {d.KeepsFaces, "keeps_faces", func(s *Step) *bool { return &s.KeepsFaces }},
	} {
		add(t.s.set, func() setting[Step] { return truthSetting(r, t.s, field+"."+t.name, t.to) })
	}
	for _, n := range []struct {
		s               scalar
		name            string
		least, greatest int
		to              func(*Step) *int
	}{
		{d.Attended, "attended", 1, greatestWork, func(s *Step) *int { return &s.Attended }},
		{d.Unattended, "unattended", 0, greatestSpan, func(s *Step) *int { return &s.Unattended }},
		{d.Hands, "hands", 1, 100, func(s *Step) *int { return &s.Hands }},
		{d.OpenTime, "open_time", 0, greatestWork, func(s *Step) *int { return &s.OpenTime }},
	} {
		add(n.s.set, func() setting[Step] {
			return countSetting(r, n.s, field+"."+n.name, p.reach, n.least, n.greatest, n.to)
		})
	}
	add(d.Rest.set, func() setting[Step] {
		if d.Rest.text != "" {
			r.oneOf(d.Rest, d.Step, field+".rest", string(InClamps), string(Drying), string(Resting))
		}
		return plainSetting(d.Rest, field+".rest", func(s *Step, is string) { s.Rest = Rest(is) })
	})
	r.stepUses(d, field, p, add)
	return c
}

// stepUses reads what is said of what a step works on and with.
func (r *reader) stepUses(d *stepChangeDoc, field string, p *Pattern, add func(bool, func() setting[Step])) {
	add(d.Glue.set, func() setting[Step] {
		return materialSetting(r, d.Glue, field+".glue", p.reach, func(s *Step) *string { return &s.Glue })
	})
	add(d.Finish.set, func() setting[Step] {
		return materialSetting(r, d.Finish, field+".finish", p.reach, func(s *Step) *string { return &s.Finish })
	})
	add(d.Clamps != nil, func() setting[Step] { return clampsSetting(r, *d.Clamps, d.Step, field+".clamps", p.reach) })
	add(d.Parts != nil, func() setting[Step] {
		return partsSetting(r, d.Parts, d.Step, field+".parts", p.reach, func(s *Step) *[]PartUse { return &s.Parts })
	})
	add(d.Assemblies != nil, func() setting[Step] {
		return keysSetting(*d.Assemblies, d.Step, field+".assemblies", isAssembly, func(s *Step) *[]string { return &s.Assemblies })
	})
	add(d.Makes.set, func() setting[Step] {
		return setting[Step]{d.Makes, field + ".makes", func(b *builder, _ values, s *Step) error {
			if s.Makes = d.Makes.text; s.Makes != "" && b.assemblies[s.Makes] == nil {
				b.leaveOut(d.Makes, field+".makes", phrase.Of("the step “%[1]s” is to make the assembly “%[2]s”, which is not there", s.Name, s.Makes))
				s.Makes = ""
			}
			return nil
		}}
	})
	add(d.With != nil, func() setting[Step] { return withSetting(r, *d.With, d.Step, field+".with", p.reach) })
	add(d.Cautions != nil, func() setting[Step] { return cautionsSetting(r, *d.Cautions, d.Step, field+".cautions", p.reach) })
}

// newStep reads a step that is added. One that is like no other says at least what
// it is called, where it is done and how long, and its phase where its kind does not.
func (r *reader) newStep(d *stepChangeDoc, field string, p *Pattern, seen map[string]scalar) stepChange {
	c := r.stepChange(d, field, p, seen)
	if d.Like.set {
		return c
	}
	r.need(d.Name, d.Step, field+".name")
	r.need(d.Station, d.Step, field+".station")
	r.need(d.Attended, d.Step, field+".attended")
	if d.Kind.text == "" {
		r.need(d.Phase, d.Step, field+".phase")
	}
	return c
}

// lag works out minutes between two steps, which may be negative.
func (f *formula) lag(v values) (int, error) {
	n, err := f.number(v)
	if err != nil {
		return 0, err
	}
	if n != math.Trunc(n) || math.Abs(n) > greatestSpan {
		return 0, fmt.Errorf("%q gives %g, but whole minutes up to %d are wanted", strings.TrimSpace(f.source), n, greatestSpan)
	}
	return int(n), nil
}
