package pattern

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// check looks at everything in a pattern that refers to another file or to
// another place in its own: step kinds and their parameters, sub-assemblies and
// what is passed to them, parts, assemblies, steps and points.
func (l *Library) check(p *Pattern) error {
	r := &reader{file: p.file}
	if err := l.noSelfUse(p, nil); err != nil {
		return err
	}
	for i := range p.Choices {
		l.checkOptions(r, p, &p.Choices[i])
	}
	for _, u := range p.uses {
		l.checkUse(r, p, u)
	}
	for _, a := range p.assemblies {
		at := "assemblies." + a.key
		l.checkParts(r, p, a.parts, at+".parts")
		for _, ref := range a.assemblies {
			l.refers(r, p, ref, "assembly", at+".assemblies")
		}
		for _, ref := range a.loose {
			if !slices.ContainsFunc(a.parts, func(u partUse) bool { return u.ref == ref.text }) && !slices.ContainsFunc(a.assemblies, func(s scalar) bool { return s.text == ref.text }) {
				r.fail(ref, at+".loose", "%q is not among its parts and assemblies", ref.text)
			}
		}
	}
	for _, s := range p.steps {
		l.checkStep(r, p, s)
	}
	for _, pt := range p.points {
		for _, s := range pt.steps {
			l.checkSteps(r, p, s, "points."+pt.key, []string{pt.key})
		}
	}
	for _, k := range p.links {
		for _, group := range k.groups {
			for _, s := range group {
				l.checkSteps(r, p, s, "links", nil)
			}
		}
	}
	l.checkDrawing(r, p)
	l.checkChanges(r, p)
	return r.err
}

// checkChanges looks whether the catalogue knows the kinds of steps in the changes.
func (l *Library) checkChanges(r *reader, p *Pattern) {
	if p.changes == nil {
		return
	}
	for _, s := range slices.Concat(p.changes.steps, p.changes.newSteps) {
		if s.kind.text != "" && l.catalogue.kinds[s.kind.text] == nil {
			r.fail(s.kind, s.field+".kind", "the step catalogue knows no kind %q", s.kind.text)
		}
	}
}

// noSelfUse refuses a sub-assembly that holds itself, at whatever depth.
func (l *Library) noSelfUse(p *Pattern, above []string) error {
	if slices.Contains(above, p.Key) {
		return &FileError{File: p.file, Field: "uses", Reason: "it holds itself: " + strings.Join(append(above, p.Key), " holds ")}
	}
	for _, u := range p.uses {
		if inner := l.patterns[u.pattern]; inner != nil {
			if err := l.noSelfUse(inner, append(slices.Clone(above), p.Key)); err != nil {
				return err
			}
		}
	}
	return nil
}

// checkOptions fills in the names of options taken from the lists of materials.
func (l *Library) checkOptions(r *reader, p *Pattern, c *Choice) {
	known := map[string]string{}
	switch c.From {
	case "":
		return
	case "species":
		for _, s := range l.species {
			known[s.Key] = s.Name
		}
	case "glues":
		for _, g := range l.glues {
			known[g.Key] = g.Name
		}
	case "finishes":
		for _, f := range l.finishes {
			known[f.Key] = f.Name
		}
	}
	for i, o := range c.Options {
		if known[o.Key] == "" {
			r.fail(scalar{line: 1, column: 1}, "choices."+c.Key+".options", "%q is not among the %s", o.Key, c.From)
		}
		if o.Name == "" {
			c.Options[i].Name = known[o.Key]
		}
	}
}

func (l *Library) checkUse(r *reader, p *Pattern, u use) {
	at := "uses." + u.as
	inner := l.patterns[u.pattern]
	if inner == nil {
		r.fail(u.at, at+".pattern", "no pattern is called %q", u.pattern)
		return
	}
	if inner.changes != nil {
		r.fail(u.at, at+".pattern", "%s holds changes made by hand, which are of the whole piece: it is not used inside another", u.pattern)
	}
	for _, key := range slices.Sorted(maps.Keys(u.measures)) {
		m, f := inner.reach[key], u.measures[key]
		switch {
		case !has(inner.measures, key):
			r.fail(u.givenAt[key], at+".measures", "%s has no measure called %q", u.pattern, key)
		case f == nil || f.gives != m:
			r.fail(u.givenAt[key], at+".measures."+key, "%s is wanted", m)
		}
	}
	for _, key := range slices.Sorted(maps.Keys(u.choices)) {
		if !slices.ContainsFunc(inner.Choices, func(c Choice) bool { return c.Key == key }) {
			r.fail(u.givenAt[key], at+".choices", "%s has no choice called %q", u.pattern, key)
		}
	}
	for _, key := range slices.Sorted(maps.Keys(u.bound)) {
		if inner.takes[key] == "" {
			r.fail(u.givenAt[key], at, "%s takes nothing called %q", u.pattern, key)
			return
		}
		l.refers(r, p, u.bound[key], inner.takes[key], at+"."+key)
	}
	for _, key := range slices.Sorted(maps.Keys(inner.takes)) {
		if !u.bound[key].set {
			r.fail(u.at, at, "%s must be given the %s %q", u.pattern, inner.takes[key], key)
		}
	}
}

// refers checks a reference such as "post" or "left-end.frame".
func (l *Library) refers(r *reader, p *Pattern, ref scalar, what, at string) {
	if r.err == nil && !l.knows(p, ref.text, what) {
		r.fail(ref, at, "no %s is called %q", what, ref.text)
	}
}

