package pattern

import (
	"encoding/json"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"faceside/models/phrase"
	"faceside/models/wood"
)

// Changes are how an order of work differs from the one that its pattern makes.
type Changes struct {
	sections []section
	lost     []phrase.Phrase
}

// section is one list of the changes: its name in the file, and its entries.
type section struct {
	name    string
	entries []entry
}

// entry is one change: the fields as the file has them, and what it says.
type entry struct {
	fields []field
	say    phrase.Phrase
}

// field is one field of an entry, as the file has it and for a maker.
type field struct {
	name, text string
	say        phrase.Phrase
}

// counted count the changes of a section.
var counted = map[string]phrase.Key{
	"parts": "%d parts changed", "assemblies": "%d assemblies changed", "new_assemblies": "%d assemblies added",
	"without_steps": "%d steps taken out", "steps": "%d steps changed", "new_steps": "%d steps added",
	"without_links": "%d links taken out", "links": "%d links changed", "new_links": "%d links added",
}

// None says that the order of work is as the pattern makes it.
func (c *Changes) None() bool { return len(c.sections) == 0 }

// Lost says what differs and cannot be carried by a pattern, one sentence each.
func (c *Changes) Lost() []phrase.Phrase { return slices.Clone(c.lost) }

// Counts says how many there are: "3 steps changed", "1 link added".
func (c *Changes) Counts() []phrase.Phrase {
	var out []phrase.Phrase
	for _, s := range c.sections {
		out = append(out, counted[s.name].Of(len(s.entries)))
	}
	return out
}

// Said says each change in a line.
func (c *Changes) Said() []phrase.Phrase {
	var out []phrase.Phrase
	for _, s := range c.sections {
		for _, e := range s.entries {
			out = append(out, e.say)
		}
	}
	return out
}

// Changes finds how an order of work differs from what the pattern of the input
// makes in the shop, without the changes that the pattern itself may hold. What is
// wrong with the input is *Errors. It takes time in proportion to steps squared.
func (l *Library) Changes(in Input, shop Shop, order *Built) (*Changes, error) {
	b, err := l.builder(shop)
	if err != nil {
		return nil, err
	}
	plain, err := b.build(in, false)
	if err != nil {
		return nil, err
	}
	f := &finder{lib: l, shop: shop, was: plain, is: order, names: stepNames(plain.Steps, order.Steps), c: &Changes{}}
	f.parts()
	f.assemblies()
	f.steps()
	f.links()
	return f.c, nil
}

// finder carries one Changes through.
type finder struct {
	lib     *Library
	shop    Shop
	was, is *Built
	names   map[string]string // of steps
	c       *Changes
}

// add adds a section, unless it is empty.
func (f *finder) add(name string, entries []entry) {
	if len(entries) > 0 {
		f.c.sections = append(f.c.sections, section{name, entries})
	}
}

// fields collects those fields that differ.
type fields struct{ all []field }

func (d *fields) add(differs bool, name, text string, say phrase.Phrase) {
	if differs {
		d.all = append(d.all, field{name, text, say})
	}
}

// said says what a list of fields changes.
func (d *fields) said() phrase.Phrase {
	var words []phrase.Phrase
	for _, one := range d.all {
		if !one.say.Empty() {
			words = append(words, one.say)
		}
	}
	if len(words) == 0 {
		return phrase.Of("what the checks know of it")
	}
	return phrase.Commas(words)
}

func keyed[T any](all []T, key func(*T) string) map[string]*T {
	out := make(map[string]*T, len(all))
	for i := range all {
		out[key(&all[i])] = &all[i]
	}
	return out
}

