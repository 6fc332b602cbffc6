package pattern

import (
	"io/fs"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models/wood"
)

// refused builds what must not be built and returns the reasons by field.
func refused(t *testing.T, in Input, change func(*Shop)) map[string]string {
	t.Helper()
	l := library(t)
	shop := smallShop(l)
	if change != nil {
		change(&shop)
	}
	b, err := l.Build(in, shop)
	require.Nil(t, b)
	var errs *Errors
	require.ErrorAs(t, err, &errs)
	out := map[string]string{}
	for _, f := range errs.List {
		out[f.Field] += f.Error() + "\n"
	}
	return out
}

func TestBuildRefusesAndNamesFieldValueLimit(t *testing.T) {
	bench := func(key, value string) Input {
		return Input{Pattern: "hall-bench", Measures: map[string]string{key: value}}
	}
	for _, c := range []struct {
		name, field string
		in          Input
		change      func(*Shop)
		says        []string
	}{
		{"no such pattern", "", Input{Pattern: "spaceship"}, nil, []string{`no pattern called "spaceship"`}},
		{"not a length", "length", bench("length", "long"), nil, []string{"Length of the seat", `"long" is not a length`}},
		{"no such measure", "wheels", bench("wheels", "4"), nil, []string{`no measure called "wheels"`}},
		{"over its limit", "length", bench("length", "9000"), nil, []string{"Length of the seat is 9000 mm", "between 700 mm and 1900 mm"}},
		{"under its limit", "post", bench("post", "20mm"), nil, []string{"Post thickness is 20 mm", "between 38 mm and 70 mm"}},
		{"a rail higher than another allows", "rail", bench("rail", "140"), nil, []string{"Height of the long rails is 140 mm", "and 110 mm"}},
		{"not whole", "coats", bench("coats", "3.5"), nil, []string{"Coats in all is 3.5", "whole number"}},
		{"not a number", "coats", bench("coats", "many"), nil, []string{`"many" is not a number`}},
		{"no such option", "joint", Input{Pattern: "hall-bench", Choices: map[string]string{"joint": "nails"}}, nil, []string{`no option "nails"`, "dowel"}},
		{"no such choice", "wheel", Input{Pattern: "hall-bench", Choices: map[string]string{"wheel": "a"}}, nil, []string{`no choice called "wheel"`}},
		{"a species that is not known", "species", Input{Pattern: "hall-bench", Choices: map[string]string{"species": "granite"}}, nil, []string{`"granite"`}},
		{"a rule of the piece", "width", Input{Pattern: "wall-shelf-unit", Measures: map[string]string{"width": "1150", "thickness": "16"}}, nil, []string{"will sag"}},
		{"too wide for every jointer", "", Input{Pattern: "wall-shelf-unit", Measures: map[string]string{"depth": "250"}},
			func(s *Shop) { s.Stations[1].MaxWidth = 240 * wood.Millimetre },
			[]string{"Side of the carcase is 256.4 mm wide", "Jointer takes at most 210 mm"}},
		{"too short for the planer", "", bench("arch", "110"), func(s *Shop) { s.Stations[1].MinLength = 600 * wood.Millimetre },
			[]string{"long and Planer takes at least 600 mm"}},
		{"too thick", "", bench("post", "45"), func(s *Shop) { s.Stations[8].MaxThickness = 40 * wood.Millimetre },
			[]string{"Post is 45 mm thick and Mortiser takes at most 40 mm"}},
		{"no station of the kind", "", bench("post", "45"), func(s *Shop) { s.Stations = s.Stations[1:] },
			[]string{`needs a station of the kind "jointer"`}},
		{"more clamps than the rack has", "", Input{Pattern: "wall-shelf-unit", Measures: map[string]string{"shelves": "4"}}, nil,
			[]string{"Glue up the carcase needs 12 clamps that open 840 mm", "the rack has 10 (Bar clamp 1200: 10)"}},
		{"no clamp reaches", "", bench("length", "1900"), nil, []string{"no class of clamp in the shop does"}},
		{"too cold for the glue", "glue", Input{Pattern: "hall-bench", Choices: map[string]string{"glue": "hide"}},
			func(s *Shop) { s.TemperatureC = 14 }, []string{"Liquid hide glue needs at least 16 °C; the air is at 14 °C"}},
		{"too cold for the finish", "finish", bench("post", "45"), func(s *Shop) { s.TemperatureC = 12 },
			[]string{"Wiping varnish needs at least 13 °C; the air is at 12 °C"}},
		{"too cold, in the degrees of an inch shop", "glue", Input{Pattern: "hall-bench", Choices: map[string]string{"glue": "hide"}},
			func(s *Shop) { s.Units, s.TemperatureC = wood.Inches, (46.5-32)/1.8 }, []string{"Liquid hide glue needs at least 60.8 °F; the air is at 46.5 °F"}},
		{"hotter than any times are known for", "finish", Input{Pattern: "hall-bench"},
			func(s *Shop) { s.Units, s.TemperatureC = wood.Inches, 46.5 }, []string{"The times of Wiping varnish are known up to 104 °F; the air is at 115.7 °F"}},
		{"a glue the shop has not", "glue", bench("post", "45"), func(s *Shop) { s.Glues = nil }, []string{`the shop has no glue "pva"`}},
		{"a finish the shop has not", "finish", bench("post", "45"), func(s *Shop) { s.Finishes = nil }, []string{`the shop has no finish "wiping-varnish"`}},
		{"not enough people", "", Input{Pattern: "wall-shelf-unit"}, func(s *Shop) { s.Hands = 1 }, []string{"Glue up the carcase needs 2 people; the shop has 1"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			reasons := refused(t, c.in, c.change)
			for _, words := range c.says {
				assert.Contains(t, reasons[c.field], words)
			}
		})
	}
}

