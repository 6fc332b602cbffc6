package planner

import (
	"sort"

	"faceside/models"
	"faceside/models/sequence"
)

// shift is a stretch of attended time, or of a setup, inside one opening: it
// is given to the same people from beginning to end.
type shift struct {
	from, to int
	it       *item
	setup    bool
	people   int
}

// crewing gives people to shifts in order of time.
type crewing struct {
	q      *posed
	busy   map[models.ID]int         // minute until which a person is taken
	load   map[models.ID]int         // minutes given so far
	on     map[models.ID][]models.ID // people of a step's shifts so far, its setup's too
	piece  map[models.ID]models.ID   // who worked on a piece last
	worked map[models.ID][]models.ID // people of a step, in order
	given  map[models.ID][]shift     // to a person
}

// assign says whose hands do each step. The engine counts hands without names;
// here, opening by opening, whoever is there and free gets the next shift,
// those first who have begun it, made its setup or worked on its piece last. In
// one opening the number of people is the same throughout, so that there is
// always somebody free where the engine found hands free. A step cut by a break
// may be handed over; then it lists both, in order. O(shifts × people).
func (q *posed) assign(answer *sequence.Plan) map[models.ID][]models.ID {
	c := &crewing{q: q, busy: map[models.ID]int{}, load: map[models.ID]int{}, on: map[models.ID][]models.ID{},
		piece: q.lastOnPieces(), worked: map[models.ID][]models.ID{}, given: map[models.ID][]shift{}}
	shifts := q.shifts(answer)
	for _, s := range shifts {
		if g := s.it.given; g != nil && !s.setup {
			c.given[g.ID] = append(c.given[g.ID], s)
		}
	}
	for len(shifts) > 0 {
		n := 1
		for n < len(shifts) && shifts[n].from == shifts[0].from {
			n++
		}
		c.together(shifts[:n])
		shifts = shifts[n:]
	}
	return c.worked
}

// crewed cuts an opening where some people go on alone, or come before the others.
func (q *posed) crewed(w sequence.Window) []sequence.Window {
	var all []sequence.Window
	from := w[0]
	for _, o := range q.cal.Own(q.line.time(w[0]), 0) {
		for _, edge := range []int{q.line.minute(o.From), q.line.minute(o.To)} {
			if from < edge && edge < w[1] {
				all = append(all, sequence.Window{from, edge})
				from = edge
			}
		}
	}
	return append(all, sequence.Window{from, w[1]})
}

// shifts lists all attended time, by beginning.
func (q *posed) shifts(answer *sequence.Plan) []shift {
	var all []shift
	cut := func(it *item, from, to int, setup bool, people int) {
		for i := q.line.window(from); from < to && i < len(q.line.windows) && q.line.windows[i][0] < to; i++ {
			for _, w := range q.crewed(q.line.windows[i]) {
				if w[0] < to && from < w[1] {
					all = append(all, shift{from: max(from, w[0]), to: min(to, w[1]), it: it, setup: setup, people: people})
				}
			}
		}
	}
	for _, t := range answer.Tasks {
		id, ok := stepOf(t.ID)
		if !ok {
			continue
		}
		it := q.byStep[id]
		cut(it, t.SetupStart, t.Start, true, 1)
		cut(it, t.Start, t.AttendedEnd, false, it.hands)
	}
	sort.SliceStable(all, func(a, b int) bool { return all[a].from < all[b].from })
	return all
}

// lastOnPieces says who worked last on each piece, by the journal.
func (q *posed) lastOnPieces() map[models.ID]models.ID {
	last := map[models.ID]*models.Step{}
	for i := range q.snap.Steps {
		st := &q.snap.Steps[i]
		if st.PersonID == nil || st.StartedAt == nil {
			continue
		}
		if l := last[st.PieceID]; l == nil || l.StartedAt.Before(*st.StartedAt) {
			last[st.PieceID] = st
		}
	}
	who := map[models.ID]models.ID{}
	for piece, st := range last {
		who[piece] = *st.PersonID
	}
	return who
}

// together gives people to the shifts that begin in the same minute: first to
// those in hand, then to those that somebody has begun or set up for.
func (c *crewing) together(shifts []shift) {
	rank := func(s *shift) int {
		switch {
		case s.it.stand == held:
			return 0
		case len(c.on[s.it.ID]) > 0:
			return 1
		}
		return 2
	}
	sort.SliceStable(shifts, func(a, b int) bool { return rank(&shifts[a]) < rank(&shifts[b]) })
	for i := range shifts {
		c.give(&shifts[i])
	}
}

// give gives one shift to as many people as it takes, or as there are. Whoever
// has a step in hand keeps it, and whoever was given one gets it.
func (c *crewing) give(s *shift) {
	people := s.people
	if s.it.stand == held && s.it.PersonID != nil {
		c.take(s, *s.it.PersonID)
		people--
		for _, h := range s.it.Helpers {
			c.take(s, h.PersonID)
			people--
		}
	}
	if g := s.it.given; g != nil && !s.setup && c.busy[g.ID] <= s.from {
		c.take(s, g.ID)
		people--
	}
	free := c.free(s)
	for _, p := range free[:max(0, min(len(free), people))] {
		c.take(s, p)
	}
}

// free lists who is there and not taken, those first whose own the shift is
// most, and of several those who have been given least.
func (c *crewing) free(s *shift) []models.ID {
	var free []models.ID
	at := c.q.line.time(s.from)
	for _, p := range c.q.crew {
		if c.busy[p.ID] <= s.from && c.q.cal.There(p.ID, at) {
			free = append(free, p.ID)
		}
	}
	sort.SliceStable(free, func(a, b int) bool {
		x, y := c.fit(s, free[a]), c.fit(s, free[b])
		return x > y || x == y && c.load[free[a]] < c.load[free[b]]
	})
	return free
}

// take notes that a person does a shift.
func (c *crewing) take(s *shift, p models.ID) {
	c.busy[p] = s.to
	c.load[p] += s.to - s.from
	c.on[s.it.ID] = with(c.on[s.it.ID], p)
	c.piece[s.it.PieceID] = p
	if !s.setup {
		c.worked[s.it.ID] = with(c.worked[s.it.ID], p)
	}
}

// fit says how much a shift is a person's own; below 0 where something else was given
// to that person for the time.
func (c *crewing) fit(s *shift, p models.ID) int {
	switch {
	case c.spokenFor(s, p):
		return -1
	case s.it.given != nil && s.it.given.ID == p:
		return 4
	case has(c.on[s.it.ID], p):
		return 3
	case s.it.PersonID != nil && *s.it.PersonID == p:
		return 2 // laid it aside
	case c.piece[s.it.PieceID] == p:
		return 1
	}
	return 0
}

// spokenFor tells whether a person is given something else that runs beside a shift.
func (c *crewing) spokenFor(s *shift, p models.ID) bool {
	for _, g := range c.given[p] {
		if g.it != s.it && g.from < s.to && s.from < g.to {
			return true
		}
	}
	return false
}

func has(people []models.ID, p models.ID) bool {
	for _, x := range people {
		if x == p {
			return true
		}
	}
	return false
}

func with(people []models.ID, p models.ID) []models.ID {
	if has(people, p) {
		return people
	}
	return append(people, p)
}
