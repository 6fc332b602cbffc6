package pattern

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

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

// Whatever the legal measures: every part drawn has exactly its finished size, and
// is there as often as it is made; the drawing fills its box, and the box is the
// measures'.
func TestDrawingsAreExactToThePartsSizes(t *testing.T) {
	l := library(t)
	shop := l.GenerousShop()
	for _, p := range l.Patterns() {
		t.Run(p.Key, func(t *testing.T) {
			drawn := 0
			rapid.Check(t, func(t *rapid.T) {
				b, err := l.Build(drawInput(t, l, p, shop), shop)
				if err != nil {
					return // that inputs are refused for a reason is another test's
				}
				drawn++
				requireExact(t, l, b)
			})
			require.Positive(t, drawn)
		})
	}
}

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
