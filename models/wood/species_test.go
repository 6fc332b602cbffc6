package wood

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestSpeciesOf(t *testing.T) {
	for name, want := range map[string]string{
		"white-oak": "white-oak", "White Oak": "white-oak", " northern red oak ": "red-oak", "cherry": "black-cherry",
		"Walnut": "black-walnut", "hard_maple": "sugar-maple", "poplar": "yellow-poplar",
	} {
		s, err := SpeciesOf(name)
		require.NoError(t, err, name)
		assert.Equal(t, want, s.Key)
	}
}

func TestSpeciesOfRefusesGroupsAndStrangers(t *testing.T) {
	for name, says := range map[string]string{
		"oak":     `"oak" is more than one wood, and they move differently; say which: red-oak, white-oak.`,
		"Hickory": "say which: mockernut-hickory, pignut-hickory, shagbark-hickory, pecan-hickory.",
		"granite": `The species "granite" is not in the table of woods, which holds american-beech, american-elm,`,
		"":        `The species "" is not in the table`,
		"plywood": `"plywood"`,
	} {
		_, err := SpeciesOf(name)
		var refused *Error
		require.True(t, errors.As(err, &refused), name)
		assert.Equal(t, "species", refused.Field)
		assert.Equal(t, name, refused.Value)
		assert.ErrorContains(t, err, says)
	}
}

func TestSafeSpeciesOfIsTheGreatestOfTheGroup(t *testing.T) {
	oak, err := SafeSpeciesOf("oak")
	require.NoError(t, err)
	assert.Equal(t, Species{Key: "oak", Name: "Any oak", Density: Dense, Radial: 5.6, Tangential: 10.5, ShrinkageMark: Memory,
		CR: .00180, CT: .00369, CRMark: Read, CTMark: Read}, oak)
	for group, members := range groups {
		safe, err := SafeSpeciesOf(group)
		require.NoError(t, err)
		for _, name := range members {
			s, err := SpeciesOf(name)
			require.NoError(t, err, "%s of %s", name, group)
			assert.GreaterOrEqual(t, safe.CT, s.CT)
			assert.GreaterOrEqual(t, safe.Radial, s.Radial)
		}
	}
	one, err := SafeSpeciesOf("cherry")
	require.NoError(t, err)
	assert.Equal(t, "black-cherry", one.Key)
	_, err = SafeSpeciesOf("plywood")
	assert.Error(t, err)
}

// Wood moves more along the rings than across them, in both tables, and for all but
// mahogany and red oak (see the table's comment) the two tables tell the same story: the
// coefficient is about the shrinkage spread over 30 per cent of moisture.
func TestSpeciesTableHoldsTogether(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range AllSpecies() {
		assert.False(t, seen[s.Key], s.Key)
		seen[s.Key] = true
		assert.Greater(t, s.Tangential, s.Radial, s.Key)
		assert.Greater(t, s.CT, s.CR, s.Key)
		assert.NotEmpty(t, s.Name)
		assert.Contains(t, []Density{Light, Medium, Dense}, s.Density, s.Key)
		for _, m := range []Mark{s.ShrinkageMark, s.CRMark, s.CTMark} {
			assert.Contains(t, []Mark{Read, Quoted, Memory}, m, s.Key)
		}
		if s.Key == "mahogany" || s.Key == "red-oak" {
			continue
		}
		assert.InEpsilon(t, s.Tangential/100/30, s.CT, 0.19, "%s, along the rings", s.Key)
		assert.InEpsilon(t, s.Radial/100/30, s.CR, 0.19, "%s, across the rings", s.Key)
	}
	for alias, key := range tradeNames {
		assert.True(t, seen[key], alias)
		assert.False(t, seen[alias], alias)
		assert.Nil(t, groups[alias], alias)
	}
}
