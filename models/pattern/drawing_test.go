package pattern

import (
	"maps"
	"math"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models/wood"
)

// outerBox is what the measures of each shipped piece say of the box around it,
// as a maker would work it out: across, up, deep.
var outerBox = map[string]func(m func(string) wood.Length, choice map[string]string) [3]wood.Length{
	"hall-bench":    boxOf("length", "height", "depth"),
	"table":         boxOf("length", "height", "width"),
	"desk":          boxOf("length", "height", "width"),
	"sitting-bench": boxOf("length", "height", "width"),
	"stool":         boxOf("length", "height", "width"),
	"trestle-table": boxOf("length", "height", "width"),
	"bookcase":      boxOf("width", "height", "depth"),
	"cupboard":      boxOf("width", "height", "depth"),
	"mirror-frame":  boxOf("width", "height", "thickness"),
	"bedside-cabinet": func(m func(string) wood.Length, _ map[string]string) [3]wood.Length {
		return [3]wood.Length{m("width") + 2*m("overhang"), m("height"), m("depth") + m("overhang")}
	},
	"wall-shelf-unit": func(m func(string) wood.Length, choice map[string]string) [3]wood.Length {
		deep := m("depth")
		if choice["hang"] == "cleat" {
			deep += m("thickness") // what keeps it off the wall
		}
		return [3]wood.Length{m("width"), m("height"), deep}
	},
	"chest": func(m func(string) wood.Length, _ map[string]string) [3]wood.Length {
		return [3]wood.Length{m("length") + 30*wood.Millimetre, m("height") + m("thickness"), m("width") + 15*wood.Millimetre}
	},
	"bed-frame": func(m func(string) wood.Length, _ map[string]string) [3]wood.Length {
		return [3]wood.Length{m("mattress_length") + 20*wood.Millimetre + 2*m("post"), m("head"), m("mattress_width") + 90*wood.Millimetre}
	},
	"end-grain-board": boxOf("length", "thickness", "width"),
}

func boxOf(x, y, z string) func(func(string) wood.Length, map[string]string) [3]wood.Length {
	return func(m func(string) wood.Length, _ map[string]string) [3]wood.Length {
		return [3]wood.Length{m(x), m(y), m(z)}
	}
}

// neverSeen are parts that lie out of sight in every view: the buttons under a top.
func neverSeen(key string) bool { return strings.HasSuffix(key, ".button") }

// requireExact states that every part drawn has exactly its finished size, and is
// there as often as it is made; that the drawing fills its box, and the box is what
// the measures say. TestEveryLegalInputGivesAWholeOrder asks it of any measures.
func requireExact(t require.TestingT, l *Library, b *Built) {
	require.Len(t, b.Views, 2)
	front, side := b.Views[0], b.Views[1]
	require.Equal(t, []string{"front", "side"}, []string{front.Name, side.Name})
	measure := map[string]wood.Length{}
	for _, m := range b.Measures {
		measure[m.Key] = m.Length
	}
	choice := map[string]string{}
	for _, c := range b.Choices {
		choice[c.Key] = c.Option
	}
	box := outerBox[b.Pattern](func(key string) wood.Length {
		require.Contains(t, measure, key)
		return measure[key]
	}, choice)
	require.Equal(t, box, [3]wood.Length{front.Width, front.Height, side.Width})
	require.Equal(t, front.Height, side.Height)
	for _, v := range b.Views {
		requireView(t, b, v)
	}
	bought := boughtParts(l)
	for _, part := range b.Parts {
		uses := func(v View) (n, cut int) {
			for _, s := range v.Shapes {
				if s.Part == part.Key {
					n++
					if s.Cut {
						cut++
					}
				}
			}
			return n, cut
		}
		n, cut := uses(front)
		m, _ := uses(side)
		require.Equal(t, n, m, "%s is in both views", part.Key)
		switch {
		case neverSeen(part.Key) || bought[lastOf(part.Key)]:
		case cut == 0:
			require.Equal(t, part.Quantity, n, "%s is drawn as often as it is made", part.Key)
		default:
			require.GreaterOrEqual(t, n, part.Quantity, "%s is drawn at least as often as it is made", part.Key)
		}
	}
}

