package checks

import (
	"slices"
	"testing"

	"faceside/models/pattern"
	_ "faceside/models/testrig/sameseed"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A maker may take out, swap and misname whatever there is: the checks still answer,
// the same each time, and every remedy they offer can be made and mends what it is for.
func TestWhateverIsDoneToAnOrderOfWork(t *testing.T) {
	s := shop(t)
	var pieces []*pattern.Built
	for _, key := range []string{"hall-bench", "cupboard", "end-grain-board", "chest"} {
		pieces = append(pieces, build(t, pattern.Input{Pattern: key}))
	}
	rapid.Check(t, func(t *rapid.T) {
		b := *rapid.SampledFrom(pieces).Draw(t, "piece")
		b.Parts, b.Assemblies = slices.Clone(b.Parts), slices.Clone(b.Assemblies)
		b.Steps, b.Links = slices.Clone(b.Steps), slices.Clone(b.Links)
		for range rapid.IntRange(1, 4).Draw(t, "times") {
			harm(t, &b)
		}
		found := Run(&b, s)
		require.Equal(t, found, Run(&b, s))
		for _, f := range found {
			require.NotEmpty(t, f.Reason.String(), f.Check)
			if f.Remedy == nil {
				continue
			}
			after, err := Apply(&b, f.Remedy)
			require.NoError(t, err, f.Check)
			for _, x := range Run(after, s) {
				require.NotEqual(t, f.ID(), x.ID(), "%s", f.Remedy.Say)
			}
		}
	})
}

func harm(t *rapid.T, b *pattern.Built) {
	step := func() int { return rapid.IntRange(0, len(b.Steps)-1).Draw(t, "step") }
	i := step()
	switch rapid.IntRange(0, 9).Draw(t, "harm") {
	case 0: // a step is taken out, with or without its links
		key := b.Steps[i].Key
		b.Steps = slices.Delete(b.Steps, i, i+1)
		if rapid.Bool().Draw(t, "links too") {
			b.Links = slices.DeleteFunc(b.Links, func(l pattern.Link) bool { return l.Before == key || l.After == key })
		}
	case 1: // a link is taken out
		n := rapid.IntRange(0, len(b.Links)-1).Draw(t, "link")
		b.Links = slices.Delete(b.Links, n, n+1)
	case 2:
		b.Links = append(b.Links, pattern.Link{Before: b.Steps[i].Key, After: b.Steps[step()].Key, From: pattern.FromEnd})
	case 3:
		b.Steps[i].Station = b.Steps[step()].Station
	case 4:
		b.Steps[i].Kind = b.Steps[step()].Kind
	case 5:
		b.Steps[i].Parts, b.Steps[i].Assemblies = b.Steps[step()].Parts, nil
	case 6:
		b.Parts = b.Parts[min(1, len(b.Parts)):]
	case 7:
		b.Steps[i].With, b.Steps[i].Clamps, b.Steps[i].Cautions, b.Steps[i].Setup = nil, nil, nil, nil
	case 8:
		n := rapid.IntRange(0, len(b.Links)-1).Draw(t, "link")
		b.Links[n].From, b.Links[n].Min, b.Links[n].Max = pattern.FromStart, 0, nil
	case 9:
		b.Steps[i].Attended, b.Steps[i].Unattended, b.Steps[i].OpenTime = 1, 0, 45
	}
}
