package checks

import (
	"fmt"
	"slices"
	"strings"

	"faceside/models/pattern"
)

// Edit is one change to an order of work.
type Edit interface{ apply(*pattern.Built) error }

// SetStep puts a step in place of the one with its key.
type SetStep struct{ Step pattern.Step }

// SetPart puts a part in place of the one with its key.
type SetPart struct{ Part pattern.Part }

// SetAssembly puts an assembly in place of the one with its key.
type SetAssembly struct{ Assembly pattern.Assembly }

// AddLink adds a link, in place of one between the same two points, whose greatest
// lag stays where it still can be.
type AddLink struct{ Link pattern.Link }

// AddStep adds a step after some steps and before others.
type AddStep struct {
	Step          pattern.Step
	After, Before []string
	Why           string
}

// Move takes a step out of its place and puts it after one step, before another, or
// both. What stood before and after it keeps its order.
type Move struct {
	Step          string
	After, Before string // step keys or ""
	Why           string
}

// Stages splits a glue-up into stages of about equal parts, each in clamps before
// the next.
type Stages struct {
	Step  string
	Count int // 2 or more
}

// Apply makes the edits of a remedy in a copy of an order of work. It refuses what
// leaves steps that wait for each other, or names what is not there; the order of
// work itself stays as it is.
func Apply(b *pattern.Built, r *Remedy) (*pattern.Built, error) {
	out := *b
	out.Parts, out.Assemblies = slices.Clone(b.Parts), slices.Clone(b.Assemblies)
	out.Steps, out.Links = slices.Clone(b.Steps), slices.Clone(b.Links)
	for _, e := range r.Edits {
		if err := e.apply(&out); err != nil {
			return nil, fmt.Errorf("%s: %w", r.Say, err)
		}
	}
	sorted, circle := inOrder(out.Steps, out.Links)
	if circle != nil {
		return nil, fmt.Errorf("%s: then these steps would wait for each other: %s", r.Say, strings.Join(circle, ", "))
	}
	out.Steps = sorted
	return &out, nil
}

func stepAt(b *pattern.Built, key string) (int, error) {
	i := slices.IndexFunc(b.Steps, func(s pattern.Step) bool { return s.Key == key })
	if i < 0 {
		return 0, fmt.Errorf("the order of work has no step %q", key)
	}
	return i, nil
}

func (e SetStep) apply(b *pattern.Built) error {
	i, err := stepAt(b, e.Step.Key)
	if err != nil {
		return err
	}
	b.Steps[i] = e.Step
	return nil
}

func (e SetPart) apply(b *pattern.Built) error {
	i := slices.IndexFunc(b.Parts, func(p pattern.Part) bool { return p.Key == e.Part.Key })
	if i < 0 {
		return fmt.Errorf("the piece has no part %q", e.Part.Key)
	}
	b.Parts[i] = e.Part
	return nil
}

func (e SetAssembly) apply(b *pattern.Built) error {
	i := slices.IndexFunc(b.Assemblies, func(a pattern.Assembly) bool { return a.Key == e.Assembly.Key })
	if i < 0 {
		return fmt.Errorf("the piece has no assembly %q", e.Assembly.Key)
	}
	b.Assemblies[i] = e.Assembly
	return nil
}

func (e AddLink) apply(b *pattern.Built) error {
	for _, key := range []string{e.Link.Before, e.Link.After} {
		if _, err := stepAt(b, key); err != nil {
			return err
		}
	}
	made := e.Link
	b.Links = slices.DeleteFunc(b.Links, func(l pattern.Link) bool {
		if l.Before != made.Before || l.After != made.After || l.From != made.From {
			return false
		}
		if made.Max == nil && l.Max != nil && *l.Max >= made.Min {
			made.Max = l.Max // the window stays
		}
		return true
	})
	b.Links = append(b.Links, made)
	return nil
}

func (e AddStep) apply(b *pattern.Built) error {
	if _, err := stepAt(b, e.Step.Key); err == nil {
		return fmt.Errorf("the order of work already has a step %q", e.Step.Key)
	}
	b.Steps = append(b.Steps, e.Step)
	for _, key := range e.After {
		if err := (AddLink{pattern.Link{Before: key, After: e.Step.Key, From: pattern.FromEnd, Why: e.Why}}).apply(b); err != nil {
			return err
		}
	}
	for _, key := range e.Before {
		if err := (AddLink{pattern.Link{Before: e.Step.Key, After: key, From: pattern.FromEnd, Why: e.Why}}).apply(b); err != nil {
			return err
		}
	}
	return nil
}

