package pattern

import (
	"errors"
	"io/fs"
	"maps"
	"testing"
)

// FuzzReadPattern feeds the reader, and what it takes to the checks and to
// Build: nothing may crash, and what is wrong must be said as a *FileError or
// as *Errors.
func FuzzReadPattern(f *testing.F) {
	files := shippedFiles(f)
	names, err := fs.Glob(files, "patterns/*.yaml")
	if err != nil {
		f.Fatal(err)
	}
	for _, name := range names {
		f.Add(files[name].Data, "450")
	}
	f.Add(changedBench(f, benchChanges), "450")
	f.Add(changedBench(f, "changes:\n  without_steps: [seat.glue, seat.rip]\n  steps: [{step: seat.drill, clamps: [], parts: {}, with: {}}]\n  links: [{before: a, after: b}]\n"), "")
	f.Add([]byte("pattern: a\ntitle: A\nis: piece\nblurb: b\nlet: {x: 'mm(1)/0'}\n"), "-1")
	f.Add([]byte("a: &a [*a, *a]"), "")
	shop := library(f).GenerousShop()
	f.Fuzz(func(t *testing.T, data []byte, typed string) {
		p, err := ReadPattern("fuzzed.yaml", data)
		if err != nil {
			requireFileError(t, err)
			return
		}
		l := *library(t)
		l.patterns = maps.Clone(l.patterns)
		l.patterns[p.Key] = p
		if err := l.check(p); err != nil {
			requireFileError(t, err)
			return
		}
		in := Input{Pattern: p.Key, Measures: map[string]string{}}
		for _, m := range p.Measures {
			in.Measures[m.Key] = typed
		}
		if _, err := l.Form(in, shop); err != nil {
			requireErrors(t, err)
		}
		b, err := l.Build(in, shop)
		if err != nil {
			requireErrors(t, err)
			return
		}
		if p.Changed() {
			requireOrdered(t, b)
			return
		}
		requireWhole(t, b)
	})
}

// FuzzChanges feeds the section of changes alone, behind a pattern that is sound:
// fuzzed with the whole file, it is seldom come to.
func FuzzChanges(f *testing.F) {
	f.Add(benchChanges)
	for _, entry := range []string{
		"assemblies: [{assembly: base, name: \"{species}\", parts: {rails.rail: 1}, loose: [seat.panel], size: {length: length}}]",
		"new_assemblies: [{assembly: both, name: Both, assemblies: [base, seat.panel], size: {length: length, width: depth, thickness: height}}]",
		"steps: [{step: seat.glue, clamps: [{class: f-300, reach: mm(200), count: 4}], glue: '\"hide\"', hands: 2, rest: in clamps, unattended: 60, makes: seat.panel}]",
		"steps: [{step: seat.plane, station: planer, setup: {family: thickness, state: \"{seat}\", say: x}, with: {thickness: seat}, parts: {seat.board: 2}, cautions: [a, b]}]",
		"without_links: [{before: template, after: left-end.rout-arch}]",
		"links: [{before: base-finish.coat-1, after: base-finish.coat-2, from: attended, least: 2 * 60, greatest: -5}]",
		"new_links: [{before: fastening.fit, after: posts.rough-cut, why: round}]",
	} {
		f.Add("changes:\n  " + entry + "\n")
	}
	shop := library(f).GenerousShop()
	f.Fuzz(func(t *testing.T, section string) {
		l, p, err := library(t).With("ours.yaml", changedBench(t, section))
		if err != nil {
			requireFileError(t, err)
			return
		}
		for _, taken := range []map[string]string{nil, {"joint": "dowel", "fastener": "clip"}} {
			b, err := l.Build(Input{Pattern: p.Key, Choices: taken}, shop)
			if err != nil {
				requireErrors(t, err)
				continue
			}
			requireOrdered(t, b)
		}
	})
}

// requireOrdered states what holds whatever was changed by hand: the checks judge
// the rest.
func requireOrdered(t *testing.T, b *Built) {
	place := map[string]int{}
	for i, s := range b.Steps {
		if _, twice := place[s.Key]; twice || s.Name == "" || s.Station == "" || s.Attended < 1 || (s.Rest == NoRest) != (s.Unattended == 0) {
			t.Fatalf("not a step: %+v", s)
		}
		place[s.Key] = i
	}
	for _, l := range b.Links {
		before, known := place[l.Before]
		after, knownToo := place[l.After]
		if !known || !knownToo || before >= after || l.Max != nil && *l.Max < l.Min {
			t.Fatalf("not a link: %+v", l)
		}
	}
}

func requireFileError(t *testing.T, err error) {
	var at *FileError
	if !errors.As(err, &at) || at.Reason == "" {
		t.Fatalf("not a file error: %v", err)
	}
}

func requireErrors(t *testing.T, err error) {
	var errs *Errors
	if !errors.As(err, &errs) || len(errs.List) == 0 {
		t.Fatalf("not a list of errors: %v", err)
	}
}

// FuzzReadCatalogue feeds the reader of step catalogues.
func FuzzReadCatalogue(f *testing.F) {
	f.Add(shippedFiles(f)["catalogue.yaml"].Data)
	f.Add([]byte("kinds:\n  - {key: a, name: A, phase: milling, verb: v, says: 's {x', station: q, time: {fixed: 1}}\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := ReadCatalogue("fuzzed.yaml", data)
		if err != nil {
			requireFileError(t, err)
			return
		}
		if len(c.Kinds()) == 0 {
			t.Fatal("a catalogue without kinds was taken")
		}
	})
}

// FuzzExpression feeds the expression language: it ends, and never gives
// anything but its four sorts.
func FuzzExpression(f *testing.F) {
	for _, s := range []string{
		"a + mm(3) * 2", "n > 3 ? a : a / 2", `s in ["x", "y"] and not (n < 1)`, "ceil(a, mm(5)) / mm(1)",
		"1..1000000000", "filter([1], # > 0)", "max(a, n)", "-n", "a.nm", "let x = 1; x", `{"a": 1}`, "$env", "s matches s",
	} {
		f.Add(s)
	}
	reach := names{"a": isLength, "n": isNumber, "s": isText}
	f.Fuzz(func(t *testing.T, source string) {
		e, err := compile(source, 0, reach)
		if err != nil {
			return
		}
		v, err := e.eval(values{"a": length{5e6}, "n": 3.0, "s": "x"})
		if err != nil {
			return
		}
		got := map[sort]bool{}
		switch v.(type) {
		case length:
			got[isLength] = true
		case float64:
			got[isNumber] = true
		case string:
			got[isText] = true
		case bool:
			got[isTruth] = true
		}
		if !got[e.gives] {
			t.Fatalf("%q says it gives %s and gives %T", source, e.gives, v)
		}
	})
}
