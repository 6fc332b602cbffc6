package sequence

// profile is how much of a resource is used over time, as a step function:
// used[i] from at[i] until at[i+1], the last one for ever. Finding a place is
// O(log steps), adding and removing O(steps) of plain copying.
type profile struct {
	at, used []int32
}

func (p *profile) reset() {
	p.at = append(p.at[:0], 0)
	p.used = append(p.used[:0], 0)
}

// step returns the step in which time t >= 0 lies.
func (p *profile) step(t int) int {
	lo, hi := 0, len(p.at)
	for hi-lo > 1 {
		if mid := int(uint(lo+hi) >> 1); int(p.at[mid]) <= t {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// blocked returns the end of the last step in [from, to) that has more than
// room in use, or -1 if all of it fits. A step that lasts for ever ends never.
func (p *profile) blocked(from, to, room int) int {
	if from >= to {
		return -1
	}
	last := -1
	for i := p.step(from); i < len(p.at) && int(p.at[i]) < to; i++ {
		if int(p.used[i]) > room {
			last = i
		}
	}
	switch {
	case last < 0:
		return -1
	case last+1 == len(p.at):
		return never
	}
	return int(p.at[last+1])
}

// add uses amount (negative: gives back) during [from, to).
func (p *profile) add(from, to, amount int) {
	if from >= to || amount == 0 {
		return
	}
	i := p.cutAt(from)
	j := p.cutAt(to)
	for k := i; k < j; k++ {
		p.used[k] += int32(amount)
	}
	p.join(j)
	p.join(i)
}

// cutAt makes a step begin at t and returns it.
func (p *profile) cutAt(t int) int {
	i := p.step(t)
	if int(p.at[i]) == t {
		return i
	}
	i++
	p.at = append(p.at, 0)
	p.used = append(p.used, 0)
	copy(p.at[i+1:], p.at[i:])
	copy(p.used[i+1:], p.used[i:])
	p.at[i], p.used[i] = int32(t), p.used[i-1]
	return i
}

// join drops step i if it is no different from the one before.
func (p *profile) join(i int) {
	if i > 0 && p.used[i] == p.used[i-1] {
		p.at = append(p.at[:i], p.at[i+1:]...)
		p.used = append(p.used[:i], p.used[i+1:]...)
	}
}
