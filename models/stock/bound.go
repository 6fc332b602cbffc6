package stock

import (
	"cmp"
	"context"
	"math"
	"slices"

	"faceside/models/wood"
)

// Bound is what no plan for some pieces can do without, in square metres of board.
type Bound struct {
	Parts  float64 // the area of the pieces themselves
	Boards float64 // the area of the boards that must be cut into, at least Parts
}

// LowerBound bounds the area of boards that all pieces of a problem take together,
// whatever the order of cuts.
//
// Whatever worth is given to pieces, a board can give no more of it than the best
// cutting of that board alone, with as many of each piece as one likes; so the boards
// cut into must together be able to give what all pieces are worth. LowerBound takes
// the best of several worths: the area; the number, length or width of pieces too large
// to lie beside each other; and worths bettered step by step, where what those cuttings
// give too much of becomes worth less (prices of linear programming, found by
// subgradients; Gilmore & Gomory 1961, Held & Karp 1971, from memory). Once ctx is done
// it returns the best bound so far, which is the area of the pieces at worst.
func LowerBound(ctx context.Context, p Problem) Bound {
	var out Bound
	for _, c := range p.Pieces {
		out.Parts += float64(c.Quantity) * c.Length.Metres() * c.Width.Metres()
	}
	out.Boards = out.Parts
	b := newBounder(ctx, p)
	for n, worth := range worths(p) {
		bound, _ := b.bound(ctx, worth, n == byArea)
		out.Boards = max(out.Boards, bound)
	}
	return Bound{Parts: out.Parts, Boards: max(out.Boards, b.priced(ctx, worths(p)[byArea]))}
}

type bounder struct {
	p     Problem
	kinds []kind
	work  int // about how many steps it takes to find the best cutting of every kind
}

// newBounder divides the boards as finely as there is time for; at worst not at all.
func newBounder(ctx context.Context, p Problem) *bounder {
	const most = 50_000_000 // steps to find the best cutting of every kind once, well under a second
	const pairs = 50_000    // of boards and pieces, to find the points of
	grains := []int{finest, finest / 3, 0}
	if len(p.Boards)*len(p.Pieces) > pairs {
		grains = grains[2:]
	}
	b := &bounder{p: p}
	for _, fine := range grains {
		b.kinds, b.work = kindsOf(ctx, p, fine), 1
		for _, k := range b.kinds {
			b.work += k.lattice.work()
		}
		if b.work <= most {
			break
		}
	}
	return b
}

// bound is the bound that one worth of each piece gives, and how many of each piece the
// best cuttings give in shares of boards that suffice; 0 once ctx is done.
func (b *bounder) bound(ctx context.Context, worth []float64, isArea bool) (float64, []float64) {
	need := 0.0
	for i, c := range b.p.Pieces {
		need += float64(c.Quantity) * worth[i]
	}
	for i := range b.kinds {
		k := &b.kinds[i]
		k.gives, k.counts = k.lattice.best(ctx, worth)
		if isArea {
			k.gives = min(k.gives, k.clear)
		}
		if math.IsInf(k.gives, 1) { // nothing is known of this board
			return 0, make([]float64, len(b.p.Pieces))
		}
	}
	return cover(b.kinds, need), b.given(need)
}

// given is how many of each piece the kinds give, the best for their area first, until
// the need is met.
func (b *bounder) given(need float64) []float64 {
	out := make([]float64, len(b.p.Pieces))
	for _, k := range thrifty(b.kinds) {
		n := min(float64(k.count), need/k.gives)
		need -= n * k.gives
		for i, c := range k.counts {
			out[i] += n * float64(c)
		}
	}
	return out
}

// priced is the best bound of worths that begin at one and are bettered step by step,
// in fewer steps where each takes long.
func (b *bounder) priced(ctx context.Context, worth []float64) float64 {
	const steps, most = 20, 30_000_000
	best, size := 0.0, 0.4
	for range min(steps, most/b.work) {
		if ctx.Err() != nil {
			break
		}
		bound, given := b.bound(ctx, worth, false)
		best = max(best, bound)
		for i, c := range b.p.Pieces {
			asked := float64(c.Quantity)
			worth[i] *= math.Exp(size * (asked - given[i]) / max(asked, given[i]))
		}
		size *= 0.9
	}
	return best
}

// kind is equal boards.
type kind struct {
	area    float64
	usable  Rect
	clear   float64 // area that no end trim and no defect takes, at most
	count   int
	lattice *lattice
	gives   float64 // worth that one can give
	counts  []int   // of each piece in the cutting that gives it
}

