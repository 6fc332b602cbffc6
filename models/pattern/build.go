package pattern

import (
	"fmt"
	"strings"

	"faceside/models/wood"
)

// builder holds one Build under way.
type builder struct {
	lib      *Library
	shop     Shop
	shown    shown
	moisture float64 // of wood worked in the shop, in per cent
	errs     *Errors
	out      *Built

	parts      map[string]*Part     // by key
	bought     map[string]bool      // parts that come finished
	sized      map[string]bool      // parts whose file gives a rough size
	assemblies map[string]*Assembly // by key
	index      map[string]int       // step key → place in out.Steps
	choiceOf   map[string]string    // glue or finish key → the piece's choice that took it
	top        words                // of the texts of changes made by hand
	called     map[string]string    // step key → what it is called at the pattern's defaults
	misplaced  *misplaced           // the first of the changes made by hand that is wrong
}

// instance is one use of a pattern within a piece: the piece itself or a
// sub-assembly.
type instance struct {
	pattern *Pattern
	above   *instance
	prefix  string // of its keys, e.g. "left-end."
	here    string // what it is called, e.g. "left end"
	values  values
	bound   map[string]scalar // taken key → reference in above
	subs    map[string]*instance
	own     map[string]bool // keys of parts and assemblies that are there
}

// Build makes the parts, assemblies, steps and links of a piece for a shop. What
// is wrong with the input, or cannot be done in the shop, is *Errors: every
// reason at once. It takes time in proportion to steps squared over 64, some
// milliseconds for the largest piece.
func (l *Library) Build(in Input, shop Shop) (*Built, error) {
	b, err := l.builder(shop)
	if err != nil {
		return nil, err
	}
	return b.build(in, true)
}

// build makes the piece, with the changes that were made by hand or without.
func (b *builder) build(in Input, changed bool) (*Built, error) {
	p := b.lib.piece(in.Pattern, b.errs)
	if p == nil {
		return nil, b.errs
	}
	measures := b.typed(p, in.Measures)
	v, ok := b.settle(p, in.Choices, measures, nobody)
	if !ok || len(b.errs.List) > 0 {
		return nil, b.errs
	}
	b.out = &Built{Pattern: p.Key, Title: p.Title}
	b.record(p, v)
	top := &instance{pattern: p, here: small(p.Title), values: v}
	for _, stage := range []func(*instance){b.addSubs, b.addParts, b.addAssemblies, b.addSteps} {
		if stage(top); len(b.errs.List) > 0 {
			return nil, b.errs
		}
	}
	if b.addLinks(top); changed && len(b.errs.List) == 0 {
		b.change(top)
	}
	b.addViews(top)
	if len(b.errs.List) > 0 {
		return nil, b.errs
	}
	return b.out, nil
}

// builder is ready for one piece.
func (l *Library) builder(shop Shop) (*builder, error) {
	pct, err := moistureOf(shop)
	if err != nil {
		errs := &Errors{}
		errs.add("", "", "%s", err)
		return nil, errs
	}
	return &builder{
		lib: l, shop: shop, shown: shown{shop.Units, shop.Fraction}, moisture: pct, errs: &Errors{},
		parts: map[string]*Part{}, bought: map[string]bool{}, sized: map[string]bool{}, assemblies: map[string]*Assembly{},
		index: map[string]int{}, choiceOf: map[string]string{},
	}, nil
}

// record notes the measures and choices as they were used.
func (b *builder) record(p *Pattern, v values) {
	for _, m := range p.measures {
		value := MeasureValue{Key: m.key, Name: m.name, IsLength: m.isLength}
		if m.isLength {
			value.Length = wood.Length(size(v[m.key]))
		} else {
			value.Number = num(v[m.key])
		}
		b.out.Measures = append(b.out.Measures, value)
	}
	for _, c := range p.Choices {
		key, _ := v[c.Key].(string)
		taken := ChoiceValue{Key: c.Key, Name: c.Name, Option: key}
		for _, o := range b.offered(c).Options {
			if o.Key == key {
				taken.OptionName = o.Name
			}
		}
		if c.From != "" {
			b.choiceOf[c.From+" "+key] = c.Key
		}
		b.out.Choices = append(b.out.Choices, taken)
	}
}

