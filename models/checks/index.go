package checks

import (
	"math"
	"slices"
	"strings"

	"faceside/models/pattern"
	"faceside/models/phrase"
	"faceside/models/wood"
)

// order answers the questions that checks ask of an order of work. Steps go by
// their place in steps, which respects the links; parts and assemblies by key.
type order struct {
	b     *pattern.Built
	shop  pattern.Shop
	plan  Plan
	steps []pattern.Step

	place    map[string]int
	part     map[string]*pattern.Part
	assembly map[string]*pattern.Assembly
	station  map[string]*pattern.Station
	glue     map[string]*pattern.Glue
	finish   map[string]*pattern.Finish
	maker    map[string]int      // assembly → the step that makes it
	on       map[string][]int    // part or assembly → the steps that work on it, in order
	inside   map[string][]string // part or assembly → the assemblies that directly hold it
	least    [][]int             // least minutes from the start of one step to the start of another, or never

	missing []phrase.Phrase // references that lead nowhere, as sentences
	circle  []string        // steps that wait for each other
}

// never stands where no link leads from one step to another.
const never = math.MinInt / 4

// index reads an order of work; broken where it does not hang together.
func index(b *pattern.Built, shop pattern.Shop) (o *order, broken bool) {
	o = &order{
		b: b, shop: shop, place: map[string]int{}, part: map[string]*pattern.Part{}, assembly: map[string]*pattern.Assembly{},
		station: map[string]*pattern.Station{}, glue: map[string]*pattern.Glue{}, finish: map[string]*pattern.Finish{},
		maker: map[string]int{}, on: map[string][]int{}, inside: map[string][]string{},
	}
	for i := range b.Parts {
		o.part[b.Parts[i].Key] = &b.Parts[i]
	}
	for i := range b.Assemblies {
		a := &b.Assemblies[i]
		o.assembly[a.Key] = a
		for _, key := range holds(a) {
			o.inside[key] = append(o.inside[key], a.Key)
		}
	}
	for i := range shop.Stations {
		o.station[shop.Stations[i].Key] = &shop.Stations[i]
	}
	for i := range shop.Glues {
		o.glue[shop.Glues[i].Key] = &shop.Glues[i]
	}
	for i := range shop.Finishes {
		o.finish[shop.Finishes[i].Key] = &shop.Finishes[i]
	}
	o.steps, o.circle = inOrder(b.Steps, b.Links)
	for i := range o.steps {
		s := &o.steps[i]
		o.place[s.Key] = i
		for _, key := range items(s) {
			o.on[key] = append(o.on[key], i)
		}
		if s.Makes != "" {
			o.maker[s.Makes] = i
		}
	}
	o.missing = o.unknown()
	if len(o.circle)+len(o.missing) > 0 {
		return o, true
	}
	o.measure()
	return o, false
}

// unknown lists what the steps, assemblies and links name and nobody knows, and
// what stands twice, as sentences.
func (o *order) unknown() []phrase.Phrase {
	out := slices.Concat(o.unknownInSteps(), o.unknownInAssemblies())
	for _, l := range o.b.Links {
		for _, key := range []string{l.Before, l.After} {
			if _, known := o.place[key]; !known {
				out = append(out, phrase.Of("A link names the step %q, which is not there.", key))
			}
		}
	}
	return out
}

func (o *order) unknownInSteps() []phrase.Phrase {
	var out []phrase.Phrase
	for i := range o.steps {
		s := &o.steps[i]
		for _, key := range items(s) {
			if o.part[key] == nil && o.assembly[key] == nil {
				out = append(out, phrase.Of("%s works on %q, which is neither a part nor an assembly.", s.Name, key))
			}
		}
		if s.Makes != "" && o.assembly[s.Makes] == nil {
			out = append(out, phrase.Of("%s makes %q, which is no assembly.", s.Name, s.Makes))
		}
		if o.station[s.Station] == nil {
			out = append(out, phrase.Of("%s wants the station %q, which the shop has not.", s.Name, s.Station))
		}
		if o.place[s.Key] != i {
			out = append(out, phrase.Of("Two steps have the key %q.", s.Key))
		}
		if s.Makes != "" && o.maker[s.Makes] != i {
			out = append(out, phrase.Of("Two steps make the %s.", o.name(s.Makes)))
		}
	}
	return out
}

