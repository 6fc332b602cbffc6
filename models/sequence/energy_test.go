package sequence

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The worst window is the one that counting minute by minute finds, whatever window was
// looked at before.
func TestWorstWindowIsCounted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := energy{capacity: rapid.IntRange(1, 4).Draw(t, "capacity")}
		for k := range rapid.IntRange(1, 6).Draw(t, "loads") {
			l := load{amount: rapid.IntRange(1, g.capacity).Draw(t, "amount"), long: rapid.IntRange(1, 6).Draw(t, "long"), lo: rapid.IntRange(0, 12).Draw(t, "lo")}
			l.hi = l.lo + rapid.IntRange(0, 6).Draw(t, "slack")
			g.loads = append(g.loads, l)
			g.bends = append(g.bends, bend{of: int32(k)}, bend{of: int32(k), end: true})
		}
		for _, a := range rapid.SliceOfN(rapid.IntRange(0, 20), 1, 5).Draw(t, "windows from") {
			most := 0
			for b := a + 1; b < 40; b++ {
				most = max(most, leastNeed(g.loads, a, b)-g.capacity*(b-a))
			}
			b, excess := g.worst(a)
			require.Equal(t, most, excess, "from %d", a)
			if most > 0 {
				require.Equal(t, most, leastNeed(g.loads, a, b)-g.capacity*(b-a), "from %d to %d", a, b)
			}
		}
	})
}

// leastNeed counts what loads need in [a, b) if each starts where it needs least there.
func leastNeed(loads []load, a, b int) int {
	sum := 0
	for _, l := range loads {
		least := l.long
		for s := l.lo; s <= l.hi; s++ {
			inside := 0
			for minute := s; minute < s+l.long; minute++ {
				if a <= minute && minute < b {
					inside++
				}
			}
			least = min(least, inside)
		}
		sum += l.amount * least
	}
	return sum
}