func (f *finder) parts() {
	was := keyed(f.was.Parts, func(p *Part) string { return p.Key })
	var changed []entry
	for i := range f.is.Parts {
		is := &f.is.Parts[i]
		old := was[is.Key]
		if old == nil {
			f.c.lost = append(f.c.lost, phrase.Of("The part “%s” is not one of the pattern's.", is.Name))
			continue
		}
		d := &fields{}
		d.add(old.Rough != is.Rough, "rough_size", sizeText(is.Rough), phrase.Of("rough size"))
		d.add(old.Note != is.Note, "note", words2file(is.Note), phrase.Of("note ## changed"))
		rest := *is
		if rest.Rough, rest.Note = old.Rough, old.Note; rest != *old {
			f.c.lost = append(f.c.lost, phrase.Of("The part “%s” is not as the pattern makes it: its finished size, number, wood or name is another.", is.Name))
		}
		if len(d.all) > 0 {
			changed = append(changed, entry{append([]field{{name: "part", text: quoted(is.Key)}}, d.all...), phrase.Of("Part “%[1]s”: %[2]s", is.Name, d.said())})
		}
	}
	f.add("parts", changed)
}

func (f *finder) assemblies() {
	was := keyed(f.was.Assemblies, func(a *Assembly) string { return a.Key })
	var changed, added []entry
	for i := range f.is.Assemblies {
		is := &f.is.Assemblies[i]
		old, known := was[is.Key]
		if !known {
			old = &Assembly{}
		}
		d := &fields{}
		d.add(old.Name != is.Name, "name", words2file(is.Name), phrase.Of("name ## changed"))
		d.add(!sameParts(old.Parts, is.Parts), "parts", f.partsText(is.Parts), phrase.Of("its parts"))
		d.add(!sameKeys(old.Assemblies, is.Assemblies), "assemblies", listText(is.Assemblies), phrase.Of("the assemblies in it"))
		d.add(!sameKeys(old.Loose, is.Loose), "loose", listText(is.Loose), phrase.Of("what sits in it without glue"))
		d.add(old.Size != is.Size, "size", sizeText(is.Size), phrase.Of("size ## of an assembly"))
		e := entry{append([]field{{name: "assembly", text: quoted(is.Key)}}, d.all...), phrase.Of("Assembly “%[1]s”: %[2]s", is.Name, d.said())}
		if !known {
			e.say = phrase.Of("Assembly “%s” added", is.Name)
			added = append(added, e)
		} else if len(d.all) > 0 {
			changed = append(changed, e)
		}
	}
	f.add("assemblies", changed)
	f.add("new_assemblies", added)
}

// splitMark stands behind the key of the step that another was split from or added like.
var splitMark = regexp.MustCompile(`#[0-9]+$`)

func (f *finder) steps() {
	was := keyed(f.was.Steps, func(s *Step) string { return s.Key })
	is := keyed(f.is.Steps, func(s *Step) string { return s.Key })
	var without, changed, added []entry
	for i := range f.was.Steps {
		if s := &f.was.Steps[i]; is[s.Key] == nil {
			without = append(without, entry{[]field{{text: quoted(s.Key)}}, phrase.Of("“%s” taken out", s.Name)})
		}
	}
	behind := f.behind(was, is)
	for i := range f.is.Steps {
		s := &f.is.Steps[i]
		d := &fields{}
		if other, moved := behind[s.Key]; moved {
			d.add(true, "behind", quoted(other), f.place(other))
		}
		old := was[s.Key]
		if old != nil {
			f.step(d, old, s)
			if len(d.all) > 0 {
				changed = append(changed, entry{append([]field{{name: "step", text: quoted(s.Key)}}, d.all...), phrase.Of("“%[1]s”: %[2]s", s.Name, d.said())})
			}
			continue
		}
		head := []field{{name: "step", text: quoted(s.Key)}}
		base := f.lib.catalogue.plainStep(s.Kind)
		if like := was[splitMark.ReplaceAllString(s.Key, "")]; like != nil && like.Kind == s.Kind {
			head, base = append(head, field{name: "like", text: quoted(like.Key)}), *like
		} else {
			d.add(s.Kind != "", "kind", quoted(s.Kind), phrase.Phrase{})
		}
		f.step(d, &base, s)
		added = append(added, entry{append(head, d.all...), phrase.Of("“%[1]s” added, %[2]s", s.Name, f.place(behind[s.Key]))})
	}
	f.add("without_steps", without)
	f.add("steps", changed)
	f.add("new_steps", added)
}

