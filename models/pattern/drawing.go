package pattern

import (
	"fmt"
	"slices"
)

// The drawing of a pattern says where its parts and sub-assemblies stand in the
// box around it. Both views follow from that, so that they cannot disagree.

// drawingDoc is the section of the file. Places are measured from the left, the
// floor and the front of the box.
type drawingDoc struct {
	Box     boxDoc        `yaml:"box"`
	Trimmed scalar        `yaml:"trimmed"` // true: what stands over the box is cut off after the glue-up
	Show    []placeDoc    `yaml:"show"`
	Sizes   []sizeLineDoc `yaml:"sizes"`
}

type boxDoc struct {
	Across scalar `yaml:"across"`
	Up     scalar `yaml:"up"`
	Deep   scalar `yaml:"deep"`
}

type offsetDoc struct {
	Left   scalar `yaml:"left"`
	Above  scalar `yaml:"above"`
	Behind scalar `yaml:"behind"`
}

// placeDoc puts a part, or a sub-assembly that has a drawing, into the box.
type placeDoc struct {
	Part   scalar       `yaml:"part"`
	Use    scalar       `yaml:"use"`
	When   scalar       `yaml:"when"`
	Across scalar       `yaml:"across"` // what of it lies across: length, width or thickness of a part; across, up or deep of a sub-assembly
	Up     scalar       `yaml:"up"`
	Deep   scalar       `yaml:"deep"`
	Left   scalar       `yaml:"left"` // lengths; nothing is 0
	Above  scalar       `yaml:"above"`
	Behind scalar       `yaml:"behind"`
	Times  scalar       `yaml:"times"` // number; so many in a row
	Every  offsetDoc    `yaml:"every"` // from one to the next
	Cut    boxDoc       `yaml:"cut"`   // lengths left of it after a later cut
	Shaped []shapingDoc `yaml:"shaped"`
}

// shapingDoc takes wood off along one edge of what is placed.
type shapingDoc struct {
	When  scalar `yaml:"when"`
	Edge  scalar `yaml:"edge"`  // left, right, below, above, front, back; inner-across or inner-deep: the one that faces the middle of the box
	Along scalar `yaml:"along"` // across, up or deep
	Curve scalar `yaml:"curve"` // arch, taper or ends
	From  scalar `yaml:"from"`  // lengths from the low end of what is placed
	To    scalar `yaml:"to"`
	By    scalar `yaml:"by"`   // length: at most so much
	Over  scalar `yaml:"over"` // length: of ends, so far from each
}

// sizeLineDoc is a dimension beside those of the box, which are always there.
type sizeLineDoc struct {
	Name  scalar `yaml:"name"`
	When  scalar `yaml:"when"`
	View  scalar `yaml:"view"`  // front or side
	Along scalar `yaml:"along"` // across, up or deep
	From  scalar `yaml:"from"`  // lengths
	To    scalar `yaml:"to"`
}

// Axes of the box: from left to right, from the floor up, from front to back.
const (
	across = iota
	up
	deep
)

var (
	axisNames      = []string{"across", "up", "deep"}
	dimensionNames = []string{"length", "width", "thickness"}
	edgeNames      = []string{"left", "right", "below", "above", "front", "back", "inner-across", "inner-deep"}
)

// three is one formula an axis; nil where nothing stands.
type three [3]*formula

type drawing struct {
	at      scalar
	box     three
	trimmed bool
	show    []placing
	sizes   []sizeLine
}

type placing struct {
	at              scalar
	part            string // reference; "" where a sub-assembly is placed
	use             string
	when, times     *formula
	lies            [3]int // what lies along each axis: a place in dimensionNames or axisNames
	at0, every, cut three
	shaped          []shaping
}

type shaping struct {
	when         *formula
	edge, curve  string
	along        int
	from, to, by *formula
	over         *formula // of ends only
}

type sizeLine struct {
	name     *template
	when     *formula
	view     string
	along    int
	from, to *formula
}

func (r *reader) drawing(d drawingDoc, near scalar, reach names) *drawing {
	out := &drawing{at: near, trimmed: r.truth(d.Trimmed, "drawing.trimmed", false)}
	for i, s := range []scalar{d.Box.Across, d.Box.Up, d.Box.Deep} {
		out.box[i] = r.needFormula(s, near, "drawing.box."+axisNames[i], isLength, reach)
	}
	for i, s := range d.Show {
		out.show = append(out.show, r.placing(s, near, fmt.Sprintf("drawing.show[%d]", i), reach))
	}
	for i, s := range d.Sizes {
		at := fmt.Sprintf("drawing.sizes[%d]", i)
		r.need(s.Name, near, at+".name")
		line := sizeLine{
			name: r.template(s.Name, at+".name", reach), when: r.formula(s.When, at+".when", isTruth, reach),
			view:  r.oneOf(s.View, s.Name, at+".view", "front", "side"),
			along: slices.Index(axisNames, r.oneOf(s.Along, s.Name, at+".along", axisNames...)),
			from:  r.formula(s.From, at+".from", isLength, reach), to: r.needFormula(s.To, s.Name, at+".to", isLength, reach),
		}
		if line.along == map[string]int{"front": deep, "side": across}[line.view] {
			r.fail(s.Along, at+".along", "the %s view does not show what lies %s", line.view, s.Along.text)
		}
		out.sizes = append(out.sizes, line)
	}
	return out
}

