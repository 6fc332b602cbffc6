package pattern

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
)

// addLinks makes the links the patterns name, then those that follow from what a
// step works on, and puts the steps in an order that respects them all.
func (b *builder) addLinks(top *instance) {
	b.eachInstance(top, func(in *instance) {
		for i := range in.pattern.links {
			if err := b.row(in, &in.pattern.links[i]); err != nil {
				b.wrong(in, "a link", err)
			}
		}
	})
	if len(b.errs.List) > 0 {
		return
	}
	flow := b.makers()
	if len(b.errs.List) > 0 {
		return
	}
	if _, cycle := reachable(len(b.out.Steps), b.edges(false)); cycle != nil {
		b.cyclic(cycle)
		return
	}
	strong, _ := reachable(len(b.out.Steps), b.edges(true))
	for _, f := range flow {
		if f.before == f.after || strong[f.before].has(f.after) {
			continue
		}
		if b.between(f, flow, strong) {
			continue
		}
		b.out.Links = append(b.out.Links, Link{
			Before: b.out.Steps[f.before].Key, After: b.out.Steps[f.after].Key, From: FromEnd, Why: f.why,
		})
	}
	after, cycle := reachable(len(b.out.Steps), b.edges(false))
	if cycle != nil {
		b.cyclic(cycle)
		return
	}
	b.complete(after)
	b.sortSteps()
}

// cyclic names the steps of a cycle.
func (b *builder) cyclic(cycle []int) {
	names := make([]string, 0, len(cycle)+1)
	for _, i := range append(slices.Clone(cycle), cycle[0]) {
		names = append(names, fmt.Sprintf("%q (%s)", b.out.Steps[i].Name, b.out.Steps[i].Key))
	}
	b.errs.add("", b.out.Steps[cycle[0]].Key, "the order of work goes round in a circle: %s", strings.Join(names, " before "))
}

// row makes the links of one chain or link: every step of a group before every
// step of the next group that has any.
func (b *builder) row(in *instance, l *link) error {
	there, err := l.when.holds(in.values)
	if err != nil || !there {
		return err
	}
	why, err := l.why.fill(in.values, words{here: in.here}, b.shown)
	if err != nil {
		return err
	}
	var last []int
	for i, group := range l.groups {
		now, err := b.chosen(in, group)
		if err != nil {
			return err
		}
		if len(now) == 0 {
			if len(l.groups) > 2 {
				continue // a chain closes over what is not there
			}
			return nil
		}
		if i > 0 {
			for _, x := range last {
				for _, y := range now {
					if err := b.addLink(in, l, x, y, why); err != nil {
						return err
					}
				}
			}
		}
		last = now
	}
	return nil
}

func (b *builder) addLink(in *instance, l *link, x, y int, why string) error {
	if x == y {
		return nil // a group may name a step that is on both sides
	}
	made := Link{Before: b.out.Steps[x].Key, After: b.out.Steps[y].Key, From: l.from, Why: why}
	if l.least != nil || l.greatest != nil {
		if err := l.lags(b.lagValues(in, &b.out.Steps[x]), &made); err != nil {
			return err
		}
	}
	for _, old := range b.out.Links {
		if old.Before == made.Before && old.After == made.After && old.From == made.From && old.Min == made.Min && made.Max == nil {
			return nil
		}
	}
	b.out.Links = append(b.out.Links, made)
	return nil
}

// lags works out the least and greatest lag of a link.
func (l *link) lags(v values, made *Link) error {
	if l.least != nil {
		n, err := l.least.number(v)
		if err != nil {
			return err
		}
		if math.Abs(n) > greatestMinutes {
			return fmt.Errorf("from %s to %s the least lag would be %g minutes", made.Before, made.After, n)
		}
		made.Min = int(math.Ceil(n))
	}
	if l.greatest == nil {
		return nil
	}
	n, err := l.greatest.number(v)
	if err != nil {
		return err
	}
	if n <= 0 || n > greatestMinutes {
		return nil // no greatest lag
	}
	most := int(math.Floor(n))
	if most < made.Min {
		return fmt.Errorf("from %s to %s at least %d minutes must pass and at most %d", made.Before, made.After, made.Min, most)
	}
	made.Max = &most
	return nil
}

// lagValues are the instance's values and the times of the earlier step's glue
// and finish.
func (b *builder) lagValues(in *instance, s *Step) values {
	v := b.materialTimes(s)
	maps.Copy(v, in.values)
	return v
}

// chosen finds the steps of a group, in order and each once.
func (b *builder) chosen(in *instance, group list) ([]int, error) {
	var out []int
	for _, s := range group {
		found, err := b.selected(in, s.text)
		if err != nil {
			return nil, err
		}
		out = append(out, found...)
	}
	slices.Sort(out)
	return slices.Compact(out), nil
}

