package pattern

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"faceside/models/wood"
)

func TestKeepACommissionAsAPattern(t *testing.T) {
	l := library(t)
	shop := smallShop(l)
	in := Input{
		Pattern:  "hall-bench",
		Measures: map[string]string{"length": `43 1/4"`, "depth": "371.5 mm", "coats": "3"},
		Choices:  map[string]string{"species": "cherry", "joint": "dowel"},
	}
	data, err := l.Keep(in, shop, "our-bench", `Bench "as for the hall": ours`, nil)
	require.NoError(t, err)
	more, p, err := l.With("our-bench.yaml", data)
	require.NoError(t, err)
	assert.Equal(t, `Bench "as for the hall": ours`, p.Title)
	assert.Nil(t, l.Pattern("our-bench"), "the library itself stays as it is")
	assert.Equal(t, p, more.Pattern("our-bench"))
	assert.Equal(t, data, p.Source())
	assert.Contains(t, string(data), "# A hall bench on two end frames", "comments stay")

	kept, err := more.Build(Input{Pattern: "our-bench"}, shop)
	require.NoError(t, err)
	original, err := l.Build(in, shop)
	require.NoError(t, err)
	assert.Equal(t, original.Measures, kept.Measures)
	assert.Equal(t, original.Choices, kept.Choices)
	assert.Equal(t, original.Parts, kept.Parts)
	assert.Equal(t, original.Links, kept.Links)
	assert.Equal(t, 43*wood.Inch+wood.Inch/4, p.Measures[0].DefaultLength)

	_, _, err = more.With("again.yaml", data)
	var at *FileError
	require.ErrorAs(t, err, &at)
	assert.Contains(t, at.Reason, `"our-bench" is taken`)
	assert.Equal(t, "again.yaml", at.File)
	assert.Equal(t, lineOf(t, "patterns/hall-bench.yaml", "pattern: hall-bench"), at.Line)
}

func TestKeepRefusesBadNames(t *testing.T) {
	l := library(t)
	for _, c := range []struct{ key, title, field, says string }{
		{"Our Bench", "Ours", "key", "small letters"},
		{"stool", "Ours", "key", `taken by "Stool"`},
		{"our-bench", " ", "title", "one line"},
		{"our-bench", "a\nb", "title", "one line"},
	} {
		_, err := l.Keep(Input{Pattern: "hall-bench"}, smallShop(l), c.key, c.title, nil)
		var errs *Errors
		require.ErrorAs(t, err, &errs)
		assert.Equal(t, c.field, errs.List[0].Field)
		assert.Contains(t, errs.List[0].Error(), c.says)
	}
	_, err := l.Keep(Input{Pattern: "hall-bench", Measures: map[string]string{"length": "9 m"}}, smallShop(l), "ours", "Ours", nil)
	assert.ErrorContains(t, err, "Length of the seat")
}

// Whatever is kept comes back as the same piece: two drawn inputs of every piece.
func TestWhatIsKeptComesBack(t *testing.T) {
	l := library(t)
	shop := l.GenerousShop()
	for _, p := range l.Patterns() {
		inputs := rapid.Custom(func(t *rapid.T) Input { return drawInput(t, l, p, shop) })
		for draw := range 2 {
			in := inputs.Example(draw)
			original, err := l.Build(in, shop)
			if err != nil {
				in = Input{Pattern: p.Key} // the piece's own rules refuse what was drawn
				original, err = l.Build(in, shop)
			}
			require.NoError(t, err)
			data, err := l.Keep(in, shop, "kept", "Kept: "+p.Title, nil)
			require.NoError(t, err)
			more, _, err := l.With("kept.yaml", data)
			require.NoError(t, err)
			back, err := more.Build(Input{Pattern: "kept"}, shop)
			require.NoError(t, err)
			require.Equal(t, original.Parts, back.Parts)
			require.Equal(t, original.Links, back.Links)
			require.Equal(t, strings.Count(string(p.Source()), "\n"), strings.Count(string(data), "\n"))
		}
	}
}
