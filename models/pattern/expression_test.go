package pattern

import (
	"testing"

	_ "faceside/models/testrig/sameseed"
	"faceside/models/wood"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestExpressions(t *testing.T) {
	reach := names{"a": isLength, "b": isLength, "n": isNumber, "s": isText, "t": isTruth}
	v := values{"a": fromWood(100 * wood.Millimetre), "b": fromWood(wood.Inch), "n": 3.0, "s": "oak", "t": true}
	for source, want := range map[string]any{
		"a + b":                             length{125.4e6},
		"a - mm(0.5) * 2":                   length{99e6},
		"2 * a / 4":                         length{50e6},
		"a / b * 25.4":                      100.0,
		"min(a, b / 2, mm(200))":            length{12.7e6},
		"max(a / b, b / a)":                 100 / 25.4,
		"ceil(a / mm(30))":                  4.0,
		"ceil(b, mm(5))":                    length{30e6},
		"floor(b, mm(5)) + round(b, mm(5))": length{50e6},
		"round(n / 2)":                      2.0,
		"abs(b - a)":                        length{74.6e6},
		"abs(-n)":                           3.0,
		"area(a, a * 10)":                   0.1,
		"metres(a) * 10":                    1.0,
		"inch(1) == b":                      true,
		`s == "oak" ? a : b`:                length{100e6},
		`s in ["ash", "oak"] and a > b`:     true,
		`not t or n <= 2.5`:                 false,
		`s + "s"`:                           nil, // texts are not joined
		"a + 3":                             nil,
		"a * b":                             nil,
		"n ? a : b":                         nil,
		"t ? a : n":                         nil,
		"sqrt(n)":                           nil,
		"len(s)":                            nil,
		"a.nm":                              nil,
		"[1, 2][0]":                         nil,
		"1..9":                              nil,
		"unknown":                           nil,
		"min":                               nil,
		"":                                  nil,
	} {
		f, err := compile(source, 0, reach)
		if want == nil {
			assert.Error(t, err, source)
			continue
		}
		require.NoError(t, err, source)
		got, err := f.eval(v)
		require.NoError(t, err, source)
		assert.Equal(t, want, got, source)
	}
	over, err := compile("a / (b - b)", 0, reach)
	require.NoError(t, err)
	_, err = over.eval(v)
	assert.ErrorContains(t, err, `"a / (b - b)" is not a finite number`)
}

// Adding and taking away lengths in expressions never drifts from whole
// nanometres.
func TestExpressionsKeepLengthsExact(t *testing.T) {
	f, err := compile("a + b - c * 3", isLength, names{"a": isLength, "b": isLength, "c": isLength})
	require.NoError(t, err)
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) wood.Length {
			return wood.Length(rapid.Int64Range(0, int64(wood.Greatest)).Draw(t, name))
		}
		a, b, c := draw("a"), draw("b"), draw("c")
		got, err := f.length(values{"a": fromWood(a), "b": fromWood(b), "c": fromWood(c)})
		require.NoError(t, err)
		require.Equal(t, a+b-3*c, got)
	})
}

// Every wood a pattern may be built in must be known to move, or panels would be
// made without play.
func TestEverySolidWoodMoves(t *testing.T) {
	for _, s := range library(t).Species() {
		f, err := compile("movement(w, s)", isLength, names{"w": isLength, "s": isText})
		require.NoError(t, err)
		play, err := f.length(values{"w": fromWood(300 * wood.Millimetre), "s": s.Key})
		require.NoError(t, err)
		if s.Key == "plywood" {
			assert.Zero(t, play)
			continue
		}
		assert.Greater(t, play, 2*wood.Millimetre, s.Key)
		assert.Less(t, play, 8*wood.Millimetre, s.Key)
	}
}

func TestTemplates(t *testing.T) {
	reach := names{"a": isLength, "n": isNumber}
	v := values{"a": fromWood(wood.Inch * 3 / 4), "n": 4.0}
	fill := func(text string, s shown) string {
		tm, err := compileTemplate(text, reach)
		require.NoError(t, err)
		out, err := tm.fill(v, words{here: "left end", what: "post × 4", makes: "frame"}, s)
		require.NoError(t, err)
		return out
	}
	assert.Equal(t, `Left end: plane post × 4 to 3/4" for the frame`, fill("{Here}: plane {what} to {a} for the {makes}", shown{wood.Inches, 16}))
	assert.Equal(t, "19.1 mm, 8 pieces of the left end", fill("{a}, {n * 2} pieces of the {here}", shown{wood.Millimetres, 16}))
	_, err := compileTemplate("to {a", reach)
	assert.ErrorContains(t, err, "opened and not closed")
	_, err = compileTemplate("to {b}", reach)
	assert.ErrorContains(t, err, `{b}: the name "b" is not known here`)
	var none *template
	out, err := none.fill(v, words{}, shown{})
	require.NoError(t, err)
	assert.Empty(t, out)
}
