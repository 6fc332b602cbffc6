package sequence

// eachTerm calls f with every variable that the objective counts and what a
// value of it costs; the cost never falls as the value rises.
func (e *exact) eachTerm(f func(v int32, cost func(int64) int64)) {
	w := e.m.weights
	for j := range e.ends {
		if job := &e.m.jobs[j]; w.Flow > 0 || w.Tardiness > 0 && job.weight > 0 && job.due < never {
			f(e.ends[j], func(end int64) int64 { return e.m.jobCost(job, int(end)) })
		}
	}
	if e.last >= 0 {
		f(e.last, func(end int64) int64 { return w.Makespan * end })
	}
	if w.Setup > 0 {
		for k := range e.orders {
			f(e.orders[k].sum.total, func(minutes int64) int64 { return w.Setup * minutes })
		}
	}
	for t := range e.moved {
		if e.moved[t] >= 0 {
			f(e.moved[t], func(yes int64) int64 { return w.Moved * yes })
		}
	}
}

// unlimited is more than any sensible plan costs: where so much is left of the objective,
// since no plan is known yet, it limits no term.
const unlimited = 1 << 50

// propagateCost raises the objective to what its terms cost at least, and keeps
// each term within what the others leave of it.
func (e *exact) propagateCost() bool {
	why := e.x.lifted[:0]
	sum := int64(0)
	e.eachTerm(func(v int32, cost func(int64) int64) {
		lo := e.x.lo(v)
		c := cost(lo)
		sum += c
		if c > 0 {
			why = append(why, ge(v, e.weakest(lo, c, cost)))
		}
	})
	e.x.lifted = why
	if !e.x.set(ge(e.cost, sum), why...) {
		return false
	}
	left := e.x.hi(e.cost) - sum
	if left >= unlimited {
		return true
	}
	ok := true
	e.eachTerm(func(v int32, cost func(int64) int64) {
		if lo, hi := e.x.lo(v), e.x.hi(v); ok && lo < hi && cost(hi)-cost(lo) > left {
			ok = e.limitTerm(v, cost, left, why)
		}
	})
	return ok
}

// weakest returns the least value from which a term costs as much as at lo.
func (e *exact) weakest(lo, c int64, cost func(int64) int64) int64 {
	if cost(lo-1) < c {
		return lo
	}
	a, b := int64(-1), lo // cost(a) < c <= cost(b), -1 standing for less than anything
	for b-a > 1 {
		if mid := (a + b) / 2; cost(mid) < c {
			a = mid
		} else {
			b = mid
		}
	}
	return b
}

// limitTerm lowers the upper bound of a term to what is left beside the others.
func (e *exact) limitTerm(v int32, cost func(int64) int64, left int64, why []lit) bool {
	lo, hi := e.x.lo(v), e.x.hi(v)
	most := cost(lo) + left
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; cost(mid) <= most {
			lo = mid
		} else {
			hi = mid
		}
	}
	reasons := []lit{le(e.cost, e.x.hi(e.cost))}
	for _, l := range why {
		if l.side/2 != v {
			reasons = append(reasons, l)
		}
	}
	return e.x.set(le(v, lo), reasons...)
}
