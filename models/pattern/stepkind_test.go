package pattern

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTheCatalogueTellsOfAKind(t *testing.T) {
	c := library(t).Catalogue()
	for _, key := range c.Kinds() {
		k, ok := c.Kind(key)
		require.True(t, ok)
		assert.Equal(t, key, k.Key)
		assert.NotEmpty(t, k.Name)
		assert.NotEmpty(t, k.Phase)
		assert.NotEmpty(t, k.Station)
	}
	k, _ := c.Kind("rough-crosscut")
	assert.Equal(t, 6, k.Minutes, "4 minutes and 1.5 for the piece, rounded up")
	assert.True(t, k.Dusty)
	assert.NotEmpty(t, k.Cautions)
	_, ok := c.Kind("lunch")
	assert.False(t, ok)
}