func (e Move) apply(b *pattern.Built) error {
	if _, err := stepAt(b, e.Step); err != nil {
		return err
	}
	if e.After != "" {
		if loosen(b, e.Step, leading(b, e.After, false), false) {
			takePlaceAfter(b, e)
		}
		if err := (AddLink{pattern.Link{Before: e.After, After: e.Step, From: pattern.FromEnd, Why: e.Why}}).apply(b); err != nil {
			return err
		}
	}
	if e.Before != "" {
		if loosen(b, e.Step, leading(b, e.Before, true), true) {
			takePlace(b, e)
		}
		return (AddLink{pattern.Link{Before: e.Step, After: e.Before, From: pattern.FromEnd, Why: e.Why}}).apply(b)
	}
	return nil
}

// leading are a step and all that links put after it (or before it).
func leading(b *pattern.Built, key string, after bool) map[string]bool {
	out := map[string]bool{key: true}
	for grew := true; grew; {
		grew = false
		for _, l := range b.Links {
			from, to := l.Before, l.After
			if !after {
				from, to = to, from
			}
			if out[from] && !out[to] {
				out[to], grew = true, true
			}
		}
	}
	return out
}

// loosen drops the links from a step to some others (or, if coming, from them to
// it), and keeps the order of what stood around it. It says whether there were any.
func loosen(b *pattern.Built, step string, others map[string]bool, coming bool) bool {
	var keep, in, out []pattern.Link
	for _, l := range b.Links {
		drop := l.Before == step && others[l.After]
		if coming {
			drop = l.After == step && others[l.Before]
		}
		if !drop {
			keep = append(keep, l)
		}
		if l.After == step && (!coming || drop) {
			in = append(in, l)
		}
		if l.Before == step && (coming || drop) {
			out = append(out, l)
		}
	}
	dropped := len(keep) < len(b.Links)
	b.Links = keep
	for _, i := range in {
		for _, o := range out {
			there := func(l pattern.Link) bool {
				return l.Before == i.Before && l.After == o.After && l.From == i.From && l.Min >= i.Min
			}
			if !slices.ContainsFunc(b.Links, there) {
				b.Links = append(b.Links, pattern.Link{Before: i.Before, After: o.After, From: i.From, Min: i.Min, Why: o.Why})
			}
		}
	}
	return dropped
}

// takePlaceAfter lets what follows a step wait also for one that is put after it,
// where both work on the same wood.
func takePlaceAfter(b *pattern.Built, e Move) {
	i := slices.IndexFunc(b.Steps, func(s pattern.Step) bool { return s.Key == e.Step })
	comesBefore := leading(b, e.Step, false)
	for _, l := range slices.Clone(b.Links) {
		j := slices.IndexFunc(b.Steps, func(s pattern.Step) bool { return s.Key == l.After })
		if l.Before == e.After && j >= 0 && !comesBefore[l.After] && sameWood(&b.Steps[i], &b.Steps[j]) {
			b.Links = append(b.Links, pattern.Link{Before: e.Step, After: l.After, From: pattern.FromEnd, Why: l.Why})
		}
	}
}

func sameWood(x, y *pattern.Step) bool {
	return slices.ContainsFunc(items(x), func(key string) bool { return slices.Contains(items(y), key) })
}

// takePlace lets a step that came after another wait, as that one does, for what
// comes before it: the wood must be ready for both. A template needs no wood.
func takePlace(b *pattern.Built, e Move) {
	i := slices.IndexFunc(b.Steps, func(s pattern.Step) bool { return s.Key == e.Step })
	if len(items(&b.Steps[i])) == 0 {
		return
	}
	follows := leading(b, e.Step, true)
	for _, l := range slices.Clone(b.Links) {
		if l.After == e.Before && !follows[l.Before] {
			b.Links = append(b.Links, pattern.Link{Before: l.Before, After: e.Step, From: l.From, Min: l.Min, Why: l.Why})
		}
	}
}