// selected finds the steps one selector means.
func (b *builder) selected(in *instance, text string) ([]int, error) {
	sel, err := parseSelector(text)
	if err != nil {
		return nil, err
	}
	found, err := b.group(in, sel)
	switch {
	case err != nil || len(found) == 0:
		return nil, err
	case sel.end == "first":
		return found[:1], nil
	case sel.end == "last":
		return found[len(found)-1:], nil
	}
	return found, nil
}

// group finds the steps a selector means, in the order the patterns wrote them.
func (b *builder) group(in *instance, sel selector) ([]int, error) {
	if sel.of != "" {
		key, there := in.resolve(sel.of)
		if !there {
			return nil, nil
		}
		var out []int
		for i := range b.out.Steps {
			s := &b.out.Steps[i]
			if (sel.phase == "" || s.Phase == sel.phase) && s.works(key) && s.Makes == "" {
				out = append(out, i)
			}
		}
		return out, nil
	}
	if as, rest, deeper := strings.Cut(sel.ref, "."); deeper {
		sub := in.subs[as]
		if sub == nil {
			return nil, nil
		}
		return b.group(sub, selector{ref: rest})
	}
	if i, there := b.index[in.prefix+sel.ref]; there {
		return []int{i}, nil
	}
	for _, pt := range in.pattern.points {
		if pt.key == sel.ref {
			return b.chosen(in, pt.steps)
		}
	}
	return nil, nil // a step that is not there at this choice
}

// works says whether a step works on a part or assembly.
func (s *Step) works(key string) bool {
	return slices.Contains(s.Assemblies, key) || slices.ContainsFunc(s.Parts, func(p PartUse) bool { return p.Part == key })
}

// flow is an order that follows from what the steps work on.
type flow struct {
	before, after int
	why           string
}

// makers finds who makes each assembly and derives: whatever is done to a loose
// part or assembly comes before the step that builds it in, and whatever is done
// to an assembly comes after the step that makes it.
func (b *builder) makers() []flow {
	maker := map[string]int{}
	for i := range b.out.Steps {
		if made := b.out.Steps[i].Makes; made != "" {
			if j, twice := maker[made]; twice {
				b.errs.add("", made, "both %s and %s make the %s", b.out.Steps[j].Key, b.out.Steps[i].Key, made)
			}
			maker[made] = i
		}
	}
	var out []flow
	for _, a := range b.out.Assemblies {
		m, there := maker[a.Key]
		if !there {
			b.errs.add("", a.Key, "no step makes the assembly %q", a.Key)
			continue
		}
		for i := range b.out.Steps {
			s := &b.out.Steps[i]
			switch {
			case i == m:
			case s.works(a.Key):
				out = append(out, flow{m, i, fmt.Sprintf("the %s must be together first", small(a.Name))})
			case s.Makes == "" && (slices.ContainsFunc(a.Assemblies, s.works) || b.sharesParts(s, &a)):
				out = append(out, flow{i, m, fmt.Sprintf("it is done while the pieces of the %s are still apart", small(a.Name))})
			}
		}
	}
	return out
}

// sharesParts says whether a step works on loose parts of an assembly. Where the
// pieces of a part go to several sub-assemblies, what one of them does to its
// own pieces does not hold up the others.
func (b *builder) sharesParts(s *Step, a *Assembly) bool {
	return slices.ContainsFunc(a.Parts, func(p PartUse) bool {
		if !s.works(p.Part) {
			return false
		}
		one, other := prefixOf(s.Key), prefixOf(a.Key)
		related := strings.HasPrefix(one, other) || strings.HasPrefix(other, one)
		return related || s.takes(p.Part) == b.parts[p.Part].Quantity
	})
}

// prefixOf is a key without its last word: where the thing was made.
func prefixOf(key string) string { return key[:strings.LastIndexByte(key, '.')+1] }

// between says whether a derived order already follows through another step.
func (b *builder) between(f flow, all []flow, strong []bits) bool {
	for _, g := range all {
		if g.before == f.before && g.after != f.after && g.after != f.before && strong[g.after].has(f.after) {
			return true
		}
		if g.after == f.after && g.before != f.before && strong[f.before].has(g.before) {
			return true
		}
	}
	return false
}

// edges are the links as pairs of places; strong ones only are those after which
// the earlier step has wholly ended.
func (b *builder) edges(strong bool) [][]int {
	out := make([][]int, len(b.out.Steps))
	for _, l := range b.out.Links {
		x, y := b.index[l.Before], b.index[l.After]
		s := &b.out.Steps[x]
		rest := 0
		switch l.From {
		case FromAttended:
			rest = s.Unattended
		case FromStart:
			rest = s.Attended + s.Unattended
		}
		if !strong || l.Min >= rest {
			out[x] = append(out[x], y)
		}
	}
	return out
}

