package views

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestRackDrawingGolden(t *testing.T) {
	for name, c := range map[string]ClampsDrawing{
		"rack-whole.svg": {Title: "600 mm bar clamps: all 10 hang free", Free: 10},
		"rack-out.svg": {Title: "300 mm F-clamps: 5 of 16 hang free", Free: 5,
			Out: []ClampsOut{{Number: 1, Count: 6, Over: true}, {Number: 2, Count: 5}}},
		"rack-none.svg": {Title: "1200 mm bar clamps: none hangs free", Out: []ClampsOut{{Number: 3, Count: 6}}},
	} {
		drawn := c.SVG()
		requireGolden(t, name, drawn)
		assert.Contains(t, string(drawn), `aria-label="`+c.Title+`"`)
	}
}

// Every clamp has its mark, free or out, and none is drawn beside the rack.
func TestRackDrawingShowsEveryClamp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := ClampsDrawing{Title: "Clamps", Each: 1, Free: rapid.IntRange(0, MostClamps).Draw(t, "free")}
		out := 0
		for n := range rapid.IntRange(0, 4).Draw(t, "steps") {
			o := ClampsOut{Number: n + 1, Count: rapid.IntRange(1, 12).Draw(t, "count"), Over: rapid.Bool().Draw(t, "over")}
			c.Out = append(c.Out, o)
			out += o.Count
		}
		drawn := string(c.SVG())
		require.Equal(t, c.Free, strings.Count(drawn, `class="rk-free"`))
		require.Equal(t, out, strings.Count(drawn, `class="rk-gone"`))
		rows := max(1, (c.Free+out+rackPegs-1)/rackPegs)
		require.Equal(t, rows, strings.Count(drawn, `class="rk-rail"`))
	})
}

func TestRackDrawingOfManyLetsOneMarkStandForSeveral(t *testing.T) {
	c := ClampsDrawing{Title: "Clamps", Each: 10, Free: 95, Out: []ClampsOut{{Number: 1, Count: 205}}}
	drawn := string(c.SVG())
	assert.Equal(t, 10, strings.Count(drawn, `class="rk-free"`))
	assert.Equal(t, 21, strings.Count(drawn, `class="rk-gone"`))
}

func TestRackDrawingHoldsHostileTextAsText(t *testing.T) {
	hostile := `"><script>alert(1)</script><rect style="x" onload='y`
	drawn := ClampsDrawing{Title: hostile, Free: 1}.SVG()
	requireNoActiveAttributes(t, drawn)
	assert.NotContains(t, string(drawn), "<script")
}

// Every class the drawing uses has its look.
func TestRackDrawingClassesHaveALook(t *testing.T) {
	css, err := os.ReadFile("../static/gates.css")
	require.NoError(t, err)
	drawn := ClampsDrawing{Title: "Clamps", Free: 1, Out: []ClampsOut{{Number: 1, Count: 1, Over: true}}}.SVG()
	for _, m := range regexp.MustCompile(`class="(rk-[a-z]+)"`).FindAllStringSubmatch(string(drawn), -1) {
		if m[1] != "rk-free" { // a group
			assert.Contains(t, string(css), "."+m[1]+" {", m[1])
		}
	}
}
