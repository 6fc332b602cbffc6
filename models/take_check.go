package models

import (
	"strings"

	"faceside/models/wood"
)

// The checks here refuse a new commission before anything is stored.

// check refuses fields and keys that cannot be.
func (n *NewCommission) check() error {
	if err := n.Commission.check(); err != nil {
		return err
	}
	if n.State != Open && n.State != Held {
		return invalid("state", n.State, "A new commission is open or held, not %s.", n.State.Words())
	}
	if len(n.Pieces) == 0 {
		return invalid("pieces", 0, "The commission “%s” has no piece.", n.Name)
	}
	for i := range n.Pieces {
		if err := n.Pieces[i].check(); err != nil {
			return err
		}
	}
	return nil
}

// check refuses a piece whose keys or links do not go together.
func (p *NewPiece) check() error {
	if err := first(nameGiven("piece", p.Name), textAtMost("pattern", p.Pattern, nameLimit)); err != nil {
		return err
	}
	if len(p.Steps) == 0 {
		return invalid("steps", 0, "The piece “%s” has no steps.", p.Name)
	}
	parts, err := keysOf("part", p.Parts, func(r *Part) string { return r.Key })
	if err != nil {
		return err
	}
	assemblies, err := keysOf("assembly", p.Assemblies, func(r *NewAssembly) string { return r.Key })
	if err != nil {
		return err
	}
	steps, err := keysOf("step", p.Steps, func(r *NewStep) string { return r.Key })
	if err != nil {
		return err
	}
	for i := range p.Parts {
		if err := p.Parts[i].check(); err != nil {
			return err
		}
	}
	for i := range p.Assemblies {
		if err := p.Assemblies[i].check(parts, assemblies); err != nil {
			return err
		}
	}
	for i := range p.Steps {
		if err := p.Steps[i].check(parts, assemblies); err != nil {
			return err
		}
	}
	return first(p.checkInner(), p.checkLinks(steps))
}

// keysOf collects keys, and refuses what is no key or stands twice.
func keysOf[T any](what string, all []T, key func(*T) string) (map[string]int, error) {
	at := make(map[string]int, len(all))
	for i := range all {
		k := key(&all[i])
		if err := keyGiven(what+" key", k); err != nil {
			return nil, err
		}
		if _, twice := at[k]; twice {
			return nil, invalid(what+" key", k, "Two of the piece have the %s key %q.", Named(what), k)
		}
		at[k] = i
	}
	return at, nil
}

// known refuses a key that nothing of the piece has.
func known(field, key, of string, in map[string]int) error {
	if _, ok := in[key]; !ok {
		return invalid(field, key, "%s names the %s %q, which the piece does not have.", of, Named(field), key)
	}
	return nil
}

func (p *Part) check() error {
	return first(
		nameGiven("part "+p.Key, p.Name),
		between("quantity of part "+p.Key, p.Quantity, 1, 10000, ""),
		lengthBetween("length of part "+p.Key, p.Length, wood.Length(1)),
		lengthBetween("width of part "+p.Key, p.Width, wood.Length(1)),
		lengthBetween("thickness of part "+p.Key, p.Thickness, wood.Length(1)),
		lengthBetween("rough length of part "+p.Key, p.RoughLength, wood.Length(1)),
		lengthBetween("rough width of part "+p.Key, p.RoughWidth, wood.Length(1)),
		lengthBetween("rough thickness of part "+p.Key, p.RoughThickness, wood.Length(1)),
		oneOf("grain of part "+p.Key, p.Grain, "length", "width", "none"),
		textAtMost("species of part "+p.Key, p.Species, nameLimit),
		textAtMost("note of part "+p.Key, p.Note, noteLimit),
	)
}

func (a *NewAssembly) check(parts, assemblies map[string]int) error {
	if err := nameGiven("assembly "+a.Key, a.Name); err != nil {
		return err
	}
	if err := partsKnown(a.Name, a.Parts, parts); err != nil {
		return err
	}
	return assembliesKnown(a.Name, a.Inner, assemblies)
}

// partsKnown refuses unknown parts and impossible quantities.
func partsKnown(of string, uses, parts map[string]int) error {
	for _, key := range sortedKeys(uses) {
		if err := first(known("part", key, "“"+of+"”", parts), between("quantity of part "+key, uses[key], 1, 10000, "")); err != nil {
			return err
		}
	}
	return nil
}

// assembliesKnown refuses unknown assemblies and one named twice.
func assembliesKnown(of string, keys []string, assemblies map[string]int) error {
	seen := map[string]bool{}
	for _, key := range keys {
		if err := known("assembly", key, "“"+of+"”", assemblies); err != nil {
			return err
		}
		if seen[key] {
			return invalid("assembly", key, "“%s” names the assembly %q twice.", of, key)
		}
		seen[key] = true
	}
	return nil
}

