package stock

import (
	"cmp"
	"slices"
)

// worth is how good the layout on the bench is, and a figure for the walk, in shares of
// the pieces' area, that also tells layouts apart whose boards are the same.
func (b *bench) worth() (worth, float64) {
	var w worth
	value, area := 0.0, 0.0
	for i := range b.units {
		value += b.units[i].value
		area += b.units[i].area
		if b.placed[i].board < 0 {
			w.missing += b.units[i].value
		}
	}
	full := 0.0
	for i, board := range b.p.Boards {
		if b.open[i] {
			whole := board.rect().Area()
			w.boards += whole
			full += b.used[i] * b.used[i] / whole // one board full and one empty rather than two by halves
		}
	}
	for i := range b.spaces {
		if s := &b.spaces[i]; b.keep(s) {
			w.offcuts -= s.Area() * s.Area() / b.p.Boards[s.board].rect().Area() // one large rather than two small
		}
	}
	return w, 30*w.missing/value + (w.boards-0.2*full+0.1*w.offcuts)/area
}

func (b *bench) keep(s *space) bool {
	return len(s.flaws) == 0 && s.Length >= b.p.Rules.KeepLength && s.Width >= b.p.Rules.KeepWidth
}

// plan lays the genes out once more and writes down what comes of them.
func (b *bench) plan(g *genes) Plan {
	b.record = true
	b.lay(g)
	b.record = false
	at := make([]int, len(b.p.Boards))
	var p Plan
	for i, board := range b.p.Boards {
		at[i] = len(p.Layouts)
		if b.open[i] {
			p.Layouts = append(p.Layouts, Layout{Board: board})
		}
	}
	for _, c := range b.cuts {
		l := &p.Layouts[at[c.board]]
		l.Cuts = append(l.Cuts, c.Cut)
	}
	missing := b.writePlaced(&p, at)
	b.writeOffcuts(&p, at)
	for i := range p.Layouts {
		slices.SortStableFunc(p.Layouts[i].Cuts, func(x, y Cut) int { return cmp.Compare(x.Stage, y.Stage) })
	}
	for i, n := range missing {
		if n > 0 {
			p.Short = append(p.Short, Short{Piece: b.p.Pieces[i].Key, Quantity: n, Why: b.why(i)})
		}
	}
	return p
}

// writePlaced writes down the parts and returns how many of each piece are missing.
func (b *bench) writePlaced(p *Plan, at []int) []int {
	missing, number := make([]int, len(b.p.Pieces)), make([]int, len(b.p.Pieces))
	for i, where := range b.placed {
		piece := b.units[i].piece
		if where.board < 0 {
			missing[piece]++
			continue
		}
		number[piece]++
		l := &p.Layouts[at[where.board]]
		l.Placed = append(l.Placed, Placed{Piece: b.p.Pieces[piece].Key, Number: number[piece], Rect: where.at, Turned: where.turned})
	}
	for i := range p.Layouts {
		slices.SortFunc(p.Layouts[i].Placed, func(x, y Placed) int { return cmp.Or(cmp.Compare(x.X, y.X), cmp.Compare(x.Y, y.Y)) })
	}
	return missing
}

func (b *bench) writeOffcuts(p *Plan, at []int) {
	for i := range b.spaces {
		s := &b.spaces[i]
		l := &p.Layouts[at[s.board]]
		l.Offcuts = append(l.Offcuts, Offcut{Rect: s.Rect, Keep: b.keep(s)})
	}
	for _, end := range b.ends {
		l := &p.Layouts[at[end.board]]
		l.Offcuts = append(l.Offcuts, Offcut{Rect: end.Rect})
	}
	for i := range p.Layouts {
		slices.SortFunc(p.Layouts[i].Offcuts, func(x, y Offcut) int { return cmp.Or(cmp.Compare(x.X, y.X), cmp.Compare(x.Y, y.Y)) })
	}
}

// why is the reason that a piece is short.
func (b *bench) why(piece int) string {
	c := b.p.Pieces[piece]
	fits := b.fitting(c)
	switch {
	case len(b.p.Boards) == 0:
		return "there is no board of " + b.p.Stock.String() + " on hand"
	case !slices.Contains(fits, true):
		return "no board on hand is long, wide and thick enough"
	case c.Match != "":
		return "there is no room left on boards that match"
	}
	return "there is no room left on the boards on hand"
}