func (o *order) unknownInAssemblies() []phrase.Phrase {
	var out []phrase.Phrase
	for i := range o.b.Assemblies {
		a := &o.b.Assemblies[i]
		if _, made := o.maker[a.Key]; !made {
			out = append(out, phrase.Of("No step makes the %s.", o.name(a.Key)))
		}
		for _, key := range holds(a) {
			if o.part[key] == nil && o.assembly[key] == nil {
				out = append(out, phrase.Of("%s holds %q, which is neither a part nor an assembly.", o.title(a.Key), key))
			}
		}
		if o.reaches(a.Key, a.Key, len(o.b.Assemblies)) {
			out = append(out, phrase.Of("%s holds itself.", o.title(a.Key)))
		}
	}
	return out
}

// reaches says whether an assembly holds another, at a depth of at most so many.
func (o *order) reaches(from, to string, depth int) bool {
	a := o.assembly[from]
	if a == nil || depth == 0 {
		return false
	}
	return slices.ContainsFunc(a.Assemblies, func(in string) bool { return in == to || o.reaches(in, to, depth-1) })
}

// measure fills least: the longest path from every step to those after it.
func (o *order) measure() {
	n := len(o.steps)
	type arc struct{ to, minutes int }
	arcs := make([][]arc, n)
	for _, l := range o.b.Links {
		x := o.place[l.Before]
		arcs[x] = append(arcs[x], arc{o.place[l.After], sinceStart(&o.steps[x], l.From) + l.Min})
	}
	flat := make([]int, n*n)
	o.least = make([][]int, n)
	for i := range n {
		row := flat[i*n : (i+1)*n]
		for j := range row {
			row[j] = never
		}
		row[i] = 0
		for j := i; j < n; j++ {
			if row[j] == never {
				continue
			}
			for _, a := range arcs[j] {
				row[a.to] = max(row[a.to], row[j]+a.minutes)
			}
		}
		o.least[i] = row
	}
}

// sinceStart is how long after a step's start the point lies that a link measures from.
func sinceStart(s *pattern.Step, from pattern.LinkFrom) int {
	switch from {
	case pattern.FromStart:
		return 0
	case pattern.FromAttended:
		return s.Attended
	}
	return s.Attended + s.Unattended
}

// before says whether links put a step before another.
func (o *order) before(i, j int) bool { return i != j && o.least[i][j] > never }

// ended says whether a step has wholly ended, its unattended time included, when
// another starts.
func (o *order) ended(i, j int) bool {
	return o.before(i, j) && o.least[i][j] >= o.steps[i].Attended+o.steps[i].Unattended
}

// sinceAttended is the least time in minutes from the end of a step's attended part
// to the start of another that is before it.
func (o *order) sinceAttended(i, j int) int { return o.least[i][j] - o.steps[i].Attended }

// all lists the steps that do any of some things, in order.
func (o *order) all(t trade) []int {
	var out []int
	for i := range o.steps {
		if does(&o.steps[i], t) {
			out = append(out, i)
		}
	}
	return out
}

// doing lists the steps on a part or assembly that do any of some things, in order.
func (o *order) doing(key string, t trade) []int {
	var out []int
	for _, i := range o.on[key] {
		if does(&o.steps[i], t) {
			out = append(out, i)
		}
	}
	return out
}

// someBefore says whether any of some steps is before a step.
func (o *order) someBefore(some []int, j int) bool {
	return slices.ContainsFunc(some, func(i int) bool { return o.before(i, j) })
}

// kindOf is the kind of a step's station.
func (o *order) kindOf(i int) string { return o.station[o.steps[i].Station].Kind }

