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
// time of the chosen glue. Every remedy that is offered mends what it is for, and
// stops nothing new.
func TestNoPatternIsStopped(t *testing.T) {
	l := library(t)
	s := shop(t)
	pieces := l.Patterns()
	made := map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SampledFrom(pieces).Draw(t, "piece")
		in := drawInput(t, l, p, s)
		b, err := l.Build(in, s)
		if err != nil {
			return // the piece's own rules or the shop's limits refuse it
		}
		made[p.Key]++
		found := Run(b, s)
		for _, f := range found {
			if f.Severity == Stops && (f.Check != "open-time" || f.Remedy == nil) {
				t.Fatalf("%s: %s", f.Check, f.Reason)
			}
			if f.Remedy != nil {
				mends(t, b, s, nil, f, found)
			}
		}
	})
	t.Log("pieces built:", made)
	require.NotEmpty(t, made)
}

// At its defaults nothing is to be said of a piece but what the test's shop makes of
// it: these are its machines and its two people.
func TestShippedPiecesAtTheirDefaults(t *testing.T) {
	s := shop(t)
	ofTheShop := []string{"two-drum-passes", "short-at-router", "long-alone", "heavy-alone"}
	for _, p := range library(t).Patterns() {
		b := build(t, pattern.Input{Pattern: p.Key})
		ids := map[string]bool{}
		for _, f := range Run(b, s) {
			require.Contains(t, ofTheShop, f.Check, "%s: %s", p.Key, f.Reason)
			require.False(t, ids[f.ID()], "%s: %s stands twice", p.Key, f.ID())
			ids[f.ID()] = true
		}
	}
}
