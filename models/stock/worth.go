package stock

import "math"

// worth says how good a layout is; the less the better.
type worth struct {
	missing float64 // value of the units that are not placed
	boards  float64 // area of the boards begun
	offcuts float64 // worth of the offcuts to keep, negated: one large rather than two small
	full    float64 // how full the boards are: one full and one empty rather than two by halves
}

func (w worth) plus(o worth) worth {
	return worth{w.missing + o.missing, w.boards + o.boards, w.offcuts + o.offcuts, w.full + o.full}
}

// better is what the plan goes by: first the pieces, then the boards, then the offcuts.
func (w worth) better(o worth) bool {
	const little = 1e-9
	switch {
	case math.Abs(w.missing-o.missing) > little*(1+math.Abs(o.missing)):
		return w.missing < o.missing
	case math.Abs(w.boards-o.boards) > little:
		return w.boards < o.boards
	}
	return w.offcuts < o.offcuts-little
}

// guide is what the search goes by, in shares of all units: it also feels which of two
// layouts of the same boards is nearer to one board less.
func (b *bench) guide(w worth) float64 {
	return 5*w.missing/b.value + (w.boards-0.2*w.full+0.1*w.offcuts)/b.area
}

// worth is how good the layout on the bench is, of the genes laid last.
func (b *bench) worth(g *genes) worth {
	var w worth
	for _, i := range g.units {
		if b.placed[i].board < 0 {
			w.missing += b.units[i].value
		}
	}
	for _, i := range g.boards {
		if b.open[i] {
			w = w.plus(b.worthOf(i))
		}
	}
	return w
}

// worthOf is how good the layout of one board on the bench is.
func (b *bench) worthOf(board int) worth {
	whole := b.p.Boards[board].rect().Area()
	w := worth{boards: whole, full: b.used[board] * b.used[board] / whole}
	for i := range b.spaces {
		if s := &b.spaces[i]; s.board == board && b.keep(s) {
			w.offcuts -= s.clear() * s.clear() / whole
		}
	}
	return w
}
