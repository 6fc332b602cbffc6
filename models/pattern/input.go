package pattern

import (
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"faceside/models/wood"
)

// Input is what was asked for: the piece, the measures as they were typed, and
// the options taken. What is missing or blank takes its default.
type Input struct {
	Pattern  string
	Measures map[string]string
	Choices  map[string]string
}

// Form is what a form shows of a piece at the input so far: the limits of a
// measure may hang on the other measures.
type Form struct {
	Measures []Measure
	Choices  []Choice
}

// Form works out defaults and limits at the input. A measure that cannot be
// read counts as its default here; Build says what is wrong with it.
func (l *Library) Form(in Input, shop Shop) (*Form, error) {
	errs := &Errors{}
	p := l.piece(in.Pattern, errs)
	if p == nil {
		return nil, errs
	}
	b, err := l.builder(shop)
	if err != nil {
		return nil, err
	}
	v := b.freshValues()
	b.settleChoices(p, v, in.Choices, nobody)
	given := b.typed(p, in.Measures)
	form := &Form{Measures: slices.Clone(p.Measures)}
	for _, c := range p.Choices {
		form.Choices = append(form.Choices, b.offered(c))
	}
	for i, m := range p.measures {
		fallback, err := m.fallback.eval(v)
		if err != nil {
			errs.add(m.key, "", "%s: its default: %s", m.name, err)
			return nil, errs
		}
		v[m.key] = fallback
		if g, ok := given[m.key]; ok {
			v[m.key] = g
		}
		form.Measures[i].setDefault(fallback)
	}
	_, v = b.faults(p, v) // a limit is not shown for a measure that cannot stay as it is
	for i, m := range p.measures {
		least, errLeast := m.least.eval(v)
		greatest, errGreatest := m.greatest.eval(v)
		if errLeast != nil || errGreatest != nil {
			continue // the limits cannot be told at this input; Build says why
		}
		form.Measures[i].setLimits(least, greatest, b.shown)
	}
	return form, nil
}

func (m *Measure) setDefault(v any) {
	switch x := v.(type) {
	case length:
		m.DefaultLength = x.wood()
	case float64:
		m.DefaultNumber = x
	}
}

func (m *Measure) setLimits(least, greatest any, s shown) {
	if l, ok := least.(length); ok {
		m.LeastLength, m.GreatestLength = wood.Within(l.wood(), wood.Length(size(greatest)), s.units, s.fraction)
		return
	}
	m.LeastNumber, m.GreatestNumber = num(least), num(greatest)
}

// piece finds the pattern of an input.
func (l *Library) piece(key string, errs *Errors) *Pattern {
	p := l.patterns[key]
	if p == nil {
		errs.add("", key, "there is no pattern called %q", key)
	}
	return p
}

// blame says whose value is wrong: the field of a form, and before the sentence
// the name of the sub-assembly.
type blame struct {
	piece bool
	here  string
}

var nobody = blame{piece: true}

func (w blame) field(key string) string {
	if w.piece {
		return key
	}
	return ""
}

func (w blame) prefix() string {
	if w.piece {
		return ""
	}
	return capital(w.here) + ": "
}

// typed reads the measures of an input; what cannot be read is an error.
func (b *builder) typed(p *Pattern, texts map[string]string) values {
	out := values{}
	for _, key := range slices.Sorted(maps.Keys(texts)) {
		text := strings.TrimSpace(texts[key])
		i := slices.IndexFunc(p.measures, func(m measure) bool { return m.key == key })
		switch {
		case i < 0:
			b.errs.add(key, text, "%s has no measure called %q", p.Title, key)
		case text == "":
		case p.measures[i].isLength:
			l, err := wood.ParseLength(text, b.shop.Units)
			if err != nil {
				b.errs.add(key, text, "%s: %s", p.measures[i].name, err)
				continue
			}
			out[key] = fromWood(l)
		default:
			n, err := strconv.ParseFloat(text, 64)
			if err != nil || math.IsNaN(n) || math.IsInf(n, 0) {
				b.errs.add(key, text, "%s: %q is not a number", p.measures[i].name, text)
				continue
			}
			out[key] = n
		}
	}
	return out
}

