package stock

import (
	"cmp"
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
// the best of several worths: the area, and the number, length or width of pieces too
// large to lie beside each other. The best cutting comes from dynamic programming over
// edge-to-edge cuts (Gilmore & Gomory 1966, at the points of Herz 1972; from memory).
func LowerBound(p Problem) Bound {
	var out Bound
	for _, c := range p.Pieces {
		out.Parts += float64(c.Quantity) * c.Length.Metres() * c.Width.Metres()
	}
	out.Boards = out.Parts
	kinds := kindsOf(p)
	for n, worth := range worths(p) {
		need := 0.0
		for i, c := range p.Pieces {
			need += float64(c.Quantity) * worth[i]
		}
		for i := range kinds {
			kinds[i].gives = kinds[i].most(p, worth)
			if n == byArea {
				kinds[i].gives = min(kinds[i].gives, kinds[i].clear)
			}
		}
		out.Boards = max(out.Boards, cover(kinds, need))
	}
	return out
}

// kind is equal boards.
type kind struct {
	area   float64
	usable Rect
	clear  float64 // area that no end trim and no defect takes, at most
	count  int
	gives  float64 // worth that one can give
}

func kindsOf(p Problem) []kind {
	var out []kind
	for _, b := range p.Boards {
		u := p.usable(b)
		clear := clearArea(b, u)
		i := slices.IndexFunc(out, func(k kind) bool {
			return k.usable.Length == u.Length && k.usable.Width == u.Width && k.clear == clear
		})
		if i < 0 {
			i = len(out)
			out = append(out, kind{area: b.rect().Area(), usable: u, clear: clear})
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

// finest is how many points a board's length or width is divided at; beyond that sizes
// are rounded down, which can only raise what a board seems to give.
const finest = 160

// most is the greatest worth that edge-to-edge cuts can get out of one board.
func (k kind) most(p Problem, worth []float64) float64 {
	var parts []part
	for i, c := range p.Pieces {
		if worth[i] == 0 {
			continue
		}
		parts = append(parts, part{c.Length, c.Width, worth[i]})
		if c.Turn {
			parts = append(parts, part{c.Width, c.Length, worth[i]})
		}
	}
	return bestCutting(k.usable.Length, k.usable.Width, p.Rules.Kerf, parts, finest)
}

type part struct {
	length, width wood.Length
	worth         float64
}

// bestCutting is the greatest worth of parts, as many of each as one likes, that
// edge-to-edge cuts get out of a rectangle; exact while the sums of lengths, and of
// widths, that lie within it are at most most, else at least that.
// It takes O(n²·m) steps for n points in the one direction and m in the other.
func bestCutting(length, width, kerf wood.Length, parts []part, most int) float64 {
	if length <= 0 || width <= 0 {
		return 0
	}
	var fit []part
	for _, c := range parts {
		if c.length <= length && c.width <= width {
			fit = append(fit, part{c.length + kerf, c.width + kerf, c.worth})
		}
	}
	lengths := make([]wood.Length, len(fit))
	widths := make([]wood.Length, len(fit))
	for i, c := range fit {
		lengths[i], widths[i] = c.length, c.width
	}
	xs, ys := pointsOf(length+kerf, lengths, most), pointsOf(width+kerf, widths, most)
	for i := range fit {
		fit[i].length, fit[i].width = lengths[i], widths[i]
	}
	return cuttings(xs, ys, fit)
}

// pointsOf is the sums of sizes that lie within a whole, and the whole itself last. If
// they are more than most, the sizes and the whole are first rounded down to a grid.
func pointsOf(whole wood.Length, sizes []wood.Length, most int) []wood.Length {
	if points, few := sums(whole, sizes, most); few {
		return points
	}
	grid := whole/wood.Length(most) + 1
	for i := range sizes {
		sizes[i] /= grid
	}
	points, _ := sums(whole/grid, sizes, math.MaxInt)
	return points
}

func sums(whole wood.Length, sizes []wood.Length, most int) ([]wood.Length, bool) {
	points := []wood.Length{0}
	known := map[wood.Length]bool{0: true}
	for i := 0; i < len(points); i++ {
		for _, s := range sizes {
			if next := points[i] + s; next < whole && !known[next] {
				known[next] = true
				points = append(points, next)
			}
		}
		if len(points) > most {
			return nil, false
		}
	}
	slices.Sort(points)
	return append(points, whole), true
}

// cuttings is the dynamic programme: the best of one part, of a cut across, of a cut
// along, for every rectangle between the points.
func cuttings(xs, ys []wood.Length, parts []part) float64 {
	best := make([][]float64, len(xs))
	floorX, floorY := below(xs), below(ys)
	for i := range xs {
		best[i] = make([]float64, len(ys))
		for j := range ys {
			top := 0.0
			for _, c := range parts {
				if c.length <= xs[i] && c.width <= ys[j] {
					top = max(top, c.worth)
				}
			}
			for k := 1; k < i && 2*xs[k] <= xs[i]; k++ {
				top = max(top, best[k][j]+best[floorX(xs[i]-xs[k])][j])
			}
			for k := 1; k < j && 2*ys[k] <= ys[j]; k++ {
				top = max(top, best[i][k]+best[i][floorY(ys[j]-ys[k])])
			}
			best[i][j] = top
		}
	}
	return best[len(xs)-1][len(ys)-1]
}

// below finds the greatest of some sorted points that is at most a value of 0 or more.
func below(points []wood.Length) func(wood.Length) int {
	return func(v wood.Length) int {
		i, exact := slices.BinarySearch(points, v)
		if exact {
			return i
		}
		return i - 1
	}
}

// cover is the least area of boards that give at least a need together: exact for a few
// kinds, else the bound that shares of boards give; 0 if all boards are too few, when
// nothing is bounded.
func cover(kinds []kind, need float64) float64 {
	ks := slices.DeleteFunc(slices.Clone(kinds), func(k kind) bool { return k.gives <= 0 })
	slices.SortStableFunc(ks, func(a, b kind) int { return cmp.Compare(a.area/a.gives, b.area/b.gives) })
	const nodes = 20000
	c := coverer{kinds: ks, best: math.Inf(1), left: nodes}
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
