package handlers

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"faceside/models"
)

func TestADrawingAtHandIsDrawnOnceAnEdition(t *testing.T) {
	var kept litDrawings
	drawn := 0
	get := func(step models.ID, edition int64) litDrawing {
		return kept.get(litKey{step: step, edition: edition}, func() litDrawing {
			drawn++
			return litDrawing{lit: "the post"}
		})
	}
	assert.Equal(t, "the post", get(1, 1).lit)
	assert.Equal(t, "the post", get(1, 1).lit)
	assert.Equal(t, 1, drawn)
	get(1, 2)
	assert.Equal(t, 2, drawn, "its commission was edited")
	for step := range models.ID(litMost) {
		get(step+2, 1)
	}
	assert.LessOrEqual(t, len(kept.kept), litMost)
	get(1, 2)
	assert.Equal(t, 3+litMost, drawn, "what was kept is let go when it is too much")
}