// requireView states what holds of one view alone.
func requireView(t require.TestingT, b *Built, v View) {
	finished := map[string]Size{}
	for _, p := range b.Parts {
		finished[p.Key] = p.Finished
	}
	left, right, top, floor := v.Width, wood.Length(0), wood.Length(0), v.Height
	for _, s := range v.Shapes {
		size, known := finished[s.Part]
		require.True(t, known, s.Part)
		fits := func(as func(drawn, made wood.Length) bool) bool {
			d := []wood.Length{size.Length, size.Width, size.Thickness}
			for i := range d {
				for j := range d {
					if i != j && as(s.W, d[i]) && as(s.H, d[j]) {
						return true
					}
				}
			}
			return false
		}
		if s.Cut {
			require.True(t, fits(func(drawn, made wood.Length) bool { return drawn <= made }), "%s is cut smaller, never larger: %v", s.Part, s)
		} else {
			require.True(t, fits(func(drawn, made wood.Length) bool { return drawn == made }), "%s is drawn %s by %s and made %v", s.Part, s.W, s.H, size)
		}
		require.True(t, s.W > 0 && s.H > 0, s.Part)
		require.True(t, s.X >= 0 && s.Y >= 0 && s.X+s.W <= v.Width && s.Y+s.H <= v.Height, "%s lies in the box: %v of %s by %s", s.Part, s, v.Width, v.Height)
		require.Equal(t, s.Kind == Outline, len(s.Points) > 0)
		for _, p := range s.Points {
			require.True(t, p.X >= s.X && p.X <= s.X+s.W && p.Y >= s.Y && p.Y <= s.Y+s.H, "%s: %v lies in %v", s.Part, p, s)
		}
		left, floor, right, top = min(left, s.X), min(floor, s.Y), max(right, s.X+s.W), max(top, s.Y+s.H)
	}
	require.Equal(t, []wood.Length{0, 0, v.Width, v.Height}, []wood.Length{left, floor, right, top}, "the %s view fills its box", v.Name)
	for _, d := range v.Dimensions {
		most := v.Width
		if d.Upright {
			most = v.Height
		}
		require.True(t, d.Name != "" && d.From >= 0 && d.From < d.To && d.To <= most, "%v of %s", d, most)
	}
}

// boughtParts are the keys of parts that come finished, such as dowels.
func boughtParts(l *Library) map[string]bool {
	out := map[string]bool{}
	for _, p := range l.patterns {
		for _, part := range p.parts {
			if part.bought {
				out[part.key] = true
			}
		}
	}
	return out
}

func lastOf(key string) string { return key[strings.LastIndex(key, ".")+1:] }

func TestEveryPieceHasABoxToCheckItsDrawingBy(t *testing.T) {
	var keys []string
	for _, p := range library(t).Patterns() {
		keys = append(keys, p.Key)
	}
	slices.Sort(keys)
	assert.Equal(t, keys, slices.Sorted(maps.Keys(outerBox)))
}

// shapesOf are the shapes of a part in a view.
func shapesOf(t *testing.T, v View, part string) (out []Shape) {
	for _, s := range v.Shapes {
		if s.Part == part {
			out = append(out, s)
		}
	}
	require.NotEmpty(t, out, "%s in the %s view", part, v.Name)
	return out
}

// spanAt is how wide an outline is at its floor or its top.
func spanAt(s Shape, y wood.Length) wood.Length {
	least, most := s.X+s.W, s.X
	for _, p := range s.Points {
		if p.Y == y {
			least, most = min(least, p.X), max(most, p.X)
		}
	}
	return most - least
}