// wrong notes that something of the pattern cannot be worked out here.
func (b *builder) wrong(in *instance, what string, err error) {
	b.errs.add("", "", "%s%s: %s", in.prefix, what, err)
}

// addSubs makes the tree of sub-assemblies and settles their values.
func (b *builder) addSubs(in *instance) {
	in.subs, in.own = map[string]*instance{}, map[string]bool{}
	for _, u := range in.pattern.uses {
		there, err := u.when.holds(in.values)
		if err != nil {
			b.wrong(in, u.as, err)
		}
		if !there {
			continue
		}
		sub, err := b.sub(in, u)
		if err != nil {
			b.wrong(in, u.as, err)
			continue
		}
		if sub.values == nil {
			continue // what is wrong has been noted
		}
		in.subs[u.as] = sub
		b.addSubs(sub)
	}
}

// sub settles one sub-assembly; its values are nil where they are not to be had.
func (b *builder) sub(in *instance, u use) (*instance, error) {
	sub := &instance{pattern: b.lib.patterns[u.pattern], above: in, prefix: in.prefix + u.as + ".", bound: u.bound}
	var err error
	if sub.here, err = u.here.fill(in.values, words{here: in.here}, b.shown); err != nil {
		return nil, err
	}
	choices, measures := map[string]string{}, values{}
	for key, f := range u.choices {
		if choices[key], err = f.text(in.values); err != nil {
			return nil, err
		}
	}
	for key, f := range u.measures {
		if measures[key], err = f.eval(in.values); err != nil {
			return nil, err
		}
	}
	v, ok := b.settle(sub.pattern, choices, measures, blame{here: sub.here})
	if ok {
		sub.values = v
	}
	return sub, nil
}

// addParts makes the parts of an instance and of its sub-assemblies.
func (b *builder) addParts(in *instance) {
	for i := range in.pattern.parts {
		p := &in.pattern.parts[i]
		there, err := p.when.holds(in.values)
		if err != nil {
			b.wrong(in, p.key, err)
		}
		if !there {
			continue
		}
		made, err := b.part(in, p)
		if err != nil {
			b.wrong(in, p.key, err)
			continue
		}
		in.own[p.key] = true
		b.out.Parts = append(b.out.Parts, *made)
		b.bought[made.Key] = p.bought
		b.sized[made.Key] = p.rough != [3]*formula{}
	}
	for _, u := range in.pattern.uses {
		if sub := in.subs[u.as]; sub != nil {
			b.addParts(sub)
		}
	}
	if in.above == nil {
		for i := range b.out.Parts {
			b.parts[b.out.Parts[i].Key] = &b.out.Parts[i]
		}
		b.roughSizes(in)
	}
}

// greatestCount bounds quantities, so that a slip does not build a million parts.
const greatestCount = 1000

func (b *builder) part(in *instance, p *part) (*Part, error) {
	made := &Part{Key: in.prefix + p.key, Grain: p.grain}
	var err error
	if made.Name, err = p.name.fill(in.values, words{here: in.here}, b.shown); err != nil {
		return nil, err
	}
	if made.Note, err = p.note.fill(in.values, words{here: in.here}, b.shown); err != nil {
		return nil, err
	}
	if made.Quantity, err = p.quantity.count(in.values, 1, greatestCount); err != nil {
		return nil, err
	}
	if made.Finished, err = b.size(in, made.Name, p.length, p.width, p.thickness); err != nil {
		return nil, err
	}
	made.Rough = made.Finished
	for i, dimension := range []*wood.Length{&made.Rough.Length, &made.Rough.Width, &made.Rough.Thickness} {
		if p.rough[i] == nil {
			continue
		}
		extra, err := p.rough[i].length(in.values)
		if err != nil {
			return nil, err
		}
		*dimension += max(extra, 0)
	}
	if made.Species, err = p.species.text(in.values); err != nil {
		return nil, err
	}
	for _, s := range b.lib.species {
		if s.Key == made.Species {
			return made, nil
		}
	}
	return nil, fmt.Errorf("the species %q is not known", made.Species)
}

