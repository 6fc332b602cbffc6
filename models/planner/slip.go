package planner

import "faceside/models/sequence"

// slipped is a course with one leg put off, and all that is tied to it put off no
// more than it must be.
type slipped struct {
	*course
	moved []bool              // by the number of a leg
	at    []sequence.PlanTask // where those are that have moved
	waits []bool              // those that have moved and have not yet pushed what is tied to them
}

// slip puts a leg off by so many working minutes. It goes over the legs by their
// starts, and back where a negative lag leads from a leg to one that starts before it.
// free hands it back when it is not needed any more.
func (c *course) slip(l *leg, minutes int) *slipped {
	s, ok := c.spare.Get().(*slipped)
	if !ok {
		s = &slipped{c, make([]bool, len(c.legs)), make([]sequence.PlanTask, len(c.legs)), make([]bool, len(c.legs))}
	}
	s.put(l, 0, c.line.forward(l.PlanTask.Start, minutes))
	for i, back := l.number, 0; i < len(c.legs) && back <= len(c.legs); i++ {
		if s.waits[i] {
			if first := s.push(c.legs[i]); first <= i {
				i, back = first-1, back+1
			}
		}
	}
	return s
}

func (s *slipped) free() {
	clear(s.moved)
	clear(s.waits)
	s.spare.Put(s)
}

// push puts off what is tied to a leg, where it must be; it returns the lowest number
// of what it put off.
func (s *slipped) push(before *leg) int {
	s.waits[before.number] = false
	first := len(s.legs)
	for i := range before.out {
		t := &before.out[i]
		from, now := s.point(before, t.from)+t.lag, s.task(t.after)
		switch {
		case t.setup && now.SetupStart < from:
			s.put(t.after, from, now.Start)
		case !t.setup && now.Start < from:
			s.put(t.after, now.SetupStart, from)
		default:
			continue
		}
		first = min(first, t.after.number)
	}
	return first
}

// of is where a leg is now.
func (s *slipped) of(l *leg) sequence.PlanTask { return *s.task(l) }

func (s *slipped) task(l *leg) *sequence.PlanTask {
	if s.moved[l.number] {
		return &s.at[l.number]
	}
	return &l.PlanTask
}

func (s *slipped) point(l *leg, from sequence.LinkFrom) int { return pointAt(s.task(l), from) }

// put places a leg at the first minutes from which its setup and its start can be.
func (s *slipped) put(l *leg, setupFrom, from int) {
	s.moved[l.number], s.waits[l.number], s.at[l.number] = true, true, s.line.placed(l, setupFrom, from)
}

// placed is a leg at those minutes.
func (t *timeline) placed(l *leg, setupFrom, from int) sequence.PlanTask {
	setup, start := t.place(l, setupFrom, from)
	done := t.forward(start, l.Attended)
	return sequence.PlanTask{ID: l.Task.ID, SetupStart: setup, Start: start, AttendedEnd: done, End: done + l.Unattended}
}

// place returns the first minutes at which the setup and the start of a leg can be.
func (t *timeline) place(l *leg, setupFrom, from int) (setup, start int) {
	switch {
	case l.Attended == 0:
		start = max(from, setupFrom)
		return start, start
	case l.Interruptible:
		start = t.opens(max(from, t.forward(setupFrom, l.setup)))
		return t.back(start, l.setup), start
	}
	for start = max(from, setupFrom); ; {
		start = t.whole(start, l.Attended)
		i := t.window(start)
		if i == len(t.windows) {
			return start - l.setup, start // past the last window time runs on as if it were open
		}
		if setup, ok := t.setupBefore(start, l.setup); ok && setup >= setupFrom {
			return setup, start
		}
		start = max(start+1, min(t.windows[i][0]+l.setup, setupFrom+l.setup))
	}
}

// keepsSlots is how far a leg may slip, up to a number of working minutes, with no
// greatest lag between two legs overrun on the way. Putting a leg off more puts
// nothing off less: so where the later leg is in time at the end of a stretch, counted
// from where the earlier is at its beginning, it is in time all along.
func (c *course) keepsSlots(l *leg, minutes int) int {
	if len(c.slots) == 0 {
		return minutes
	}
	kept, from := 0, c.slip(l, 1)
	defer func() { from.free() }()
	for stretch := minutes; kept < minutes; {
		stretch = min(stretch, minutes-kept)
		to := c.slip(l, kept+stretch)
		inTime := c.inTime(from, to)
		to.free()
		switch {
		case inTime:
			kept += stretch
			if stretch *= 2; kept < minutes {
				from.free()
				from = c.slip(l, kept+1)
			}
		case stretch == 1:
			return kept
		default:
			stretch /= 2
		}
	}
	return kept
}

// inTime tells whether no greatest lag is overrun between two slips of a leg.
func (c *course) inTime(from, to *slipped) bool {
	for _, s := range c.slots {
		if to.of(s.after).Start > from.point(s.before, s.from)+s.most {
			return false
		}
	}
	return true
}