func (n *NewStep) check(parts, assemblies map[string]int) error {
	err := first(
		nameGiven("step "+n.Key, n.Name),
		between("attended time of step "+n.Key, n.Attended, 1, 100_000, "minutes"),
		between("unattended time of step "+n.Key, n.Unattended, 0, 1_000_000, "minutes"),
		oneOf("rest of step "+n.Key, n.Rest, "", "in clamps", "drying", "resting"),
		between("hands of step "+n.Key, n.Hands, 1, 100, ""),
		between("open time of step "+n.Key, n.OpenTime, 0, mostOpen, "minutes"),
		textAtMost("note of step "+n.Key, n.Note, noteLimit),
		partsKnown(n.Name, n.Parts, parts),
		assembliesKnown(n.Name, n.Assemblies, assemblies),
	)
	if err != nil {
		return err
	}
	if (n.Rest == "") != (n.Unattended == 0) {
		return invalid("rest of step "+n.Key, n.Rest, "“%s” has %d unattended minutes and the rest %q: one without the other cannot be.", n.Name, n.Unattended, n.Rest)
	}
	if n.Makes != "" {
		if err := known("assembly", n.Makes, "“"+n.Name+"”", assemblies); err != nil {
			return err
		}
	}
	if n.Setup != nil {
		if err := nameGiven("setup of step "+n.Key, n.Setup.State); err != nil {
			return err
		}
	}
	for _, class := range sortedKeys(n.Clamps) {
		if err := between("clamps of step "+n.Key, n.Clamps[class], 1, 10000, ""); err != nil {
			return err
		}
	}
	return nil
}

// checkInner refuses assemblies that are inside themselves.
func (p *NewPiece) checkInner() error {
	inner := map[string][]string{}
	names := map[string]string{}
	for _, a := range p.Assemblies {
		inner[a.Key], names[a.Key] = a.Inner, a.Name
	}
	if ring := circle(sortedKeys(inner), inner); ring != nil {
		return invalid("assembly", ring[0], "Assemblies are inside one another: %s.", chain(ring, names))
	}
	return nil
}

// checkLinks refuses links that name nobody, stand twice or go in a circle.
func (p *NewPiece) checkLinks(steps map[string]int) error {
	after := map[string][]string{}
	names := map[string]string{}
	order := make([]string, len(p.Steps))
	for i := range p.Steps {
		order[i], names[p.Steps[i].Key] = p.Steps[i].Key, p.Steps[i].Name
	}
	type pair struct{ before, after, from string }
	seen := map[pair]bool{}
	for _, l := range p.Links {
		if err := l.check(p.Name, steps); err != nil {
			return err
		}
		is := pair{l.Before, l.After, l.From}
		if seen[is] {
			return invalid("link", l.Before+" → "+l.After, "Two links go from the %s of “%s” to “%s”.", pointWords[l.From].Of(), names[l.Before], names[l.After])
		}
		seen[is] = true
		after[l.Before] = append(after[l.Before], l.After)
	}
	if ring := circle(order, after); ring != nil {
		return invalid("links", strings.Join(ring, " → "), "The steps go in a circle: %s.", chain(ring, names))
	}
	return nil
}

func (l *NewLink) check(piece string, steps map[string]int) error {
	err := first(
		known("step", l.Before, "A link of “"+piece+"”", steps), known("step", l.After, "A link of “"+piece+"”", steps),
		oneOf("from of link "+l.Before+" → "+l.After, l.From, FromEnd, FromStart, FromAttended),
		between("least lag of link "+l.Before+" → "+l.After, l.MinLag, -1_000_000, 1_000_000, "minutes"),
		textAtMost("why of link "+l.Before+" → "+l.After, l.Why, noteLimit),
	)
	if err != nil {
		return err
	}
	if l.MaxLag != nil && (*l.MaxLag < l.MinLag || *l.MaxLag > 1_000_000) {
		return invalid("greatest lag of link "+l.Before+" → "+l.After, *l.MaxLag,
			"The greatest lag of %s → %s, %d minutes, is less than the least, %d, or above 1000000.", l.Before, l.After, *l.MaxLag, l.MinLag)
	}
	return nil
}

// circle finds a way back to where it began, nil if there is none. It takes
// time linear in nodes and edges.
func circle(nodes []string, edges map[string][]string) []string {
	const open, closed = 1, 2
	state := map[string]int{}
	var path []string
	var visit func(string) []string
	visit = func(n string) []string {
		state[n] = open
		path = append(path, n)
		for _, next := range edges[n] {
			switch state[next] {
			case open:
				for i := range path {
					if path[i] == next {
						return append(append([]string(nil), path[i:]...), next)
					}
				}
			case closed:
			default:
				if ring := visit(next); ring != nil {
					return ring
				}
			}
		}
		state[n] = closed
		path = path[:len(path)-1]
		return nil
	}
	for _, n := range nodes {
		if state[n] == 0 {
			if ring := visit(n); ring != nil {
				return ring
			}
		}
	}
	return nil
}

// chain writes the names along a way.
func chain(keys []string, names map[string]string) string {
	words := make([]string, len(keys))
	for i, k := range keys {
		words[i] = "“" + names[k] + "”"
	}
	return strings.Join(words, " → ")
}
