package sequence

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A profile says of each minute what a list of minutes says, in as few steps as can be.
func TestAProfileIsAListOfMinutes(t *testing.T) {
	const day = 60
	rapid.Check(t, func(t *rapid.T) {
		var p profile
		p.reset()
		minutes := make([]int, day)
		for range rapid.IntRange(1, 60).Draw(t, "changes") {
			from, to := rapid.IntRange(0, day-1).Draw(t, "from"), rapid.IntRange(0, day-1).Draw(t, "to")
			amount := rapid.IntRange(-2, 3).Draw(t, "amount")
			p.add(from, to, amount)
			for m := from; m < to; m++ {
				minutes[m] += amount
			}
			at := rapid.IntRange(0, day-1).Draw(t, "at")
			require.Equal(t, minutes[at], int(p.steps[p.step(at)].used))
			room := rapid.IntRange(0, 3).Draw(t, "room")
			require.Equal(t, blockedByMinutes(minutes, at, to, room), p.blocked(at, to, room), "[%d, %d) with %d free of %v", at, to, room, minutes)
		}
		for i := 1; i < len(p.steps); i++ {
			require.Less(t, p.steps[i-1].at, p.steps[i].at)
			require.NotEqual(t, p.steps[i-1].used, p.steps[i].used)
		}
	})
}

// blockedByMinutes is blocked of a profile, minute by minute.
func blockedByMinutes(minutes []int, from, to, room int) int {
	last := -1
	for m := from; m < to; m++ {
		if minutes[m] > room {
			last = m
		}
	}
	if last < 0 {
		return -1
	}
	end := last + 1
	for end < len(minutes) && minutes[end] == minutes[last] {
		end++
	}
	return end
}
