package stock

import (
	"context"
	"math"
	"slices"

	"faceside/models/wood"
)

// lattice is the points at which one board may be cut, for finding its best cutting by
// dynamic programming over edge-to-edge cuts (Gilmore & Gomory 1966, at the points of
// Herz 1972; from memory).
type lattice struct {
	xs, ys       []wood.Length
	restX, restY [][]int // the point left when one point is cut off another
	parts        []part
	pieces       int
	blind        bool // the pieces are too small for points: nothing is known
}

type part struct {
	length, width wood.Length // with a kerf each, in steps of the points
	piece         int
}

// finest is how many points a board's length or width is divided at as a rule; beyond
// that sizes are rounded down, which can only raise what a board seems to give.
// mostPoints is how many it may be so that no size is rounded down to nothing.
const (
	finest     = 160
	mostPoints = 240
)

// latticeOf is the lattice of a board's usable rectangle for the pieces of a problem;
// exact while there are at most fine points in either direction, blind for fine 0.
func latticeOf(p Problem, usable Rect, fine int) *lattice {
	l := &lattice{pieces: len(p.Pieces), blind: fine == 0}
	if l.blind {
		return l
	}
	kerf := p.Rules.Kerf
	var lengths, widths []wood.Length
	for i, c := range p.Pieces {
		for _, side := range [][2]wood.Length{{c.Length, c.Width}, {c.Width, c.Length}} {
			if side[0] <= usable.Length && side[1] <= usable.Width {
				l.parts = append(l.parts, part{piece: i})
				lengths, widths = append(lengths, side[0]+kerf), append(widths, side[1]+kerf)
			}
			if !c.Turn {
				break
			}
		}
	}
	if len(l.parts) == 0 {
		return l
	}
	var okX, okY bool
	l.xs, okX = pointsOf(usable.Length+kerf, lengths, fine)
	l.ys, okY = pointsOf(usable.Width+kerf, widths, fine)
	if l.blind = !okX || !okY; l.blind {
		return l
	}
	for i := range l.parts {
		l.parts[i].length, l.parts[i].width = lengths[i], widths[i]
	}
	l.restX, l.restY = rests(l.xs), rests(l.ys)
	return l
}

// pointsOf is the sums of sizes that lie within a whole, and the whole itself last. If
// they are more than fine, the sizes and the whole are first rounded down to a grid no
// coarser than the least size; if even that is too many, it gives up.
func pointsOf(whole wood.Length, sizes []wood.Length, fine int) ([]wood.Length, bool) {
	if points, few := sums(whole, sizes, fine); few {
		return points, true
	}
	grid := min(whole/wood.Length(fine)+1, slices.Min(sizes))
	for i := range sizes {
		sizes[i] /= grid
	}
	return sums(whole/grid, sizes, mostPoints)
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

// rests is, for a point i and a point k of at most half of it, the greatest point that
// lies within what is left of i.
func rests(points []wood.Length) [][]int {
	out := make([][]int, len(points))
	for i, p := range points {
		for k := 0; k < i && 2*points[k] <= p; k++ {
			n, exact := slices.BinarySearch(points, p-points[k])
			if !exact {
				n--
			}
			out[i] = append(out[i], n)
		}
	}
	return out
}

// work is about how many steps finding the best cutting takes.
func (l *lattice) work() int {
	n, m := len(l.xs), len(l.ys)
	return n * m * (len(l.parts) + (n+m)/4)
}

// cell is the best of a rectangle between the points: one part (part ≥ 0), or a cut at a
// point k > 0 along or across, or nothing.
type cell struct {
	worth float64
	part  int
	k     int
	rip   bool
}

// best is the greatest worth of pieces that the board gives, as many of each as one
// likes, infinite where nothing is known or ctx is done before it is found; and how many of each piece that takes. It
// takes O(n²·m + n·m²) steps for n points in the one direction and m in the other, and
// memory for n·m.
func (l *lattice) best(ctx context.Context, worth []float64) (float64, []int) {
	counts := make([]int, l.pieces)
	if l.blind {
		return math.Inf(1), counts
	}
	if len(l.parts) == 0 {
		return 0, counts
	}
	table := make([][]cell, len(l.xs))
	for i := range l.xs {
		if ctx.Err() != nil {
			return math.Inf(1), counts
		}
		table[i] = make([]cell, len(l.ys))
		for j := range l.ys {
			table[i][j] = l.cell(table, i, j, worth)
		}
	}
	last := [2]int{len(l.xs) - 1, len(l.ys) - 1}
	l.count(table, last[0], last[1], counts)
	return table[last[0]][last[1]].worth, counts
}

func (l *lattice) cell(table [][]cell, i, j int, worth []float64) cell {
	top := cell{part: -1}
	for n, c := range l.parts {
		if v := worth[c.piece]; v > top.worth && c.length <= l.xs[i] && c.width <= l.ys[j] {
			top = cell{worth: v, part: n}
		}
	}
	for k := 1; k < len(l.restX[i]); k++ {
		if v := table[k][j].worth + table[l.restX[i][k]][j].worth; v > top.worth {
			top = cell{worth: v, part: -1, k: k}
		}
	}
	for k := 1; k < len(l.restY[j]); k++ {
		if v := table[i][k].worth + table[i][l.restY[j][k]].worth; v > top.worth {
			top = cell{worth: v, part: -1, k: k, rip: true}
		}
	}
	return top
}

// count adds up the pieces of the best cutting of a rectangle.
func (l *lattice) count(table [][]cell, i, j int, counts []int) {
	c := table[i][j]
	switch {
	case c.part >= 0:
		counts[l.parts[c.part].piece]++
	case c.k > 0 && c.rip:
		l.count(table, i, c.k, counts)
		l.count(table, i, l.restY[j][c.k], counts)
	case c.k > 0:
		l.count(table, c.k, j, counts)
		l.count(table, l.restX[i][c.k], j, counts)
	}
}