func TestTaperedLegsAreDrawnAsTheyAreSawn(t *testing.T) {
	b := built(t, Input{Pattern: "table", Choices: map[string]string{"shape": "tapered"}, Measures: map[string]string{"leg": "60"}})
	foot := stepLength(t, orderOf(t, b).step("base.legs.taper"), "foot")
	assert.Equal(t, 36*wood.Millimetre, foot)
	for _, v := range b.Views {
		legs := shapesOf(t, v, "base.legs.leg")
		require.Len(t, legs, 4)
		for _, leg := range legs {
			require.Equal(t, Outline, leg.Kind)
			assert.Equal(t, foot, spanAt(leg, 0), "at the floor, in the %s view", v.Name)
			assert.Equal(t, 60*wood.Millimetre, spanAt(leg, leg.H), "at the top")
			outer := leg.X == 30*wood.Millimetre
			for _, p := range leg.Points {
				if p.Y == 0 && outer {
					assert.Less(t, p.X, leg.X+leg.W-20*wood.Millimetre, "the left leg loses its right side: the inner one")
				}
			}
		}
	}
	straight := built(t, Input{Pattern: "table"})
	for _, leg := range shapesOf(t, straight.Views[0], "base.legs.leg") {
		assert.Equal(t, Rectangle, leg.Kind)
	}
}

func TestTheArchOfAnEndIsACircleBetweenItsPosts(t *testing.T) {
	b := built(t, Input{Pattern: "hall-bench"})
	mm := wood.Millimetre
	for _, end := range []string{"left-end", "right-end"} {
		face := shapesOf(t, b.Views[1], end+".arch.face")[0]
		require.Equal(t, Outline, face.Kind)
		crown := face.Y
		for _, p := range face.Points {
			if p.Y < face.Y+face.H {
				crown = max(crown, p.Y)
			}
		}
		// 240 mm between posts of 45 mm in 330 mm; 0.45 of the rail's 110 mm is less than a quarter of that.
		assert.Equal(t, 49.5, (crown - face.Y).Millimetres())
		radius := (120*120 + 49.5*49.5) / (2 * 49.5)
		middle := (face.X + face.W/2).Millimetres()
		for _, p := range face.Points {
			if p.Y > face.Y && p.Y < face.Y+face.H {
				x, y := p.X.Millimetres()-middle, (p.Y-face.Y).Millimetres()-49.5+radius
				assert.InDelta(t, radius, math.Hypot(x, y), 0.001, "every point lies on one circle")
			}
		}
		assert.Greater(t, face.W, 240*mm, "the tenons are part of the rail")
	}
}

func TestWhatIsBehindIsHidden(t *testing.T) {
	b := built(t, Input{Pattern: "cupboard"})
	front := b.Views[0]
	seen := func(v View, part string) (n int) {
		for _, s := range shapesOf(t, v, part) {
			if !s.Hidden {
				n++
			}
		}
		return n
	}
	assert.Equal(t, 2, seen(front, "left-door.frame.stile"))
	assert.Equal(t, 1, seen(front, "plinth.long"), "the one in front")
	assert.Zero(t, seen(b.Views[1], "left-door.frame.rail"), "between the sides")
	door := slices.IndexFunc(front.Shapes, func(s Shape) bool { return s.Part == "left-door.frame.panel.board" })
	for i, s := range front.Shapes {
		if s.Part == "back.sheet" || s.Part == "carcase.shelves.board" && s.Y > 100*wood.Millimetre && s.Y < 800*wood.Millimetre {
			assert.Less(t, i, door, "the doors stand before the back and the level between; a gap shows them")
		}
	}
	open := built(t, Input{Pattern: "bookcase"})
	assert.Positive(t, seen(open.Views[0], "back.sheet"), "an open case shows its back")
	desk := built(t, Input{Pattern: "desk"})
	assert.Equal(t, 1, seen(desk.Views[0], "drawer.front"), "nothing stands before the drawer")
}

