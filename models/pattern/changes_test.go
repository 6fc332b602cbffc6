package pattern

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models/phrase"
	"faceside/models/wood"
)

// changedBench is the hall bench under another key, with changes made by hand.
func changedBench(t require.TestingT, changes string) []byte {
	text := string(shippedFiles(t)["patterns/hall-bench.yaml"].Data)
	require.Contains(t, text, "pattern: hall-bench\n")
	return []byte(strings.Replace(text, "pattern: hall-bench\n", "pattern: our-bench\n", 1) + changes)
}

const benchChanges = `changes:
  parts:
    - part: seat.board
      rough_size: {thickness: mm(30)}
      note: "Take it from the {species} stack"
  without_steps: [left-end.dry-fit]
  steps:
    - step: left-end.saw-arch
      name: Saw the arch by hand
      station: bench
      setup: {}
      attended: ceil(metres(length) * 20)
      behind: ""
  new_steps:
    - step: left-end.saw-arch#2
      like: left-end.saw-arch
      name: Look along the arch
      attended: 5
      behind: left-end.saw-arch
    - step: own#2
      name: "Weigh the {\"{\"}seat}"
      phase: fitting
      station: bench
      attended: 2
      assemblies: [seat.panel]
  new_links:
    - {before: left-end.saw-arch, after: "left-end.saw-arch#2", least: 15, greatest: 60, why: while the eye is fresh}
`

func TestChangesAreMadeInWhatIsBuilt(t *testing.T) {
	l, p, err := library(t).With("ours.yaml", changedBench(t, benchChanges))
	require.NoError(t, err)
	shop := smallShop(l)
	plain := orderOf(t, built(t, Input{Pattern: "hall-bench"}))
	b, err := l.Build(Input{Pattern: p.Key}, shop)
	require.NoError(t, err)
	require.Empty(t, b.LeftOut)
	o := orderOf(t, b)
	arch, was := o.step("left-end.saw-arch"), plain.step("left-end.saw-arch")
	assert.Equal(t, "Saw the arch by hand", arch.Name)
	assert.Equal(t, "bench", arch.Station)
	assert.Nil(t, arch.Setup)
	assert.Equal(t, 24, arch.Attended)
	assert.Equal(t, was.Kind, arch.Kind, "what is not said stays")
	assert.Equal(t, was.Parts, arch.Parts)
	again := o.step("left-end.saw-arch#2")
	assert.Equal(t, was.Station, again.Station, "it is like the one that the pattern makes")
	assert.Equal(t, 5, again.Attended)
	assert.Equal(t, "Weigh the {seat}", o.step("own#2").Name)
	assert.False(t, slices.ContainsFunc(b.Steps, func(s Step) bool { return s.Key == "left-end.dry-fit" }))
	for _, link := range b.Links {
		assert.False(t, link.Before == "left-end.dry-fit" || link.After == "left-end.dry-fit", "its links go with it")
		if link.After == "left-end.saw-arch#2" {
			assert.Equal(t, Link{Before: "left-end.saw-arch", After: "left-end.saw-arch#2", From: FromEnd, Min: 15, Max: link.Max, Why: "while the eye is fresh"}, link)
			assert.Equal(t, 60, *link.Max)
		}
	}
	for _, part := range b.Parts {
		if part.Key == "seat.board" {
			assert.Equal(t, 30*wood.Millimetre, part.Rough.Thickness)
			assert.Equal(t, "Take it from the ash stack", part.Note)
		}
	}
	longer, err := l.Build(Input{Pattern: p.Key, Measures: map[string]string{"length": "1500 mm"}}, l.GenerousShop())
	require.NoError(t, err)
	assert.Equal(t, 30, orderOf(t, longer).step("left-end.saw-arch").Attended, "an expression follows the measures")
}

