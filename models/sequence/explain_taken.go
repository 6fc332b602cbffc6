package sequence

// lastTaken is the last minute at which something bars the only use, or else the
// zone, of a task that starts at a time; -1 if nothing does.
func (x *explainer) lastTaken(w *work, at int) int {
	a := w.attEnd(at)
	e := a + w.unatt
	if len(w.uses) == 0 {
		if w.wet {
			return minuteBefore(x.dusty[w.zone].blocked(at, e, 0))
		}
		return minuteBefore(x.wet[w.zone].blocked(at, a, 0))
	}
	u := &w.uses[0]
	room := x.m.resources[u.res].capacity - u.amount
	p := &x.use[u.res]
	switch u.span {
	case openSpan:
		return minuteBefore(blockedOpen(p, w.clock, at, a, room))
	case unattendedSpan:
		return minuteBefore(p.blocked(a, e, room))
	case wholeSpan:
		return minuteBefore(p.blocked(at, e, room))
	}
	return minuteBefore(p.blocked(at, a, room))
}

// minuteBefore is the last minute before a time that may be none.
func minuteBefore(t int) int { return max(-1, t-1) }

// stationAgainst looks at the station of the task's setup, and where that is free at
// the setup.
func (x *explainer) stationAgainst(tr *trial, at int) []Reason {
	if tr.station < 0 {
		return nil
	}
	if r := x.stationTaken(tr, at); r != nil {
		return []Reason{*r}
	}
	return x.setupAgainst(tr, at)
}

// stationTaken tells whether the station is not free from a start on.
func (x *explainer) stationTaken(tr *trial, at int) *Reason {
	if tr.own {
		return nil
	}
	one := tr.work
	one.uses, one.zone = x.stationUses(tr), -1
	last, earliest := -1, at
	if len(one.uses) > 0 {
		last, earliest = x.clear(tr, &one, at)
	}
	if tr.previous >= 0 && x.leaves(tr.previous) > max(at, last) {
		last, earliest = at, max(earliest, min(tr.was, tr.nextStart(x.leaves(tr.previous))))
	}
	if last < 0 {
		return nil
	}
	return &Reason{Kind: ByStation, Tasks: x.onStation(tr, last), Resource: x.m.resources[tr.station].id, Link: -1, Earliest: earliest}
}

// stationUses is what the task holds of its setup's station, none where it stays no time.
func (x *explainer) stationUses(tr *trial) []hold {
	var hs []hold
	for _, u := range tr.uses {
		if u.res == tr.station {
			hs = append(hs, u)
		}
	}
	if len(hs) > 1 { // from S to E, with one amount: a station is one
		hs = []hold{{tr.station, hs[0].amount, wholeSpan}}
	}
	return hs
}

// onStation names those that hold the station at a minute, else the task before.
func (x *explainer) onStation(tr *trial, at int) []string {
	tasks := x.holders(tr, tr.station, at)
	if len(tasks) == 0 && tr.previous >= 0 {
		tasks = []string{x.m.tasks[tr.previous].id}
	}
	return tasks
}

// setupAgainst looks for a place for the setup before a start.
func (x *explainer) setupAgainst(tr *trial, at int) []Reason {
	if tr.minutes == 0 {
		return nil
	}
	free, last := 0, -1
	from, ok := tr.setupStart(tr.hours, at, tr.minutes)
	if ok && !tr.own {
		last = minuteBefore(x.use[tr.station].blocked(from, at, 0))
	}
	if tr.previous >= 0 && !tr.own {
		free = x.leaves(tr.previous)
	}
	if !ok || last >= 0 || from < free {
		earliest := min(tr.was, tr.nextStart(tr.afterSetup(tr.hours, max(free, last+1), tr.minutes, at)))
		return []Reason{{Kind: BySetup, Tasks: x.onStation(tr, last), Resource: x.m.resources[tr.station].id, Link: -1, Earliest: earliest}}
	}
	return x.setupHandsAgainst(tr, from, at)
}

// setupHandsAgainst looks for the hands of a setup that runs from a time to a start.
func (x *explainer) setupHandsAgainst(tr *trial, from, at int) []Reason {
	c := x.m.resources[tr.station].setups
	if c.hands < 0 || tr.plenty[c.hands] {
		return nil
	}
	last := minuteBefore(blockedOpen(&x.use[c.hands], tr.hours, from, at, x.m.resources[c.hands].capacity-c.amount))
	if last < 0 {
		return nil
	}
	earliest := min(tr.was, tr.nextStart(tr.afterSetup(tr.hours, last+1, tr.minutes, at)))
	return []Reason{{Kind: ByResource, Tasks: x.holders(tr, c.hands, last), Resource: x.m.resources[c.hands].id, ForSetup: true, Link: -1, Earliest: earliest}}
}

// holders names the tasks that hold a resource at a minute, their setups included.
func (x *explainer) holders(tr *trial, res, at int) []string {
	if tr.unnamed {
		return nil
	}
	var tasks []string
	for t := range x.m.tasks {
		if t != tr.t && x.holdsAt(t, res, at) {
			tasks = append(tasks, x.m.tasks[t].id)
		}
	}
	return tasks
}

func (x *explainer) holdsAt(t, res, at int) bool {
	w := &x.m.tasks[t]
	for _, u := range w.uses {
		from, to := x.start[t], x.end[t]
		switch u.span {
		case attendedSpan, openSpan:
			to = x.att[t]
		case unattendedSpan:
			from = x.att[t]
		}
		if u.res == res && from <= at && at < to && (u.span != openSpan || w.clock.open(at)) {
			return true
		}
	}
	if w.station < 0 || x.setup[t] == 0 {
		return false
	}
	c := x.m.resources[w.station].setups
	from, _ := w.setupStart(c.clock, x.start[t], x.setup[t])
	return from <= at && at < x.start[t] && (res == w.station || res == c.hands && c.clock.open(at))
}
