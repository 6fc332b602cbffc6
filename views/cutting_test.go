package views

import (
	"os"
	"regexp"
	"slices"
	"testing"

	_ "faceside/models/testrig/sameseed"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// cutBoard is an invented board with four parts, a knot and an offcut.
func cutBoard() BoardDrawing {
	return BoardDrawing{
		Title: "Board 7 with its cuts: A Rail, B Leg", Length: 2000, Width: 200, Longest: 2400, Widest: 260,
		Parts: []DrawnCutPart{
			{Letter: "A", Name: "Rail", X: 25, Y: 0, W: 900, H: 70},
			{Letter: "A", Name: "Rail", X: 25, Y: 73, W: 900, H: 70},
			{Letter: "B", Name: "Leg with a long name that is cut at both ends", X: 928, Y: 0, W: 420, H: 60},
			{Letter: "C", Name: "Wedge", X: 928, Y: 63, W: 420, H: 12},
		},
		Offcuts: []DrawnArea{{Name: "keep 624 × 200 mm", X: 1351, Y: 0, W: 624, H: 200}},
		Defects: []DrawnArea{{Name: "knot", X: 300, Y: 160, W: 60, H: 40}},
		Cuts: []DrawnCut{
			{X1: 23, Y1: 0, X2: 23, Y2: 200}, {First: true, X1: 926, Y1: 0, X2: 926, Y2: 200},
			{X1: 25, Y1: 71, X2: 925, Y2: 71}, {X1: 25, Y1: 144, X2: 925, Y2: 144},
		},
	}
}

func TestBoardDrawingGolden(t *testing.T) {
	drawn, err := cutBoard().SVG()
	require.NoError(t, err)
	requireGolden(t, "board-cut.svg", drawn)
	text := words(t, drawn)
	for _, said := range []string{"A Rail", "B Leg", "C Wedge", "keep 624 × 200 mm", "knot"} {
		assert.Contains(t, text, said)
	}
	assert.Contains(t, string(drawn), ">B</text>", "a name without room leaves its letter")
	assert.NotContains(t, string(drawn), ">C</text>", "a part too narrow for its letter has its title alone")

	bare, err := BoardDrawing{Title: "Board 8", Length: 900, Width: 150, Whole: true}.SVG()
	require.NoError(t, err)
	requireGolden(t, "board-whole.svg", bare)
}

func TestBoardDrawingRefusesWhatHasNoSize(t *testing.T) {
	_, err := BoardDrawing{Length: 900}.SVG()
	assert.EqualError(t, err, "the board is 900 by 0 mm; both must be more than 0")
}

func TestBoardDrawingHoldsHostileTextAsText(t *testing.T) {
	b := cutBoard()
	hostile := `"><script>alert(1)</script><rect style="x" onload='y`
	b.Title, b.Parts[0].Letter, b.Parts[0].Name = hostile, hostile, hostile
	b.Offcuts[0].Name, b.Defects[0].Name = hostile, hostile
	drawn, err := b.SVG()
	require.NoError(t, err)
	assert.Contains(t, words(t, drawn), hostile)
	requireNoActiveAttributes(t, drawn)
}

// Every class a drawing of a board uses has its look in the style sheet.
func TestBoardDrawingClassesHaveALook(t *testing.T) {
	css, err := os.ReadFile("../static/drawings.css")
	require.NoError(t, err)
	drawn, err := cutBoard().SVG()
	require.NoError(t, err)
	for _, m := range regexp.MustCompile(`class="([^"]*)"`).FindAllStringSubmatch(string(drawn), -1) {
		if !slices.Contains([]string{"board-drawing", "ct-part", "ct-offcut", "ct-defect"}, m[1]) { // groups
			assert.Contains(t, string(css), "."+m[1]+" {", m[1])
		}
	}
}

// Whatever the sizes, what lies on a board is drawn on it.
func TestBoardDrawingKeepsWithinTheBoard(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := BoardDrawing{Title: "Board", Length: rapid.Float64Range(10, 6000).Draw(t, "length"), Width: rapid.Float64Range(10, 1500).Draw(t, "width"),
			Longest: rapid.Float64Range(0, 6000).Draw(t, "longest")}
		x, y := rapid.Float64Range(0, b.Length).Draw(t, "x"), rapid.Float64Range(0, b.Width).Draw(t, "y")
		p := DrawnCutPart{Letter: "A", Name: "Part", X: x, Y: y,
			W: rapid.Float64Range(0, b.Length-x).Draw(t, "w"), H: rapid.Float64Range(0, b.Width-y).Draw(t, "h")}
		b.Parts = []DrawnCutPart{p}
		drawn, err := b.SVG()
		require.NoError(t, err)
		words(t, drawn)
		s := boardSheet{scale: max(min(boardMostLength/max(b.Length, b.Longest), boardMostWidth/b.Width), boardLeastScale), width: b.Width}
		whole, part := s.box(0, 0, b.Length, b.Width), s.box(p.X, p.Y, p.W, p.H)
		require.GreaterOrEqual(t, part[0], whole[0])
		require.GreaterOrEqual(t, part[1], whole[1]-1, "a part of no height is drawn one pixel high")
		require.LessOrEqual(t, part[0]+part[2], whole[0]+whole[2]+1)
		require.LessOrEqual(t, part[1]+part[3], whole[1]+whole[3]+1)
	})
}
