package stock

import (
	"cmp"
	"math"
	"slices"

	"faceside/models/wood"
)

// unit is one rough part to be cut: pieces are laid out one by one.
type unit struct {
	piece         int
	length, width wood.Length
	turn          bool
	value         float64 // of placing it
	area          float64
	match         int // number of its match, -1 for none
	fits          []bool
}

// genes decide how units are laid on boards; the search changes them.
type genes struct {
	units  []int  // the order in which the units are laid
	boards []int  // the order in which boards are begun
	split  []byte // by unit, of all units: what is cut first (see firstKind)
	rule   byte   // what makes a place good (see score)
}

func (g *genes) copyFrom(o *genes) {
	g.units = append(g.units[:0], o.units...)
	g.boards = append(g.boards[:0], o.boards...)
	g.split = append(g.split[:0], o.split...)
	g.rule = o.rule
}

// bench lays units on boards, of those that any board takes: each into the best of the spaces that are left, whose
// rest is split by cuts from edge to edge. It is used again and again.
type bench struct {
	p           *Problem
	units       []unit
	most        int     // stages
	value, area float64 // of all units

	spaces []space
	open   []bool      // boards begun
	used   []float64   // area laid on each board
	near   []Closeness // of each match
	on     [][]int     // boards of each match
	placed []placement // by unit
	left   []float64   // area of each match not laid yet
	cuts   []Cut       // only when recording
	ends   []Rect      // trimmed off; only when recording
	record bool
}

type placement struct {
	board  int // -1 for none
	at     Rect
	turned bool
}

// newBench makes a bench; parts that must match lie on one board where nothing else is said.
func newBench(p *Problem, near near) *bench {
	b := &bench{p: p, most: p.Rules.Stages}
	if b.most == 0 {
		b.most = math.MaxInt
	}
	number := map[string]int{}
	for i, c := range p.Pieces {
		match := -1
		if c.Match != "" && near[c.Match] != Apart {
			if _, known := number[c.Match]; !known {
				number[c.Match] = len(number)
				b.near = append(b.near, near[c.Match])
			}
			match = number[c.Match]
		}
		u := unit{piece: i, length: c.Length, width: c.Width, turn: c.Turn, match: match,
			area: c.Length.Metres() * c.Width.Metres(), value: c.value}
		if u.value == 0 {
			u.value = u.area
		}
		if u.fits = b.fitting(c); !slices.Contains(u.fits, true) {
			continue
		}
		for range c.Quantity {
			b.units = append(b.units, u)
			b.value += u.value
			b.area += u.area
		}
	}
	b.open, b.used = make([]bool, len(p.Boards)), make([]float64, len(p.Boards))
	b.on, b.left = make([][]int, len(number)), make([]float64, len(number))
	b.placed = make([]placement, len(b.units))
	return b
}

// fitting says for each board whether a piece could be cut from it alone.
func (b *bench) fitting(c Piece) []bool {
	out := make([]bool, len(b.p.Boards))
	for i, board := range b.p.Boards {
		thick := board.Thickness == 0 || board.Thickness >= c.Thickness
		usable := b.p.usable(board)
		out[i] = thick && (c.Length <= usable.Length && c.Width <= usable.Width ||
			c.Turn && c.Width <= usable.Length && c.Length <= usable.Width)
	}
	return out
}

// usable is a board without its end trims; its length may be negative.
func (p *Problem) usable(b Board) Rect {
	return Rect{X: p.Rules.EndTrim, Length: b.Length - 2*p.Rules.EndTrim, Width: b.Width}
}

// lay lays out the units of the genes on the boards of the genes; it forgets what it
// laid before.
func (b *bench) lay(g *genes) {
	b.spaces, b.cuts, b.ends = b.spaces[:0], b.cuts[:0], b.ends[:0]
	clear(b.open)
	clear(b.used)
	clear(b.left)
	for i := range b.on {
		b.on[i] = b.on[i][:0]
	}
	for _, i := range g.units {
		if m := b.units[i].match; m >= 0 {
			b.left[m] += b.units[i].area
		}
	}
	for _, i := range g.units {
		u := &b.units[i]
		b.placed[i] = placement{board: -1}
		s, found := b.find(u, g, g.split[i])
		if !found {
			continue
		}
		board := b.spaces[s.space].board
		b.placed[i] = placement{board, s.at, s.turned}
		b.used[board] += u.area
		if u.match >= 0 {
			b.left[u.match] -= u.area
			if !slices.Contains(b.on[u.match], board) {
				b.on[u.match] = append(b.on[u.match], board)
			}
		}
		b.take(s)
	}
}