// bits is a set of small numbers.
type bits []uint64

func (s bits) has(i int) bool { return s[i/64]&(1<<(i%64)) != 0 }
func (s bits) add(i int)      { s[i/64] |= 1 << (i % 64) }
func (s bits) join(t bits) {
	for i := range s {
		s[i] |= t[i]
	}
}

// reachable tells for every step which come after it, or the steps of one cycle.
// It takes time in proportion to steps × edges / 64.
func reachable(n int, edges [][]int) (after []bits, cycle []int) {
	after = make([]bits, n)
	state := make([]byte, n) // 1: being visited, 2: done
	var path []int
	var visit func(i int) bool
	visit = func(i int) bool {
		state[i] = 1
		path = append(path, i)
		after[i] = make(bits, n/64+1)
		for _, j := range edges[i] {
			if state[j] == 1 {
				cycle = slices.Clone(path[slices.Index(path, j):])
				return false
			}
			if state[j] == 0 && !visit(j) {
				return false
			}
			after[i].add(j)
			after[i].join(after[j])
		}
		path = path[:len(path)-1]
		state[i] = 2
		return true
	}
	for i := range n {
		if state[i] == 0 && !visit(i) {
			return nil, cycle
		}
	}
	return after, nil
}

// complete checks that nothing is left out of the order: every part is milled
// and used up, everything ends in one piece, and no two steps that want the same
// pieces are left without an order.
func (b *builder) complete(after []bits) {
	used, inside := map[string]int{}, map[string]int{}
	for _, a := range b.out.Assemblies {
		for _, p := range a.Parts {
			used[p.Part] += p.Quantity
		}
		for _, key := range a.Assemblies {
			inside[key]++
		}
	}
	for _, p := range b.out.Parts {
		if used[p.Key] != p.Quantity {
			b.errs.add("", p.Key, "of the part %q %d are made and %d are used", p.Key, p.Quantity, used[p.Key])
		}
		milled := func(s Step) bool { return s.Phase == Milling && s.works(p.Key) }
		if !b.bought[p.Key] && !slices.ContainsFunc(b.out.Steps, milled) {
			b.errs.add("", p.Key, "no step mills the part %q", p.Key)
		}
	}
	var ends []string
	for _, a := range b.out.Assemblies {
		switch inside[a.Key] {
		case 0:
			ends = append(ends, a.Key)
		case 1:
		default:
			b.errs.add("", a.Key, "the assembly %q is built into %d others", a.Key, inside[a.Key])
		}
	}
	if len(ends) != 1 {
		b.errs.add("", strings.Join(ends, ", "), "the work must end in one assembly; it ends in %d: %s", len(ends), strings.Join(ends, ", "))
	}
	b.contested(after)
}

// contested finds two steps that want the same pieces with no order between them.
func (b *builder) contested(after []bits) {
	wants := map[string][]int{}
	there := map[string]int{}
	for i := range b.out.Steps {
		s := &b.out.Steps[i]
		for _, p := range s.Parts {
			wants[p.Part] = append(wants[p.Part], i)
			there[p.Part] = b.parts[p.Part].Quantity
		}
		for _, a := range s.Assemblies {
			wants[a] = append(wants[a], i)
			there[a] = 1
		}
	}
	for key, steps := range wants {
		for i, x := range steps {
			for _, y := range steps[i+1:] {
				if !after[x].has(y) && !after[y].has(x) && b.out.Steps[x].takes(key)+b.out.Steps[y].takes(key) > there[key] {
					b.errs.add("", key, "%s and %s both work on %q and nothing says which comes first", b.out.Steps[x].Key, b.out.Steps[y].Key, key)
				}
			}
		}
	}
	slices.SortFunc(b.errs.List, func(x, y *FieldError) int { return strings.Compare(x.Error(), y.Error()) })
}

// takes is how many of a part or assembly the step works on.
func (s *Step) takes(key string) int {
	for _, p := range s.Parts {
		if p.Part == key {
			return p.Quantity
		}
	}
	return 1
}

// sortSteps puts the steps in an order that respects the links and otherwise
// stays as the patterns wrote them.
func (b *builder) sortSteps() {
	n := len(b.out.Steps)
	edges := b.edges(false)
	waits := make([]int, n)
	for _, next := range edges {
		for _, j := range next {
			waits[j]++
		}
	}
	sorted := make([]Step, 0, n)
	for len(sorted) < n {
		i := slices.Index(waits, 0)
		waits[i] = -1
		sorted = append(sorted, b.out.Steps[i])
		for _, j := range edges[i] {
			waits[j]--
		}
	}
	b.out.Steps = sorted
	for i, s := range sorted {
		b.index[s.Key] = i
	}
}
