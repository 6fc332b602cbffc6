package sequence

import "sort"

// never is later than every time of a problem.
const never = 1 << 40

// workClock counts the minutes that lie in a set of windows. A nil clock counts
// every minute. To find the window of a time, or of a counted minute, takes
// O(log windows), and O(1) where windows are spread evenly.
type workClock struct {
	from, to []int
	pre      []int // minutes in the windows before this one
	total    int
	ends     steps // of to
	begun    steps // of pre
}

// newWorkClock makes a clock of windows in any order; windows that touch are joined.
func newWorkClock(windows []Window) *workClock {
	sorted := append([]Window(nil), windows...)
	sort.Slice(sorted, func(i, j int) bool { return sorted[i][0] < sorted[j][0] })
	c := &workClock{}
	for _, w := range sorted {
		switch n := len(c.to); {
		case w[1] <= w[0]:
		case n > 0 && w[0] <= c.to[n-1]:
			c.to[n-1] = max(c.to[n-1], w[1])
		default:
			c.from, c.to = append(c.from, w[0]), append(c.to, w[1])
		}
	}
	for i := range c.from {
		c.pre = append(c.pre, c.total)
		c.total += c.to[i] - c.from[i]
	}
	c.ends, c.begun = newSteps(c.to), newSteps(c.pre)
	return c
}

// steps finds its way in rising numbers by an index of slots of equal width.
type steps struct {
	rising []int
	bits   int     // a slot is 2^bits wide
	slot   []int32 // the first number above where it begins
}

func newSteps(rising []int) steps {
	s := steps{rising: rising}
	if len(rising) == 0 {
		return s
	}
	last := rising[len(rising)-1]
	for s.bits = 6; last>>s.bits > 64+8*len(rising); s.bits++ {
	}
	s.slot = make([]int32, last>>s.bits+1)
	i := 0
	for k := range s.slot {
		for i < len(rising) && rising[i] <= k<<s.bits {
			i++
		}
		s.slot[k] = int32(i)
	}
	return s
}

// above returns where the first number above t stands, or how many there are if none is.
func (s *steps) above(t int) int {
	if t < 0 {
		return 0
	}
	k := t >> s.bits
	if k >= len(s.slot) {
		return len(s.rising)
	}
	i := int(s.slot[k])
	for few := 8; i < len(s.rising) && s.rising[i] <= t; i++ {
		if few--; few == 0 { // many in one slot
			return i + sort.SearchInts(s.rising[i:], t+1)
		}
	}
	return i
}

// common returns the clock of the minutes that both count.
func common(a, b *workClock) *workClock {
	if a == nil {
		return b
	}
	if b == nil || a == b {
		return a
	}
	var both []Window
	for i, j := 0, 0; i < len(a.from) && j < len(b.from); {
		from, to := max(a.from[i], b.from[j]), min(a.to[i], b.to[j])
		if from < to {
			both = append(both, Window{from, to})
		}
		if a.to[i] < b.to[j] {
			i++
		} else {
			j++
		}
	}
	return newWorkClock(both)
}

// window returns the first window that ends after t, or their number if none does.
func (c *workClock) window(t int) int { return c.ends.above(t) }

// worked returns the number of counted minutes in [0, t).
func (c *workClock) worked(t int) int {
	if c == nil {
		return t
	}
	i := c.window(t)
	if i == len(c.to) {
		return c.total
	}
	return c.pre[i] + max(0, t-c.from[i])
}

// windowOf returns the window in which counted minute number k lies, 0 <= k < total.
func (c *workClock) windowOf(k int) int { return c.begun.above(k) - 1 }

// begin returns when counted minute number k begins: -1 below the first, never
// after the last.
func (c *workClock) begin(k int) int {
	switch {
	case k < 0:
		return -1
	case c == nil:
		return k
	case k >= c.total:
		return never
	}
	i := c.windowOf(k)
	return c.from[i] + k - c.pre[i]
}

// finish returns when k counted minutes from time t on are over; k = 0 gives t.
func (c *workClock) finish(t, k int) int {
	if k == 0 {
		return t
	}
	if c == nil {
		return t + k
	}
	i := c.window(t)
	if i < len(c.to) { // the usual case: it ends in the window it begins in
		if end := max(t, c.from[i]) + k; end <= c.to[i] {
			return end
		}
	}
	return min(never, c.begin(c.worked(t)+k-1)+1)
}

// open tells whether minute t is counted.
func (c *workClock) open(t int) bool {
	if c == nil {
		return true
	}
	i := c.window(t)
	return i < len(c.to) && c.from[i] <= t
}

// nextOpen returns the first counted minute from t on, or never.
func (c *workClock) nextOpen(t int) int {
	if c == nil {
		return t
	}
	i := c.window(t)
	if i == len(c.to) {
		return never
	}
	return max(t, c.from[i])
}

// nextWhole returns the first time from t on at which k > 0 counted minutes
// begin that no window's end cuts, or never.
func (c *workClock) nextWhole(t, k int) int {
	if c == nil {
		return t
	}
	for i := c.window(t); i < len(c.to); i++ {
		if s := max(t, c.from[i]); s+k <= c.to[i] {
			return s
		}
	}
	return never
}

// prevWhole returns the last time up to t at which k > 0 counted minutes begin
// that no window's end cuts, or -1.
func (c *workClock) prevWhole(t, k int) int {
	if c == nil {
		return t
	}
	for i := min(c.window(t), len(c.to)-1); i >= 0; i-- {
		if s := min(t, c.to[i]-k); s >= c.from[i] {
			return s
		}
	}
	return -1
}