func TestBuildTellsEverythingWrongAtOnce(t *testing.T) {
	reasons := refused(t, Input{
		Pattern:  "hall-bench",
		Measures: map[string]string{"length": "9 m", "depth": "x", "coats": "9"},
		Choices:  map[string]string{"glue": "jam"},
	}, nil)
	for _, field := range []string{"length", "depth", "coats", "glue"} {
		assert.Contains(t, reasons, field)
	}
}

// A measure whose limits hang on one that is wrong is not to blame for it; what is wrong
// with it besides is said.
func TestOnlyTheMeasureAtFaultIsNamed(t *testing.T) {
	for _, c := range []struct {
		name, piece string
		measures    map[string]string
		fields      []string
		says        string
	}{
		{"no length", "hall-bench", map[string]string{"length": "0"}, []string{"length"}, "Length of the seat is 0 mm; it must lie between 700 mm and 1900 mm"},
		{"hardly any length", "hall-bench", map[string]string{"length": "1"}, []string{"length"}, "Length of the seat is 1 mm"},
		{"no height", "hall-bench", map[string]string{"height": "0"}, []string{"height"}, "Height of the seat is 0 mm"},
		{"a depth that would want a longer bench", "hall-bench", map[string]string{"depth": "5 m"}, []string{"depth"}, "Depth of the seat is 5000 mm"},
		{"and an overhang that is too much at any length", "hall-bench", map[string]string{"length": "0", "overhang": "900"},
			[]string{"length", "overhang"}, "Overhang of the seat at the ends is 900 mm; it must lie between 0 mm and 200 mm"},
		{"no drawer", "bedside-cabinet", map[string]string{"drawer": "0"}, []string{"drawer"}, "Height of the drawer's opening is 0 mm"},
		{"no width", "table", map[string]string{"width": "0"}, []string{"width"}, "Width of the top is 0 mm"},
		{"a stool of no width", "stool", map[string]string{"width": "0"}, []string{"width"}, "Width of the seat is 0 mm"},
	} {
		t.Run(c.name, func(t *testing.T) {
			reasons := refused(t, Input{Pattern: c.piece, Measures: c.measures}, nil)
			assert.ElementsMatch(t, c.fields, slices.Collect(maps.Keys(reasons)), reasons)
			all := ""
			for _, r := range reasons {
				all += r
			}
			assert.Contains(t, all, c.says)
		})
	}
}

