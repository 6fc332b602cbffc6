package wood

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Flattening and planing turn 1 in rough into the 13/16 in that surfaced 4/4 is sold at
// (FDMC, "Best face forward").
func TestRoughMeetsTheSurfacedYield(t *testing.T) {
	r, err := Rough(Size{3 * Foot, 6 * Inch, 13 * Inch / 16}, 0, Flatten, Plane)
	require.NoError(t, err)
	assert.Equal(t, Quarters[0].Rough, r.Thickness)
}

func TestRoughByChain(t *testing.T) {
	board := []Work{Crosscut, Flatten, Plane, JointEdge, RipEdge}
	finished := Size{30 * Inch, 5 * Inch, 3 * Inch / 4}
	r, err := Rough(finished, 0, board...)
	require.NoError(t, err)
	assert.Equal(t, Size{31 * Inch, 5*Inch + Inch/4, 15 * Inch / 16}, r)

	// A panel of glued boards is flushed and trimmed as well.
	panel, err := Rough(finished, 0, append(board, FlushGlued, TrimGlued)...)
	require.NoError(t, err)
	assert.Equal(t, Size{32 * Inch, 5*Inch + 3*Inch/4, Inch}, panel)

	// Longer than 4 ft, wider than 8 in: flattening takes more.
	long, err := Rough(Size{9 * Foot, 9 * Inch, Inch}, 0, Flatten)
	require.NoError(t, err)
	assert.Equal(t, Inch+Inch/8+3*Inch/16, long.Thickness)

	// A part shorter than the machines take is left long.
	short, err := Rough(Size{4 * Inch, 2 * Inch, Inch}, 12*Inch, Crosscut)
	require.NoError(t, err)
	assert.Equal(t, 12*Inch, short.Length)

	same, err := Rough(finished, 0)
	require.NoError(t, err)
	assert.Equal(t, finished, same)
}

func TestRoughGrowsWithSizeAndChain(t *testing.T) {
	works := []Work{Crosscut, Flatten, Plane, JointEdge, RipEdge, FlushGlued, TrimGlued}
	size := func(t *rapid.T, name string) Size {
		l := func(most int64) Length {
			return Length(rapid.Int64Range(1, most).Draw(t, name)) * Millimetre
		}
		return Size{l(4000), l(1200), l(100)}
	}
	rapid.Check(t, func(t *rapid.T) {
		small, more := size(t, "small"), size(t, "more")
		big := Size{small.Length + more.Length, small.Width + more.Width, small.Thickness + more.Thickness}
		chain := rapid.SliceOf(rapid.SampledFrom(works)).Draw(t, "chain")
		further := append(chain[:len(chain):len(chain)], rapid.SampledFrom(works).Draw(t, "one more"))
		least := Length(rapid.Int64Range(0, 500).Draw(t, "least")) * Millimetre
		a, err := Rough(small, least, chain...)
		require.NoError(t, err)
		b, err := Rough(big, least, further...)
		require.NoError(t, err)
		require.GreaterOrEqual(t, a.Length, max(small.Length, least))
		require.GreaterOrEqual(t, a.Width, small.Width)
		require.GreaterOrEqual(t, a.Thickness, small.Thickness)
		require.GreaterOrEqual(t, b.Length, a.Length)
		require.GreaterOrEqual(t, b.Width, a.Width)
		require.GreaterOrEqual(t, b.Thickness, a.Thickness)
		shuffled, err := Rough(small, least, rapid.Permutation(chain).Draw(t, "shuffled")...)
		require.NoError(t, err)
		require.Equal(t, a, shuffled, "the order of the works does not matter")
	})
}

func TestRoughRefusesAndSaysWhy(t *testing.T) {
	_, err := Rough(Size{Foot, Inch, 0}, 0, Plane)
	assert.ErrorContains(t, err, "The thickness, 0 mm, must be more than 0")
	_, err = Rough(Size{Foot, Inch, Inch}, 0, "polish")
	assert.ErrorContains(t, err, `The work "polish" is not known; known are crosscut, flatten,`)
	_, err = Rough(Size{Foot, Inch, Inch}, -1, Plane)
	assert.ErrorContains(t, err, "least length")
}