// place says behind which step another is listed.
func (f *finder) place(other string) phrase.Phrase {
	if other == "" {
		return phrase.Of("listed first")
	}
	return phrase.Of("listed behind “%s”", f.names[other])
}

// behind says of the steps that are new, or not in the order of the pattern, which
// step they are listed behind; "" is none. As many as can be stay where they are.
func (f *finder) behind(was, is map[string]*Step) map[string]string {
	var old, now []string
	for i := range f.was.Steps {
		if is[f.was.Steps[i].Key] != nil {
			old = append(old, f.was.Steps[i].Key)
		}
	}
	for i := range f.is.Steps {
		if was[f.is.Steps[i].Key] != nil {
			now = append(now, f.is.Steps[i].Key)
		}
	}
	stays := common(old, now)
	out := map[string]string{}
	last := ""
	for i := range f.is.Steps {
		if key := f.is.Steps[i].Key; !stays[key] {
			out[key] = last
		}
		last = f.is.Steps[i].Key
	}
	return out
}

// common finds a longest common sequence of two lists of the same keys.
func common(x, y []string) map[string]bool {
	longest := make([][]int, len(x)+1)
	for i := range longest {
		longest[i] = make([]int, len(y)+1)
	}
	for i := len(x) - 1; i >= 0; i-- {
		for j := len(y) - 1; j >= 0; j-- {
			if x[i] == y[j] {
				longest[i][j] = longest[i+1][j+1] + 1
			} else {
				longest[i][j] = max(longest[i+1][j], longest[i][j+1])
			}
		}
	}
	out := map[string]bool{}
	for i, j := 0, 0; i < len(x) && j < len(y); {
		switch {
		case x[i] == y[j]:
			out[x[i]] = true
			i, j = i+1, j+1
		case longest[i+1][j] >= longest[i][j+1]:
			i++
		default:
			j++
		}
	}
	return out
}

// renamed says what a step was called; a new step was not.
func (f *finder) renamed(was *Step) phrase.Phrase {
	if was.Name == "" {
		return phrase.Phrase{}
	}
	return phrase.Of("name, was “%s”", was.Name)
}

// step finds what differs between two steps.
func (f *finder) step(d *fields, was, is *Step) {
	d.add(was.Name != is.Name, "name", words2file(is.Name), f.renamed(was))
	d.add(was.Kind != is.Kind, "kind", quoted(is.Kind), phrase.Of("kind ## changed"))
	d.add(was.Phase != is.Phase, "phase", quoted(string(is.Phase)), phrase.Of("phase ## changed"))
	d.add(was.Verb != is.Verb, "verb", quoted(is.Verb), phrase.Phrase{})
	if was.Station != is.Station {
		kind, name := f.station(is.Station)
		d.add(kind != "", "station", quoted(kind), phrase.Phrase{})
		d.add(true, "at", quoted(is.Station), phrase.Of("at the station %s", name))
	}
	d.add(!sameSetup(was.Setup, is.Setup), "setup", setupText(is.Setup), phrase.Of("setup ## changed"))
	number := func(name string, was, is int, say phrase.Phrase) {
		d.add(was != is, name, strconv.Itoa(is), say)
	}
	number("attended", was.Attended, is.Attended, phrase.Of("minutes of work %[1]d → %[2]d", was.Attended, is.Attended))
	number("unattended", was.Unattended, is.Unattended, phrase.Of("minutes of rest %[1]d → %[2]d", was.Unattended, is.Unattended))
	d.add(was.Rest != is.Rest, "rest", quoted(string(is.Rest)), phrase.Phrase{})
	number("hands", was.Hands, is.Hands, phrase.Of("people %[1]d → %[2]d", was.Hands, is.Hands))
	number("open_time", was.OpenTime, is.OpenTime, phrase.Of("minutes of open time %[1]d → %[2]d", was.OpenTime, is.OpenTime))
	truth := func(name string, was, is bool, yes, no phrase.Phrase) {
		say := no
		if is {
			say = yes
		}
		d.add(was != is, name, strconv.FormatBool(is), say)
	}
	truth("interruptible", was.Interruptible, is.Interruptible, phrase.Of("may be put down"), phrase.Of("is not put down"))
	truth("dusty", was.Dusty, is.Dusty, phrase.Of("raises dust ## now"), phrase.Of("raises no dust"))
	truth("wet", was.Wet, is.Wet, phrase.Of("leaves it wet ## now"), phrase.Of("does not leave it wet"))
	d.add(was.Glue != is.Glue, "glue", quoted(quoted(is.Glue)), phrase.Of("glue ## changed"))
	d.add(was.Finish != is.Finish, "finish", quoted(quoted(is.Finish)), phrase.Of("finish ## changed"))
	d.add(!sameClamps(was.Clamps, is.Clamps), "clamps", f.clampsText(is.Clamps), phrase.Of("clamps ## changed"))
	d.add(!sameParts(was.Parts, is.Parts), "parts", f.partsText(is.Parts), phrase.Of("parts it works on"))
	d.add(!sameKeys(was.Assemblies, is.Assemblies), "assemblies", listText(is.Assemblies), phrase.Of("assemblies it works on"))
	d.add(was.Makes != is.Makes, "makes", quoted(is.Makes), phrase.Of("what it makes"))
	d.add(!slices.Equal(was.With, is.With), "with", withText(is.With), phrase.Phrase{})
	truth("keeps_faces", was.KeepsFaces, is.KeepsFaces, phrase.Phrase{}, phrase.Phrase{})
	d.add(!slices.Equal(was.Cautions, is.Cautions), "cautions", cautionsText(is.Cautions), phrase.Of("cautions ## changed"))
	d.add(was.Note != is.Note, "note", words2file(is.Note), phrase.Of("note ## changed"))
}

