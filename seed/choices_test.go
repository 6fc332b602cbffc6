package seed

import (
	"fmt"
	"maps"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models/pattern"
)

// askedWith are the choices that a piece asks only of something another choice brings:
// they are compared with that one taken.
var askedWith = map[string]map[string]string{
	"bedside-cabinet door_corners": {"front": "door"},
	"bedside-cabinet door_panel":   {"front": "door"},
	"bedside-cabinet hinges":       {"front": "door"},
}

// doesNothing are the options that change neither parts nor steps nor setups, and why.
var doesNothing = map[string]string{}

// made is what a build leaves to be done, by part and by step, without any name, note
// or reason: two builds with the same are the same work.
type made struct{ parts, steps, setups map[string]string }

func whatIsMade(b *pattern.Built) made {
	m := made{map[string]string{}, map[string]string{}, map[string]string{}}
	for _, p := range b.Parts {
		m.parts[p.Key] = fmt.Sprint(p.Quantity, p.Finished, p.Rough, p.Species, p.Grain)
	}
	for _, s := range b.Steps {
		m.steps[s.Key] = fmt.Sprint(s.Kind, s.Station, s.Attended, s.Unattended, s.OpenTime, s.Hands, s.Clamps, s.Parts, s.Assemblies)
		if s.Setup != nil {
			m.setups[s.Setup.State] = s.Station
		}
	}
	for _, l := range b.Links {
		if l.Min > 0 || l.Max != nil {
			m.steps[l.Before] += fmt.Sprint(" until ", l.After, l.From, l.Min)
		}
	}
	return m
}

// Every option of every choice of every piece is work, not a label: it changes parts,
// steps or setups. What only a machine's setting tells apart counts as a setup.
func TestEveryOptionChangesTheWork(t *testing.T) {
	l, err := Library()
	require.NoError(t, err)
	shop := l.GenerousShop()
	options, unused := 0, maps.Clone(doesNothing)
	for _, p := range l.Patterns() {
		for _, c := range p.Choices {
			given := maps.Clone(askedWith[p.Key+" "+c.Key])
			plain, err := l.Build(pattern.Input{Pattern: p.Key, Choices: given}, shop)
			require.NoError(t, err, p.Key)
			usual := whatIsMade(plain)
			for _, o := range c.Options {
				if o.Key == c.Default {
					continue
				}
				options++
				name := p.Key + " " + c.Key + " " + o.Key
				taken := map[string]string{c.Key: o.Key}
				maps.Copy(taken, given)
				b, err := l.Build(pattern.Input{Pattern: p.Key, Choices: taken}, shop)
				if !assert.NoError(t, err, "%s: an option can be taken at the measures that are proposed", name) {
					continue
				}
				now := whatIsMade(b)
				same := maps.Equal(usual.parts, now.parts) && maps.Equal(usual.steps, now.steps) && maps.Equal(usual.setups, now.setups)
				assert.Equal(t, doesNothing[name] != "", same, name)
				delete(unused, name)
			}
		}
	}
	assert.Empty(t, unused, "exceptions that are none")
	assert.Greater(t, options, 200)
	assert.GreaterOrEqual(t, len(l.Patterns()), 12)
}

// A choice of joints, edges or hinges is cut by other steps, not only by other times:
// the kinds of steps differ, and what machines are set to.
func TestEveryJointIsCutByItsOwnSteps(t *testing.T) {
	l, err := Library()
	require.NoError(t, err)
	shop := l.GenerousShop()
	joints := []string{"joint", "corners", "align", "edge", "fastener", "front", "hinges", "door_corners", "shape", "lower", "ends"}
	seen := map[string]bool{}
	for _, p := range l.Patterns() {
		for _, c := range p.Choices {
			if !slices.Contains(joints, c.Key) {
				continue
			}
			kinds, settings := map[string]string{}, map[string]string{}
			for _, o := range c.Options {
				taken := map[string]string{c.Key: o.Key}
				maps.Copy(taken, askedWith[p.Key+" "+c.Key])
				b, err := l.Build(pattern.Input{Pattern: p.Key, Choices: taken}, shop)
				require.NoError(t, err, "%s %s %s", p.Key, c.Key, o.Key)
				now := map[string]int{}
				for _, s := range b.Steps {
					now[s.Kind]++
				}
				work := fmt.Sprint(now)
				assert.Empty(t, kinds[work], "%s: %s %s and %s ask for the same kinds of steps", p.Key, c.Key, o.Key, kinds[work])
				kinds[work] = o.Key
				states := fmt.Sprint(whatIsMade(b).setups)
				settings[states] = o.Key
				seen[c.Key+" "+o.Key] = true
			}
			assert.Greater(t, len(settings), 1, "%s: no option of %s asks a machine for another setting", p.Key, c.Key)
		}
	}
	for _, want := range []string{
		"joint mortise", "joint dowel", "joint loose-tenon", "joint bridle", "joint dado", "joint pocket",
		"corners dovetail", "corners box-joint", "corners lock", "corners cope", "edge chamfer", "edge round", "edge eased", "hinges butt", "hinges cup",
	} {
		assert.True(t, seen[want], want)
	}
}