// kindsOf sorts the boards by kind; once ctx is done nothing is known of those left.
func kindsOf(ctx context.Context, p Problem, fine int) []kind {
	var out []kind
	for _, b := range p.Boards {
		u := p.usable(b)
		clear := clearArea(b, u)
		i := slices.IndexFunc(out, func(k kind) bool {
			return k.usable.Length == u.Length && k.usable.Width == u.Width && k.clear == clear
		})
		if i < 0 {
			i = len(out)
			if ctx.Err() != nil {
				fine = 0
			}
			out = append(out, kind{area: b.rect().Area(), usable: u, clear: clear, lattice: latticeOf(p, u, fine)})
		}
		out[i].count++
	}
	return out
}

// clearArea is at least the area of a board that no defect covers: of defects that meet
// each other only the first counts.
func clearArea(b Board, usable Rect) float64 {
	area := usable.Area()
	var counted []Rect
	for _, d := range b.Defects {
		x, y := max(d.X, usable.X), max(d.Y, usable.Y)
		r := Rect{x, y, min(d.Right(), usable.Right()) - x, min(d.Top(), usable.Top()) - y}
		if r.Length <= 0 || r.Width <= 0 || slices.ContainsFunc(counted, r.meets) {
			continue
		}
		counted = append(counted, r)
		area -= r.Area()
	}
	return area
}

// byArea is the place of the area among the worths.
const byArea = 0

// worths is what one of each piece is worth, in several ways.
func worths(p Problem) [][]float64 {
	var longest, widest wood.Length
	for _, b := range p.Boards {
		u := p.usable(b)
		longest, widest = max(longest, u.Length), max(widest, u.Width)
	}
	n := len(p.Pieces)
	area, number, length, width := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	for i, c := range p.Pieces {
		area[i] = c.Length.Metres() * c.Width.Metres()
		if c.Turn {
			continue // it may lie either way, so neither side is large for sure
		}
		long, wide := 2*c.Length+p.Rules.Kerf > longest, 2*c.Width+p.Rules.Kerf > widest
		if long && wide {
			number[i] = 1
		}
		if wide {
			length[i] = c.Length.Metres()
		}
		if long {
			width[i] = c.Width.Metres()
		}
	}
	return [][]float64{area, number, length, width}
}

// cover is the least area of boards that give at least a need together: exact for a few
// kinds, else the bound that shares of boards give; 0 if all boards are too few, when
// nothing is bounded.
func cover(kinds []kind, need float64) float64 {
	const nodes = 5000
	c := coverer{kinds: thrifty(kinds), best: math.Inf(1), left: nodes}
	shares := c.shares(0, need)
	if need <= slack(need) || math.IsInf(shares, 1) {
		return 0
	}
	c.choose(0, need, 0)
	if c.left <= 0 {
		return shares
	}
	return c.best
}

// thrifty is the kinds that give anything, the best for their area first.
func thrifty(kinds []kind) []kind {
	out := slices.DeleteFunc(slices.Clone(kinds), func(k kind) bool { return k.gives <= 0 })
	slices.SortStableFunc(out, func(a, b kind) int { return cmp.Compare(a.area/a.gives, b.area/b.gives) })
	return out
}

type coverer struct {
	kinds []kind // best area for what they give first
	best  float64
	left  int // nodes
}

// slack forgives the rounding of sums of floating-point numbers.
func slack(need float64) float64 { return 1e-9 * (1 + need) }

// shares is the area that the need takes of the kinds from i on if boards can be bought
// in shares; infinite if they are too few.
func (c *coverer) shares(i int, need float64) float64 {
	area := 0.0
	for ; i < len(c.kinds) && need > slack(need); i++ {
		k := c.kinds[i]
		n := min(float64(k.count), need/k.gives)
		area, need = area+n*k.area, need-n*k.gives
	}
	if need > slack(need) {
		return math.Inf(1)
	}
	return area
}

// choose tries how many of kind i to take, most first.
func (c *coverer) choose(i int, need, area float64) {
	if c.left--; c.left <= 0 {
		return
	}
	if need <= slack(need) {
		c.best = min(c.best, area)
		return
	}
	if i == len(c.kinds) || area+c.shares(i, need) >= c.best-1e-12 {
		return
	}
	k := c.kinds[i]
	for n := min(k.count, int(math.Ceil((need-slack(need))/k.gives))); n >= 0; n-- {
		c.choose(i+1, need-float64(n)*k.gives, area+float64(n)*k.area)
	}
}

// without is the problem less the pieces that are short.
func (p Problem) without(short []Short) Problem {
	missing := map[string]int{}
	for _, s := range short {
		missing[s.Piece] += s.Quantity
	}
	pieces := p.Pieces
	p.Pieces = nil
	for _, c := range pieces {
		if c.Quantity -= missing[c.Key]; c.Quantity > 0 {
			p.Pieces = append(p.Pieces, c)
		}
	}
	return p
}