// What changes name and the pattern does not make at these choices is left out and
// said; the rest is made.
func TestChangesOfWhatIsNotThereAreLeftOutAndSaid(t *testing.T) {
	l, p, err := library(t).With("ours.yaml", changedBench(t, `changes:
  without_steps: [seat-finish.rub-3]
  steps:
    - {step: seat-finish.coat-4, attended: 30}
    - {step: seat.glue, attended: 25}
  new_steps:
    - {step: "seat-finish.coat-4#2", like: seat-finish.coat-4, name: Once more}
    - {step: "seat.glue#2-stage-1", like: seat.glue, name: A stage of a half}
    - {step: count-buttons, name: Count the buttons, phase: fitting, station: bench, attended: 1, parts: [fastening.button]}
  without_links:
    - {before: seat-finish.coat-4, after: fastening.fit, from: attended}
  new_links:
    - {before: count-buttons, after: fastening.fit, why: none may be missing}
    - {before: seat-finish.coat-4, after: "seat-finish.coat-4#2", least: 720}
`))
	require.NoError(t, err)
	b, err := l.Build(Input{Pattern: p.Key, Measures: map[string]string{"coats": "3"}, Choices: map[string]string{"fastener": "clip"}}, smallShop(l))
	require.NoError(t, err)
	var fields, reasons []string
	for _, out := range b.LeftOut {
		fields, reasons = append(fields, out.Field), append(reasons, out.Reason.String())
	}
	assert.Equal(t, []string{
		"changes.without_steps", "changes.steps[0].step", "changes.new_steps[0].like", "changes.new_steps[2].parts", "changes.new_steps[2].step",
		"changes.without_links[0]", "changes.new_links[0]", "changes.new_links[1]",
	}, fields, "%v", reasons)
	assert.Equal(t, "the step “Fourth coat on the seat” is changed, but not there", reasons[1])
	assert.Equal(t, "the step “Once more” is added like “Fourth coat on the seat”, which is not there", reasons[2])
	assert.Equal(t, 25, orderOf(t, b).step("seat.glue").Attended)
	assert.False(t, slices.ContainsFunc(b.Steps, func(s Step) bool { return s.Key == "count-buttons" }))
}

func TestChangesAreRefusedAtLineColumnAndField(t *testing.T) {
	head := strings.Count(string(changedBench(t, "")), "\n")
	for _, c := range []struct {
		name, changes string
		line, column  int
		field, says   string
	}{
		{"an unknown field", "  steps:\n    - {step: seat.glue, colour: red}\n", 3, 25, "colour", "no such field"},
		{"a step that is not made", "  steps:\n    - {step: seat.gleu, attended: 3}\n", 3, 14, "changes.steps[0].step", `the step “seat.gleu” is changed, but not there`},
		{"a step taken out that is not made", "  without_steps: [seat.glue, sear.glue]\n", 2, 30, "changes.without_steps", `“sear.glue” is taken out, but not there`},
		{"a step no key", "  steps:\n    - {step: Seat glue, attended: 3}\n", 3, 14, "changes.steps[0].step", "is no key of a step"},
		{"a step twice", "  without_steps: [seat.glue]\n  steps:\n    - {step: seat.glue, attended: 3}\n", 4, 14, "changes.steps[0].step", "is changed in line"},
		{"a step without a name", "  steps:\n    - {step: seat.glue, name: \"\"}\n", 3, 14, "changes.steps[0].name", "missing"},
		{"a new key that is taken", "  new_steps:\n    - {step: seat.glue, name: A, phase: fitting, station: bench, attended: 3}\n", 3, 14, "changes.new_steps[0].step", "the pattern makes a step"},
		{"a new step without a station", "  new_steps:\n    - {step: a, name: A, phase: fitting, attended: 3}\n", 3, 14, "changes.new_steps[0].station", "missing"},
		{"like what is not made", "  new_steps:\n    - {step: a, like: b, name: A}\n", 3, 23, "changes.new_steps[0].like", "not there"},
		{"a kind nobody knows", "  steps:\n    - {step: seat.glue, kind: weld}\n", 3, 31, "changes.steps[0].kind", `knows no kind "weld"`},
		{"no time", "  steps:\n    - {step: seat.glue, attended: 0}\n", 3, 35, "changes.steps[0].attended", "a whole number from 1"},
		{"a rest that is not said", "  steps:\n    - {step: seat.rip, unattended: 30}\n", 3, 14, "changes.steps[0].rest", "has 30 unattended minutes"},
		{"a name out of reach", "  steps:\n    - {step: seat.rip, attended: boards * 2}\n", 3, 34, "changes.steps[0].attended", `"boards" is not known`},
		{"a part that is not there", "  steps:\n    - {step: seat.rip, parts: [plank]}\n", 3, 32, "changes.steps[0].parts", `the part “plank”, which a change names, is not there`},
		{"more than there are", "  steps:\n    - {step: seat.rip, parts: {rails.rail: 9}}\n", 3, 14, "changes.steps[0].parts", "it takes 9 of"},
		{"a clamp twice", "  steps:\n    - step: seat.glue\n      clamps: [{class: a, reach: mm(300), count: 2}, {class: a, reach: mm(300), count: 2}]\n", 4, 62, "changes.steps[0].clamps[1].class", "twice"},
		{"more clamps than any rack", "  steps:\n    - step: seat.glue\n      clamps: [{class: a, reach: mm(9000), count: 2}]\n", 3, 13, "changes.steps[0].clamps", "needs 2 clamps that open 9000 mm"},
		{"a link of a step not made", "  new_links:\n    - {before: seat.glue, after: nowhere}\n", 3, 34, "changes.new_links[0]", `the step “nowhere” is not there`},
		{"a link that is not there", "  links:\n    - {before: seat.glue, after: posts.face}\n", 3, 16, "changes.links[0]", "is changed, but not there"},
		{"a link to itself", "  new_links:\n    - {before: seat.glue, after: seat.glue}\n", 3, 34, "changes.new_links[0].after", "cannot wait for itself"},
		{"lags the wrong way round", "  new_links:\n    - {before: seat.rip, after: seat.glue, least: 9, greatest: 3}\n", 3, 16, "changes.new_links[0]", "at least 9 minutes must pass and at most 3"},
		{"a circle", "  new_links:\n    - {before: seat.rough-cut, after: posts.face}\n    - {before: glue-base, after: posts.face}\n", 4, 16, "changes.new_links[1]", "goes round in a circle"},
		{"an assembly in itself", "  assemblies:\n    - {assembly: seat.panel, assemblies: [seat.panel]}\n", 3, 18, "changes.assemblies[0].assemblies", "inside itself"},
		{"a part of no size", "  parts:\n    - {part: seat.board, rough_size: {width: mm(0)}}\n", 3, 14, "changes.parts[0].rough_size", "the width would be 0 mm"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, err := library(t).With("ours.yaml", changedBench(t, "changes:\n"+c.changes))
			var at *FileError
			require.ErrorAs(t, err, &at)
			assert.Equal(t, "ours.yaml", at.File)
			assert.Equal(t, c.field, at.Field, at.Reason)
			assert.Equal(t, [2]int{head + c.line, c.column}, [2]int{at.Line, at.Column}, at.Error())
			assert.Contains(t, at.Reason, c.says)
		})
	}
	panel := string(shippedFiles(t)["patterns/glued-panel.yaml"].Data)
	_, _, err := library(t).With("ours.yaml", []byte(strings.Replace(panel, "pattern: glued-panel", "pattern: ours", 1)+"changes: {without_steps: [glue]}\n"))
	assert.ErrorContains(t, err, "only a piece has changes")
}

