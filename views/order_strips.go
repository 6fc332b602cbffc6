package views

import (
	"fmt"
	"html/template"
	"slices"
	"strconv"
)

// stripWidth is how wide a strip may be, in pixels: on a sheet of A4 or letter
// paper that lies on its side its smallest text is then about seven points high.
const stripWidth = 1240

// Strips are the drawing that SVG makes, cut between its columns into pieces that
// a sheet of paper is wide enough for; they show what stands in the same page
// under the graph's ID. There are none where the whole drawing is narrow enough,
// or has no ID. It fails as SVG does.
func (g OrderGraph) Strips() ([]template.HTML, error) {
	if g.ID == "" {
		return nil, nil
	}
	l, err := g.place()
	if err != nil {
		return nil, fmt.Errorf("draw %q in strips: %w", g.Title, err)
	}
	if l.width <= stripWidth {
		return nil, nil
	}
	cuts := l.cuts()
	var all []template.HTML
	for i, c := range cuts {
		all = append(all, l.strip(c, g.Say.Say("%s, part %d of %d", g.Title, i+1, len(cuts))))
	}
	return all, nil
}

// cut is a stretch of the drawing, from left to right.
type cut struct{ from, to int }

// cuts are the stretches that the drawing is cut into, as few as the width allows:
// whole columns with the gaps on both sides of them, so that no box is cut, and
// what is written in a gap stands whole on both strips.
func (l *orderLayout) cuts() []cut {
	var columns []int
	for _, s := range l.spots {
		columns = append(columns, s.x)
	}
	slices.Sort(columns)
	columns = slices.Compact(columns)
	left := func(i int) int {
		if i == 0 {
			return 0
		}
		return columns[i-1] + orderBoxWidth
	}
	right := func(i int) int {
		if i == len(columns)-1 {
			return l.width
		}
		return columns[i+1]
	}
	var all []cut
	for i := range columns {
		if n := len(all); n > 0 && right(i)-all[n-1].from <= stripWidth {
			all[n-1].to = right(i)
		} else {
			all = append(all, cut{left(i), right(i)})
		}
	}
	return all
}

func (l *orderLayout) strip(c cut, label string) template.HTML {
	d := &svg{}
	width, height := strconv.Itoa(c.to-c.from), strconv.Itoa(l.height)
	d.begin("svg", "xmlns", "http://www.w3.org/2000/svg", "class", "order-strip", "width", width, "height", height,
		"viewBox", strconv.Itoa(c.from)+" 0 "+width+" "+height, "role", "img", "aria-label", label)
	d.shape("use", "href", "#"+l.graph.ID)
	return d.html()
}