// The same of every measure of every piece that may not be nothing.
func TestAMeasureOfNothingIsNamedAlone(t *testing.T) {
	l := library(t)
	judged := 0
	for _, p := range l.Patterns() {
		form, err := l.Form(Input{Pattern: p.Key}, smallShop(l))
		require.NoError(t, err)
		for _, m := range form.Measures {
			if m.LeastLength <= 0 && m.LeastNumber <= 0 {
				continue
			}
			judged++
			in := Input{Pattern: p.Key, Measures: map[string]string{m.Key: "0"}}
			reasons := refused(t, in, nil)
			now, err := l.Form(in, smallShop(l))
			require.NoError(t, err)
			for i, other := range now.Measures {
				assert.Equal(t, form.Measures[i].GreatestLength, other.GreatestLength, "%s: what is shown of %s with no %s", p.Key, other.Key, m.Key)
			}
			assert.Equal(t, []string{m.Key}, slices.Collect(maps.Keys(reasons)), "%s: %v", p.Key, reasons)
		}
	}
	assert.Greater(t, judged, 60)
}

func TestWiderThanTheJointerGoesThroughThePlanerOnASled(t *testing.T) {
	b := built(t, Input{Pattern: "wall-shelf-unit", Measures: map[string]string{"depth": "250"}})
	o := orderOf(t, b)
	flat := o.step("carcase.face")
	assert.Equal(t, "face-sled", flat.Kind)
	assert.Equal(t, "planer", flat.Station)
	assert.Equal(t, "sled on", flat.Setup.State)
	assert.Contains(t, flat.Name, "planer sled")
	o.before("carcase.face", "carcase.edge", "carcase.plane")
	narrow := orderOf(t, built(t, Input{Pattern: "wall-shelf-unit"})).step("carcase.face")
	assert.Equal(t, "joint-face", narrow.Kind)
}

func TestWiderThanTheDrumSanderClosedTakesTwoPasses(t *testing.T) {
	b := built(t, Input{Pattern: "hall-bench", Measures: map[string]string{"depth": "440"}})
	flat := orderOf(t, b).step("seat.flatten-drum")
	assert.Contains(t, flat.Note, "two passes at each height")
	once := orderOf(t, built(t, Input{Pattern: "hall-bench"})).step("seat.flatten-drum")
	assert.Greater(t, flat.Attended, once.Attended)
	reasons := refused(t, Input{Pattern: "hall-bench", Measures: map[string]string{"depth": "440"}}, func(s *Shop) { s.Stations[5].OpenEnded = false })
	assert.Contains(t, reasons[""], "Seat is 452 mm wide and Drum sander takes at most 450 mm")
}

func TestLongerClampsHelpOutWhereOneClassHasNotEnough(t *testing.T) {
	l := library(t)
	shop := smallShop(l)
	for i := range shop.Clamps {
		shop.Clamps[i].Count = 4
	}
	b, err := l.Build(Input{Pattern: "hall-bench"}, shop)
	require.NoError(t, err)
	assert.Equal(t, []ClampUse{{"f-300", 4}, {"bar-600", 2}}, orderOf(t, b).step("left-end.arch.glue").Clamps)
}