// What a shop lacks for a change is said as for any other step.
func TestAChangeMayNotFitOtherShops(t *testing.T) {
	l, p, err := library(t).With("ours.yaml", changedBench(t, "changes:\n  steps:\n    - {step: seat.rip, station: laser, hands: 4}\n"))
	require.NoError(t, err, "a shop may have stations that no step kind knows")
	_, err = l.Build(Input{Pattern: p.Key}, smallShop(l))
	require.ErrorContains(t, err, `needs a station of the kind "laser"; the shop has none`)
	require.ErrorContains(t, err, "needs 4 people; the shop has 2")
}

func TestChangesAreWrittenInThePlaceOfThoseThatAreThere(t *testing.T) {
	c := &Changes{sections: []section{{"without_steps", []entry{{[]field{{text: `"a"`}}, phrase.Of("a")}}}}}
	const written = "changes: # made by hand in the order of work that the rest of this file makes\n  without_steps:\n    - \"a\"\n"
	for _, x := range []struct{ was, is string }{
		{"pattern: a\n", "pattern: a\n" + written},
		{"pattern: a", "pattern: a\n" + written},
		{"pattern: a\nchanges:\n  links:\n# here\n  - b\n\n# there\ntitle: b\n", "pattern: a\n\n# there\ntitle: b\n" + written},
		{"pattern: a\nchanges: {links: []}\n", "pattern: a\n" + written},
	} {
		assert.Equal(t, x.is, string(withChanges([]byte(x.was), c)))
	}
	assert.Equal(t, "pattern: a\n", string(withChanges([]byte("pattern: a\nchanges:\n  links: []\n"), &Changes{})))
}
