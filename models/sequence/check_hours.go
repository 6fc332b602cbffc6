package sequence

import (
	"cmp"
	"slices"
)

// hours are the minutes that count for some piece of work, as windows in order
// that neither overlap nor touch. The checker reckons with them, and not with the
// search's workClock: it shares nothing with what it checks.
type hours []Window

// aroundTheClock are the hours of a piece of work that uses no calendar.
var aroundTheClock = hours{{-1 << 40, 1 << 40}}

// newHours puts windows in order and joins those that touch.
func newHours(windows []Window) hours {
	sorted := slices.Clone(windows)
	slices.SortFunc(sorted, func(a, b Window) int { return cmp.Compare(a[0], b[0]) })
	joined := hours{}
	for _, w := range sorted {
		if last := len(joined) - 1; last >= 0 && w[0] <= joined[last][1] {
			joined[last][1] = max(joined[last][1], w[1])
		} else {
			joined = append(joined, w)
		}
	}
	return joined
}

// and returns the minutes that lie in both, in time linear in their windows.
func (h hours) and(other hours) hours {
	both := hours{}
	for i, j := 0, 0; i < len(h) && j < len(other); {
		if from, to := max(h[i][0], other[j][0]), min(h[i][1], other[j][1]); from < to {
			both = append(both, Window{from, to})
		}
		if h[i][1] < other[j][1] {
			i++
		} else {
			j++
		}
	}
	return both
}

// within returns the pieces of [from, to) that count.
func (h hours) within(from, to int) []Window {
	first, _ := slices.BinarySearchFunc(h, from, func(w Window, from int) int { return cmp.Compare(w[1], from+1) })
	var pieces []Window
	for _, w := range h[first:] {
		if w[0] >= to {
			break
		}
		pieces = append(pieces, Window{max(w[0], from), min(w[1], to)})
	}
	return pieces
}

// minutes counts the minutes of [from, to) that count.
func (h hours) minutes(from, to int) int {
	sum := 0
	for _, piece := range h.within(from, to) {
		sum += piece[1] - piece[0]
	}
	return sum
}
