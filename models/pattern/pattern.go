package pattern

import (
	"bytes"
	"fmt"
	"maps"

	"faceside/models/wood"
)

// Pattern is a kind of piece or of sub-assembly, as read from its file. The
// exported fields are what a form needs; Form gives the limits at what has been
// typed so far.
type Pattern struct {
	Key, Title, Blurb string
	Piece             bool // a piece a client may order, not only a sub-assembly
	Measures          []Measure
	Choices           []Choice

	file       string
	source     []byte
	header     [2]scalar // where key and title stand in the source
	measures   []measure
	defaults   []choiceDefault
	lets       []letValue
	rules      []rule
	takes      map[string]string // key → "part" or "assembly"
	parts      []part
	assemblies []assembly
	uses       []use
	steps      []step
	points     []point
	links      []link
	drawing    *drawing
	changes    *changes
	called     map[string]string // step key → name at the defaults, where there are changes
	reach      names
}

// Measure is one number the maker may change. Default, Least and Greatest are
// lengths or numbers as IsLength says; Least and Greatest are those at the
// defaults, or in a Form at what was typed.
type Measure struct {
	Key, Name, Help                            string
	IsLength                                   bool
	DefaultLength, LeastLength, GreatestLength wood.Length
	DefaultNumber, LeastNumber, GreatestNumber float64
}

// Choice is one thing the maker may choose.
type Choice struct {
	Key, Name, Help string
	From            string // "species", "glues", "finishes" or "" for options of its own
	Options         []Option
	Default         string
}

// choiceDefault is where the default of a choice stands.
type choiceDefault struct {
	key string
	at  scalar
}

// Option is one answer to a choice.
type Option struct{ Key, Name string }

type measure struct {
	at, defaultAt             scalar
	key, name                 string
	isLength, whole           bool
	fallback, least, greatest *formula
}

type letValue struct {
	key     string
	formula *formula
}

type rule struct {
	hold    *formula
	measure string
	say     *template
}

type part struct {
	at                       scalar
	key                      string
	name, note               *template
	when, quantity           *formula
	length, width, thickness *formula
	rough                    [3]*formula // added to length, width, thickness
	species                  *formula
	grain                    string
	bought                   bool
}

// partUse names so many of a part of ours, of a sub-assembly or taken.
type partUse struct {
	at       scalar
	ref      string
	quantity *formula // nil: all there are
}

type assembly struct {
	at                       scalar
	key                      string
	name                     *template
	when                     *formula
	parts                    []partUse
	assemblies, loose        list
	length, width, thickness *formula
}

type use struct {
	at                scalar
	pattern, as       string
	here              *template
	when              *formula
	measures, choices map[string]*formula
	givenAt           map[string]scalar // where each measure, choice or thing taken is given
	bound             map[string]scalar // taken key → reference of ours
}

type step struct {
	at                   scalar
	key, kind            string
	name, note           *template
	when                 *formula
	parts                []partUse
	assemblies           list
	makes                scalar
	with                 map[string]*formula
	glue, finish         *formula
	pieces, run, surface *formula
	keepsFaces           bool
}

type point struct {
	at    scalar
	key   string
	steps list
}

// link stands for links and chains alike: a row of groups of steps, each group
// after the one before it.
type link struct {
	at              scalar
	groups          []list
	when            *formula
	from            LinkFrom
	least, greatest *formula
	why             *template
}

// metric is a name every pattern may use: whether the shop works in millimetres,
// so that a default can be a round figure in either unit. moisture is another: the
// moisture in per cent that wood has when it is worked in the shop.
const (
	metric   = "metric"
	moisture = "moisture"
)

