package pattern

import (
	"fmt"
	"slices"

	"faceside/models/phrase"
)

// LeftOut is a change by hand that cannot be made at the measures and choices of
// a piece, because what it changes is not there.
type LeftOut struct {
	Field  string        // of the pattern's file, e.g. "changes.steps[2]"
	Reason phrase.Phrase // which change, and what is not there
	at     scalar
}

// misplaced is the first thing that is wrong with the changes, and where.
type misplaced struct {
	at            scalar
	field, reason string
}

// leaveOut notes a change that is not made.
func (b *builder) leaveOut(at scalar, field string, reason phrase.Phrase) {
	b.out.LeftOut = append(b.out.LeftOut, LeftOut{Field: field, Reason: reason, at: at})
}

// named is what a step is called at the pattern's defaults, or its key.
func (b *builder) named(step scalar) string {
	if name := b.called[step.text]; name != "" {
		return name
	}
	return step.text
}

// stepNames are what the steps are called that were made before the changes and after.
func stepNames(lists ...[]Step) map[string]string {
	out := map[string]string{}
	for _, steps := range lists {
		for i := range steps {
			out[steps[i].Key] = steps[i].Name
		}
	}
	return out
}

// refuseChange notes a change that makes no piece.
func (b *builder) refuseChange(at scalar, field, format string, args ...any) {
	reason := fmt.Sprintf(format, args...)
	if b.errs.add("", "", "a change made by hand: %s", reason); b.misplaced == nil {
		b.misplaced = &misplaced{at, field, reason}
	}
}

// put makes the settings of one thing.
func put[T any](b *builder, v values, sets []setting[T], x *T) {
	for _, s := range sets {
		was := len(b.errs.List)
		err := s.set(b, v, x)
		if err == nil && len(b.errs.List) > was {
			// What the shop lacks has been noted; keep where it was asked for.
			err = b.errs.List[was]
			b.errs.List = b.errs.List[:was]
		}
		if err != nil {
			b.refuseChange(s.at, s.field, "%s", err)
		}
	}
}

// change makes the changes of a pattern in what the rest of it made. It takes time
// in proportion to steps squared at most.
func (b *builder) change(top *instance) {
	c := top.pattern.changes
	if c == nil {
		return
	}
	b.top, b.called = words{here: top.here}, top.pattern.called
	b.out.Links = NarrowLinks(b.out.Links)
	b.changeThings(c, top.values)
	order := b.changeSteps(c, top.values)
	b.relist(order)
	b.changeLinks(c, top.values)
	if len(b.errs.List) > 0 {
		return
	}
	if _, cycle := reachable(len(b.out.Steps), b.edges(false)); cycle != nil {
		b.cyclicChange(c, cycle)
		return
	}
	b.sortSteps()
}

// changeThings changes parts and assemblies.
func (b *builder) changeThings(c *changes, v values) {
	for _, p := range c.parts {
		if there := b.parts[p.key.text]; there == nil {
			b.leaveOut(p.key, p.field+".part", phrase.Of("the part “%s” is changed, but not there", p.key.text))
		} else {
			put(b, v, p.sets, there)
		}
	}
	for _, a := range c.newAssemblies {
		if b.assemblies[a.key.text] != nil || b.parts[a.key.text] != nil {
			b.refuseChange(a.key, a.field+".assembly", "the key %q is taken", a.key.text)
			continue
		}
		b.assemblies[a.key.text] = &Assembly{Key: a.key.text}
		b.out.Assemblies = append(b.out.Assemblies, *b.assemblies[a.key.text])
	}
	for i := range b.out.Assemblies {
		b.assemblies[b.out.Assemblies[i].Key] = &b.out.Assemblies[i]
	}
	for _, a := range slices.Concat(c.newAssemblies, c.assemblies) {
		if there := b.assemblies[a.key.text]; there == nil {
			b.leaveOut(a.key, a.field+".assembly", phrase.Of("the assembly “%s” is changed, but not there", a.key.text))
		} else {
			put(b, v, a.sets, there)
		}
	}
	b.nestedChange(c)
}

// nestedChange refuses assemblies that are inside one another.
func (b *builder) nestedChange(c *changes) {
	place := map[string]int{}
	for i, a := range b.out.Assemblies {
		place[a.Key] = i
	}
	inner := make([][]int, len(b.out.Assemblies))
	for i, a := range b.out.Assemblies {
		for _, key := range a.Assemblies {
			inner[i] = append(inner[i], place[key])
		}
	}
	_, ring := reachable(len(inner), inner)
	for _, a := range slices.Concat(c.assemblies, c.newAssemblies) {
		if i, there := place[a.key.text]; there && slices.Contains(ring, i) {
			b.refuseChange(a.key, a.field+".assemblies", "the assembly %q would be inside itself", a.key.text)
			return
		}
	}
}

