package pattern

import (
	"fmt"
	"regexp"
)

// The changes of a pattern are what a maker changed by hand of the order of work
// that the rest of its file makes. They name steps, parts and assemblies by the
// keys that those have in the whole piece ("left-end.glue-up"). Expressions in
// them may use the choices and measures of the piece.

// changesDoc is the section "changes" of a pattern file.
type changesDoc struct {
	Parts         []partChangeDoc     `yaml:"parts"`
	Assemblies    []assemblyChangeDoc `yaml:"assemblies"`
	NewAssemblies []assemblyChangeDoc `yaml:"new_assemblies"`
	WithoutSteps  list                `yaml:"without_steps"`
	Steps         []stepChangeDoc     `yaml:"steps"`
	NewSteps      []stepChangeDoc     `yaml:"new_steps"`
	WithoutLinks  []linkChangeDoc     `yaml:"without_links"`
	Links         []linkChangeDoc     `yaml:"links"`
	NewLinks      []linkChangeDoc     `yaml:"new_links"`
}

type partChangeDoc struct {
	Part  scalar   `yaml:"part"`
	Rough *sizeDoc `yaml:"rough_size"` // the whole size, not what is added
	Note  scalar   `yaml:"note"`       // template
}

type assemblyChangeDoc struct {
	Assembly   scalar   `yaml:"assembly"`
	Name       scalar   `yaml:"name"` // template
	Parts      *uses    `yaml:"parts"`
	Assemblies *list    `yaml:"assemblies"`
	Loose      *list    `yaml:"loose"`
	Size       *sizeDoc `yaml:"size"`
}

type stepChangeDoc struct {
	Step          scalar            `yaml:"step"`
	Like          scalar            `yaml:"like"`   // of a new step: the step it is like, but for what is said here
	Behind        scalar            `yaml:"behind"` // the step it is listed behind; empty: the first
	Kind          scalar            `yaml:"kind"`   // empty: the maker's own
	Phase         scalar            `yaml:"phase"`
	Verb          scalar            `yaml:"verb"`
	Name          scalar            `yaml:"name"`    // template
	Note          scalar            `yaml:"note"`    // template
	Station       scalar            `yaml:"station"` // kind of station
	At            scalar            `yaml:"at"`      // key of the one that is taken where the shop has it
	Setup         *setupDoc         `yaml:"setup"`   // templates; {}: none
	Attended      scalar            `yaml:"attended"`
	Unattended    scalar            `yaml:"unattended"`
	Rest          scalar            `yaml:"rest"`
	Interruptible scalar            `yaml:"interruptible"`
	Hands         scalar            `yaml:"hands"`
	Dusty         scalar            `yaml:"dusty"`
	Wet           scalar            `yaml:"wet"`
	OpenTime      scalar            `yaml:"open_time"`
	Glue          scalar            `yaml:"glue"`   // text; the empty text: none
	Finish        scalar            `yaml:"finish"` // text; the empty text: none
	Clamps        *[]clampChangeDoc `yaml:"clamps"`
	Parts         *uses             `yaml:"parts"`
	Assemblies    *list             `yaml:"assemblies"`
	Makes         scalar            `yaml:"makes"` // empty: none
	With          *pairs            `yaml:"with"`
	KeepsFaces    scalar            `yaml:"keeps_faces"`
	Cautions      *list             `yaml:"cautions"`
}

type clampChangeDoc struct {
	Class scalar `yaml:"class"` // the class that is taken where the shop has it
	Reach scalar `yaml:"reach"` // else one that opens so far
	Count scalar `yaml:"count"`
}

type linkChangeDoc struct {
	Before   scalar `yaml:"before"`
	After    scalar `yaml:"after"`
	From     scalar `yaml:"from"`
	Least    scalar `yaml:"least"`
	Greatest scalar `yaml:"greatest"` // nothing: no greatest
	Why      scalar `yaml:"why"`      // template
}

// changes are those of a pattern, checked.
type changes struct {
	parts                     []partChange
	assemblies, newAssemblies []assemblyChange
	withoutSteps              list
	steps, newSteps           []stepChange
	withoutLinks              []linkChange
	links, newLinks           []linkChange
}

type partChange struct {
	key   scalar
	field string
	sets  []setting[Part]
}

type assemblyChange struct {
	key   scalar
	field string
	sets  []setting[Assembly]
}

type stepChange struct {
	key, like, kind, station, behind scalar
	field                            string
	sets                             []setting[Step]
}

type linkChange struct {
	before, after   scalar
	field           string
	from            LinkFrom
	least, greatest *formula
	why             *template
}

// setting gives one field of a thing another value.
type setting[T any] struct {
	at    scalar
	field string
	set   func(*builder, values, *T) error
}

// madeKey is a key of the whole piece. What a step was split from or added like
// stands before a #, and a stage of it is named after that ("seat.glue#2-stage-1").
var madeKey = regexp.MustCompile(`^[a-z][a-z0-9-]*(\.[a-z][a-z0-9-]*)*(#[0-9]{1,6}[a-z0-9-]*)*$`)

