package stock

import (
	"errors"
	"fmt"
	"maps"
	"slices"

	"faceside/models/wood"
)

// Check says whether a plan can be sawn and gives what its problem asks; it knows
// nothing of how the plan was found. It makes every cut in the order given, from the
// whole boards on, and holds what lies on the bench afterwards against the parts and
// offcuts of the plan. So it finds a cut that does not go from edge to edge, a part that
// overlaps another or the kerf, lies across the grain, covers a defect or leaves the
// board, a cut of more stages than allowed, parts missing, or matched parts that lie
// further apart than the plan says.
func Check(p Problem, plan Plan) error {
	if err := p.Check(); err != nil {
		return err
	}
	c := checker{p: p, pieces: map[string]Piece{}, got: map[string]map[int]bool{}, on: map[string][]Board{}}
	for _, piece := range p.Pieces {
		c.pieces[piece.Key] = piece
		c.got[piece.Key] = map[int]bool{}
	}
	seen := map[string]bool{}
	for _, l := range plan.Layouts {
		if seen[l.Board.ID] {
			c.fault("board %q is cut into twice", l.Board.ID)
		}
		seen[l.Board.ID] = true
		c.layout(l)
	}
	c.quantities(plan)
	c.matches(plan)
	return errors.Join(c.faults...)
}

type checker struct {
	p      Problem
	pieces map[string]Piece
	got    map[string]map[int]bool // numbers of each piece
	on     map[string][]Board      // of each match
	faults []error
}

func (c *checker) fault(format string, args ...any) {
	c.faults = append(c.faults, fmt.Errorf(format, args...))
}

// bit is a rectangle on the bench and the cut that made it.
type bit struct {
	Rect
	stage int
	kind  CutKind
}

func (c *checker) layout(l Layout) {
	i := slices.IndexFunc(c.p.Boards, func(b Board) bool { return b.ID == l.Board.ID })
	if i < 0 {
		c.fault("board %q is not on hand", l.Board.ID)
		return
	}
	board := c.p.Boards[i]
	bits := []bit{{Rect: Rect{Length: board.Length, Width: board.Width}}}
	for n, cut := range l.Cuts {
		bits = c.cut(fmt.Sprintf("board %q, cut %d", board.ID, n+1), board, bits, cut)
	}
	for _, part := range l.Placed {
		bits = c.claim(fmt.Sprintf("board %q, part %s no. %d", board.ID, part.Piece, part.Number), bits, part.Rect)
		c.part(board, part)
	}
	for _, o := range l.Offcuts {
		bits = c.claim(fmt.Sprintf("board %q, offcut at %s, %s", board.ID, exactly(o.X), exactly(o.Y)), bits, o.Rect)
		c.offcut(board, o)
	}
	for _, left := range bits {
		c.fault("board %q: nothing is said of what is left at %s, %s", board.ID, exactly(left.X), exactly(left.Y))
	}
}

// cut makes a cut and returns what then lies on the bench.
func (c *checker) cut(where string, board Board, bits []bit, cut Cut) []bit {
	i := slices.IndexFunc(bits, func(b bit) bool { return b.Rect == cut.From })
	if i < 0 {
		c.fault("%s: the piece to be cut is not on the bench", where)
		return bits
	}
	from := bits[i]
	bits = slices.Delete(slices.Clone(bits), i, i+1)
	begin, end := from.X, from.X+from.Length
	if cut.Kind == Rip {
		begin, end = from.Y, from.Y+from.Width
	} else if cut.Kind != Crosscut {
		c.fault("%s: it is neither a crosscut nor a rip", where)
	}
	if cut.Kind == Rip && from.Length < c.p.Rules.LeastRip {
		c.fault("%s: a piece of %s is too short to rip", where, exactly(from.Length))
	}
	after := cut.At + c.p.Rules.Kerf
	if after <= begin || cut.At >= end {
		c.fault("%s: the blade does not meet the piece", where)
	}
	if cut.Measure != max(0, cut.At-begin) {
		c.fault("%s: the measure, %s, is not what lies before the kerf", where, exactly(cut.Measure))
	}
	stage := c.stage(where, board, from, cut)
	for _, side := range [][2]wood.Length{{begin, cut.At}, {after, end}} {
		if side[1] <= side[0] {
			continue
		}
		b := bit{Rect: from.Rect, stage: stage, kind: cut.Kind}
		if cut.Kind == Crosscut {
			b.X, b.Length = side[0], side[1]-side[0]
		} else {
			b.Y, b.Width = side[0], side[1]-side[0]
		}
		bits = append(bits, b)
	}
	return bits
}

// stage counts the changes of direction up to a cut and checks that the cut says so. An
// end trim counts for nothing.
func (c *checker) stage(where string, board Board, from bit, cut Cut) int {
	if cut.Stage == 0 {
		trim := c.p.Rules.EndTrim
		ends := cut.At+c.p.Rules.Kerf == trim || cut.At == board.Length-trim
		if cut.Kind != Crosscut || trim == 0 || !ends || from.Width != board.Width {
			c.fault("%s: it is no end trim, though it counts as one", where)
		}
		return 0
	}
	want := from.stage
	switch {
	case from.stage == 0 && c.p.Rules.First == FirstCrosscut && cut.Kind == Rip,
		from.stage == 0 && c.p.Rules.First == FirstRip && cut.Kind == Crosscut:
		want = 2
	case from.stage == 0 || from.kind != cut.Kind:
		want++
	}
	if cut.Stage != want {
		c.fault("%s: it is in stage %d, not %d", where, want, cut.Stage)
	}
	if most := c.p.Rules.Stages; most > 0 && want > most {
		c.fault("%s: stage %d is more than the %d allowed", where, want, most)
	}
	return want
}