// ReadPattern reads one pattern file and checks all that can be checked without
// the other files; name is the file's name for errors, which are *FileError.
func ReadPattern(name string, data []byte) (*Pattern, error) {
	var doc patternDoc
	if err := decode(name, data, &doc); err != nil {
		return nil, err
	}
	r := &reader{file: name}
	p := &Pattern{file: name, source: bytes.Clone(data), header: [2]scalar{doc.Pattern, doc.Title}, reach: names{metric: isTruth, moisture: isNumber}, takes: map[string]string{}}
	p.Key = r.key(doc.Pattern, scalar{line: 1, column: 1}, "pattern", map[string]bool{})
	p.Title = r.need(doc.Title, doc.Pattern, "title")
	p.Piece = r.oneOf(doc.Is, doc.Pattern, "is", "piece", "sub-assembly") == "piece"
	if p.Blurb = doc.Blurb.text; p.Piece {
		r.need(doc.Blurb, doc.Pattern, "blurb")
	}
	r.values(p, &doc)
	r.things(p, &doc)
	r.work(p, &doc)
	if doc.Drawing != nil {
		p.drawing = r.drawing(*doc.Drawing, doc.Pattern, p.reach)
	}
	p.changes = r.changes(p, doc.Changes)
	if r.err != nil {
		return nil, r.err
	}
	return p, nil
}

// values reads choices, measures, let and must: everything with a name in expressions.
func (r *reader) values(p *Pattern, doc *patternDoc) {
	for i, d := range doc.Choices {
		p.Choices = append(p.Choices, r.choice(d, doc.Pattern, fmt.Sprintf("choices[%d]", i), p.reach))
		p.defaults = append(p.defaults, choiceDefault{d.Key.text, d.Default})
	}
	for i, d := range doc.Measures {
		at := fmt.Sprintf("measures[%d]", i)
		m := measure{at: d.Key, defaultAt: d.Default, name: r.need(d.Name, d.Key, at+".name")}
		m.key = r.name(d.Key, doc.Pattern, at+".key", p.reach)
		s := isNumber
		switch r.oneOf(d.Is, d.Key, "measures."+m.key+".is", "length", "count", "number") {
		case "length":
			m.isLength, s = true, isLength
		case "count":
			m.whole = true
		}
		m.fallback = r.needFormula(d.Default, d.Key, "measures."+m.key+".default", s, p.reach)
		p.reach[m.key] = s
		p.measures = append(p.measures, m)
		p.Measures = append(p.Measures, Measure{Key: m.key, Name: m.name, Help: d.Help.text, IsLength: m.isLength})
	}
	for i, d := range doc.Measures {
		m := &p.measures[i]
		m.least = r.needFormula(d.Least, d.Key, "measures."+m.key+".least", p.reach[m.key], p.reach)
		m.greatest = r.needFormula(d.Greatest, d.Key, "measures."+m.key+".greatest", p.reach[m.key], p.reach)
	}
	for _, l := range doc.Let {
		key := r.name(l.key, l.key, "let."+l.key.text, p.reach)
		if f := r.formula(l.value, "let."+key, 0, p.reach); f != nil {
			p.reach[key] = f.gives
			p.lets = append(p.lets, letValue{key, f})
		}
	}
	for i, d := range doc.Must {
		at := fmt.Sprintf("must[%d]", i)
		if !has(p.measures, d.Measure.text) {
			r.fail(d.Measure, at+".measure", "no measure is called %q", d.Measure.text)
		}
		r.need(d.Say, d.Hold, at+".say")
		p.rules = append(p.rules, rule{
			hold:    r.needFormula(d.Hold, doc.Pattern, at+".hold", isTruth, p.reach),
			measure: d.Measure.text, say: r.template(d.Say, at+".say", p.reach),
		})
	}
}

func has(measures []measure, key string) bool {
	for _, m := range measures {
		if m.key == key {
			return true
		}
	}
	return false
}

// choice reads one choice and puts its name in reach.
func (r *reader) choice(d choiceDoc, near scalar, at string, reach names) Choice {
	c := Choice{Key: r.name(d.Key, near, at+".key", reach), Help: d.Help.text}
	at = "choices." + c.Key
	c.Name = r.need(d.Name, d.Key, at+".name")
	if d.From.set {
		c.From = r.oneOf(d.From, d.From, at+".from", "species", "glues", "finishes")
	}
	taken := map[string]bool{}
	for i, o := range d.Options {
		option := Option{Key: r.key(o.Key, d.Key, fmt.Sprintf("%s.options[%d].key", at, i), taken), Name: o.Name.text}
		if c.From == "" {
			r.need(o.Name, o.Key, at+".options."+option.Key+".name")
		}
		c.Options = append(c.Options, option)
	}
	if c.Default = r.need(d.Default, d.Key, at+".default"); !taken[c.Default] {
		r.fail(d.Default, at+".default", "%q is none of its options", c.Default)
	}
	reach[c.Key] = isText
	return c
}

