package sequence

import (
	"math"
	"slices"
)

// lineClimb proves, where handLine finds. It assumes that there is a plan that costs less
// than a little more than what is proved, and lengthens all lines that could become it.
// Where none of them becomes complete there is no such plan: so much more is proved, and
// more is assumed in the next pass. Else the best of them is optimal. Nothing is spent on
// lines that only a plan much worse than the best one could need, and what is proved does
// not wait until that one is found.
type lineClimb struct {
	l         *handLine
	known     int64 // what the best plan known costs
	proved    int64
	step      int64 // how much more is assumed than is proved
	most      int64 // what was too much to assume; at first more than there being no plan
	room      int   // for lines of one length
	overflows int
	effort    int // of this pass
	last      int // of the one before
	finished  bool
}

// mostClimbed is how many lines of one length may be made: some 200 bytes each, and as
// many again of those one task shorter. How the shorter ones came about takes 8 bytes each,
// 64 MiB were all lengths full. After so many passes with more the climb ends.
const (
	mostClimbed   = 1 << 16
	mostOverflows = 3
)

// The first step is small. Each pass is to take a few times as long as the one before: where
// it took less than twice as long the next step is twice as high, where it took more than
// eight times as long, or was the first one, half as high. The climb ends, too, where a step
// would lead over less than so much of what is to be proved.
const (
	firstStep    = 16
	hardlyLonger = 2
	muchLonger   = 8
	leastPart    = 64
)

// newLineClimb climbs over the lines of a search.
func newLineClimb(l *handLine) *lineClimb {
	c := &lineClimb{l: l.twin(), known: noCost, proved: l.proved, most: math.MaxInt64, step: firstStep, room: mostClimbed}
	c.l.eye = slices.Index(lineEyes[:], lineEye{stretch: unstretched})
	c.l.ceiling = c.proved
	return c
}

func (c *lineClimb) chunk() int64 { return c.l.chunk() }

func (c *lineClimb) found() (*answer, int64, bool) {
	return c.l.best, c.proved, c.known == noCost && c.proved >= c.known
}

func (c *lineClimb) meet(best *answer, bound int64) {
	if best != nil {
		c.known = min(c.known, best.value.cost)
	}
	c.l.ceiling = min(c.l.ceiling, c.known)
	c.proved = max(c.proved, bound)
}

// run climbs. A unit of work is as much effort as one of handLine.
func (c *lineClimb) run(b *budget) int64 {
	l := c.l
	done := int64(0)
	for !c.finished && !b.over(done) {
		before := l.tick
		switch {
		case l.ceiling <= c.proved: // at first, and when another search has proved more
			c.begin()
		case len(l.next.states) > c.room:
			c.overflow()
		case l.at < len(l.now.states):
			l.tick += l.lengthen(l.at)
			l.at++
		default:
			l.tick += c.deepen()
		}
		c.effort += l.tick - before
		done += int64(l.tick / lineUnit)
		l.tick %= lineUnit
	}
	return done
}

// begin begins a pass, unless hardly more can be proved.
func (c *lineClimb) begin() {
	gap := c.known - c.proved
	step, least := min(c.step, gap), int64(0)
	if c.proved+step >= c.most {
		step, least = (c.most-c.proved)/2, gap/leastPart
	}
	if c.finished = step <= least; c.finished {
		return
	}
	c.last, c.effort = c.effort, 0
	c.l.ceiling = c.proved + step
	c.l.restart()
}

// overflow gives a pass up, and assumes less in the next one.
func (c *lineClimb) overflow() {
	c.overflows++
	c.most = c.l.ceiling
	if c.finished = c.overflows == mostOverflows; !c.finished {
		c.begin()
	}
}

// deepen lets all lines go on to which no other is to be preferred, and returns the
// effort. At the end of a pass the next one begins.
func (c *lineClimb) deepen() int {
	l := c.l
	made := l.next.states
	l.next.states = made[:0]
	for _, s := range made {
		if !s.gone {
			l.came = append(l.came, lineStep{s.from, s.task})
			l.next.states = append(l.next.states, s)
		}
	}
	if l.deepen(&l.next) {
		c.ended()
	}
	return rankEffort * len(made)
}

// ended notes what a pass has proved. Complete lines that make no plan end the climb: they
// would be in the way of each pass.
func (c *lineClimb) ended() {
	proved := c.l.settle()
	c.proved = max(c.proved, proved)
	if c.finished = proved < c.l.ceiling; c.finished {
		return
	}
	switch {
	case c.effort <= hardlyLonger*c.last:
		c.step *= 2
	case c.effort > muchLonger*c.last:
		c.step = max(1, c.step/2)
	}
	if c.l.best != nil {
		c.known = min(c.known, c.l.best.value.cost)
	}
	c.begin()
}
