package views

import (
	"encoding/xml"
	"errors"
	"fmt"
	"html/template"
	"io"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// benchPiece is an invented bench: a seat on two ends with an arch.
func benchPiece() PieceDrawing {
	arch := [][2]float64{{40, 300}, {90, 335}, {160, 350}, {230, 335}, {280, 300}, {280, 410}, {40, 410}}
	return PieceDrawing{Title: "Hall bench", Views: []PieceView{
		{Name: "Front", Width: 1200, Height: 450, Parts: []DrawnPart{
			{Key: "rails.rail", Name: "Long rail", X: 60, Y: 340, W: 1080, H: 80},
			{Key: "post", Name: "Post", X: 60, Y: 0, W: 45, H: 422},
			{Key: "post", Name: "Post", X: 1095, Y: 0, W: 45, H: 422},
			{Key: "inside", Name: "Arched rail", X: 70, Y: 300, W: 22, H: 110, Hidden: true},
			{Key: "behind", Name: "The other post", X: 60, Y: 0, W: 45, H: 422, Hidden: true},
			{Key: "seat.board", Name: "Board of the seat", X: 0, Y: 422, W: 1200, H: 28},
		}, Sizes: []PieceSize{
			{Name: "Width", Text: "1200 mm", To: 1200},
			{Name: "Height", Text: "450 mm", Upright: true, To: 450},
			{Name: "Over the posts", Text: "1080 mm", From: 60, To: 1140},
			{Name: "Seat", Text: "28 mm", Upright: true, From: 422, To: 450},
		}},
		{Name: "Side, from the right", Width: 320, Height: 450, Parts: []DrawnPart{
			{Key: "arch.face", Name: "Face layer of the arched rail", X: 40, Y: 300, W: 240, H: 110, Points: arch},
			{Key: "post", Name: "Post", X: 0, Y: 0, W: 45, H: 422},
			{Key: "post", Name: "Post", X: 275, Y: 0, W: 45, H: 422},
		}, Sizes: []PieceSize{{Name: "Depth", Text: "320 mm", To: 320}}},
	}}
}

func TestPieceDrawingGolden(t *testing.T) {
	drawn, err := benchPiece().SVG()
	require.NoError(t, err)
	requireGolden(t, "piece-hall-bench.svg", drawn)
	text := words(t, drawn)
	for _, said := range []string{"Front", "Side, from the right", "Width 1200 mm", "Over the posts 1080 mm", "28 mm", "Depth 320 mm", "Long rail"} {
		assert.Contains(t, text, said)
	}
	assert.NotContains(t, text, "The other post", "what lies exactly behind something seen is not drawn again")
	assert.Contains(t, string(drawn), `data-part="seat.board"`)
	assert.Contains(t, string(drawn), `class="pd-part is-hidden"`)
}

func TestPieceDrawingInANarrowColumnGolden(t *testing.T) {
	p := benchPiece()
	p.Narrow = true
	drawn, err := p.SVG()
	require.NoError(t, err)
	requireGolden(t, "piece-hall-bench-narrow.svg", drawn)
}

func TestPieceDrawingRefusesWhatHasNoSize(t *testing.T) {
	_, err := PieceDrawing{Title: "Nothing"}.SVG()
	assert.EqualError(t, err, "there is no view to draw")
	_, err = PieceDrawing{Views: []PieceView{{Name: "Front", Width: 100}}}.SVG()
	assert.ErrorContains(t, err, "the Front view is 100 by 0 mm")
}

// attributesOf lists every attribute name of a drawing.
func attributesOf(t *testing.T, drawn template.HTML) (names []string) {
	d := xml.NewDecoder(strings.NewReader(string(drawn)))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return names
		}
		require.NoError(t, err)
		if start, ok := token.(xml.StartElement); ok {
			require.NotEqual(t, "script", start.Name.Local)
			require.NotEqual(t, "style", start.Name.Local)
			for _, a := range start.Attr {
				names = append(names, a.Name.Local)
			}
		}
	}
}

// requireNoActiveAttributes fails on an attribute that the content security policy
// forbids, such as one that got in with a name.
func requireNoActiveAttributes(t *testing.T, drawn template.HTML) {
	t.Helper()
	for _, name := range attributesOf(t, drawn) {
		require.NotEqual(t, "style", name)
		require.False(t, strings.HasPrefix(name, "on"), name)
	}
}

func TestPieceDrawingHoldsHostileTextAsText(t *testing.T) {
	p := benchPiece()
	hostile := `"><script>alert(1)</script><rect style="x" onload='y`
	p.Title, p.Views[0].Name = hostile, hostile
	p.Views[0].Parts[0].Name, p.Views[0].Parts[0].Key = hostile, hostile
	p.Views[0].Sizes[0].Name, p.Views[0].Sizes[0].Text = hostile, hostile
	drawn, err := p.SVG()
	require.NoError(t, err)
	assert.Contains(t, words(t, drawn), hostile)
	requireNoActiveAttributes(t, drawn)
}

