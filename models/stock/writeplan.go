package stock

import (
	"cmp"
	"slices"

	"faceside/models/phrase"
)

// keep says whether the least size worth keeping can be had from a space without a
// defect; the whole of it is kept then, with the defects on it.
func (b *bench) keep(s *space) bool {
	_, found := s.place(b.p.Rules.KeepLength, b.p.Rules.KeepWidth)
	return found
}

// plan lays each board once more and writes down what comes of it.
func (b *bench) plan(a *arrangement) Plan {
	b.record = true
	defer func() { b.record = false }()
	number := make([]int, len(b.p.Pieces))
	var p Plan
	for i, seq := range a.laid {
		if len(seq) > 0 {
			b.lay(a.genes(i))
			p.Layouts = append(p.Layouts, b.layout(b.p.Boards[i], seq, number))
		}
	}
	p.Short, p.Matched = b.shortage(number), b.p.matched(p.Layouts)
	return p
}

// possible is how many of each piece could be cut if there were room for all.
func (b *bench) possible() []int {
	out := make([]int, len(b.p.Pieces))
	for _, u := range b.units {
		out[u.piece]++
	}
	return out
}

// shortage is what is missing where so many of each piece are cut; nil for none.
func (b *bench) shortage(cut []int) []Short {
	var out []Short
	for i, c := range b.p.Pieces {
		n := c.Quantity
		if cut != nil {
			n -= cut[i]
		}
		if n > 0 {
			out = append(out, Short{Piece: c.Key, Quantity: n, Why: b.why(i)})
		}
	}
	return out
}

// layout writes down the one board that has just been laid; number counts the pieces.
func (b *bench) layout(board Board, seq, number []int) Layout {
	l := Layout{Board: board, Cuts: slices.Clone(b.cuts)}
	slices.SortStableFunc(l.Cuts, func(x, y Cut) int { return cmp.Compare(x.Stage, y.Stage) })
	for _, i := range seq {
		l.Placed = append(l.Placed, Placed{Piece: b.p.Pieces[b.units[i].piece].Key, Rect: b.placed[i].at, Turned: b.placed[i].turned})
	}
	slices.SortFunc(l.Placed, func(x, y Placed) int { return cmp.Or(cmp.Compare(x.X, y.X), cmp.Compare(x.Y, y.Y)) })
	for i := range l.Placed {
		piece := slices.IndexFunc(b.p.Pieces, func(c Piece) bool { return c.Key == l.Placed[i].Piece })
		number[piece]++
		l.Placed[i].Number = number[piece]
	}
	for i := range b.spaces {
		l.Offcuts = append(l.Offcuts, Offcut{Rect: b.spaces[i].Rect, Keep: b.keep(&b.spaces[i])})
	}
	for _, end := range b.ends {
		l.Offcuts = append(l.Offcuts, Offcut{Rect: end})
	}
	slices.SortFunc(l.Offcuts, func(x, y Offcut) int { return cmp.Or(cmp.Compare(x.X, y.X), cmp.Compare(x.Y, y.Y)) })
	return l
}

// why is the reason that a piece is short.
func (b *bench) why(piece int) phrase.Phrase {
	c := b.p.Pieces[piece]
	fits := b.fitting(c)
	switch {
	case len(b.p.Boards) == 0:
		return phrase.Of("there is no board of %s on hand", b.p.Stock)
	case !slices.Contains(fits, true):
		return phrase.Of("no board on hand is long, wide and thick enough")
	}
	return phrase.Of("there is no room left on the boards on hand")
}
