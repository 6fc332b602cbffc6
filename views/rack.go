package views

import (
	"html/template"
	"strconv"
)

// ClampsDrawing is the clamps of one class as they hang: those that are free as
// clamps on their pegs, those that are out as empty outlines with the number of the
// step they are on.
type ClampsDrawing struct {
	Title string // a sentence for those who cannot see it
	Each  int    // how many clamps one mark stands for; 1 but for a very large class
	Free  int
	Out   []ClampsOut
}

// ClampsOut is so many clamps that are on one step.
type ClampsOut struct {
	Number int // that the list beside the drawing tells the step by
	Count  int
	Over   bool // their time is over: they wait to be taken off
}

// Sizes of the drawing, in pixels: it is as wide as a phone shows, and drawings.css
// sets the same text.
const (
	rackPegs   = 12 // in a row
	rackCell   = 27
	rackRow    = 66
	rackMargin = 6
)

// MostClamps is how many clamps are drawn one by one.
const MostClamps = 60

// SVG draws the class.
func (c ClampsDrawing) SVG() template.HTML {
	pegs := c.pegs()
	rows := max(1, (len(pegs)+rackPegs-1)/rackPegs)
	d := newSVG("rack-drawing", rackPegs*rackCell+2*rackMargin, rows*rackRow+rackMargin, c.Title)
	for row := range rows {
		d.rect("rk-rail", rackMargin, rackMargin+row*rackRow, rackPegs*rackCell, 7, 2)
	}
	for i, p := range pegs {
		p.draw(d, rackMargin+i%rackPegs*rackCell, rackMargin+i/rackPegs*rackRow)
	}
	return d.html()
}

// peg is a place on the rail; number 0 is a clamp that hangs there.
type peg struct {
	number int
	over   bool
}

func (c ClampsDrawing) pegs() []peg {
	each := max(1, c.Each)
	marks := func(n int) int { return (max(n, 0) + each - 1) / each }
	pegs := make([]peg, marks(c.Free))
	for _, o := range c.Out {
		for range marks(o.Count) {
			pegs = append(pegs, peg{o.Number, o.Over})
		}
	}
	return pegs
}

// draw draws a bar clamp, jaws to the right, hanging from the rail, or the outline
// of one that is out.
func (p peg) draw(d *svg, x, y int) {
	if p.number == 0 {
		d.group("rk-free")
		d.path("rk-clamp", clampOutline(x, y+4))
		d.line("rk-screw", x+18, y+34, x+18, y+52)
		d.line("rk-handle", x+14, y+52, x+22, y+52)
		d.end()
		return
	}
	class := "rk-out"
	if p.over {
		class = "rk-out is-over"
	}
	d.group(class)
	d.rect("rk-gone", x+3, y+12, rackCell-6, 44, 3)
	if p.over {
		d.path("rk-back", (&outline{}).move(x+8, y+47).to(x+13, y+52).to(x+20, y+43))
	}
	d.text("rk-number", x+rackCell/2, y+34, strconv.Itoa(p.number))
	d.end()
}

// clampOutline is the bar, the fixed jaw above and the sliding one below.
func clampOutline(x, y int) *outline {
	return (&outline{}).move(x+6, y).to(x+11, y).to(x+11, y+5).to(x+22, y+5).to(x+22, y+12).to(x+11, y+12).
		to(x+11, y+26).to(x+22, y+26).to(x+22, y+33).to(x+11, y+33).to(x+11, y+54).to(x+6, y+54).shut()
}
