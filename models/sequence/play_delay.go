package sequence

import "slices"

// delays finds out what a task of a play would have moved had it been over later. It
// goes over the play twice: forward it sees who left to whom what each task wanted,
// each pair of hands, clamp and place by itself; back it works out from the ends of
// the jobs how late each task could have been over.
type delays struct {
	scarce  []bool // by resource: all tasks together want more of it than there is
	units   [][]unit
	takings []taking
	ties    []tie // by taking, each those of its task
	latest  []latest
	due     []int         // by job: the end up to which nothing moves
	air     [][2]deadline // by zone: of the first dusty and the first wet task behind, when they begin
}

// unit is one of a resource: who had it last, and from when on it is free.
type unit struct {
	last, free int
	from       moment
}

// taking is when a task took what it needs for its setup, or for itself.
type taking struct {
	task, at int
	setup    bool
	ties     int // how many ties there were when it was over
}

// deadline is how late something may be, never where nothing says so, and the job which
// does, -1 for none.
type deadline struct{ by, job int }

// lower has it be no later than another.
func (l *deadline) lower(to deadline) {
	if to.by < l.by {
		*l = to
	}
}

var noDeadline = deadline{never, -1}

// latest is how late a task may be: its start by what hangs on that, the end of its
// attended part by all else.
type latest struct{ start, attended deadline }

// dusty and wet are places in delays.air.
const dustyAir, wetAir = 0, 1

// Delayed tells of each task of the last play which job it would have delayed, by their
// places in the problem, -1 for none. That is a job with a due time that would have
// ended after it, and later than in the play, had the attended part of the task been
// over so many minutes of the common resource's hours later, while everything else was
// done in the order of that play and by the same hands, in its turn. Given starts are
// kept: what would run into one is taken to find a place beside it. Another order might
// have saved some of it. It takes a third of what a play takes, and allocates nothing but,
// the first time, a little for each unit of what is scarce.
func (pl *Player) Delayed(minutes int, jobs []int) {
	if pl.delays == nil {
		pl.delays = pl.newDelays()
	}
	d := pl.delays
	d.take(pl, true)
	d.workBack(pl)
	clock := pl.clock()
	for t := range jobs {
		jobs[t] = -1
		if l := &d.latest[t]; pl.m.tasks[t].att > 0 && l.attended.by < never && clock.worked(l.attended.by)-clock.worked(pl.s.att[t]) < minutes {
			jobs[t] = l.attended.job
		}
	}
}

func (pl *Player) newDelays() *delays {
	m := pl.m
	d := &delays{scarce: make([]bool, len(m.resources)), units: make([][]unit, len(m.resources)), latest: make([]latest, len(m.tasks)),
		due: make([]int, len(m.jobs)), air: make([][2]deadline, m.zones)}
	wanted := make([]int, len(m.resources))
	for t := range m.tasks {
		w := &m.tasks[t]
		for _, u := range w.uses {
			wanted[u.res] += u.amount
		}
		if w.station >= 0 {
			wanted[w.station]++
			if c := m.resources[w.station].setups; c.hands >= 0 {
				wanted[c.hands] += c.amount
			}
		}
	}
	for r := range m.resources {
		if d.scarce[r] = wanted[r] > m.resources[r].capacity; d.scarce[r] {
			d.units[r] = make([]unit, m.resources[r].capacity)
		}
	}
	return d
}

// take goes over what was taken, in the order of time, and where it is to be told from
// whom.
func (d *delays) take(pl *Player, from bool) {
	d.takings, d.ties = d.takings[:0], d.ties[:0]
	for i := range pl.s.stack {
		t := pl.s.stack[i].task
		setup, start := pl.started(t)
		if setup < start {
			d.takings = append(d.takings, taking{task: t, at: setup, setup: true})
		}
		d.takings = append(d.takings, taking{task: t, at: start})
	}
	insertionSort(d.takings, func(k taking) int { return k.at })
	for r := range d.units {
		for i := range d.units[r] {
			d.units[r][i] = unit{last: -1}
		}
	}
	for i := range d.takings {
		if from {
			d.hand(pl, &d.takings[i])
		}
		d.takings[i].ties = len(d.ties)
	}
}

// hand gives a taking what it needs, and notes from whom that comes.
func (d *delays) hand(pl *Player, k *taking) {
	w := &pl.m.tasks[k.task]
	if k.setup {
		c := pl.m.resources[w.station].setups
		d.give(pl, k, w.station, 1, atStart)
		if c.hands >= 0 {
			d.give(pl, k, c.hands, c.amount, atStart)
		}
		return
	}
	for _, u := range w.uses {
		switch {
		case u.span == wholeSpan || u.span == unattendedSpan && w.att == 0:
			d.give(pl, k, u.res, u.amount, atEnd)
		case u.span != unattendedSpan: // what is wanted for a rest alone has no shop
			d.give(pl, k, u.res, u.amount, atAttended)
		}
	}
}