// title is what a part or assembly is called at the head of a sentence.
func (o *order) title(key string) string {
	if p := o.part[key]; p != nil && p.Name != "" {
		return p.Name
	}
	if a := o.assembly[key]; a != nil && a.Name != "" {
		return a.Name
	}
	return key
}

// name is what a part or assembly is called inside a sentence.
func (o *order) name(key string) string {
	name := o.title(key)
	return strings.ToLower(name[:1]) + name[1:]
}

// called is a step's name inside a sentence.
func (o *order) called(i int) phrase.Phrase { return phrase.Of("“%s”", o.steps[i].Name) }

// say shows a length as the shop reads it.
func (o *order) say(l wood.Length) string { return l.Format(o.shop.Units, o.shop.Fraction) }

// degrees says a temperature, and warmth the shop's own.
func (o *order) degrees(celsius float64) string {
	return wood.FormatTemperature(celsius, o.shop.Units)
}

func (o *order) warmth() string { return o.degrees(o.shop.TemperatureC) }

// size is the size a part or assembly has when a step comes to it: rough until the
// steps before have cut it.
func (o *order) size(key string, at int) pattern.Size {
	z := pattern.Size{}
	p := o.part[key]
	if p != nil {
		z = p.Rough
	} else {
		z = o.assembly[key].Size
	}
	for _, i := range o.on[key] {
		s := &o.steps[i]
		if !o.before(i, at) {
			continue
		}
		switch {
		case does(s, trimming):
			z.Length, z.Width = value(s, "length", z.Length), value(s, "width", z.Width)
		case p == nil:
		case does(s, crosscutting):
			z.Length = min(z.Length, value(s, "length", p.Finished.Length))
		case does(s, ripping):
			z.Width = p.Finished.Width
		case s.Kind == "plane-square":
			z.Width, z.Thickness = p.Finished.Width, p.Finished.Thickness
		case does(s, planing):
			z.Thickness = p.Finished.Thickness
		}
	}
	return z
}

// value is a length that a step's kind was given, or another where it was not.
func value(s *pattern.Step, key string, otherwise wood.Length) wood.Length {
	for _, v := range s.With {
		if v.Key == key && v.IsLength {
			return v.Length
		}
	}
	return otherwise
}

// number is a number that a step's kind was given, 0 where it was not.
func number(s *pattern.Step, key string) float64 {
	for _, v := range s.With {
		if v.Key == key && !v.IsLength {
			return v.Number
		}
	}
	return 0
}

// items lists what a step works on.
func items(s *pattern.Step) []string {
	out := make([]string, 0, len(s.Parts)+len(s.Assemblies))
	for _, p := range s.Parts {
		out = append(out, p.Part)
	}
	return append(out, s.Assemblies...)
}

// holds lists what an assembly directly holds.
func holds(a *pattern.Assembly) []string {
	out := make([]string, 0, len(a.Parts)+len(a.Assemblies))
	for _, p := range a.Parts {
		out = append(out, p.Part)
	}
	return append(out, a.Assemblies...)
}

// inOrder sorts steps so that they respect the links and otherwise stay as they
// are; where that cannot be, circle names steps that wait for each other.
func inOrder(steps []pattern.Step, links []pattern.Link) (sorted []pattern.Step, circle []string) {
	waits := map[string]int{}
	next := map[string][]string{}
	known := map[string]bool{}
	for _, s := range steps {
		known[s.Key] = true
	}
	for _, l := range links {
		if known[l.Before] && known[l.After] {
			waits[l.After]++
			next[l.Before] = append(next[l.Before], l.After)
		}
	}
	left := slices.Clone(steps)
	for len(left) > 0 {
		i := slices.IndexFunc(left, func(s pattern.Step) bool { return waits[s.Key] == 0 })
		if i < 0 {
			for _, s := range left {
				circle = append(circle, s.Key)
			}
			return append(sorted, left...), circle
		}
		for _, key := range next[left[i].Key] {
			waits[key]--
		}
		sorted = append(sorted, left[i])
		left = slices.Delete(left, i, i+1)
	}
	return sorted, nil
}
