package views

import (
	"cmp"
	"slices"
)

// The drawing's measures in pixels.
const (
	orderBoxWidth  = 200
	orderBoxHeight = 112
	orderWire      = 10 // height kept free for an edge that passes a column
	orderApart     = 12 // between two boxes of a column
	orderGap       = 38 // between two columns
	orderLabelGap  = 30 // more where a lag is written
	orderBandHead  = 34 // for the name of a stream, above the tags of its gates
	orderMargin    = 14
)

// orderLayout places an order of work in layers, left to right (the method of
// K. Sugiyama, S. Tagawa and M. Toda, "Methods for visual understanding of
// hierarchical system structures", IEEE Trans. SMC 11(2), 1981): layers, edges
// cut at each layer they pass, order within the layers by barycentres, then
// positions. Streams are lanes that keep apart from each other. It is the same
// for the same graph every time.
type orderLayout struct {
	graph  OrderGraph
	web    *web
	spots  []spot // the steps first, in the graph's order, then the bends of edges
	routes []route
	lanes  []lane
	tracks int
	labels []orderLabel
	width  int
	height int
}

// spot is a step's box, or the place where an edge passes a column.
type spot struct {
	layer, lane int
	rank        int // its place among those of its lane and layer
	x, y        int // upper left corner
	height      int
	left, right []int // spots it is joined to in the layers beside it
}

// route is an edge with every spot on its way, both ends included.
type route struct {
	edge edge
	via  []int
}

// lane is one stream's stripe across the layers it reaches.
type lane struct {
	name        string
	first, last int // layers
	track       int
	y, height   int
}

type orderLabel struct {
	text    string
	x, y    int // middle
	because string
}

// assignLayers puts each step one layer after the last of those before it, then
// moves it right until it stands just before what needs it, so that a stream
// reads without gaps. O(steps + links).
func (l *orderLayout) assignLayers() {
	l.spots = make([]spot, len(l.graph.Steps))
	for _, i := range l.web.topo {
		for _, e := range l.web.before[i] {
			l.spots[i].layer = max(l.spots[i].layer, l.spots[l.web.edges[e].from].layer+1)
		}
	}
	for k := len(l.web.topo) - 1; k >= 0; k-- {
		i := l.web.topo[k]
		for n, e := range l.web.after[i] {
			before := l.spots[l.web.edges[e].to].layer - 1
			if n == 0 || before < l.spots[i].layer {
				l.spots[i].layer = before
			}
		}
	}
	for i := range l.spots {
		l.spots[i].height = orderBoxHeight
	}
}

// assignLanes makes a lane of each stream, in the order they are first met.
func (l *orderLayout) assignLanes() {
	byName := map[string]int{}
	for i, s := range l.graph.Steps {
		n, ok := byName[s.Stream]
		if !ok {
			n = len(l.lanes)
			byName[s.Stream] = n
			l.lanes = append(l.lanes, lane{name: s.Stream, first: l.spots[i].layer, last: l.spots[i].layer})
		}
		l.spots[i].lane = n
		l.reach(n, l.spots[i].layer)
	}
}

func (l *orderLayout) reach(lane, layer int) {
	l.lanes[lane].first = min(l.lanes[lane].first, layer)
	l.lanes[lane].last = max(l.lanes[lane].last, layer)
}

// lengthenEdges gives every edge a spot in each layer it passes, in the lane it
// comes from: a stream flows on until it meets another.
func (l *orderLayout) lengthenEdges() {
	for _, e := range l.web.edges {
		r := route{edge: e, via: []int{e.from}}
		from, to := l.spots[e.from], l.spots[e.to]
		for layer := from.layer + 1; layer < to.layer; layer++ {
			r.via = append(r.via, len(l.spots))
			l.spots = append(l.spots, spot{layer: layer, lane: from.lane, height: orderWire})
			l.reach(from.lane, layer)
		}
		r.via = append(r.via, e.to)
		for i := 1; i < len(r.via); i++ {
			a, b := r.via[i-1], r.via[i]
			l.spots[a].right = append(l.spots[a].right, b)
			l.spots[b].left = append(l.spots[b].left, a)
		}
		l.routes = append(l.routes, r)
	}
}

// assignTracks stacks the lanes, each followed by those that flow into it. Lanes
// that do not meet in any layer may share a track, so a stream continues level
// with one of those it grew out of.
func (l *orderLayout) assignTracks() {
	flows := l.flowsInto()
	placed := make([]bool, len(l.lanes))
	tracks := [][]int{} // lanes by track
	var place func(n, near int)
	place = func(n, near int) {
		if placed[n] {
			return
		}
		placed[n] = true
		near = l.findTrack(tracks, n, near)
		if near == len(tracks) {
			tracks = append(tracks, nil)
		}
		tracks[near] = append(tracks[near], n)
		l.lanes[n].track = near
		sources := []int{}
		for m, into := range flows {
			if into == n {
				sources = append(sources, m)
			}
		}
		slices.SortStableFunc(sources, func(a, b int) int { return cmp.Compare(l.lanes[b].last, l.lanes[a].last) })
		for _, m := range sources {
			place(m, near)
		}
	}
	for n := range l.lanes {
		if flows[n] < 0 {
			place(n, len(tracks))
		}
	}
	for n := range l.lanes { // streams that feed each other in turn
		place(n, len(tracks))
	}
	l.tracks = len(tracks)
	l.turnOver()
}

// turnOver puts the streams that begin first on top, so that whoever sees the
// left of the drawing first sees its top filled.
func (l *orderLayout) turnOver() {
	above, below := l.tracks, l.tracks
	for _, n := range l.lanes {
		if n.first == 0 {
			above, below = min(above, n.track), min(below, l.tracks-1-n.track)
		}
	}
	if above <= below {
		return
	}
	for n := range l.lanes {
		l.lanes[n].track = l.tracks - 1 - l.lanes[n].track
	}
}

// findTrack gives a track with room for lane n, at or beside near; else a new one.
func (l *orderLayout) findTrack(tracks [][]int, n, near int) int {
	for _, t := range []int{near, near + 1, near - 1} {
		if t < 0 || t >= len(tracks) {
			continue
		}
		meets := slices.ContainsFunc(tracks[t], func(m int) bool {
			return l.lanes[m].last >= l.lanes[n].first && l.lanes[n].last >= l.lanes[m].first
		})
		if !meets {
			return t
		}
	}
	return len(tracks)
}

// flowsInto says, for each lane, which lane its work ends up in: that of the
// last step outside it that needs it. -1: none.
func (l *orderLayout) flowsInto() []int {
	into, layer := make([]int, len(l.lanes)), make([]int, len(l.lanes))
	for n := range into {
		into[n] = -1
	}
	for _, e := range l.web.edges {
		from, to := l.spots[e.from], l.spots[e.to]
		if from.lane != to.lane && to.layer > layer[from.lane] {
			into[from.lane], layer[from.lane] = to.lane, to.layer
		}
	}
	return into
}