// things reads what there is: taken and own parts, assemblies, sub-assemblies.
func (r *reader) things(p *Pattern, doc *patternDoc) {
	taken := map[string]bool{}
	for _, k := range doc.Takes.Parts {
		p.takes[r.key(k, k, "takes.parts", taken)] = "part"
	}
	for _, k := range doc.Takes.Assemblies {
		p.takes[r.key(k, k, "takes.assemblies", taken)] = "assembly"
	}
	for i, d := range doc.Parts {
		p.parts = append(p.parts, r.part(d, doc.Pattern, r.key(d.Key, doc.Pattern, fmt.Sprintf("parts[%d].key", i), taken), p.reach))
	}
	for i, d := range doc.Assemblies {
		key := r.key(d.Key, doc.Pattern, fmt.Sprintf("assemblies[%d].key", i), taken)
		at := "assemblies." + key
		r.need(d.Name, d.Key, at+".name")
		p.assemblies = append(p.assemblies, assembly{
			at: d.Key, key: key, name: r.template(d.Name, at+".name", p.reach), when: r.formula(d.When, at+".when", isTruth, p.reach),
			parts: r.partUses(d.Parts, at+".parts", p.reach), assemblies: d.Assemblies, loose: d.Loose,
			length:    r.needFormula(d.Size.Length, d.Key, at+".size.length", isLength, p.reach),
			width:     r.needFormula(d.Size.Width, d.Key, at+".size.width", isLength, p.reach),
			thickness: r.needFormula(d.Size.Thickness, d.Key, at+".size.thickness", isLength, p.reach),
		})
	}
	for i, d := range doc.Uses {
		key := r.key(d.As, doc.Pattern, fmt.Sprintf("uses[%d].as", i), taken)
		p.uses = append(p.uses, r.use(d, key, p.reach))
	}
}

func (r *reader) part(d partDoc, near scalar, key string, reach names) part {
	at := "parts." + key
	r.need(d.Name, d.Key, at+".name")
	p := part{
		at: d.Key, key: key,
		name: r.template(d.Name, at+".name", reach), note: r.template(d.Note, at+".note", reach),
		when:      r.formula(d.When, at+".when", isTruth, reach),
		quantity:  r.needFormula(d.Quantity, d.Key, at+".quantity", isNumber, reach),
		length:    r.needFormula(d.Length, d.Key, at+".length", isLength, reach),
		width:     r.needFormula(d.Width, d.Key, at+".width", isLength, reach),
		thickness: r.needFormula(d.Thickness, d.Key, at+".thickness", isLength, reach),
		species:   r.needFormula(d.Species, d.Key, at+".species", isText, reach),
		grain:     "length",
		bought:    r.truth(d.Bought, at+".bought", false),
	}
	if d.Grain.set {
		p.grain = r.oneOf(d.Grain, d.Key, at+".grain", "length", "width", "none")
	}
	for i, s := range []scalar{d.Rough.Length, d.Rough.Width, d.Rough.Thickness} {
		p.rough[i] = r.formula(s, at+".rough", isLength, reach)
	}
	return p
}

func (r *reader) partUses(u uses, at string, reach names) []partUse {
	var out []partUse
	for _, e := range u.entries {
		out = append(out, partUse{at: e.key, ref: e.key.text, quantity: r.formula(e.value, at+"."+e.key.text, isNumber, reach)})
	}
	return out
}

