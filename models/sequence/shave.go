package sequence

// shave tightens the bounds of what the objective counts, at level 0: where assuming
// that a variable stays on one side of a value contradicts at once, it lies on the
// other. It returns the assumptions tried.
func (e *exact) shave() (tried int64) {
	e.x.back(0)
	for _, v := range e.counted {
		for _, side := range []int32{2*v + 1, 2 * v} {
			tried += e.shaveSide(side)
			if e.dead || e.x.halted {
				return tried
			}
		}
	}
	return tried
}

// shaveSide lowers the bound of a side by halving what lies between it and the other
// bound, as long as that helps.
func (e *exact) shaveSide(side int32) (tried int64) {
	for step := e.x.ub[side] + e.x.ub[side^1]; step > 0 && !e.x.halted; {
		step = (step + 1) / 2
		l := lit{side ^ 1, step - 1 - e.x.ub[side]} // the side is within a step of its bound
		if e.x.isTrue(l) || e.x.isFalse(l) {
			if step == 1 {
				break
			}
			continue
		}
		tried++
		e.x.decide(l)
		impossible := !e.propagate()
		e.x.back(0)
		if impossible {
			if e.dead = !e.x.set(l.not()) || !e.propagate(); e.dead {
				return tried
			}
			step = e.x.ub[side] + e.x.ub[side^1] + 1
			continue
		}
		if step == 1 {
			break
		}
	}
	return tried
}
