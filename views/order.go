package views

import (
	"fmt"
	"html/template"

	"faceside/views/tongues"
)

// OrderGraph is the order of work of one commission, to be drawn read left to
// right: a box a step, a stream a sub-assembly, meeting at glue-ups.
type OrderGraph struct {
	ID    string // of the drawing in its page; without one there are no strips of it
	Title string // for those who cannot see the drawing
	Say   *tongues.Speaker
	Steps []OrderStep
	Links []OrderLink
}

// OrderStep is one box.
type OrderStep struct {
	ID      int64 // unique in the drawing
	Name    string
	Stream  string // the part, assembly or piece it works toward: its lane
	Phase   string
	State   State
	Minutes int    // of attended time
	Rest    string // "in clamps", "drying" or "resting"; "" for none
	RestMin int    // minutes of that rest
	Holds   int    // steps that cannot start before its rest is over; above 0 it is a gate
	When    string // when it is planned, in few letters ("Tue 8:00"); "" if it is not
	Pinned  bool   // and it is pinned there
	Href    string // a place in this program, or ""
}

// OrderLink keeps one step after another.
type OrderLink struct {
	Before, After int64
	From          string // what the lags count from: "end" (or ""), "start" or "attended"
	Least         int    // minutes
	Greatest      *int   // minutes; nil for no limit
	Why           string
}

// SVG draws the graph. It fails on links to steps that are not there, on two
// steps of one number and on a circle of links, and says which step.
func (g OrderGraph) SVG() (template.HTML, error) {
	placed, err := g.place()
	if err != nil {
		return "", fmt.Errorf("draw %q: %w", g.Title, err)
	}
	return placed.draw(), nil
}

// Map draws the whole graph small: a step is its state's shape, and leads to its
// box in the drawing that SVG makes, if that stands in the same page. "" where
// that drawing is small enough to be seen whole. It fails as SVG does.
func (g OrderGraph) Map() (template.HTML, error) {
	placed, err := g.place()
	if err != nil {
		return "", fmt.Errorf("draw %q small: %w", g.Title, err)
	}
	if placed.width <= mapWidth {
		return "", nil
	}
	return placed.drawMap(), nil
}

// place works out where everything goes.
func (g OrderGraph) place() (*orderLayout, error) {
	web, err := newWeb(g)
	if err != nil {
		return nil, err
	}
	web.reduce()
	l := &orderLayout{graph: g, web: web}
	l.assignLayers()
	l.assignLanes()
	l.lengthenEdges()
	l.assignTracks()
	l.untangle()
	l.setHeights()
	l.setColumns()
	l.setLabels()
	return l, nil
}