// give takes units of a resource until a moment of the task: those that it has, then
// those of a task that it follows anyway, then those that are free longest, so that
// what comes before has most room.
func (d *delays) give(pl *Player, k *taking, r, amount int, until moment) {
	if !d.scarce[r] {
		return
	}
	units := d.units[r]
	for range amount {
		best, rank := -1, 3
		for i := range units {
			u := &units[i]
			if u.free > k.at {
				continue
			}
			is := 2
			switch {
			case u.last == k.task:
				is = 0
			case u.last >= 0 && slices.Contains(pl.after[u.last], int32(k.task)):
				is = 1
			}
			if is < rank || is == rank && u.free < units[best].free {
				best, rank = i, is
			}
		}
		if best < 0 {
			return // a given start ran into something
		}
		u := &units[best]
		if u.last >= 0 && u.last != k.task {
			to := atStart
			if k.setup {
				to = atSetup
			}
			d.ties = append(d.ties, tie{before: u.last, after: k.task, from: u.from, to: to})
		}
		*u = unit{last: k.task, free: pl.s.at(k.task, until), from: until}
	}
}

// workBack works out how late each task could have been over, the last taking first.
func (d *delays) workBack(pl *Player) {
	m, s := pl.m, pl.s
	for t := range d.latest {
		d.latest[t] = latest{noDeadline, noDeadline}
	}
	for z := range d.air {
		d.air[z] = [2]deadline{noDeadline, noDeadline}
	}
	for j := range m.jobs {
		d.due[j] = never
		if end, ok := pl.JobEnd(j); ok && m.jobs[j].due < never {
			d.due[j] = max(end, m.jobs[j].due)
		}
	}
	ties := len(d.ties)
	for i := len(d.takings) - 1; i >= 0; i-- {
		k := &d.takings[i]
		w := &m.tasks[k.task]
		if !k.setup {
			d.settle(m, k.task)
		}
		begin, start, job := d.begins(pl, k.task)
		if !k.setup && start < never {
			d.holdLinks(pl, k.task, start, job)
		}
		first := 0
		if i > 0 {
			first = d.takings[i-1].ties
		}
		for ; ties > first; ties-- {
			x := &d.ties[ties-1]
			by := start
			if x.to == atSetup {
				by = begin
			}
			if by < never {
				d.hold(m, x.before, x.from, deadline{by - pl.stoodSince(k.task, s.at(x.before, x.from)), job})
			}
		}
		if w.zone >= 0 && !k.setup && start < never {
			d.airBefore(w, start, job)
		}
	}
}

// airBefore notes how late a task in a zone may begin.
func (d *delays) airBefore(w *work, start, job int) {
	kind := dustyAir
	if w.wet {
		kind = wetAir
	}
	d.air[w.zone][kind].lower(deadline{start, job})
}

// settle brings a task's own job and its air to what is known of how late it may be.
func (d *delays) settle(m *model, t int) {
	w := &m.tasks[t]
	if w.job >= 0 && d.due[w.job] < never {
		d.hold(m, t, atEnd, deadline{d.due[w.job], w.job})
	}
	switch {
	case w.zone < 0:
	case w.wet:
		d.hold(m, t, atEnd, d.air[w.zone][dustyAir])
	default:
		d.hold(m, t, atAttended, d.air[w.zone][wetAir])
	}
}

// begins is how late a task, and its setup before it, may begin; never where nothing
// says so, or where its start is given and nothing moves it.
func (d *delays) begins(pl *Player, t int) (begin, start, job int) {
	w, l := &pl.m.tasks[t], &d.latest[t]
	if pl.starts[t] >= 0 || l.start.by >= never && l.attended.by >= never {
		return never, never, -1
	}
	start, job = never, l.attended.job
	if l.attended.by < never {
		start = w.lastStartBy(l.attended.by)
	}
	if l.start.by < start {
		if by := w.prevStart(l.start.by); by < start {
			start, job = by, l.start.job
		}
	}
	start = max(start, pl.s.start[t])
	if w.station < 0 || pl.s.setup[t] == 0 {
		return start, start, job
	}
	clock := pl.m.resources[w.station].setups.clock
	start = w.lastWithSetup(clock, start, pl.s.start[t], pl.s.setup[t])
	begin, _ = w.setupStart(clock, start, pl.s.setup[t])
	return begin, start, job
}

// holdLinks has those that come before a task by links be in time for its latest start.
func (d *delays) holdLinks(pl *Player, t, start, job int) {
	for _, k := range pl.m.tasks[t].in {
		l := &pl.m.links[k]
		if l.before == t || pl.s.start[l.before] < 0 || !slices.Contains(pl.after[l.before], int32(t)) {
			continue
		}
		by := start - l.min - pl.stoodSince(t, pl.s.pointOf(l)+l.min)
		d.hold(pl.m, l.before, l.from, deadline{by, job})
	}
}

// hold keeps a moment of a task from being later than a deadline.
func (d *delays) hold(m *model, t int, k moment, to deadline) {
	l := &d.latest[t]
	switch k {
	case atStart:
		l.start.lower(to)
	case atAttended:
		l.attended.lower(to)
	case atEnd:
		l.attended.lower(deadline{to.by - m.tasks[t].unatt, to.job})
	}
}

// stoodSince is for how long a task stood still after something let it begin.
func (pl *Player) stoodSince(t, let int) int {
	if pl.stood[t] >= 0 && let <= pl.stood[t] {
		return pl.stoodFor[t]
	}
	return 0
}