// changes reads the changes of a pattern.
func (r *reader) changes(p *Pattern, doc *changesDoc) *changes {
	if doc == nil {
		return nil
	}
	c := &changes{withoutSteps: doc.WithoutSteps}
	if !p.Piece {
		r.fail(p.header[0], "changes", "only a piece has changes: a sub-assembly is written anew where it is to be another")
	}
	seen := map[string]scalar{}
	for i, key := range doc.WithoutSteps {
		r.madeKey(key, key, fmt.Sprintf("changes.without_steps[%d]", i), "step", seen)
	}
	for i := range doc.Parts {
		c.parts = append(c.parts, r.partChange(&doc.Parts[i], fmt.Sprintf("changes.parts[%d]", i), p, seen))
	}
	for i := range doc.Assemblies {
		c.assemblies = append(c.assemblies, r.assemblyChange(&doc.Assemblies[i], fmt.Sprintf("changes.assemblies[%d]", i), p, seen))
	}
	for i := range doc.NewAssemblies {
		d, field := &doc.NewAssemblies[i], fmt.Sprintf("changes.new_assemblies[%d]", i)
		c.newAssemblies = append(c.newAssemblies, r.assemblyChange(d, field, p, seen))
		r.need(d.Name, d.Assembly, field+".name")
		if d.Size == nil {
			r.fail(d.Assembly, field+".size", "it is missing")
		}
	}
	for i := range doc.Steps {
		d, field := &doc.Steps[i], fmt.Sprintf("changes.steps[%d]", i)
		c.steps = append(c.steps, r.stepChange(d, field, p, seen))
		if d.Like.set {
			r.fail(d.Like, field+".like", "only a new step is like another")
		}
	}
	for i := range doc.NewSteps {
		c.newSteps = append(c.newSteps, r.newStep(&doc.NewSteps[i], fmt.Sprintf("changes.new_steps[%d]", i), p, seen))
	}
	for _, links := range []struct {
		name string
		from []linkChangeDoc
		to   *[]linkChange
	}{{"without_links", doc.WithoutLinks, &c.withoutLinks}, {"links", doc.Links, &c.links}, {"new_links", doc.NewLinks, &c.newLinks}} {
		for i := range links.from {
			*links.to = append(*links.to, r.linkChange(&links.from[i], fmt.Sprintf("changes.%s[%d]", links.name, i), p, seen))
		}
	}
	return c
}

// madeKey is the key of something of the whole piece, changed once at most.
func (r *reader) madeKey(s, near scalar, field, what string, seen map[string]scalar) {
	text := r.need(s, near, field)
	if r.err != nil {
		return
	}
	if !madeKey.MatchString(text) || len(text) > 200 {
		r.fail(s, field, "%q is no key of a %s", text, what)
	}
	if first, twice := seen[what+" "+text]; twice {
		r.fail(s, field, "the %s %q is changed in line %d already", what, text, first.line)
	}
	seen[what+" "+text] = s
}

func (r *reader) partChange(d *partChangeDoc, field string, p *Pattern, seen map[string]scalar) partChange {
	r.madeKey(d.Part, p.header[0], field+".part", "part", seen)
	c := partChange{key: d.Part, field: field}
	if d.Rough != nil {
		c.sets = append(c.sets, sizeSetting(r, d.Rough, d.Part, field+".rough_size", p.reach, func(x *Part) *Size { return &x.Rough }))
	}
	if d.Note.set {
		c.sets = append(c.sets, wordSetting(r, d.Note, field+".note", p.reach, func(x *Part) *string { return &x.Note }))
	}
	return c
}

func (r *reader) assemblyChange(d *assemblyChangeDoc, field string, p *Pattern, seen map[string]scalar) assemblyChange {
	r.madeKey(d.Assembly, p.header[0], field+".assembly", "assembly", seen)
	c := assemblyChange{key: d.Assembly, field: field}
	if d.Name.set {
		c.sets = append(c.sets, wordSetting(r, d.Name, field+".name", p.reach, func(x *Assembly) *string { return &x.Name }))
	}
	if d.Parts != nil {
		c.sets = append(c.sets, partsSetting(r, d.Parts, d.Assembly, field+".parts", p.reach, func(x *Assembly) *[]PartUse { return &x.Parts }))
	}
	if d.Assemblies != nil {
		c.sets = append(c.sets, keysSetting(*d.Assemblies, d.Assembly, field+".assemblies", isAssembly, func(x *Assembly) *[]string { return &x.Assemblies }))
	}
	if d.Loose != nil {
		c.sets = append(c.sets, keysSetting(*d.Loose, d.Assembly, field+".loose", isPartOrAssembly, func(x *Assembly) *[]string { return &x.Loose }))
	}
	if d.Size != nil {
		c.sets = append(c.sets, sizeSetting(r, d.Size, d.Assembly, field+".size", p.reach, func(x *Assembly) *Size { return &x.Size }))
	}
	return c
}

func (r *reader) linkChange(d *linkChangeDoc, field string, p *Pattern, seen map[string]scalar) linkChange {
	c := linkChange{before: d.Before, after: d.After, field: field, from: FromEnd,
		least:    r.formula(d.Least, field+".least", isNumber, p.reach),
		greatest: r.formula(d.Greatest, field+".greatest", isNumber, p.reach),
		why:      r.template(d.Why, field+".why", p.reach)}
	r.need(d.Before, d.After, field+".before")
	r.need(d.After, d.Before, field+".after")
	if d.From.set {
		c.from = LinkFrom(r.oneOf(d.From, d.From, field+".from", string(FromEnd), string(FromStart), string(FromAttended)))
	}
	name := fmt.Sprintf("link from the %s of %q to %q", c.from, d.Before.text, d.After.text)
	if first, twice := seen[name]; twice {
		r.fail(d.Before, field, "the %s is changed in line %d already", name, first.line)
	}
	seen[name] = d.Before
	if d.Before.text == d.After.text {
		r.fail(d.After, field+".after", "the step %q cannot wait for itself", d.After.text)
	}
	return c
}