// A panel is drawn as it is trimmed, not as its boards were glued up.
func TestPanelsAreDrawnAsTheyAreTrimmed(t *testing.T) {
	for _, c := range []struct{ piece, trim, board string }{
		{"hall-bench", "seat.trim", "seat.board"}, {"table", "top.trim", "top.board"}, {"chest", "lid.trim", "lid.board"},
	} {
		b := built(t, Input{Pattern: c.piece})
		trim := orderOf(t, b).step(c.trim)
		for i, key := range []string{"length", "width"} {
			left, right := b.Views[i].Width, wood.Length(0)
			for _, s := range shapesOf(t, b.Views[i], c.board) {
				assert.True(t, s.Cut, "it is trimmed")
				left, right = min(left, s.X), max(right, s.X+s.W)
			}
			assert.Equal(t, stepLength(t, trim, key), right-left, "%s %s", c.trim, key)
		}
	}
}

func TestAPatternWithoutADrawingHasNoViews(t *testing.T) {
	files := benchFiles(t)
	text := string(files["patterns/hall-bench.yaml"].Data)
	plain, _, found := strings.Cut(text, "\ndrawing:")
	require.True(t, found)
	files["patterns/hall-bench.yaml"] = &fstest.MapFile{Data: []byte(plain + "\n")}
	l, err := Load(files)
	require.NoError(t, err)
	b, err := l.Build(Input{Pattern: "hall-bench"}, smallShop(l))
	require.NoError(t, err)
	assert.Empty(t, b.Views)
}

func TestDrawingsAreRefusedAtTheirPlace(t *testing.T) {
	const bench = "patterns/hall-bench.yaml"
	for _, c := range []struct{ name, old, new, at, field, says string }{
		{"no such sub-assembly", "{use: seat, above: leg}", "{use: sofa, above: leg}", "{use: seat, above", "drawing.show[3].use", `no sub-assembly is called "sofa"`},
		{"one without a drawing", "{use: seat, above: leg}", "{use: fastening, above: leg}", "{use: seat, above", "drawing.show[3].use", "top-fastening has no drawing"},
		{"no such part", "    - part: rails.rail", "    - part: rails.rale", "    - part: rails.rail", "drawing.show[0].part", `no part is called "rails.rale"`},
		{"one dimension twice", "      deep: thickness\n", "      deep: width\n", "    - part: rails.rail", "drawing.show[0]", "must name each of [length width thickness] once"},
		{"no such axis", "use: left-end, across: deep", "use: left-end, across: wide", "{use: left-end, across", "drawing.show[1].across", `"wide" is none of [across up deep]`},
		{"a number for a length", "{use: seat, above: leg}", "{use: seat, above: 3}", "{use: seat, above", "drawing.show[3].above", "gives a number where a length is wanted"},
		{"a line the view does not show", "view: front, along: across, from: overhang", "view: front, along: deep, from: overhang", "{name: Over the posts, view: front", "drawing.sizes[0].along", "the front view does not show what lies deep"},
		{"no box", "  box: {across: length, up: height, deep: depth}\n", "  box: {across: length, up: height}\n", "pattern: hall-bench", "drawing.box.deep", "missing"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := edited(t, bench, c.old, c.new)
			assert.Contains(t, got.Reason, c.says)
			assert.Equal(t, c.field, got.Field)
			assert.Equal(t, lineOf(t, bench, c.at), got.Line, got.Error())
		})
	}
	got := edited(t, "patterns/end-frame.yaml", "edge: below, along: across", "edge: below, along: up")
	assert.Contains(t, got.Reason, `the edge "below" does not run up`)
	got = edited(t, bench, "      times: 2\n      every: {behind: base_width - post}", "      times: 2000\n      every: {behind: base_width - post}")
	assert.Contains(t, got.Reason, "2000")
}