// changeSteps takes steps out, changes and adds them; it gives the order in which
// they are then listed.
func (b *builder) changeSteps(c *changes, v values) []string {
	made := map[string]Step{}
	for _, s := range b.out.Steps {
		made[s.Key] = s
	}
	out := map[string]bool{}
	for _, key := range c.withoutSteps {
		if _, there := made[key.text]; !there {
			b.leaveOut(key, "changes.without_steps", phrase.Of("the step “%s” is taken out, but not there", b.named(key)))
		}
		out[key.text] = true
	}
	b.out.Steps = slices.DeleteFunc(b.out.Steps, func(s Step) bool { return out[s.Key] })
	b.out.Links = slices.DeleteFunc(b.out.Links, func(l Link) bool { return out[l.Before] || out[l.After] })
	var order []string
	for i := range b.out.Steps {
		order = append(order, b.out.Steps[i].Key)
	}
	for _, s := range c.steps {
		i := slices.Index(order, s.key.text)
		if i < 0 {
			b.leaveOut(s.key, s.field+".step", phrase.Of("the step “%s” is changed, but not there", b.named(s.key)))
			continue
		}
		put(b, v, s.sets, &b.out.Steps[i])
		b.sound(s, &b.out.Steps[i])
	}
	var added []stepChange
	for _, s := range c.newSteps {
		if b.newStep(v, s, made) {
			added = append(added, s)
		}
	}
	if len(b.out.Steps) == 0 {
		b.errs.add("", "", "the changes made by hand leave no step")
	}
	return b.listed(c, order, added)
}

// newStep adds a step; false where it cannot be.
func (b *builder) newStep(v values, s stepChange, made map[string]Step) bool {
	if _, taken := made[s.key.text]; taken {
		b.refuseChange(s.key, s.field+".step", "the pattern makes a step %q itself", s.key.text)
		return false
	}
	base := b.lib.catalogue.plainStep(s.kind.text)
	if s.like.set {
		var there bool
		if base, there = made[s.like.text]; !there {
			b.leaveOut(s.like, s.field+".like", phrase.Of("the step “%[1]s” is added like “%[2]s”, which is not there", b.named(s.key), b.named(s.like)))
			return false
		}
	}
	base.Key = s.key.text
	asks := len(b.out.LeftOut)
	put(b, v, s.sets, &base)
	if len(b.out.LeftOut) > asks && len(base.Parts)+len(base.Assemblies) == 0 {
		b.leaveOut(s.key, s.field+".step", phrase.Of("the step “%s” is added, but nothing it works on is there", b.named(s.key)))
		return false
	}
	b.sound(s, &base)
	b.out.Steps = append(b.out.Steps, base)
	return true
}

// plainStep is a step of a kind before anything is said of it.
func (c *Catalogue) plainStep(kind string) Step {
	k, _ := c.Kind(kind)
	return Step{Kind: kind, Phase: k.Phase, Verb: k.Verb, Interruptible: k.Interruptible, Hands: 1, Dusty: k.Dusty, Wet: k.Wet, Cautions: k.Cautions}
}

// sound refuses a step that no shop could work.
func (b *builder) sound(c stepChange, s *Step) {
	switch {
	case s.Unattended > 0 && s.Rest == NoRest:
		b.refuseChange(c.key, c.field+".rest", "%s has %d unattended minutes: say whether it is in clamps, drying or resting then", s.Name, s.Unattended)
	case s.Unattended == 0 && s.Rest != NoRest:
		b.refuseChange(c.key, c.field+".unattended", "%s is %s after the work: say for how many minutes", s.Name, s.Rest)
	case s.Name == "" || s.Phase == "":
		b.refuseChange(c.key, c.field, "the step %q needs a name and a phase", s.Key)
	case s.Hands > b.shop.Hands:
		b.refuseChange(c.key, c.field+".hands", "%s needs %d people; the shop has %d", s.Name, s.Hands, b.shop.Hands)
	}
}

// listed is the order of the steps with those that were moved or added behind the
// ones that they name. What names a step that is not there comes last; the links
// have the last word in any case.
func (b *builder) listed(c *changes, order []string, added []stepChange) []string {
	var moved []stepChange
	for _, s := range c.steps {
		if i := slices.Index(order, s.key.text); i >= 0 && s.behind.set {
			order = slices.Delete(order, i, i+1)
			moved = append(moved, s)
		}
	}
	waiting := slices.Concat(moved, added)
	for again := true; again; {
		again = false
		for i, s := range waiting {
			at := slices.Index(order, s.behind.text)
			if s.behind.set && (at >= 0 || s.behind.text == "") {
				order = slices.Insert(order, at+1, s.key.text)
				waiting = slices.Delete(waiting, i, i+1)
				again = true
				break
			}
		}
	}
	for _, s := range waiting {
		order = append(order, s.key.text)
	}
	return order
}