// settle works out every named value of a pattern and checks it against limits
// and rules. It is false where a value could not be worked out at all.
func (b *builder) settle(p *Pattern, choices map[string]string, measures values, who blame) (values, bool) {
	v := b.freshValues()
	b.settleChoices(p, v, choices, who)
	for _, m := range p.measures {
		if g, ok := measures[m.key]; ok {
			v[m.key] = g
			continue
		}
		out, err := m.fallback.eval(v)
		if err != nil {
			b.errs.add(who.field(m.key), "", "%s%s: its default: %s", who.prefix(), m.name, err)
			return nil, false
		}
		v[m.key] = out
	}
	if !b.allWithin(p, v, who) {
		return nil, false
	}
	within := true
	for _, l := range p.lets {
		out, err := l.formula.eval(v)
		if err != nil {
			b.errs.add("", "", "%s%s: %s", who.prefix(), l.key, err)
			return nil, false
		}
		v[l.key] = out
	}
	for _, r := range p.rules {
		within = b.keeps(r, v, who) && within
	}
	return v, within
}

// freshValues hold what every pattern may use.
func (b *builder) freshValues() values {
	return values{metric: b.shop.Units != wood.Inches, moisture: b.moisture}
}

func (b *builder) settleChoices(p *Pattern, v values, taken map[string]string, who blame) {
	for _, c := range p.Choices {
		c = b.offered(c)
		v[c.Key] = c.Default
		option := taken[c.Key]
		if option == "" {
			continue
		}
		if !slices.ContainsFunc(c.Options, func(o Option) bool { return o.Key == option }) {
			b.errs.add(who.field(c.Key), option, "%s%s: there is no option %q; there are %s", who.prefix(), c.Name, option, optionKeys(c))
			continue
		}
		v[c.Key] = option
	}
	for _, key := range slices.Sorted(maps.Keys(taken)) {
		if !slices.ContainsFunc(p.Choices, func(c Choice) bool { return c.Key == key }) {
			b.errs.add(who.field(key), taken[key], "%s%s has no choice called %q", who.prefix(), p.Title, key)
		}
	}
}

// offered leaves of a choice of glue or finish what the shop has, under the shop's
// names, and adds what is the shop's own and in no list of classes. Where it has
// none of them the choice stays whole, and the step that wants it is refused.
func (b *builder) offered(c Choice) Choice {
	var shelf, own []Option
	switch c.From {
	case "glues":
		for _, g := range b.shop.Glues {
			shelf = append(shelf, Option{Key: g.Key, Name: g.Name})
		}
		own = missing(shelf, b.lib.glues, func(g Glue) string { return g.Key })
	case "finishes":
		for _, f := range b.shop.Finishes {
			shelf = append(shelf, Option{Key: f.Key, Name: f.Name})
		}
		own = missing(shelf, b.lib.finishes, func(f Finish) string { return f.Key })
	default:
		return c
	}
	has := map[string]bool{}
	var there []Option
	for _, o := range slices.Concat(c.Options, own) {
		i := slices.IndexFunc(shelf, func(s Option) bool { return s.Key == o.Key })
		if i >= 0 && !has[o.Key] {
			there, has[o.Key] = append(there, shelf[i]), true
		}
	}
	if len(there) == 0 {
		return c
	}
	if c.Options = there; !has[c.Default] {
		c.Default = there[0].Key
	}
	return c
}

// missing are the options whose key is none of a list's.
func missing[T any](options []Option, list []T, key func(T) string) []Option {
	return slices.DeleteFunc(slices.Clone(options), func(o Option) bool {
		return slices.ContainsFunc(list, func(x T) bool { return key(x) == o.Key })
	})
}

func optionKeys(c Choice) string {
	keys := make([]string, len(c.Options))
	for i, o := range c.Options {
		keys[i] = o.Key
	}
	return strings.Join(keys, ", ")
}

// magnitude orders values of one sort.
func magnitude(v any) float64 {
	if l, ok := v.(length); ok {
		return l.nm
	}
	return num(v)
}

// keeps checks one rule between the values.
func (b *builder) keeps(r rule, v values, who blame) bool {
	ok, err := r.hold.holds(v)
	if err == nil && ok {
		return true
	}
	say, errSay := r.say.fill(v, words{here: who.here}, b.shown)
	if err != nil || errSay != nil {
		say = "a rule of the pattern cannot be worked out at these measures"
	}
	value := ""
	if x, ok := v[r.measure]; ok {
		value = b.shown.value(x)
	}
	b.errs.add(who.field(r.measure), value, "%s%s", who.prefix(), say)
	return false
}
