package views

import (
	"cmp"
	"slices"
	"strings"
)

// setHeights gives every spot its y: each lane is as high as its fullest layer,
// and within it the spots stand as level with their neighbours as they can.
func (l *orderLayout) setHeights() {
	byLayer := l.cells()
	for _, cells := range byLayer {
		for _, c := range cells {
			slices.SortFunc(c, func(a, b int) int { return cmp.Compare(l.spots[a].rank, l.spots[b].rank) })
		}
	}
	tops, bottoms := l.stackTracks(byLayer)
	for _, cells := range byLayer {
		for t, c := range cells {
			l.settle(c, tops[t], bottoms[t], func(spot) []int { return nil })
		}
	}
	for n := 0; n < sweeps; n++ {
		for layer := 1; layer < len(byLayer); layer++ {
			for t, c := range byLayer[layer] {
				l.settle(c, tops[t], bottoms[t], func(s spot) []int { return s.left })
			}
		}
		for layer := len(byLayer) - 2; layer >= 0; layer-- {
			for t, c := range byLayer[layer] {
				l.settle(c, tops[t], bottoms[t], func(s spot) []int { return s.right })
			}
		}
	}
}

// stackTracks sets the lanes' places and returns where spots may stand in each track.
func (l *orderLayout) stackTracks(byLayer [][]cell) (tops, bottoms []int) {
	y := orderMargin
	tops, bottoms = make([]int, l.tracks), make([]int, l.tracks)
	for t := range tops {
		fullest := orderBoxHeight
		for _, cells := range byLayer {
			used := -orderApart
			for _, i := range cells[t] {
				used += l.spots[i].height + orderApart
			}
			fullest = max(fullest, used)
		}
		tops[t], bottoms[t] = y+orderBandHead, y+orderBandHead+fullest
		for n := range l.lanes {
			if l.lanes[n].track == t {
				l.lanes[n].y, l.lanes[n].height = y, orderBandHead+fullest+orderApart
			}
		}
		y = bottoms[t] + 2*orderApart
	}
	l.height = y + orderMargin - orderApart
	return tops, bottoms
}

// settle places a cell's spots near the mean middle of the neighbours on a
// side, or near where they are, in order and without touching.
func (l *orderLayout) settle(c cell, top, bottom int, side func(spot) []int) {
	want, size := make([]int, len(c)), make([]int, len(c))
	for k, i := range c {
		s := l.spots[i]
		want[k], size[k] = s.y, s.height
		if next := side(s); len(next) > 0 {
			sum := 0
			for _, j := range next {
				sum += l.spots[j].middle()
			}
			want[k] = sum/len(next) - s.height/2
		}
	}
	for k, y := range spread(want, size, orderApart, top, bottom) {
		l.spots[c[k]].y = y
	}
}

func (s spot) middle() int { return s.y + s.height/2 }

// spread places things in a row, in the order given, each as near to where it
// wants to be as the others allow (least squares, by pooling neighbours that
// would touch), at least apart from each other and between the limits, if there
// is room. O(n).
func spread(want, size []int, apart, first, last int) []int {
	type pool struct{ sum, count int }
	var pools []pool
	offset := make([]int, len(want))
	used := 0
	for i := range want {
		offset[i] = used
		used += size[i] + apart
		pools = append(pools, pool{want[i] - offset[i], 1})
		for n := len(pools); n > 1 && pools[n-2].sum*pools[n-1].count > pools[n-1].sum*pools[n-2].count; n-- {
			pools[n-2].sum += pools[n-1].sum
			pools[n-2].count += pools[n-1].count
			pools = pools[:n-1]
		}
	}
	at := make([]int, 0, len(want))
	for _, p := range pools {
		start := max(min(p.sum/p.count, last-(used-apart)), first)
		for range p.count {
			at = append(at, start+offset[len(at)])
		}
	}
	return at
}

// setColumns gives every spot its x. A column gap is wider where a lag is written.
func (l *orderLayout) setColumns() {
	last := 0
	for _, s := range l.spots {
		last = max(last, s.layer)
	}
	gaps := make([]int, last+1) // gaps[k] stands before layer k
	for k := range gaps {
		gaps[k] = orderGap
	}
	for _, r := range l.routes {
		to := l.spots[r.edge.to].layer
		for _, label := range r.edge.labels {
			gaps[to] = max(gaps[to], textWidth(label, orderLagSize)+orderLabelGap)
		}
	}
	x := make([]int, last+1)
	x[0] = 2 * orderMargin
	for k := 1; k <= last; k++ {
		x[k] = x[k-1] + orderBoxWidth + gaps[k]
	}
	for i := range l.spots {
		l.spots[i].x = x[l.spots[i].layer]
	}
	l.width = x[last] + orderBoxWidth + 2*orderMargin
}

// setLabels writes the lags in the gap before the step they keep waiting, each
// near its edge and clear of the others.
func (l *orderLayout) setLabels() {
	byLayer := map[int][]orderLabel{}
	layers := []int{}
	for _, r := range l.routes {
		to, from := l.spots[r.edge.to], l.spots[r.via[len(r.via)-2]]
		for _, text := range r.edge.labels {
			if byLayer[to.layer] == nil {
				layers = append(layers, to.layer)
			}
			byLayer[to.layer] = append(byLayer[to.layer], orderLabel{
				text: text, because: strings.Join(r.edge.why, " "),
				x: (from.x + orderBoxWidth + to.x) / 2, y: (from.middle() + to.middle()) / 2,
			})
		}
	}
	slices.Sort(layers)
	for _, layer := range layers {
		labels := byLayer[layer]
		slices.SortStableFunc(labels, func(a, b orderLabel) int { return cmp.Compare(a.y, b.y) })
		want, size := make([]int, len(labels)), make([]int, len(labels))
		for i, label := range labels {
			want[i], size[i] = label.y-orderLagHeight/2, orderLagHeight
		}
		l.height = max(l.height, len(labels)*(orderLagHeight+2))
		for i, y := range spread(want, size, 2, 0, l.height) {
			labels[i].y = y + orderLagHeight/2
		}
		l.labels = append(l.labels, labels...)
	}
}
