package pattern

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"faceside/models/wood"
)

// drawInput draws a legal input: every measure within the limits the form shows
// at the measures drawn before it.
func drawInput(t *rapid.T, l *Library, p *Pattern, shop Shop) Input {
	in := Input{Pattern: p.Key, Measures: map[string]string{}, Choices: map[string]string{}}
	for _, c := range p.Choices {
		in.Choices[c.Key] = rapid.SampledFrom(c.Options).Draw(t, c.Key).Key
	}
	for i, m := range p.Measures {
		form, err := l.Form(in, shop)
		require.NoError(t, err)
		now := form.Measures[i]
		switch {
		case m.IsLength:
			tenth := int64(wood.Millimetre / 10)
			low, high := (int64(now.LeastLength)+tenth-1)/tenth, int64(now.GreatestLength)/tenth
			if low > high {
				t.Skip("nothing is left for this measure")
			}
			mm := rapid.Int64Range(low, high).Draw(t, m.Key)
			in.Measures[m.Key] = strconv.FormatFloat(float64(mm)/10, 'f', 1, 64) + " mm"
		default:
			low, high := int(math.Ceil(now.LeastNumber)), int(math.Floor(now.GreatestNumber))
			if low > high {
				t.Skip("nothing is left for this measure")
			}
			in.Measures[m.Key] = strconv.Itoa(rapid.IntRange(low, high).Draw(t, m.Key))
		}
	}
	return in
}

// Whatever the measures and choices, a shop that can do everything gets a whole
// order of work and an exact drawing. Only the piece's own rules may refuse, and they name a measure
// of the form.
func TestEveryLegalInputGivesAWholeOrder(t *testing.T) {
	l := library(t)
	shop := l.GenerousShop()
	for _, p := range l.Patterns() {
		t.Run(p.Key, func(t *testing.T) {
			made := 0
			rapid.Check(t, func(t *rapid.T) {
				in := drawInput(t, l, p, shop)
				b, err := l.Build(in, shop)
				if err != nil {
					var errs *Errors
					require.ErrorAs(t, err, &errs)
					for _, f := range errs.List {
						require.NotEmpty(t, f.Field, "%s\ninput %v", f.Sentence, in)
					}
					return
				}
				made++
				requireWhole(t, b)
				requireExact(t, l, b)
			})
			require.Positive(t, made, "some inputs must give a piece")
		})
	}
}

// requireWhole states what every built piece must be, without the builder's own
// checks.
func requireWhole(t require.TestingT, b *Built) {
	place := map[string]int{}
	for i, s := range b.Steps {
		_, twice := place[s.Key]
		require.False(t, twice, s.Key)
		place[s.Key] = i
		require.False(t, s.Name == "" || s.Station == "" || s.Verb == "", s.Key)
		require.GreaterOrEqual(t, s.Attended, 1)
		require.GreaterOrEqual(t, s.Hands, 1)
		require.Equal(t, s.Unattended == 0, s.Rest == NoRest, s.Key)
		require.LessOrEqual(t, s.OpenTime, s.Attended, s.Key)
		require.Equal(t, s.Glue != "", s.OpenTime > 0, s.Key)
		if s.Glue != "" {
			require.NotEmpty(t, s.Clamps, s.Key)
			require.Equal(t, InClamps, s.Rest, s.Key)
		}
	}
	for _, l := range b.Links {
		before, known := place[l.Before]
		after, knownToo := place[l.After]
		require.True(t, known && knownToo, "%s to %s", l.Before, l.After)
		require.True(t, before < after, "the steps stand in an order that respects the links")
		require.True(t, l.Why != "", "%s to %s", l.Before, l.After)
		if l.Max != nil {
			require.GreaterOrEqual(t, *l.Max, l.Min)
		}
	}
	after := closure(b, place)
	for _, p := range b.Parts {
		require.Positive(t, p.Quantity, p.Key)
		for _, d := range []wood.Length{p.Finished.Length, p.Finished.Width, p.Finished.Thickness} {
			require.Positive(t, d, p.Key)
		}
		require.GreaterOrEqual(t, p.Rough.Thickness, p.Finished.Thickness)
	}
	for _, a := range b.Assemblies {
		maker := -1
		for i, s := range b.Steps {
			if s.Makes == a.Key {
				require.Equal(t, -1, maker, "%s is made once", a.Key)
				maker = i
			}
		}
		require.NotEqual(t, -1, maker, "%s is made", a.Key)
		for _, u := range a.Parts {
			for i, s := range b.Steps {
				if s.Phase == Milling && s.works(u.Part) {
					require.True(t, after[i][maker], "%s is milled by %s before %s", u.Part, s.Key, a.Key)
				}
			}
		}
		for i, s := range b.Steps {
			if s.works(a.Key) {
				require.True(t, after[maker][i], "%s comes after %s is made", s.Key, a.Key)
			}
		}
	}
}

// closure tells which steps come after which, by plain search from the last.
func closure(b *Built, place map[string]int) [][]bool {
	next := make([][]int, len(b.Steps))
	for _, l := range b.Links {
		next[place[l.Before]] = append(next[place[l.Before]], place[l.After])
	}
	out := make([][]bool, len(b.Steps))
	for i := len(b.Steps) - 1; i >= 0; i-- {
		out[i] = make([]bool, len(b.Steps))
		for _, j := range next[i] {
			out[i][j] = true
			for k, later := range out[j] {
				out[i][k] = out[i][k] || later
			}
		}
	}
	return out
}

func TestBuildIsTheSameEveryTime(t *testing.T) {
	l := library(t)
	for _, p := range l.Patterns() {
		one, err := l.Build(Input{Pattern: p.Key}, smallShop(l))
		require.NoError(t, err)
		two, err := l.Build(Input{Pattern: p.Key}, smallShop(l))
		require.NoError(t, err)
		require.Equal(t, one, two)
	}
}

func BenchmarkBuild(b *testing.B) {
	l := library(b)
	shop := smallShop(l)
	for _, p := range l.Patterns() {
		b.Run(p.Key, func(b *testing.B) {
			for b.Loop() {
				if _, err := l.Build(Input{Pattern: p.Key}, shop); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkLoad(b *testing.B) {
	files := shippedFiles(b)
	for b.Loop() {
		if _, err := Load(files); err != nil {
			b.Fatal(err)
		}
	}
}