func (r *reader) placing(d placeDoc, near scalar, at string, reach names) placing {
	p := placing{
		at: near, part: d.Part.text, use: d.Use.text,
		when:  r.formula(d.When, at+".when", isTruth, reach),
		times: r.formula(d.Times, at+".times", isNumber, reach),
	}
	known := dimensionNames
	switch {
	case d.Part.set == d.Use.set:
		r.fail(near, at, "either a part or a use is wanted")
	case d.Part.set:
		p.at = d.Part
	default:
		p.at, known = d.Use, axisNames
	}
	p.lies = r.lies([]scalar{d.Across, d.Up, d.Deep}, p.at, at, d.Use.set, known)
	where := [3]scalar{d.Left, d.Above, d.Behind}
	every := [3]scalar{d.Every.Left, d.Every.Above, d.Every.Behind}
	cut := [3]scalar{d.Cut.Across, d.Cut.Up, d.Cut.Deep}
	for i, axis := range axisNames {
		p.at0[i] = r.formula(where[i], at+"."+[]string{"left", "above", "behind"}[i], isLength, reach)
		p.every[i] = r.formula(every[i], at+".every", isLength, reach)
		p.cut[i] = r.formula(cut[i], at+".cut."+axis, isLength, reach)
	}
	for i, s := range d.Shaped {
		p.shaped = append(p.shaped, r.shaping(s, p.at, fmt.Sprintf("%s.shaped[%d]", at, i), reach))
	}
	return p
}

// lies reads what of a thing lies along each axis; each of the three must be said
// once. A sub-assembly of which nothing is said stands as it was drawn.
func (r *reader) lies(said []scalar, near scalar, at string, may bool, known []string) (out [3]int) {
	if may && !said[0].set && !said[1].set && !said[2].set {
		return [3]int{across, up, deep}
	}
	taken := map[int]bool{}
	for i, s := range said {
		out[i] = max(0, slices.Index(known, r.oneOf(s, near, at+"."+axisNames[i], known...)))
		taken[out[i]] = true
	}
	if len(taken) < 3 {
		r.fail(near, at, "across, up and deep must name each of %v once", known)
	}
	return out
}

func (r *reader) shaping(d shapingDoc, near scalar, at string, reach names) shaping {
	s := shaping{
		when:  r.formula(d.When, at+".when", isTruth, reach),
		edge:  r.oneOf(d.Edge, near, at+".edge", edgeNames...),
		along: slices.Index(axisNames, r.oneOf(d.Along, near, at+".along", axisNames...)),
		curve: r.oneOf(d.Curve, near, at+".curve", "arch", "taper", "ends"),
		from:  r.formula(d.From, at+".from", isLength, reach),
		to:    r.needFormula(d.To, near, at+".to", isLength, reach),
		by:    r.needFormula(d.By, near, at+".by", isLength, reach),
	}
	if s.curve == "ends" {
		s.over = r.needFormula(d.Over, near, at+".over", isLength, reach)
	}
	if r.err == nil && s.axis() == s.along {
		r.fail(d.Along, at+".along", "the edge %q does not run %s", s.edge, d.Along.text)
	}
	return s
}

// axis is the one an edge lies across.
func (s shaping) axis() int {
	switch s.edge {
	case "below", "above":
		return up
	case "front", "back", "inner-deep":
		return deep
	}
	return across
}

// checkDrawing looks at what a drawing names in the pattern and in others.
func (l *Library) checkDrawing(r *reader, p *Pattern) {
	if p.drawing == nil {
		return
	}
	for i, s := range p.drawing.show {
		at := fmt.Sprintf("drawing.show[%d]", i)
		if s.use == "" {
			l.refers(r, p, s.at, "part", at+".part")
			continue
		}
		j := slices.IndexFunc(p.uses, func(u use) bool { return u.as == s.use })
		switch {
		case j < 0:
			r.fail(s.at, at+".use", "no sub-assembly is called %q here", s.use)
		case l.patterns[p.uses[j].pattern] != nil && l.patterns[p.uses[j].pattern].drawing == nil:
			r.fail(s.at, at+".use", "%s has no drawing", p.uses[j].pattern)
		}
	}
}
