package views

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// chainOf is a graph of so many steps one after another.
func chainOf(steps int) OrderGraph {
	g := OrderGraph{ID: "graph", Title: "Order of work"}
	for i := range steps {
		g.Steps = append(g.Steps, OrderStep{ID: int64(i + 1), Name: fmt.Sprintf("Step %d", i+1), Stream: "Seat", State: StateWaiting, Minutes: 10})
		if i > 0 {
			g.Links = append(g.Links, OrderLink{Before: int64(i), After: int64(i + 1), From: "end"})
		}
	}
	return g
}

// Every box stands whole on one strip, no strip is wider than paper, and together
// they are the drawing.
func TestAnOrderOfWorkIsCutIntoStripsForPaper(t *testing.T) {
	for steps := 1; steps <= 30; steps++ {
		g := chainOf(steps)
		placed, err := g.place()
		require.NoError(t, err)
		strips, err := g.Strips()
		require.NoError(t, err)
		if placed.width <= stripWidth {
			assert.Empty(t, strips, "%d steps are narrow enough", steps)
			continue
		}
		cuts := placed.cuts()
		require.Len(t, strips, len(cuts))
		assert.Equal(t, []int{0, placed.width}, []int{cuts[0].from, cuts[len(cuts)-1].to})
		for i, strip := range strips {
			c := cuts[i]
			assert.LessOrEqual(t, c.to-c.from, stripWidth, "%d steps", steps)
			assert.Contains(t, string(strip), fmt.Sprintf(`viewBox="%d 0 %d %d"`, c.from, c.to-c.from, placed.height))
			assert.Contains(t, string(strip), `href="#graph"`)
			if i > 0 {
				assert.Less(t, c.from, cuts[i-1].to, "the gap stands on both")
			}
		}
		for _, s := range placed.spots[:len(g.Steps)] {
			whole := 0
			for _, c := range cuts {
				if c.from <= s.x && s.x+orderBoxWidth <= c.to {
					whole++
				}
			}
			assert.Equal(t, 1, whole, "a box at %d, cuts %v", s.x, cuts)
		}
	}
	nameless := chainOf(30)
	nameless.ID = ""
	strips, err := nameless.Strips()
	require.NoError(t, err)
	assert.Empty(t, strips)
	drawn, err := chainOf(30).SVG()
	require.NoError(t, err)
	assert.True(t, strings.HasPrefix(string(drawn), `<svg id="graph" `))
}
