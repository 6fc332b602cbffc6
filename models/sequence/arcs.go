package sequence

// arc keeps y at or above a rising function of x, where its guard holds:
//
//	arcFollow  S(j) >= point(i) + d
//	arcWithin  S(i) >= the first start from which point(i) + d >= S(j)
//	arcVisit   the setup before j on their station begins when i has left it
//	arcOwn     the setup before j begins at or after the origin and is not cut where it must not be
//	arcEnds    the end of a job, or the makespan, >= E(i)
//	arcRound   S(i) is a start that the calendars allow
type arc struct {
	kind    arcKind
	guarded bool
	guard   lit
	i, j    int32 // tasks
	x, y    int32 // variables
	from    moment
	d       int
	extra   int32 // the variable of the setup minutes before j, -1: none

	low, high reckoned // what was reckoned last of x, and of y
}

// reckoned is what hours make of a bound and of so many setup minutes. Mostly the other
// bound or the guard is what has changed, and then it need not be reckoned again.
type reckoned struct {
	known       bool
	from, extra int
	to          int
}

// is tells whether it was reckoned of the same.
func (r *reckoned) is(from, extra int) bool { return r.known && r.from == from && r.extra == extra }

type arcKind uint8

const (
	arcFollow arcKind = iota
	arcWithin
	arcVisit
	arcOwn
	arcEnds
	arcRound
)

func (a *arc) propagate(e *exact) bool {
	x := &e.x
	if a.guarded && x.isFalse(a.guard) {
		return true
	}
	xlo, yhi := int(x.lo(a.x)), int(x.hi(a.y))
	extra := 0
	if a.extra >= 0 {
		extra = int(x.lo(a.extra))
	}
	if !a.low.is(xlo, extra) {
		a.low = reckoned{true, xlo, extra, a.least(e.m, xlo, extra)}
	}
	low := a.low.to
	if a.guarded && !x.isTrue(a.guard) {
		if low <= yhi {
			return true
		}
		// The weakest bound of x that is too late for y explains it.
		weak := min(xlo, a.most(e.m, yhi, extra)+1)
		if a.least(e.m, weak, extra) <= yhi {
			weak = xlo
		}
		return a.set(e, a.guard.not(), ge(a.x, int64(weak)), le(a.y, int64(yhi)), extra)
	}
	if low > int(x.lo(a.y)) && !a.set(e, ge(a.y, int64(low)), ge(a.x, int64(xlo)), a.guard, extra) {
		return false
	}
	if !a.high.is(yhi, extra) {
		a.high = reckoned{true, yhi, extra, a.most(e.m, yhi, extra)}
	}
	high := a.high.to
	return high >= int(x.hi(a.x)) || a.set(e, le(a.x, int64(high)), le(a.y, int64(yhi)), a.guard, extra)
}

// set makes a literal true because of a bound, the guard (or the other bound)
// and the least setup minutes.
func (a *arc) set(e *exact, l, why, guard lit, extra int) bool {
	reasons := append(e.x.lifted[:0], why)
	if a.guarded {
		reasons = append(reasons, guard)
	}
	if extra > 0 {
		reasons = append(reasons, ge(a.extra, int64(extra)))
	}
	e.x.lifted = reasons
	return e.x.set(l, reasons...)
}

// least is the least y for x at its lower bound.
func (a *arc) least(m *model, xlo, extra int) int {
	wi, wj := &m.tasks[a.i], &m.tasks[a.j]
	switch a.kind {
	case arcFollow:
		return wj.nextStart(max(0, wi.point(a.from, xlo)+a.d))
	case arcWithin:
		return wi.firstStartOf(a.from, xlo-a.d)
	case arcVisit:
		return wj.startBehind(m.resources[wj.station].setups.clock, wi.point(a.from, xlo), extra)
	case arcOwn:
		return wj.startAfterSetup(m.resources[wj.station].setups.clock, xlo, extra)
	case arcEnds:
		return wi.end(xlo)
	}
	return wi.nextStart(xlo)
}

// most is the greatest x for y at its upper bound.
func (a *arc) most(m *model, yhi, extra int) int {
	wi, wj := &m.tasks[a.i], &m.tasks[a.j]
	switch a.kind {
	case arcFollow:
		return wi.lastStartFor(a.from, yhi-a.d)
	case arcWithin:
		return wj.prevStart(wi.point(a.from, yhi) + a.d)
	case arcVisit:
		return wi.lastStartFor(a.from, latestSetup(m.resources[wj.station].setups.clock, yhi, extra))
	case arcOwn:
		return yhi
	case arcEnds:
		return wi.lastStartBy(yhi - wi.unatt)
	}
	return wi.prevStart(yhi)
}

// startBehind returns the least start of a task before which a setup of so many
// minutes fits that does not begin before free.
func (w *work) startBehind(c *workClock, free, minutes int) int {
	for at := w.nextStart(max(0, free)); ; {
		next := w.nextStart(w.afterSetup(c, free, minutes, at))
		if next <= at || next >= never {
			return next
		}
		at = next
	}
}

// startAfterSetup is the least start from 'at' on before which a setup fits.
func (w *work) startAfterSetup(c *workClock, at, minutes int) int {
	for {
		next := w.nextStart(w.afterSetup(c, 0, minutes, at))
		if next <= at || next >= never {
			return next
		}
		at = next
	}
}

// latestSetup bounds from above when a setup of so many minutes begins that is
// over at or before a start of at most s.
func latestSetup(c *workClock, s, minutes int) int {
	if minutes == 0 || c == nil {
		return s - minutes
	}
	return c.begin(c.worked(s) - minutes)
}
