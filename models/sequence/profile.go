package sequence

import "slices"

// profile is how much of a resource is used over time, as a step function: each step is
// used so much from its beginning until that of the next one, the last one for ever. Finding
// a place is O(log steps), and O(1) near the one found last; adding and removing
// O(steps) of plain copying.
type profile struct {
	steps []useStep
	near  int // the step found last, or what came in its place
}

type useStep struct{ at, used int32 }

func (p *profile) reset() { p.steps = append(p.steps[:0], useStep{}) }

// set makes the profile one as another one is.
func (p *profile) set(to *profile) { p.steps = append(p.steps[:0], to.steps...) }

// closeBy is how many steps beside the one found last are tried before all of them are
// searched.
const closeBy = 4

// step returns the step in which time t >= 0 lies.
func (p *profile) step(t int) int {
	steps := p.steps
	lo, hi := 0, len(steps)
	if i := min(p.near, hi-1); int(steps[i].at) > t {
		hi = i
	} else {
		lo = i
		for most := min(i+closeBy, hi-1); lo < most; lo++ {
			if int(steps[lo+1].at) > t {
				p.near = lo
				return lo
			}
		}
	}
	for hi-lo > 1 {
		if mid := int(uint(lo+hi) >> 1); int(steps[mid].at) <= t {
			lo = mid
		} else {
			hi = mid
		}
	}
	p.near = lo
	return lo
}

// blocked returns the end of the last step in [from, to) that has more than
// room in use, or -1 if all of it fits. A step that lasts for ever ends never.
func (p *profile) blocked(from, to, room int) int {
	if from >= to {
		return -1
	}
	last, i := -1, p.step(from)
	for k := range p.steps[i:] {
		s := &p.steps[i+k]
		if int(s.at) >= to {
			break
		}
		if int(s.used) > room {
			last = i + k
		}
	}
	switch {
	case last < 0:
		return -1
	case last+1 == len(p.steps):
		return never
	}
	return int(p.steps[last+1].at)
}

// add uses amount (negative: gives back) during [from, to).
func (p *profile) add(from, to, amount int) {
	if from >= to || amount == 0 {
		return
	}
	i := p.step(from)
	if int(p.steps[i].at) < from {
		i++
		p.steps = slices.Insert(p.steps, i, useStep{int32(from), p.steps[i-1].used})
	}
	j := i
	for ; j < len(p.steps) && int(p.steps[j].at) < to; j++ {
		p.steps[j].used += int32(amount)
	}
	if j == len(p.steps) || int(p.steps[j].at) > to {
		p.steps = slices.Insert(p.steps, j, useStep{int32(to), p.steps[j-1].used - int32(amount)})
	}
	p.join(j)
	p.join(i)
	p.near = i
}

// join drops step i if it is no different from the one before.
func (p *profile) join(i int) {
	if i > 0 && p.steps[i].used == p.steps[i-1].used {
		p.steps = slices.Delete(p.steps, i, i+1)
	}
}