// claim takes a rectangle off the bench.
func (c *checker) claim(what string, bits []bit, r Rect) []bit {
	i := slices.IndexFunc(bits, func(b bit) bool { return b.Rect == r })
	if i < 0 {
		c.fault("%s: the cuts do not give it", what)
		return bits
	}
	return slices.Delete(slices.Clone(bits), i, i+1)
}

// part checks one part for itself.
func (c *checker) part(board Board, part Placed) {
	piece, known := c.pieces[part.Piece]
	where := fmt.Sprintf("board %q, part %s no. %d", board.ID, part.Piece, part.Number)
	if !known {
		c.fault("%s: nobody asked for it", where)
		return
	}
	if part.Number < 1 || part.Number > piece.Quantity || c.got[part.Piece][part.Number] {
		c.fault("%s: it is one too many", where)
	}
	c.got[part.Piece][part.Number] = true
	length, width := piece.Length, piece.Width
	if part.Turned {
		length, width = width, length
		if !piece.Turn {
			c.fault("%s: its grain lies across", where)
		}
	}
	if part.Length != length || part.Width != width {
		c.fault("%s: it is %s by %s, not %s by %s", where, exactly(part.Length), exactly(part.Width), exactly(length), exactly(width))
	}
	trim := c.p.Rules.EndTrim
	if part.X < trim || part.Right() > board.Length-trim || part.Y < 0 || part.Top() > board.Width {
		c.fault("%s: it leaves the board, or lies in the trim of its ends", where)
	}
	for _, d := range board.Defects {
		if d.meets(part.Rect) {
			c.fault("%s: it covers the defect at %s, %s", where, exactly(d.X), exactly(d.Y))
		}
	}
	if board.Thickness != 0 && board.Thickness < piece.Thickness {
		c.fault("%s: the board is too thin", where)
	}
	if piece.Match != "" {
		c.on[piece.Match] = append(c.on[piece.Match], board)
	}
}

func (c *checker) offcut(board Board, o Offcut) {
	if !o.Keep {
		return
	}
	if o.Length < c.p.Rules.KeepLength || o.Width < c.p.Rules.KeepWidth {
		c.fault("board %q: the offcut at %s, %s is too small to keep", board.ID, exactly(o.X), exactly(o.Y))
	}
	xs, ys := []wood.Length{o.X}, []wood.Length{o.Y}
	for _, d := range board.Defects {
		xs, ys = append(xs, d.Right()), append(ys, d.Top())
	}
	for _, x := range xs {
		for _, y := range ys {
			r := Rect{x, y, c.p.Rules.KeepLength, c.p.Rules.KeepWidth}
			if o.holds(r) && !slices.ContainsFunc(board.Defects, func(d Defect) bool { return d.meets(r) }) {
				return
			}
		}
	}
	c.fault("board %q: the offcut at %s, %s has too little without a defect", board.ID, exactly(o.X), exactly(o.Y))
}

// quantities checks that every piece is cut or said to be short.
func (c *checker) quantities(plan Plan) {
	short := map[string]int{}
	for _, s := range plan.Short {
		short[s.Piece] += s.Quantity
		if s.Quantity < 1 || s.Why.Empty() {
			c.fault("piece %s: the shortage says no quantity or no reason", s.Piece)
		}
	}
	for _, piece := range c.p.Pieces {
		if got := len(c.got[piece.Key]); got+short[piece.Key] != piece.Quantity {
			c.fault("piece %s: %d are cut and %d short, of %d", piece.Key, got, short[piece.Key], piece.Quantity)
		}
	}
}

// matches checks that matched parts lie as near to each other as the plan says.
func (c *checker) matches(plan Plan) {
	said := map[string]Closeness{}
	for _, m := range plan.Matched {
		if _, twice := said[m.Match]; twice || len(c.on[m.Match]) == 0 {
			c.fault("the parts of %q are spoken of twice, or none is cut", m.Match)
		}
		said[m.Match] = m.How
	}
	for _, match := range slices.Sorted(maps.Keys(c.on)) {
		boards := c.on[match]
		slices.SortFunc(boards, func(a, b Board) int { return a.InLog - b.InLog })
		lie := OneBoard
		for i := 1; i < len(boards); i++ {
			a, b := boards[i-1], boards[i]
			switch {
			case a.ID == b.ID:
			case a.Log == "" || a.Log != b.Log:
				lie = Apart
			case b.InLog-a.InLog > 1:
				lie = max(lie, OneLog)
			default:
				lie = max(lie, Following)
			}
		}
		if how, told := said[match]; !told || how != lie {
			c.fault("the parts of %q, which must match, lie in way %d, and the plan says %d (told: %t)", match, lie, how, told)
		}
	}
}