// find is the best spot for a unit on a board that has been begun, else on the next
// one that takes it.
func (b *bench) find(u *unit, g *genes, split byte) (spot, bool) {
	may := func(board int) bool { return u.fits[board] && b.matching(u, board) }
	if u.match >= 0 && len(b.on[u.match]) == 0 {
		room := func(board int) bool { return may(board) && b.room(board) >= b.left[u.match] }
		if s, found := b.findOn(u, g, split, room); found {
			return s, true
		}
	}
	return b.findOn(u, g, split, may)
}

func (b *bench) findOn(u *unit, g *genes, split byte, may func(int) bool) (spot, bool) {
	best, found := spot{score: math.Inf(1)}, false
	for i := range b.spaces {
		if may(b.spaces[i].board) {
			if s, ok := b.spotIn(i, u, split, g.rule); ok && (!found || b.before(s, best)) {
				best, found = s, true
			}
		}
	}
	if found {
		return best, true
	}
	for _, board := range g.boards {
		if b.open[board] || !may(board) {
			continue
		}
		b.spaces = append(b.spaces, b.whole(board))
		if s, ok := b.spotIn(len(b.spaces)-1, u, split, g.rule); ok {
			b.begin(board)
			return s, true
		}
		b.spaces = b.spaces[:len(b.spaces)-1]
	}
	return spot{}, false
}

// before says whether a spot is the better one; of equals the lower on the left is, so
// that each board comes out the same when it is laid alone.
func (b *bench) before(s, o spot) bool {
	return cmp.Or(cmp.Compare(s.score, o.score), cmp.Compare(b.spaces[s.space].board, b.spaces[o.space].board),
		cmp.Compare(s.at.X, o.at.X), cmp.Compare(s.at.Y, o.at.Y)) < 0
}

// room is the area of a board that nothing has been laid on.
func (b *bench) room(board int) float64 {
	return b.p.usable(b.p.Boards[board]).Area() - b.used[board]
}

// matching says whether a unit of a match may go on a board: on one of those the match
// is on, or as near to them as asked.
func (b *bench) matching(u *unit, board int) bool {
	if u.match < 0 || len(b.on[u.match]) == 0 || slices.Contains(b.on[u.match], board) {
		return true
	}
	candidate, near := b.p.Boards[board], b.near[u.match]
	return near != OneBoard && candidate.Log != "" && slices.ContainsFunc(b.on[u.match], func(o int) bool {
		other := b.p.Boards[o]
		return other.Log == candidate.Log && (near == OneLog || max(other.InLog, candidate.InLog)-min(other.InLog, candidate.InLog) <= 1)
	})
}

// whole is a board not begun yet.
func (b *bench) whole(board int) space {
	s := space{Rect: b.p.usable(b.p.Boards[board]), board: board}
	switch b.p.Rules.First {
	case FirstCrosscut:
		s.stage, s.kind = 1, Crosscut
	case FirstRip:
		s.stage, s.kind = 1, Rip
	}
	for _, d := range b.p.Boards[board].Defects {
		if d.meets(s.Rect) {
			s.flaws = append(s.flaws, d.Rect)
		}
	}
	return s
}

// begin opens a board; when recording, its ends are trimmed.
func (b *bench) begin(board int) {
	b.open[board] = true
	trim := b.p.Rules.EndTrim
	if trim == 0 || !b.record {
		return
	}
	whole, kerf := b.p.Boards[board].rect(), b.p.Rules.Kerf
	rest := b.note(Crosscut, 0, whole, trim-kerf, false)
	b.note(Crosscut, 0, rest, whole.Length-trim, true)
	left, _ := severed(Crosscut, whole, trim-kerf, kerf)
	_, right := severed(Crosscut, rest, whole.Length-trim, kerf)
	for _, end := range []Rect{left, right} {
		if end.Length > 0 {
			b.ends = append(b.ends, end)
		}
	}
}

// note records a cut and returns what lies before it, or after it.
func (b *bench) note(kind CutKind, stage int, from Rect, at wood.Length, before bool) Rect {
	near, far := severed(kind, from, at, b.p.Rules.Kerf)
	if b.record {
		measure := near.Length
		if kind == Rip {
			measure = near.Width
		}
		b.cuts = append(b.cuts, Cut{Kind: kind, Stage: stage, From: from, At: at, Measure: measure})
	}
	if before {
		return near
	}
	return far
}

// spotIn is the best spot for a unit in a space.
func (b *bench) spotIn(i int, u *unit, split, rule byte) (spot, bool) {
	s := &b.spaces[i]
	best, found := spot{score: math.Inf(1)}, false
	for _, turned := range []bool{false, true} {
		l, w := u.length, u.width
		if turned {
			if !u.turn || l == w {
				break
			}
			l, w = w, l
		}
		at, ok := s.place(l, w)
		if !ok {
			continue
		}
		first, ok := b.firstKind(s, at, split)
		if !ok {
			continue
		}
		if v := score(s.Rect, at, rule); v < best.score {
			best, found = spot{i, at, turned, first, v}, true
		}
	}
	return best, found
}
