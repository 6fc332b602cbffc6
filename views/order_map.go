package views

import (
	"html/template"
	"strconv"
)

// The small drawing's measures in pixels.
const (
	mapWidth  = 700 // a tablet held upright shows that; more where the steps need it
	mapMark   = 18  // side of a step's shape
	mapStep   = 26  // least from one step to the next, across and down
	mapHead   = 20  // for the name of a stream
	mapMargin = 12
)

// orderMap is an orderLayout seen from far: columns and tracks keep their
// order and lose their size.
type orderMap struct {
	*orderLayout
	pitch  int   // from one column to the next
	tops   []int // of the tracks
	height int
}

func (l *orderLayout) newMap() orderMap {
	last := 0
	for _, s := range l.spots {
		last = max(last, s.layer)
	}
	m := orderMap{orderLayout: l, pitch: max((mapWidth-2*mapMargin)/(last+1), mapStep), tops: make([]int, l.tracks), height: mapMargin / 2}
	for t := range m.tops {
		m.tops[t] = m.height
		for _, n := range l.lanes {
			if n.track == t {
				m.height = m.tops[t] + mapHead + shrunk(n.height-orderBandHead) + 6
			}
		}
	}
	return m
}

// shrunk is a height of the large drawing on the small one.
func shrunk(height int) int { return height * mapStep / (orderBoxHeight + orderApart) }

// at is the middle of a spot on the map: within its track as high or low as in
// the large drawing.
func (m orderMap) at(s spot) (x, y int) {
	n := m.lanes[s.lane]
	return mapMargin + s.layer*m.pitch + m.pitch/2, m.tops[n.track] + mapHead + shrunk(s.middle()-n.y-orderBandHead)
}

func (l *orderLayout) drawMap() template.HTML {
	m := l.newMap()
	last := 0
	for _, n := range l.lanes {
		last = max(last, n.last)
	}
	label := l.graph.Say.Say("%s, small: each mark leads to its step in the drawing below", l.graph.Title)
	d := newSVG("order-map", 2*mapMargin+m.pitch*(last+1), m.height+mapMargin/2, label)
	for _, n := range l.lanes {
		m.drawLane(d, n)
	}
	for _, r := range l.routes {
		m.drawRoute(d, r)
	}
	for i, step := range l.graph.Steps {
		m.drawStep(d, step, l.spots[i])
	}
	return d.html()
}

func (m orderMap) drawLane(d *svg, n lane) {
	x, width := mapMargin+n.first*m.pitch, (n.last-n.first+1)*m.pitch
	d.rect("og-band", x+1, m.tops[n.track], width-2, mapHead+shrunk(n.height-orderBandHead)+2, 4)
	if name := fit(n.name, orderSmallSize, width-8); name != "" {
		d.text("og-band-name", x+5, m.tops[n.track]+13, name)
	}
}

func (m orderMap) drawRoute(d *svg, r route) {
	p := &outline{}
	x, y := m.at(m.spots[r.via[0]])
	p.move(x, y)
	for _, i := range r.via[1:] {
		toX, toY := m.at(m.spots[i])
		p.bend(x, y, toX, toY)
		x, y = toX, toY
	}
	d.path("og-thread", p)
}

func (m orderMap) drawStep(d *svg, s OrderStep, at spot) {
	x, y := m.at(at)
	d.link("#order-"+strconv.FormatInt(s.ID, 10), "og-dot "+stateClass(s.State))
	d.title(s.sentence(m.graph.Say))
	d.rect("og-dot-box", x-mapMark/2-2, y-mapMark/2-2, mapMark+4, mapMark+4, 3)
	d.markScaled(s.State, x-mapMark/2, y-mapMark/2, "1.5")
	if s.Holds > 0 {
		d.rect("og-post", x+mapMark/2+2, y-mapMark/2-2, 3, mapMark+4, 1)
	}
	d.end()
}
