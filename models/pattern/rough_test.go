package pattern

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models/wood"
)

// Rough sizes follow the steps that take something off, by the allowances of
// models/wood, and leave short parts long enough for the machines.
func TestRoughSizesFollowTheSteps(t *testing.T) {
	b := built(t, Input{Pattern: "hall-bench", Measures: map[string]string{"length": "1300"}})
	all := []wood.Work{wood.Flatten, wood.JointEdge, wood.Plane, wood.RipEdge, wood.Crosscut}
	for key, chain := range map[string][]wood.Work{
		"rails.rail":         all,
		"posts.leg":          {wood.Flatten, wood.JointEdge, wood.Plane, wood.Plane, wood.RipEdge, wood.Crosscut}, // squared on both pairs of faces
		"seat.board":         {wood.Flatten, wood.JointEdge, wood.Plane, wood.RipEdge},                            // trimmed as a panel
		"left-end.arch.face": {wood.Flatten, wood.JointEdge, wood.Plane, wood.RipEdge},
	} {
		var p *Part
		for i := range b.Parts {
			if b.Parts[i].Key == key {
				p = &b.Parts[i]
			}
		}
		require.NotNil(t, p, key)
		f := p.Finished
		want, err := wood.Rough(wood.Size{Length: f.Length, Width: f.Width, Thickness: f.Thickness}, 400*wood.Millimetre, chain...)
		require.NoError(t, err)
		assert.Equal(t, Size{want.Length, want.Width, want.Thickness}, p.Rough, key)
		assert.GreaterOrEqual(t, p.Rough.Length, 400*wood.Millimetre, key)
	}
	for _, p := range b.Parts {
		if p.Key == "seat.dowel" {
			assert.Equal(t, p.Finished, p.Rough, "what is bought comes finished")
		}
	}
}

// A long rail may bow more than a short one, so more is left for flattening it.
func TestLongPartsAreLeftThicker(t *testing.T) {
	thickness := func(length string) wood.Length {
		l := library(t)
		b, err := l.Build(Input{Pattern: "hall-bench", Measures: map[string]string{"length": length}}, l.GenerousShop())
		require.NoError(t, err)
		for _, p := range b.Parts {
			if p.Key == "rails.rail" {
				return p.Rough.Thickness - p.Finished.Thickness
			}
		}
		return 0
	}
	assert.Greater(t, thickness("1900 mm"), thickness("1000 mm"))
}
