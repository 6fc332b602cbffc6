package sequence

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A clock says what counting minute by minute says: of few long windows, and of so many
// short ones that the slots of its index hold more of them than are looked at one by one.
func TestAClockCountsMinuteByMinute(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		longest := rapid.SampledFrom([]int{2, 5, 400}).Draw(t, "longest")
		var windows []Window
		at := 0
		for range rapid.IntRange(0, 60).Draw(t, "windows") {
			from := at + rapid.IntRange(0, longest).Draw(t, "closed")
			at = from + rapid.IntRange(0, longest).Draw(t, "open")
			windows = append(windows, Window{from, at})
		}
		c := newWorkClock(windows)
		var counted []int // the minutes that are
		for _, w := range windows {
			for minute := w[0]; minute < w[1]; minute++ {
				counted = append(counted, minute)
			}
		}
		require.Equal(t, len(counted), c.total)
		before := func(minute int) int { n, _ := slices.BinarySearch(counted, minute); return n }
		for minute := range at + 3 {
			n := before(minute)
			require.Equal(t, n, c.worked(minute), "minutes before %d", minute)
			require.Equal(t, n < len(counted) && counted[n] == minute, c.open(minute), "minute %d", minute)
			next := never
			if n < len(counted) {
				next = counted[n]
			}
			require.Equal(t, next, c.nextOpen(minute), "from %d on", minute)
		}
		for k, minute := range counted {
			require.Equal(t, minute, c.begin(k), "counted minute %d", k)
		}
		require.Equal(t, never, c.begin(len(counted)))
		require.Equal(t, -1, c.begin(-1))

		from, k := rapid.IntRange(0, at+3).Draw(t, "from"), rapid.IntRange(1, 2*longest).Draw(t, "minutes")
		over, first, last := never, never, -1
		if n := before(from) + k; n <= len(counted) {
			over = counted[n-1] + 1
		}
		for i := range counted {
			if i+k <= len(counted) && counted[i+k-1] == counted[i]+k-1 { // in one piece
				if counted[i] >= from && first == never {
					first = counted[i]
				}
				if counted[i] <= from {
					last = counted[i]
				}
			}
		}
		require.Equal(t, over, c.finish(from, k), "%d minutes from %d on", k, from)
		require.Equal(t, first, c.nextWhole(from, k), "%d minutes in one piece from %d on", k, from)
		require.Equal(t, last, c.prevWhole(from, k), "%d minutes in one piece up to %d", k, from)
	})
}
