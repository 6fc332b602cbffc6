package checks

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models/pattern"
	"faceside/models/phrase"
)

// three is an order of work of three steps in a row.
func three() *pattern.Built {
	step := func(key string) pattern.Step {
		return pattern.Step{Key: key, Name: key, Station: "bench", Parts: []pattern.PartUse{{Part: "board", Quantity: 1}}, Attended: 10, Unattended: 5, Rest: pattern.Resting, Hands: 1}
	}
	return &pattern.Built{
		Steps: []pattern.Step{step("a"), step("b"), step("c")},
		Links: []pattern.Link{{Before: "a", After: "b", From: pattern.FromAttended, Min: 3}, {Before: "b", After: "c", From: pattern.FromEnd}},
	}
}

func keys(b *pattern.Built) (out []string) {
	for _, s := range b.Steps {
		out = append(out, s.Key)
	}
	return out
}

func TestEditsPutStepsInTheirPlace(t *testing.T) {
	for name, c := range map[string]struct {
		edit Edit
		want []string
	}{
		"later":              {Move{Step: "a", After: "c"}, []string{"b", "c", "a"}},
		"one place later":    {Move{Step: "a", After: "b"}, []string{"b", "a", "c"}},
		"earlier":            {Move{Step: "c", Before: "a"}, []string{"c", "a", "b"}},
		"one place earlier":  {Move{Step: "c", Before: "b"}, []string{"a", "c", "b"}},
		"where it is":        {Move{Step: "b", After: "a", Before: "c"}, []string{"a", "b", "c"}},
		"a step between":     {AddStep{Step: pattern.Step{Key: "n"}, After: []string{"a"}, Before: []string{"b"}}, []string{"a", "n", "b", "c"}},
		"a step at the end":  {AddStep{Step: pattern.Step{Key: "n"}, After: []string{"c"}}, []string{"a", "b", "c", "n"}},
		"a link that is one": {AddLink{pattern.Link{Before: "a", After: "c", From: pattern.FromEnd}}, []string{"a", "b", "c"}},
	} {
		t.Run(name, func(t *testing.T) {
			b := three()
			out, err := Apply(b, &Remedy{Say: phrase.Of("try"), Edits: []Edit{c.edit}})
			require.NoError(t, err)
			assert.Equal(t, c.want, keys(out))
			assert.Equal(t, three(), b, "the order of work itself stays as it was")
			for n := range c.want[1:] {
				if name != "one place later" && name != "one place earlier" && name != "later" && name != "earlier" {
					continue
				}
				o := leading(out, c.want[n], true)
				assert.True(t, o[c.want[n+1]], "%s still comes before %s", c.want[n], c.want[n+1])
			}
		})
	}
}

func TestALinkTakesThePlaceOfOneBetweenTheSamePoints(t *testing.T) {
	most := 90
	b := three()
	b.Links[0].Max = &most
	out, err := Apply(b, &Remedy{Edits: []Edit{AddLink{pattern.Link{Before: "a", After: "b", From: pattern.FromAttended, Min: 30}}}})
	require.NoError(t, err)
	require.Len(t, out.Links, 2)
	assert.Equal(t, pattern.Link{Before: "a", After: "b", From: pattern.FromAttended, Min: 30, Max: &most}, out.Links[1], "its window stays")
	out, err = Apply(b, &Remedy{Edits: []Edit{AddLink{pattern.Link{Before: "a", After: "b", From: pattern.FromAttended, Min: 200}}}})
	require.NoError(t, err)
	assert.Nil(t, out.Links[1].Max, "a window that is over before it opens does not")
}

func TestApplyRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		edit Edit
		says string
	}{
		"a circle":            {AddLink{pattern.Link{Before: "c", After: "a"}}, "wait for each other: a, b, c"},
		"a step not there":    {Move{Step: "x", After: "a"}, `no step "x"`},
		"a place not there":   {Move{Step: "a", After: "x"}, `no step "x"`},
		"a link to nothing":   {AddLink{pattern.Link{Before: "a", After: "x"}}, `no step "x"`},
		"a step twice":        {AddStep{Step: pattern.Step{Key: "a"}}, `already has a step "a"`},
		"a step for nothing":  {SetStep{pattern.Step{Key: "x"}}, `no step "x"`},
		"a part not there":    {SetPart{pattern.Part{Key: "x"}}, `no part "x"`},
		"an assembly of none": {SetAssembly{pattern.Assembly{Key: "x"}}, `no assembly "x"`},
		"stages of nothing":   {Stages{Step: "a", Count: 2}, "makes no assembly"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Apply(three(), &Remedy{Say: phrase.Of("Try it."), Edits: []Edit{c.edit}})
			require.ErrorContains(t, err, c.says)
			assert.ErrorContains(t, err, "Try it.")
		})
	}
}

// Stages deal out every piece and every dowel once, hold each stage in its clamps,
// and leave what comes before and after as it was.
func TestStages(t *testing.T) {
	b, s := build(t, bench), shop(t)
	board := 0
	for _, count := range []int{2} {
		out, err := Apply(b, &Remedy{Edits: []Edit{Stages{"seat.glue", count}}})
		require.NoError(t, err)
		o, broken := index(out, s)
		require.False(t, broken)
		used := map[string]int{}
		for _, a := range out.Assemblies {
			for _, p := range a.Parts {
				used[p.Part] += p.Quantity
			}
		}
		for _, p := range out.Parts {
			assert.Equal(t, p.Quantity, used[p.Key], p.Key)
			if p.Key == "seat.board" {
				board = p.Quantity
			}
		}
		first, last := o.place["seat.glue-stage-1"], o.place["seat.glue"]
		assert.True(t, o.ended(first, last), "a stage is out of its clamps before the next")
		assert.True(t, o.before(o.place["seat.dry-fit"], first))
		assert.False(t, o.before(first, o.place["seat.dry-fit"]))
		assert.True(t, o.ended(last, o.place["seat.trim"]))
		assert.Contains(t, o.assembly["seat.panel"].Assemblies, "seat.panel-stage-1")
		whole, err := stepAt(b, "seat.glue")
		require.NoError(t, err)
		assert.Equal(t, upTo(b.Steps[whole].OpenTime, count), o.steps[last].OpenTime)
		assert.Empty(t, Run(out, s), list(Run(out, s)))
	}
	require.Positive(t, board)
	_, err := Apply(b, &Remedy{Edits: []Edit{Stages{"seat.glue", board}}})
	require.ErrorContains(t, err, "cannot be glued")
	_, err = Apply(b, &Remedy{Edits: []Edit{Stages{"seat.glue", 1}}})
	require.ErrorContains(t, err, "cannot be glued")
}

func BenchmarkRun(b *testing.B) {
	s := shop(b)
	for _, p := range library(b).Patterns() {
		piece := build(b, pattern.Input{Pattern: p.Key})
		b.Run(p.Key, func(b *testing.B) {
			for b.Loop() {
				Run(piece, s)
			}
		})
	}
}