// size works out three dimensions, all of which must be positive.
func (b *builder) size(in *instance, name string, length, width, thickness *formula) (Size, error) {
	var s Size
	for _, d := range []struct {
		to   *wood.Length
		from *formula
		name string
	}{{&s.Length, length, "length"}, {&s.Width, width, "width"}, {&s.Thickness, thickness, "thickness"}} {
		l, err := d.from.length(in.values)
		if err != nil {
			return s, err
		}
		if l <= 0 {
			return s, fmt.Errorf("%s would have a %s of %s at these measures", name, d.name, b.shown.length(l))
		}
		*d.to = l
	}
	return s, nil
}

// addAssemblies makes the assemblies of an instance and of its sub-assemblies.
func (b *builder) addAssemblies(in *instance) {
	for i := range in.pattern.assemblies {
		in.own[in.pattern.assemblies[i].key] = b.present(in, &in.pattern.assemblies[i])
	}
	for _, u := range in.pattern.uses {
		if sub := in.subs[u.as]; sub != nil {
			b.addAssemblies(sub)
		}
	}
	if in.above != nil {
		return
	}
	b.eachInstance(in, func(at *instance) {
		for i := range at.pattern.assemblies {
			a := &at.pattern.assemblies[i]
			if !at.own[a.key] {
				continue
			}
			made, err := b.assembly(at, a)
			if err != nil {
				b.wrong(at, a.key, err)
				continue
			}
			b.out.Assemblies = append(b.out.Assemblies, *made)
		}
	})
	for i := range b.out.Assemblies {
		b.assemblies[b.out.Assemblies[i].Key] = &b.out.Assemblies[i]
	}
}

func (b *builder) present(in *instance, a *assembly) bool {
	there, err := a.when.holds(in.values)
	if err != nil {
		b.wrong(in, a.key, err)
	}
	return there
}

// eachInstance visits sub-assemblies before what holds them.
func (b *builder) eachInstance(in *instance, visit func(*instance)) {
	for _, u := range in.pattern.uses {
		if sub := in.subs[u.as]; sub != nil {
			b.eachInstance(sub, visit)
		}
	}
	visit(in)
}

func (b *builder) assembly(in *instance, a *assembly) (*Assembly, error) {
	made := &Assembly{Key: in.prefix + a.key}
	var err error
	if made.Name, err = a.name.fill(in.values, words{here: in.here}, b.shown); err != nil {
		return nil, err
	}
	if made.Size, err = b.size(in, made.Name, a.length, a.width, a.thickness); err != nil {
		return nil, err
	}
	if made.Parts, err = b.partUses(in, a.parts); err != nil {
		return nil, err
	}
	for _, ref := range a.assemblies {
		if key, there := in.resolve(ref.text); there {
			made.Assemblies = append(made.Assemblies, key)
		}
	}
	for _, ref := range a.loose {
		if key, there := in.resolve(ref.text); there {
			made.Loose = append(made.Loose, key)
		}
	}
	return made, nil
}

// partUses works out which parts and how many; parts that are not there at this
// choice are left out.
func (b *builder) partUses(in *instance, uses []partUse) ([]PartUse, error) {
	var out []PartUse
	for _, u := range uses {
		key, there := in.resolve(u.ref)
		if !there {
			continue
		}
		n := b.parts[key].Quantity
		if u.quantity != nil {
			var err error
			if n, err = u.quantity.count(in.values, 1, greatestCount); err != nil {
				return nil, fmt.Errorf("%s: %w", u.ref, err)
			}
		}
		out = append(out, PartUse{Part: key, Quantity: n})
	}
	return out, nil
}

// resolve finds the key of a part or assembly from a reference such as "post" or
// "left-end.frame"; it is false where it is not there at this choice.
func (in *instance) resolve(ref string) (string, bool) {
	if as, rest, deeper := strings.Cut(ref, "."); deeper {
		sub := in.subs[as]
		if sub == nil {
			return "", false
		}
		return sub.resolve(rest)
	}
	if outer, taken := in.bound[ref]; taken {
		return in.above.resolve(outer.text)
	}
	return in.prefix + ref, in.own[ref]
}