// relist puts the steps in an order, and notes their places.
func (b *builder) relist(order []string) {
	place := map[string]int{}
	for i, key := range order {
		place[key] = i
	}
	slices.SortStableFunc(b.out.Steps, func(x, y Step) int { return place[x.Key] - place[y.Key] })
	b.index = map[string]int{}
	for i := range b.out.Steps {
		b.index[b.out.Steps[i].Key] = i
	}
}

// changeLinks takes links out, changes and adds them.
func (b *builder) changeLinks(c *changes, v values) {
	for _, l := range c.withoutLinks {
		i := b.linkAt(l)
		if i < 0 {
			b.leaveOut(l.before, l.field, phrase.Of("a link from “%[1]s” to “%[2]s” is taken out, but not there", b.named(l.before), b.named(l.after)))
			continue
		}
		b.out.Links = slices.Delete(b.out.Links, i, i+1)
	}
	for _, l := range c.links {
		i := b.linkAt(l)
		if i < 0 {
			b.leaveOut(l.before, l.field, phrase.Of("a link from “%[1]s” to “%[2]s” is changed, but not there", b.named(l.before), b.named(l.after)))
			continue
		}
		if made, ok := b.changedLink(l, v); ok {
			b.out.Links[i] = made
		}
	}
	for _, l := range c.newLinks {
		missing := slices.DeleteFunc([]scalar{l.before, l.after}, func(s scalar) bool { _, there := b.index[s.text]; return there })
		if len(missing) > 0 {
			b.leaveOut(missing[0], l.field, phrase.Of("a link from “%[1]s” to “%[2]s” is added, but the step “%[3]s” is not there", b.named(l.before), b.named(l.after), b.named(missing[0])))
			continue
		}
		if made, ok := b.changedLink(l, v); ok {
			b.out.Links = NarrowLinks(append(b.out.Links, made))
		}
	}
}

// linkAt finds the link that a change means, -1 if there is none.
func (b *builder) linkAt(c linkChange) int {
	return slices.IndexFunc(b.out.Links, func(l Link) bool { return l.Before == c.before.text && l.After == c.after.text && l.From == c.from })
}

// changedLink is the link as a change says it; false where that cannot be.
func (b *builder) changedLink(c linkChange, v values) (Link, bool) {
	made := Link{Before: c.before.text, After: c.after.text, From: c.from}
	var err error
	if made.Why, err = c.why.fill(v, b.top, b.shown); err == nil && c.least != nil {
		made.Min, err = c.least.lag(v)
	}
	if err == nil && c.greatest != nil {
		var most int
		if most, err = c.greatest.lag(v); err == nil && most < made.Min {
			err = fmt.Errorf("at least %d minutes must pass and at most %d", made.Min, most)
		}
		made.Max = &most
	}
	if err != nil {
		b.refuseChange(c.before, c.field, "from %q to %q: %s", made.Before, made.After, err)
		return Link{}, false
	}
	return made, true
}

// cyclicChange names the steps of a circle, at the change that closes it.
func (b *builder) cyclicChange(c *changes, cycle []int) {
	b.cyclic(cycle)
	b.misplaced = &misplaced{field: "changes", reason: b.errs.List[len(b.errs.List)-1].Error()}
	for _, l := range slices.Concat(c.newLinks, c.links) {
		x, y := slices.Index(cycle, b.indexOf(l.before.text)), slices.Index(cycle, b.indexOf(l.after.text))
		if x >= 0 && y == (x+1)%len(cycle) {
			b.misplaced.at, b.misplaced.field = l.before, l.field
			return
		}
	}
}

// indexOf is the place of a step, -1 where there is none.
func (b *builder) indexOf(key string) int {
	if i, there := b.index[key]; there {
		return i
	}
	return -1
}

// NarrowLinks gives one link for each pair of steps and point measured from: where
// several are said, the narrowest holds.
func NarrowLinks(links []Link) []Link {
	type pair struct {
		before, after string
		from          LinkFrom
	}
	at := map[pair]int{}
	var out []Link
	for _, l := range links {
		p := pair{l.Before, l.After, l.From}
		i, twice := at[p]
		if !twice {
			at[p] = len(out)
			out = append(out, l)
			continue
		}
		if o := &out[i]; l.Min > o.Min {
			o.Min, o.Why = l.Min, l.Why
		}
		if o := &out[i]; l.Max != nil && (o.Max == nil || *l.Max < *o.Max) {
			o.Max = l.Max
		}
	}
	return out
}