// station is the kind and the name of a station of the shop.
func (f *finder) station(key string) (kind, name string) {
	for _, s := range f.shop.Stations {
		if s.Key == key {
			return s.Kind, s.Name
		}
	}
	return "", key
}

func sameSetup(x, y *Setup) bool {
	if x == nil || y == nil {
		return x == y
	}
	return *x == *y
}

func sameParts(x, y []PartUse) bool { return maps.Equal(sums(x), sums(y)) }

func sums(uses []PartUse) map[string]int {
	out := map[string]int{}
	for _, u := range uses {
		out[u.Part] += u.Quantity
	}
	return out
}

func sameClamps(x, y []ClampUse) bool {
	add := func(uses []ClampUse) map[string]int {
		out := map[string]int{}
		for _, u := range uses {
			out[u.Class] += u.Count
		}
		return out
	}
	return maps.Equal(add(x), add(y))
}

func sameKeys(x, y []string) bool {
	return slices.Equal(slices.Sorted(slices.Values(x)), slices.Sorted(slices.Values(y)))
}

// links finds the links that differ; those of steps that were taken out go with them.
func (f *finder) links() {
	type pair struct {
		before, after string
		from          LinkFrom
	}
	is := keyed(f.is.Steps, func(s *Step) string { return s.Key })
	of := func(l *Link) pair { return pair{l.Before, l.After, l.From} }
	was, now := map[pair]*Link{}, map[pair]*Link{}
	wasAll, isAll := NarrowLinks(f.was.Links), NarrowLinks(f.is.Links)
	for i := range wasAll {
		was[of(&wasAll[i])] = &wasAll[i]
	}
	var without, changed, added []entry
	for i := range isAll {
		l := &isAll[i]
		now[of(l)] = l
		old := was[of(l)]
		switch {
		case old == nil:
			added = append(added, entry{linkFields(l), phrase.Of("“%[1]s” waits for “%[2]s”", f.names[l.After], f.names[l.Before])})
		case old.Min != l.Min || !sameMax(old.Max, l.Max) || old.Why != l.Why:
			changed = append(changed, entry{linkFields(l), phrase.Of("“%[1]s” waits for “%[2]s”: %[3]s", f.names[l.After], f.names[l.Before], lags(l))})
		}
	}
	for i := range wasAll {
		if l := &wasAll[i]; now[of(l)] == nil && is[l.Before] != nil && is[l.After] != nil {
			without = append(without, entry{linkFields(l)[:3], phrase.Of("“%[1]s” waits for “%[2]s” no more", f.names[l.After], f.names[l.Before])})
		}
	}
	f.add("without_links", without)
	f.add("links", changed)
	f.add("new_links", added)
}

