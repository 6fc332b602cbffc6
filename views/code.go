package views

import (
	"html/template"
	"strconv"
)

// Code is a drawing that a camera reads: dark squares on a light ground.
type Code struct {
	Title string // for those who cannot see it
	Dark  [][]bool
}

const (
	// codeQuiet is how many squares stay light around it, as the readers want
	// (ISO/IEC 18004, 4 for a QR code).
	codeQuiet = 4
	codePixel = 4 // of a screen to a square
)

// SVG draws the code, a shape for all that is dark.
func (c Code) SVG() template.HTML {
	squares := len(c.Dark) + 2*codeQuiet
	size := strconv.Itoa(squares * codePixel)
	d := &svg{}
	d.begin("svg", "xmlns", "http://www.w3.org/2000/svg", "class", "code", "width", size, "height", size,
		"viewBox", "0 0 "+strconv.Itoa(squares)+" "+strconv.Itoa(squares), "shape-rendering", "crispEdges", "role", "img", "aria-label", c.Title)
	d.rect("code-ground", 0, 0, squares, squares, 0)
	dark := &outline{}
	for y, row := range c.Dark {
		for x := 0; x < len(row); x++ {
			if !row[x] {
				continue
			}
			from := x
			for x+1 < len(row) && row[x+1] {
				x++
			}
			dark.move(codeQuiet+from, codeQuiet+y).add("h", x+1-from).add("v", 1).add("h", from-x-1).shut()
		}
	}
	d.path("code-dark", dark)
	return d.html()
}
