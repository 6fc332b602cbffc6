package views

import (
	"cmp"
	"slices"
)

// cell is the spots of one lane in one layer, from the top.
type cell []int

// cells gives every layer's cells in the order of the tracks.
func (l *orderLayout) cells() [][]cell {
	last := 0
	for _, s := range l.spots {
		last = max(last, s.layer)
	}
	byLayer := make([][]cell, last+1)
	for layer := range byLayer {
		byLayer[layer] = make([]cell, l.tracks)
	}
	for i, s := range l.spots {
		t := l.lanes[s.lane].track
		byLayer[s.layer][t] = append(byLayer[s.layer][t], i)
	}
	return byLayer
}

// sweeps is how often the order is improved there and back; more hardly ever helps.
const sweeps = 6

// untangle orders each cell by where its neighbours stand, there and back, and
// keeps the order with the fewest crossings.
func (l *orderLayout) untangle() {
	byLayer := l.cells()
	l.rerank(byLayer)
	best, fewest := l.ranks(), l.crossings(byLayer)
	for n := 0; n < sweeps && fewest > 0; n++ {
		for layer := 1; layer < len(byLayer); layer++ {
			l.sortLayer(byLayer[layer], func(s spot) []int { return s.left })
		}
		for layer := len(byLayer) - 2; layer >= 0; layer-- {
			l.sortLayer(byLayer[layer], func(s spot) []int { return s.right })
		}
		if c := l.crossings(byLayer); c < fewest {
			best, fewest = l.ranks(), c
		}
	}
	for i, rank := range best {
		l.spots[i].rank = rank
	}
}

func (l *orderLayout) ranks() []int {
	ranks := make([]int, len(l.spots))
	for i, s := range l.spots {
		ranks[i] = s.rank
	}
	return ranks
}

func (l *orderLayout) rerank(byLayer [][]cell) {
	for _, cells := range byLayer {
		for _, c := range cells {
			for rank, i := range c {
				l.spots[i].rank = rank
			}
		}
	}
}

// level orders the spots of a layer from the top across all lanes.
func (l *orderLayout) level(i int) int {
	return l.lanes[l.spots[i].lane].track*len(l.spots) + l.spots[i].rank
}

// sortLayer orders each cell by the mean level of the neighbours on one side;
// a spot without any keeps to the place it has.
func (l *orderLayout) sortLayer(cells []cell, side func(spot) []int) {
	for _, c := range cells {
		mean := make(map[int]int, len(c))
		for _, i := range c {
			next := side(l.spots[i])
			if len(next) == 0 {
				mean[i] = l.level(i) * 16
				continue
			}
			sum := 0
			for _, j := range next {
				sum += l.level(j) * 16 // sixteenths, so that close means still differ
			}
			mean[i] = sum / len(next)
		}
		slices.SortStableFunc(c, func(a, b int) int { return cmp.Compare(mean[a], mean[b]) })
		for rank, i := range c {
			l.spots[i].rank = rank
		}
	}
}

// crossings counts the pairs of edges that cross between neighbouring layers.
func (l *orderLayout) crossings(byLayer [][]cell) int {
	total := 0
	for _, cells := range byLayer {
		var ends [][2]int
		for _, c := range cells {
			for _, i := range c {
				for _, j := range l.spots[i].right {
					ends = append(ends, [2]int{l.level(i), l.level(j)})
				}
			}
		}
		slices.SortFunc(ends, func(a, b [2]int) int {
			return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1]))
		})
		right := make([]int, len(ends))
		for k, e := range ends {
			right[k] = e[1]
		}
		total += inversions(right)
	}
	return total
}

// inversions counts the pairs that stand in falling order, and sorts s. O(n log n).
func inversions(s []int) int {
	if len(s) < 2 {
		return 0
	}
	a, b := slices.Clone(s[:len(s)/2]), slices.Clone(s[len(s)/2:])
	count := inversions(a) + inversions(b)
	for k := range s {
		if len(b) == 0 || len(a) > 0 && a[0] <= b[0] {
			s[k], a = a[0], a[1:]
			continue
		}
		count += len(a)
		s[k], b = b[0], b[1:]
	}
	return count
}
