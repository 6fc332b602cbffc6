package checks

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"faceside/models/pattern"
	"faceside/models/wood"
)

// drawInput draws a legal input: every measure within the limits the form shows at
// the measures drawn before it.
func drawInput(t *rapid.T, l *pattern.Library, p *pattern.Pattern, shop pattern.Shop) pattern.Input {
	in := pattern.Input{Pattern: p.Key, Measures: map[string]string{}, Choices: map[string]string{}}
	for _, c := range p.Choices {
		in.Choices[c.Key] = rapid.SampledFrom(c.Options).Draw(t, c.Key).Key
	}
	for i, m := range p.Measures {
		form, err := l.Form(in, shop)
		require.NoError(t, err)
		now := form.Measures[i]
		if m.IsLength {
			low, high := int64((now.LeastLength+wood.Millimetre-1)/wood.Millimetre), int64(now.GreatestLength/wood.Millimetre)
			if low > high {
				t.Skip("nothing is left for this measure")
			}
			in.Measures[m.Key] = strconv.FormatInt(rapid.Int64Range(low, high).Draw(t, m.Key), 10) + " mm"
			continue
		}
		low, high := int(math.Ceil(now.LeastNumber)), int(math.Floor(now.GreatestNumber))
		if low > high {
			t.Skip("nothing is left for this measure")
		}
		in.Measures[m.Key] = strconv.Itoa(rapid.IntRange(low, high).Draw(t, m.Key))
	}
	return in
}

// Whatever the measures and choices, no check stops what the shipped patterns make of
// them, but for one thing the maker may ask for: a glue-up too large for the open
// time of the chosen glue. One tap mends that, and stops nothing else.
func TestNoPatternIsStopped(t *testing.T) {
	l := library(t)
	s := shop(t)
	for _, p := range l.Patterns() {
		t.Run(p.Key, func(t *testing.T) {
			made := 0
			rapid.Check(t, func(t *rapid.T) {
				in := drawInput(t, l, p, s)
				b, err := l.Build(in, s)
				if err != nil {
					return // the piece's own rules or the shop's limits refuse it
				}
				made++
				for range len(b.Steps) {
					f := firstStop(Run(b, s))
					if f == nil {
						return
					}
					if f.Check != "open-time" || f.Remedy == nil {
						t.Fatalf("%s: %s", f.Check, f.Reason)
					}
					after, err := Apply(b, f.Remedy)
					require.NoError(t, err)
					for _, still := range Run(after, s) {
						require.NotEqual(t, f.ID(), still.ID(), "%s does not mend it", f.Remedy.Say)
					}
					b = after
				}
				t.Fatalf("remedy after remedy, and still something stops it")
			})
			require.Positive(t, made, "some inputs must give a piece")
		})
	}
}

func firstStop(found []Finding) *Finding {
	if len(found) == 0 || found[0].Severity != Stops {
		return nil
	}
	return &found[0]
}