func (r *reader) use(d useDoc, key string, reach names) use {
	at := "uses." + key
	r.need(d.Here, d.As, at+".here")
	u := use{
		at: d.As, as: key, pattern: r.need(d.Pattern, d.As, at+".pattern"),
		here: r.template(d.Here, at+".here", reach), when: r.formula(d.When, at+".when", isTruth, reach),
		measures: map[string]*formula{}, choices: map[string]*formula{},
		givenAt: map[string]scalar{}, bound: map[string]scalar{},
	}
	for _, e := range d.Measures {
		u.measures[e.key.text], u.givenAt[e.key.text] = r.formula(e.value, at+".measures."+e.key.text, 0, reach), e.key
	}
	for _, e := range d.Choices {
		u.choices[e.key.text], u.givenAt[e.key.text] = r.formula(e.value, at+".choices."+e.key.text, isText, reach), e.key
	}
	for _, e := range append(append(pairs{}, d.Parts...), d.Assemblies...) {
		u.bound[e.key.text], u.givenAt[e.key.text] = e.value, e.key
	}
	return u
}

// work reads what is done: steps, named points, chains and links.
func (r *reader) work(p *Pattern, doc *patternDoc) {
	taken := map[string]bool{}
	for _, u := range p.uses {
		taken[u.as] = true
	}
	for i, d := range doc.Steps {
		key := r.key(d.Key, doc.Pattern, fmt.Sprintf("steps[%d].key", i), taken)
		p.steps = append(p.steps, r.step(d, key, p.reach))
	}
	for i, d := range doc.Points {
		key := r.key(d.Key, doc.Pattern, fmt.Sprintf("points[%d].key", i), taken)
		p.points = append(p.points, point{d.Key, key, d.Steps})
	}
	for i, d := range doc.Chains {
		at := fmt.Sprintf("chains[%d]", i)
		r.need(d.Why, doc.Pattern, at+".why")
		if len(d.Steps) < 2 {
			r.fail(d.Why, at+".steps", "a chain needs at least two")
		}
		p.links = append(p.links, link{at: d.Why, groups: d.Steps, from: FromEnd, why: r.template(d.Why, at+".why", p.reach)})
	}
	withTimes := maps.Clone(p.reach)
	maps.Copy(withTimes, materialReach)
	for i, d := range doc.Links {
		at := fmt.Sprintf("links[%d]", i)
		r.need(d.Why, doc.Pattern, at+".why")
		l := link{
			at: d.Why, groups: []list{d.Before, d.After}, from: FromEnd, when: r.formula(d.When, at+".when", isTruth, p.reach),
			least:    r.formula(d.Least, at+".least", isNumber, withTimes),
			greatest: r.formula(d.Greatest, at+".greatest", isNumber, withTimes),
			why:      r.template(d.Why, at+".why", p.reach),
		}
		if d.From.set {
			l.from = LinkFrom(r.oneOf(d.From, d.From, at+".from", string(FromEnd), string(FromStart), string(FromAttended)))
		}
		if len(d.Before) == 0 || len(d.After) == 0 {
			r.fail(d.Why, at, "before and after must both be given")
		}
		p.links = append(p.links, l)
	}
}

func (r *reader) step(d stepDoc, key string, reach names) step {
	at := "steps." + key
	s := step{
		at: d.Key, key: key, kind: r.need(d.Kind, d.Key, at+".kind"),
		name: r.template(d.Name, at+".name", reach), note: r.template(d.Note, at+".note", reach),
		when:  r.formula(d.When, at+".when", isTruth, reach),
		parts: r.partUses(d.Parts, at+".parts", reach), assemblies: d.Assemblies, makes: d.Makes,
		with: map[string]*formula{},
		glue: r.formula(d.Glue, at+".glue", isText, reach), finish: r.formula(d.Finish, at+".finish", isText, reach),
		pieces:     r.formula(d.Pieces, at+".pieces", isNumber, reach),
		run:        r.formula(d.Run, at+".run", isLength, reach),
		surface:    r.formula(d.Surface, at+".surface", isNumber, reach),
		keepsFaces: r.truth(d.KeepsFaces, at+".keeps_faces", false),
	}
	for _, w := range d.With {
		s.with[w.key.text] = r.formula(w.value, at+".with."+w.key.text, 0, reach)
	}
	return s
}