func lags(l *Link) phrase.Phrase {
	if l.Max == nil {
		return phrase.Of("at least %d minutes", l.Min)
	}
	return phrase.Of("at least %[1]d and at most %[2]d minutes", l.Min, *l.Max)
}

func sameMax(x, y *int) bool {
	if x == nil || y == nil {
		return x == y
	}
	return *x == *y
}

func linkFields(l *Link) []field {
	out := []field{{name: "before", text: quoted(l.Before)}, {name: "after", text: quoted(l.After)}, {name: "from", text: string(l.From)}, {name: "least", text: strconv.Itoa(l.Min)}}
	if l.Max != nil {
		out = append(out, field{name: "greatest", text: strconv.Itoa(*l.Max)})
	}
	return append(out, field{name: "why", text: words2file(l.Why)})
}

// quoted writes a text as YAML reads it back exactly, on one line.
func quoted(text string) string {
	var b strings.Builder
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(text); err != nil { // a text always can be written
		return strconv.Quote(text)
	}
	return strings.ReplaceAll(strings.TrimSuffix(b.String(), "\n"), "\u007f", `\u007f`)
}

// words2file writes a text in which no expression stands.
func words2file(text string) string { return quoted(strings.ReplaceAll(text, "{", `{"{"}`)) }

func lengthText(l wood.Length) string {
	return MeasureValue{IsLength: true, Length: l}.expression()
}

func sizeText(z Size) string {
	return fmt.Sprintf("{length: %s, width: %s, thickness: %s}", lengthText(z.Length), lengthText(z.Width), lengthText(z.Thickness))
}

func listText(keys []string) string {
	all := make([]string, len(keys))
	for i, key := range keys {
		all[i] = quoted(key)
	}
	return "[" + strings.Join(all, ", ") + "]"
}

// partsText writes parts with their numbers, or without where it is all of each.
func (f *finder) partsText(uses []PartUse) string {
	whole := map[string]int{}
	for _, p := range f.is.Parts {
		whole[p.Key] = p.Quantity
	}
	sum := sums(uses)
	var keys, numbered []string
	all := true
	for _, u := range uses {
		if slices.Contains(keys, u.Part) {
			continue
		}
		keys = append(keys, u.Part)
		numbered = append(numbered, fmt.Sprintf("%s: %d", quoted(u.Part), sum[u.Part]))
		all = all && sum[u.Part] == whole[u.Part]
	}
	if all {
		return listText(keys)
	}
	return "{" + strings.Join(numbered, ", ") + "}"
}

func setupText(s *Setup) string {
	if s == nil {
		return "{}"
	}
	return fmt.Sprintf("{family: %s, state: %s, say: %s}", words2file(s.Family), words2file(s.State), words2file(s.Instruction))
}

func (f *finder) clampsText(uses []ClampUse) string {
	var all []string
	for _, u := range uses {
		opens := wood.Length(0)
		for _, c := range f.shop.Clamps {
			if c.Key == u.Class {
				opens = c.Reach
			}
		}
		all = append(all, fmt.Sprintf("{class: %s, reach: %s, count: %d}", quoted(u.Class), lengthText(opens), u.Count))
	}
	return "[" + strings.Join(all, ", ") + "]"
}

func withText(with []MeasureValue) string {
	var all []string
	for _, m := range with {
		all = append(all, m.Key+": "+m.expression())
	}
	return "{" + strings.Join(all, ", ") + "}"
}

func cautionsText(texts []string) string {
	all := make([]string, len(texts))
	for i, text := range texts {
		all[i] = words2file(text)
	}
	return "[" + strings.Join(all, ", ") + "]"
}
