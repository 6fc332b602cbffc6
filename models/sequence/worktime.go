package sequence

import "sort"

// never is later than every time of a problem.
const never = 1 << 40

// workClock counts the minutes that lie in a set of windows. A nil clock counts
// every minute. All methods take O(log windows), those that go by time O(1)
// where windows are spread evenly.
type workClock struct {
	from, to []int
	pre      []int   // minutes in the windows before this one
	bits     int     // a slot of the index is 2^bits minutes
	slot     []int32 // per slot of time: the first window that ends after its beginning
	slotBy   []int32 // per slot of counted minutes: the window in which its first one lies
	total    int
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
	c.indexSlots()
	return c
}

func (c *workClock) indexSlots() {
	if len(c.to) == 0 {
		return
	}
	last := c.to[len(c.to)-1]
	for c.bits = 6; last>>c.bits > 64+8*len(c.to); c.bits++ {
	}
	c.slot = make([]int32, last>>c.bits+1)
	i := 0
	for s := range c.slot {
		for i < len(c.to) && c.to[i] <= s<<c.bits {
			i++
		}
		c.slot[s] = int32(i)
	}
	c.slotBy = make([]int32, c.total>>c.bits+1)
	i = 0
	for s := range c.slotBy {
		for i+1 < len(c.pre) && c.pre[i+1] <= s<<c.bits {
			i++
		}
		c.slotBy[s] = int32(i)
	}
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
func (c *workClock) window(t int) int {
	if t < 0 {
		return 0
	}
	s := t >> c.bits
	if s >= len(c.slot) {
		return len(c.to)
	}
	i := int(c.slot[s])
	for few := 8; i < len(c.to) && c.to[i] <= t; i++ {
		if few--; few == 0 { // many windows in one slot
			return i + sort.SearchInts(c.to[i:], t+1)
		}
	}
	return i
}

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
func (c *workClock) windowOf(k int) int {
	i := int(c.slotBy[k>>c.bits])
	for few := 8; i+1 < len(c.pre) && c.pre[i+1] <= k; i++ {
		if few--; few == 0 { // many windows in one slot
			return i + sort.SearchInts(c.pre[i+1:], k+1)
		}
	}
	return i
}

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