func (e Stages) apply(b *pattern.Built) error {
	i, err := stepAt(b, e.Step)
	if err != nil {
		return err
	}
	last := b.Steps[i]
	at := slices.IndexFunc(b.Assemblies, func(a pattern.Assembly) bool { return a.Key == last.Makes && last.Makes != "" })
	if at < 0 {
		return fmt.Errorf("%s makes no assembly that could be glued in stages", last.Name)
	}
	shares := share(b, &b.Assemblies[at], e.Count)
	if e.Count < 2 || len(shares) < e.Count {
		return fmt.Errorf("%s cannot be glued in %d stages", last.Name, e.Count)
	}
	for n := range b.Links {
		if b.Links[n].After == last.Key {
			b.Links[n].After = stageKey(last.Key, 1)
		}
	}
	for n := range shares {
		s, a := stageOf(&last, &b.Assemblies[at], shares, n)
		if n > 0 {
			b.Links = append(b.Links, pattern.Link{
				Before: stageKey(last.Key, n), After: s.Key, From: pattern.FromEnd, Why: "a stage goes on when the one before it is out of its clamps",
			})
		}
		if n == len(shares)-1 {
			b.Steps[i], b.Assemblies[at] = s, a
		} else {
			b.Steps, b.Assemblies = append(b.Steps, s), append(b.Assemblies, a)
		}
	}
	return nil
}

// stageKey is the key of a stage before the last, counted from 1.
func stageKey(key string, n int) string { return fmt.Sprintf("%s-stage-%d", key, n) }

// stageOf is one stage of a glue-up, counted from 0, and what it makes: its share,
// and what the stage before it made.
func stageOf(whole *pattern.Step, made *pattern.Assembly, shares []pattern.Assembly, n int) (pattern.Step, pattern.Assembly) {
	s, a := *whole, *made
	s.Attended, s.OpenTime = upTo(whole.Attended, len(shares)), upTo(whole.OpenTime, len(shares))
	s.Parts, s.Assemblies = shares[n].Parts, shares[n].Assemblies
	if n > 0 {
		s.Assemblies = append(slices.Clone(s.Assemblies), stageKey(made.Key, n))
	}
	a.Parts, a.Assemblies = s.Parts, s.Assemblies
	if n == len(shares)-1 {
		s.Name += ", last stage"
		return s, a
	}
	s.Name, a.Name = fmt.Sprintf("%s, stage %d", whole.Name, n+1), fmt.Sprintf("%s, stage %d", made.Name, n+1)
	s.Key, a.Key = stageKey(whole.Key, n+1), stageKey(made.Key, n+1)
	s.Makes = a.Key
	return s, a
}

// share deals the pieces of an assembly out to a number of stages, in their order,
// and to each its share of what only holds them together (dowels); fewer stages come
// out where there are too few pieces.
func share(b *pattern.Built, a *pattern.Assembly, stages int) []pattern.Assembly {
	pieces, pins := worked(b, a)
	total := len(a.Assemblies)
	for _, p := range pieces {
		total += p.Quantity
	}
	stages = min(stages, total-1) // the first stage takes two at least
	if stages < 1 {
		return nil
	}
	out := make([]pattern.Assembly, stages)
	dealt := 0
	next := func() *pattern.Assembly {
		dealt++
		return &out[max(0, dealt-2)*stages/(total-1)]
	}
	for _, p := range pieces {
		for range p.Quantity {
			to := next()
			if n := len(to.Parts); n > 0 && to.Parts[n-1].Part == p.Part {
				to.Parts[n-1].Quantity++
			} else {
				to.Parts = append(to.Parts, pattern.PartUse{Part: p.Part, Quantity: 1})
			}
		}
	}
	for _, key := range a.Assemblies {
		to := next()
		to.Assemblies = append(to.Assemblies, key)
	}
	for _, p := range pins {
		for n := range out {
			if q := p.Quantity*(n+1)/stages - p.Quantity*n/stages; q > 0 {
				out[n].Parts = append(out[n].Parts, pattern.PartUse{Part: p.Part, Quantity: q})
			}
		}
	}
	return out
}

// worked parts the pieces of an assembly from what no step works on by itself, such
// as bought dowels.
func worked(b *pattern.Built, a *pattern.Assembly) (pieces, pins []pattern.PartUse) {
	for _, p := range a.Parts {
		on := func(s pattern.Step) bool {
			return s.Makes == "" && slices.ContainsFunc(s.Parts, func(u pattern.PartUse) bool { return u.Part == p.Part })
		}
		if slices.ContainsFunc(b.Steps, on) {
			pieces = append(pieces, p)
		} else {
			pins = append(pins, p)
		}
	}
	return pieces, pins
}

// upTo divides, rounded up.
func upTo(n, by int) int { return (n + by - 1) / by }