// Every class a drawing of a piece uses has its look in the style sheet.
func TestPieceDrawingClassesHaveALook(t *testing.T) {
	css, err := os.ReadFile("../static/drawings.css")
	require.NoError(t, err)
	drawn, err := benchPiece().SVG()
	require.NoError(t, err)
	for _, m := range regexp.MustCompile(`class="([^"]*)"`).FindAllStringSubmatch(string(drawn), -1) {
		for _, class := range strings.Fields(m[1]) {
			if slices.Contains([]string{"piece-drawing", "pd-view", "pd-size", "pd-part"}, class) {
				continue // groups
			}
			assert.Contains(t, string(css), "."+class, class)
		}
	}
}

// Whatever the sizes, all of a drawing lies within its frame, and texts of one row
// do not run into each other.
func TestPieceSizesFindTheirRoom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := PieceView{Name: "Front", Width: rapid.Float64Range(5, 3000).Draw(t, "width"), Height: rapid.Float64Range(5, 3000).Draw(t, "height")}
		for i := range rapid.IntRange(0, 7).Draw(t, "sizes") {
			s := PieceSize{Name: fmt.Sprintf("Size %d", i), Text: "123.4 mm", Upright: rapid.Bool().Draw(t, "upright")}
			whole := v.Width
			if s.Upright {
				whole = v.Height
			}
			s.From = rapid.Float64Range(0, whole).Draw(t, "from")
			s.To = rapid.Float64Range(s.From, whole).Draw(t, "to")
			v.Sizes = append(v.Sizes, s)
		}
		p := PieceDrawing{Title: "Piece", Views: []PieceView{v, v}, Narrow: rapid.Bool().Draw(t, "narrow")}
		drawn, err := p.SVG()
		require.NoError(t, err)
		words(t, drawn)
		scale, err := p.scale()
		require.NoError(t, err)
		sheet := v.sheet(scale)
		for i, l := range sheet.sizes {
			for _, other := range sheet.sizes[:i] {
				if l.Upright == other.Upright && l.row == other.row {
					require.False(t, l.meets(other), "%v and %v", l, other)
				}
			}
			reach := l.reach()
			if l.Upright {
				require.True(t, reach[0] >= -sheet.below && reach[1] <= sheet.above && l.out() < sheet.left)
			} else {
				require.True(t, reach[0] >= -sheet.left && reach[1] <= sheet.width && l.out() < sheet.below)
			}
		}
	})
}

func TestLitPieceGolden(t *testing.T) {
	piece := LitPiece{Title: "Hall bench", Hatch: "pd-hatch", Views: benchPiece().Views, Lit: map[string]bool{"post": true, "inside": true}}
	drawn, err := piece.SVG()
	require.NoError(t, err)
	requireGolden(t, "piece-hall-bench-lit.svg", drawn)
	assert.Equal(t, 3, strings.Count(string(drawn), `fill="url(#pd-hatch)"`), "both posts and the hidden rail")
	assert.Equal(t, 1, strings.Count(string(drawn), `class="pd-part is-hidden is-lit"`))
	assert.NotContains(t, string(drawn), "The other post", "nothing hidden but what is lit")
	assert.NotContains(t, string(drawn), "1200 mm", "sizes stand with the parts")
}

func TestLitPieceShowsTheBetterSide(t *testing.T) {
	for name, c := range map[string]struct {
		lit  []string
		want string
	}{
		"only from the side":          {[]string{"arch.face"}, "Side, from the right"},
		"from both, more of them":     {[]string{"post", "rails.rail"}, "Front"},
		"more parts before more area": {[]string{"post", "arch.face"}, "Side, from the right"},
		"hidden in one view":          {[]string{"inside"}, ""},
		"none of the piece":           {[]string{"hinge"}, ""},
	} {
		t.Run(name, func(t *testing.T) {
			piece := LitPiece{Title: "Hall bench", Hatch: "pd-hatch", Views: benchPiece().Views, Lit: map[string]bool{}}
			for _, key := range c.lit {
				piece.Lit[key] = true
			}
			drawn, err := piece.SVG()
			require.NoError(t, err)
			if c.want == "" {
				assert.Empty(t, drawn)
				return
			}
			assert.Contains(t, words(t, drawn), c.want)
		})
	}
	_, err := LitPiece{Views: []PieceView{{Name: "Front", Parts: []DrawnPart{{Key: "a", W: 1, H: 1}}}}, Lit: map[string]bool{"a": true}}.SVG()
	assert.EqualError(t, err, "the Front view is 0 by 0 mm; both must be more than 0")
}

func TestATimerIsNeverMoreThanFull(t *testing.T) {
	assert.Equal(t, 300, Timer{Seconds: 300, Estimate: 600}.Shown())
	assert.Equal(t, 600, Timer{Seconds: 6000, Estimate: 600}.Shown())
}