// The rules for cold are in models/wood with their sources; here they must reach
// the steps.
func TestAColdShopTakesLonger(t *testing.T) {
	l := library(t)
	warm, cold := smallShop(l), smallShop(l)
	cold.TemperatureC = 15
	one, err := l.Build(Input{Pattern: "hall-bench"}, warm)
	require.NoError(t, err)
	two, err := l.Build(Input{Pattern: "hall-bench"}, cold)
	require.NoError(t, err)
	a, b := orderOf(t, one), orderOf(t, two)
	assert.Equal(t, 60, a.step("seat.glue").Unattended)
	assert.Equal(t, 100, b.step("seat.glue").Unattended, "60 min doubled for each 15 °F below 21 °C, to the next 5")
	assert.Equal(t, 240, a.step("seat-finish.coat-1").Unattended)
	assert.Equal(t, 480, b.step("seat-finish.coat-1").Unattended)
}

func TestFormShowsLimitsAtWhatWasTyped(t *testing.T) {
	l := library(t)
	form, err := l.Form(Input{Pattern: "hall-bench", Measures: map[string]string{"arch": "100", "length": "nonsense"}}, smallShop(l))
	require.NoError(t, err)
	for _, m := range form.Measures {
		if m.Key == "rail" {
			assert.Equal(t, 100*wood.Millimetre, m.GreatestLength)
			assert.Equal(t, 50*wood.Millimetre, m.LeastLength)
			assert.Equal(t, 80*wood.Millimetre, m.DefaultLength)
		}
	}
	inches := smallShop(l)
	inches.Units = wood.Inches
	form, err = l.Form(Input{Pattern: "hall-bench"}, inches)
	require.NoError(t, err)
	assert.Equal(t, 47*wood.Inch, form.Measures[0].DefaultLength)
	_, err = l.Form(Input{Pattern: "none"}, inches)
	assert.ErrorContains(t, err, `no pattern called "none"`)
}

func shippedFiles(t require.TestingT) fstest.MapFS {
	out := fstest.MapFS{}
	from := os.DirFS("../../seed")
	names, err := fs.Glob(from, "patterns/*.yaml")
	require.NoError(t, err)
	for _, name := range append(names, "catalogue.yaml", "species.yaml", "materials.yaml") {
		data, err := fs.ReadFile(from, name)
		require.NoError(t, err)
		out[name] = &fstest.MapFile{Data: data}
	}
	return out
}

func TestOnlyGluesAndFinishesOfTheShopAreOffered(t *testing.T) {
	l := library(t)
	shop := smallShop(l)
	shop.Glues = shop.Glues[2:4] // polyurethane and epoxy
	form, err := l.Form(Input{Pattern: "hall-bench"}, shop)
	require.NoError(t, err)
	for _, c := range form.Choices {
		if c.Key == "glue" {
			assert.Equal(t, "polyurethane", c.Default)
			assert.Equal(t, []Option{{"polyurethane", "Polyurethane glue"}, {"epoxy", "Epoxy, slow"}}, c.Options)
		}
	}
	b, err := l.Build(Input{Pattern: "hall-bench"}, shop)
	require.NoError(t, err)
	assert.Equal(t, "polyurethane", orderOf(t, b).step("seat.glue").Glue)
	assert.Contains(t, refused(t, Input{Pattern: "hall-bench", Choices: map[string]string{"glue": "hide"}}, func(s *Shop) { s.Glues = shop.Glues })["glue"], `no option "hide"`)
}

// benchFiles are the shipped files the hall bench needs.
func benchFiles(t require.TestingT) fstest.MapFS {
	files := shippedFiles(t)
	for name := range files {
		switch key := strings.TrimSuffix(strings.TrimPrefix(name, "patterns/"), ".yaml"); key {
		case "hall-bench", "edge-treatment", "leg-set", "rail-set", "end-frame", "built-up-rail", "glued-panel", "finish-schedule", "top-fastening",
			"catalogue", "species", "materials":
		default:
			delete(files, name)
		}
	}
	return files
}

