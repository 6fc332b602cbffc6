package sequence

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// The fewest setup minutes of a station are what trying all its orders gives, and stay
// so when what the orders can do without is taken out.
func TestFewestSetupMinutesEqualBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, ahead := drawSetupSum(t)
		want := fewestByTrying(s, &ahead, 0, s.initial, 0)
		assert.Equal(t, want, s.least(&ahead))

		thin := ahead
		s.thin(&thin, want)
		assert.Equal(t, want, fewestByTrying(s, &thin, 0, s.initial, 0))
		for b := range s.state {
			assert.Zero(t, thin[b]&^ahead[b], "only takes out")
		}
	})
}

// drawSetupSum draws a station and what comes surely before what there.
func drawSetupSum(t *rapid.T) (*setupSum, [mostSummed]uint16) {
	states := rapid.IntRange(1, 4).Draw(t, "states")
	s := &setupSum{initial: rapid.IntRange(-1, states-1).Draw(t, "initial"), known: map[[mostSummed]uint16]int{}}
	for range states {
		s.minutes = append(s.minutes, rapid.SliceOfN(rapid.IntRange(0, 20), states, states).Draw(t, "minutes"))
	}
	s.state = rapid.SliceOfN(rapid.IntRange(0, states-1), 1, 6).Draw(t, "state")
	s.fewest = make([]int, states<<len(s.state))
	var ahead [mostSummed]uint16
	for b := range s.state {
		for a := range b {
			if rapid.Bool().Draw(t, "ahead") {
				ahead[b] |= 1<<a | ahead[a]
			}
		}
	}
	return s, ahead
}

func fewestByTrying(s *setupSum, ahead *[mostSummed]uint16, done uint16, at, so int) int {
	if done == 1<<len(s.state)-1 {
		return so
	}
	least := math.MaxInt
	for b, state := range s.state {
		if done>>b&1 != 0 || ahead[b]&^done != 0 {
			continue
		}
		minutes := 0
		if at >= 0 {
			minutes = s.minutes[at][state]
		}
		least = min(least, fewestByTrying(s, ahead, done|1<<b, state, so+minutes))
	}
	return least
}