func (l *Library) knows(p *Pattern, ref, what string) bool {
	if as, rest, deeper := strings.Cut(ref, "."); deeper {
		for _, u := range p.uses {
			if u.as == as {
				return l.patterns[u.pattern] != nil && l.knows(l.patterns[u.pattern], rest, what)
			}
		}
		return false
	}
	if p.takes[ref] == what {
		return true
	}
	switch what {
	case "part":
		return slices.ContainsFunc(p.parts, func(x part) bool { return x.key == ref })
	case "assembly":
		return slices.ContainsFunc(p.assemblies, func(x assembly) bool { return x.key == ref })
	}
	return slices.ContainsFunc(p.steps, func(x step) bool { return x.key == ref }) ||
		slices.ContainsFunc(p.points, func(x point) bool { return x.key == ref })
}

func (l *Library) checkParts(r *reader, p *Pattern, uses []partUse, at string) {
	for _, u := range uses {
		s := u.at
		s.text = u.ref
		l.refers(r, p, s, "part", at)
		if p.takes[u.ref] == "part" && u.quantity == nil {
			r.fail(u.at, at+"."+u.ref, "a part that is taken from outside needs a quantity here")
		}
	}
}

func (l *Library) checkStep(r *reader, p *Pattern, s step) {
	at := "steps." + s.key
	l.checkParts(r, p, s.parts, at+".parts")
	for _, ref := range s.assemblies {
		l.refers(r, p, ref, "assembly", at+".assemblies")
	}
	if s.makes.set {
		l.refers(r, p, s.makes, "assembly", at+".makes")
	}
	k := l.catalogue.kinds[s.kind]
	if k == nil {
		r.fail(s.at, at+".kind", "the step catalogue knows no kind %q", s.kind)
		return
	}
	if idle := !s.makes.set && len(s.parts)+len(s.assemblies) == 0; idle != k.jig {
		r.fail(s.at, at, "a step works on parts or assemblies or makes one; only a kind marked as a jig works on nothing")
	}
	for _, q := range k.parameters {
		f := s.with[q.key]
		if f == nil && q.fallback == nil {
			r.fail(s.at, at+".with", "the kind %s needs %q, %s", k.key, q.key, q.sort)
		}
		if f != nil && f.gives != q.sort {
			r.fail(s.at, at+".with."+q.key, "it gives %s where %s is wanted", f.gives, q.sort)
		}
	}
	for _, key := range slices.Sorted(maps.Keys(s.with)) {
		if !slices.ContainsFunc(k.parameters, func(q parameter) bool { return q.key == key }) {
			r.fail(s.at, at+".with", "the kind %s has no parameter %q", k.key, key)
		}
	}
	if k.glued != (s.glue != nil) {
		r.fail(s.at, at+".glue", "the kind %s %s", k.key, wanted(k.glued, "glue"))
	}
	if k.coated != (s.finish != nil) {
		r.fail(s.at, at+".finish", "the kind %s %s", k.key, wanted(k.coated, "finish"))
	}
}

func wanted(yes bool, what string) string {
	if yes {
		return "needs a " + what
	}
	return "takes no " + what
}

// selector is one entry of a link: the steps of one phase, or all, that work on
// a part or an assembly ("milling of post"), or a step or named point. "first"
// or "last" before it means the first or last of them as the pattern wrote them.
type selector struct {
	end   string // "first", "last" or ""
	phase Phase  // "" is any phase
	of    string // part or assembly; "" where ref names a step or point
	ref   string
}

func parseSelector(text string) (selector, error) {
	for _, end := range []string{"first", "last"} {
		if rest, cut := strings.CutPrefix(text, end+" "); cut {
			sel, err := parseSelector(rest)
			if sel.end != "" {
				return selector{}, fmt.Errorf("%q says first or last twice", text)
			}
			sel.end = end
			return sel, err
		}
	}
	phase, of, grouped := strings.Cut(text, " of ")
	if !grouped {
		return selector{ref: text}, nil
	}
	if phase == "all" {
		return selector{of: of}, nil
	}
	if !slices.Contains(phaseNames, phase) {
		return selector{}, fmt.Errorf("%q is neither a phase nor \"all\"", phase)
	}
	return selector{phase: Phase(phase), of: of}, nil
}

// checkSteps checks one selector; inside names the points being followed.
func (l *Library) checkSteps(r *reader, p *Pattern, s scalar, at string, inside []string) {
	sel, err := parseSelector(s.text)
	switch {
	case err != nil:
		r.fail(s, at, "%s", err)
		return
	case sel.of != "":
		if !l.knows(p, sel.of, "part") && !l.knows(p, sel.of, "assembly") {
			r.fail(s, at, "no part or assembly is called %q", sel.of)
		}
		return
	case !l.knows(p, sel.ref, "step"):
		r.fail(s, at, "no step or point is called %q", sel.ref)
		return
	}
	for _, pt := range p.points {
		if pt.key != sel.ref {
			continue
		}
		if slices.Contains(inside, pt.key) {
			r.fail(s, at, "the point %q holds itself", pt.key)
			return
		}
		for _, next := range pt.steps {
			l.checkSteps(r, p, next, at, append(slices.Clone(inside), pt.key))
		}
	}
}