// edited loads the files of the hall bench with one text of one file replaced.
func edited(t *testing.T, file, old, new string) *FileError {
	t.Helper()
	files := benchFiles(t)
	text := string(files[file].Data)
	require.Contains(t, text, old)
	files[file] = &fstest.MapFile{Data: []byte(strings.Replace(text, old, new, 1))}
	_, err := Load(files)
	var at *FileError
	require.ErrorAs(t, err, &at)
	return at
}

// lineOf is the line, from 1, where a text first stands.
func lineOf(t *testing.T, file, text string) int {
	before, _, found := strings.Cut(string(shippedFiles(t)[file].Data), text)
	require.True(t, found)
	return strings.Count(before, "\n") + 1
}

func TestFilesAreRefusedAtLineColumnAndField(t *testing.T) {
	const bench, kinds, panel = "patterns/hall-bench.yaml", "catalogue.yaml", "patterns/glued-panel.yaml"
	for _, c := range []struct {
		name, file, old, new, at string
		field, says              string
	}{
		{"unknown field", bench, "blurb:", "colour: red\nblurb:", "blurb:", "colour", "no such field"},
		{"twice the same field", bench, "blurb:", "title: again\nblurb:", "blurb:", "", "already defined"},
		{"not YAML", bench, "measures:", "measures: [", "measures:", "", ""},
		{"a name that is not known", bench, "leg: height - seat", "leg: heigth - seat", "leg: height", "let.leg", `"heigth" is not known`},
		{"a length plus a number", bench, "leg: height - seat", "leg: height - 3", "leg: height", "let.leg", "the sign - does not go between a length and a number"},
		{"a length where a count belongs", "patterns/leg-set.yaml", "quantity: legs", "quantity: section", "quantity: legs", "parts.leg.quantity", "gives a length where a number is wanted"},
		{"a function that is none", bench, "leg: height - seat", "leg: sqrt(height)", "leg: height", "let.leg", "not"},
		{"no such step kind", bench, "kind: cut-template", "kind: magic", "key: template", "steps.template.kind", `no kind "magic"`},
		{"a parameter too few", "patterns/leg-set.yaml", "with: {thickness: section}", "with: {}", "key: plane", "steps.plane.with", `needs "thickness", a length`},
		{"no such parameter", bench, "with: {places: 4}", "with: {places: 4, spin: 3}", "key: shape-posts", "steps.shape-posts.with", `no parameter "spin"`},
		{"no such pattern", bench, "pattern: rail-set", "pattern: rale-set", "as: rails", "uses.rails.pattern", `no pattern is called "rale-set"`},
		{"a measure the sub-assembly has not", bench, "rails: 2, peg", "rales: 2, peg", "rails: 2, peg", "uses.rails.measures", `no measure called "rales"`},
		{"no such part", bench, "parts: [rails.rail]", "parts: [rails.rale]", "parts: [rails.rail]", "steps.slots.parts", `no part is called "rails.rale"`},
		{"no such step in a chain", bench, "[glue-base, clean, shape-posts", "[glue-base, clene, shape-posts", "[glue-base, clean", "links", `no step or point is called "clene"`},
		{"a link without a reason", bench, `    why: "the router's bearing follows the template"`, "", "", "links[0].why", "missing"},
		{"two keys alike", bench, "key: slots", "key: template", "key: slots", "steps[1].key", `"template" is taken`},
		{"a word of the language as a name", bench, "leg: height - seat", "min: height - seat", "leg: height", "let.min", "word of the expression language"},
		{"an option that is not there", bench, "{key: walnut}", "{key: granite}", "", "choices.species.options", `"granite" is not among the species`},
		{"a default that is no option", bench, "default: ash", "default: pine", "default: ash", "choices.species.default", `"pine" is none of its options`},
		{"a phase that is none", kinds, "phase: milling", "phase: brewing", "phase: milling", "kinds.rough-crosscut.phase", `"brewing" is none of`},
		{"a caution that is none", kinds, "cautions: [crosscut, machine, noise]", "cautions: [tigers]", "cautions: [crosscut", "kinds.rough-crosscut.cautions", `no caution is called "tigers"`},
		{"a formula that does not end", kinds, "time: {fixed: 4, per_piece: 1.5}", `time: {fixed: "4 +"}`, "time: {fixed: 4", "kinds.rough-crosscut.time.fixed", "unexpected token"},
		{"minutes that are none", "materials.yaml", "open: 10", "open: soon", "open: 10", "glues[0].open", `"soon" is not a whole number of minutes`},
		{"a class that is none", "species.yaml", "density: dense", "density: heavy", "density: dense", "species[0].density", `"heavy" is none of`},
		{"taken parts need a number", "patterns/end-frame.yaml", "parts: {post: 2}", "parts: [post]", "parts: {post: 2}", "steps.dry-fit.parts.post", "needs a quantity"},
		{"glue without a glue step", panel, "    glue: glue\n", "", "", "steps.glue.glue", "needs a glue"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := edited(t, c.file, c.old, c.new)
			assert.True(t, strings.HasSuffix(c.file, got.File), got.File)
			assert.Contains(t, got.Reason, c.says)
			if c.field != "" {
				assert.Equal(t, c.field, got.Field)
			}
			if c.at != "" && c.field != "" {
				assert.Equal(t, lineOf(t, c.file, c.at), got.Line, got.Error())
				assert.Positive(t, got.Column)
			}
		})
	}
}

func TestAGraphThatGoesRoundIsRefusedWithItsSteps(t *testing.T) {
	got := edited(t, "patterns/hall-bench.yaml", "links:\n", "links:\n  - {before: shape-posts, after: left-end.glue-end, why: a slip}\n")
	assert.Equal(t, "hall-bench.yaml", got.File)
	for _, words := range []string{"round in a circle", "shape-posts", "left-end.glue-end", "before"} {
		assert.Contains(t, got.Reason, words)
	}
}

func TestAnUnfinishedOrderIsRefused(t *testing.T) {
	for _, c := range []struct{ name, file, old, new, says string }{
		{"an assembly nobody makes", "patterns/hall-bench.yaml", "    makes: base\n", "    parts: [rails.rail]\n", `no step makes the assembly "base"`},
		{"a part left over", "patterns/leg-set.yaml", "quantity: legs", "quantity: legs + 1", "5 are made and 4 are used"},
		{"a part nobody mills", "patterns/rail-set.yaml", "    note: Cut from one long strip.\n    bought: true\n  - key: dowel\n    name: \"Dowel of the {here}\"\n    when: joint == \"dowel\"",
			"    note: Cut from one long strip.\n    bought: true\n  - key: dowel\n    name: \"Dowel of the {here}\"", "no step mills"},
		{"two steps that want the same piece", "patterns/hall-bench.yaml", "[seat.ready, edges.done, seat-finish.start]", "[seat.ready, edges.done]", "nothing says which comes first"},
		{"two ends", "patterns/hall-bench.yaml", "assemblies: {base: base, top: seat.panel}", "assemblies: {base: base, top: left-end.frame}", ""},
		{"a sub-assembly that holds itself", "patterns/rail-set.yaml", "parts:\n", "uses:\n  - {pattern: rail-set, as: inner, here: inner}\nparts:\n", "it holds itself"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.name == "a part nobody mills" {
				files := benchFiles(t)
				text := strings.ReplaceAll(string(files[c.file].Data), "bought: true", "bought: false")
				files[c.file] = &fstest.MapFile{Data: []byte(text)}
				l, err := Load(files) // at its defaults no dowels are there
				require.NoError(t, err)
				_, err = l.Build(Input{Pattern: "hall-bench", Choices: map[string]string{"joint": "dowel"}}, l.GenerousShop())
				require.ErrorContains(t, err, c.says)
				return
			}
			assert.Contains(t, edited(t, c.file, c.old, c.new).Reason, c.says)
		})
	}
}
