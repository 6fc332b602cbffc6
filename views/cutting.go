package views

import (
	"fmt"
	"html/template"
)

// BoardDrawing is one board as it lies on the bench: its length from left to right,
// its lower edge towards the maker. Sizes and places are in millimetres, from the left
// end and from the lower edge.
type BoardDrawing struct {
	Title         string // a sentence for those who cannot see it
	Length, Width float64
	// Longest and Widest are the greatest sizes of the boards beside it: all have one
	// scale. 0 where it stands alone.
	Longest, Widest float64
	Whole           bool // nothing is cut from it yet
	Parts           []DrawnCutPart
	Offcuts         []DrawnArea // worth keeping
	Defects         []DrawnArea
	Cuts            []DrawnCut
}

// DrawnCutPart is a part in a board.
type DrawnCutPart struct {
	Letter     string // that the list of parts tells it by
	Name       string
	X, Y, W, H float64
}

// DrawnArea is a rectangle of a board with something to say.
type DrawnArea struct {
	Name       string
	X, Y, W, H float64
}

// DrawnCut is a cut from edge to edge of a piece.
type DrawnCut struct {
	First          bool // one of the first cuts, across or along the whole board
	X1, Y1, X2, Y2 float64
}

// Sizes of a board's drawing, in pixels; drawings.css sets the same text.
const (
	boardMostLength = 960
	boardMostWidth  = 480
	boardLeastScale = 0.35 // pixels a millimetre: a part of 40 mm can still carry its letter
	boardMargin     = 10
	boardTextSize   = 13
)

// SVG draws the board.
func (b BoardDrawing) SVG() (template.HTML, error) {
	if !(b.Length > 0 && b.Width > 0) {
		return "", fmt.Errorf("the board is %g by %g mm; both must be more than 0", b.Length, b.Width)
	}
	scale := min(boardMostLength/max(b.Length, b.Longest), boardMostWidth/max(b.Width, b.Widest))
	s := boardSheet{scale: max(scale, boardLeastScale), width: b.Width}
	box := s.box(0, 0, b.Length, b.Width)
	d := newSVG("board-drawing", box[2]+2*boardMargin, box[3]+2*boardMargin, b.Title)
	class := "ct-left"
	if b.Whole {
		class = "ct-wood"
	}
	d.rect(class, box[0], box[1], box[2], box[3], 0)
	for _, o := range b.Offcuts {
		s.area(d, "ct-offcut", "ct-keep", o)
	}
	for _, p := range b.Parts {
		s.part(d, p)
	}
	for _, c := range b.Cuts {
		s.cut(d, c)
	}
	for _, a := range b.Defects {
		s.defect(d, a)
	}
	d.rect("ct-edge", box[0], box[1], box[2], box[3], 0)
	return d.html(), nil
}

// boardSheet turns millimetres of a board into pixels of its drawing.
type boardSheet struct {
	scale float64
	width float64 // of the board
}

// box is left, top, width and height of a rectangle of the board, in pixels.
func (s boardSheet) box(x, y, w, h float64) [4]int {
	left, top := s.across(x), s.up(y+h)
	return [4]int{left, top, max(s.across(x+w)-left, 1), max(s.up(y)-top, 1)}
}

func (s boardSheet) across(mm float64) int { return boardMargin + pixels(mm*s.scale) }
func (s boardSheet) up(mm float64) int     { return boardMargin + pixels((s.width-mm)*s.scale) }

// part draws a part with its letter, and its name where there is room.
func (s boardSheet) part(d *svg, p DrawnCutPart) {
	b := s.box(p.X, p.Y, p.W, p.H)
	d.begin("g", "class", "ct-part", "data-part", p.Letter)
	d.title(p.Letter + " " + p.Name)
	d.rect("ct-wood", b[0], b[1], b[2], b[3], 0)
	text := p.Letter + " " + p.Name
	if textWidth(text, boardTextSize) > b[2]-8 {
		text = p.Letter
	}
	s.label(d, "ct-text", b, text)
	d.end()
}

// label writes a text in the middle of a box, if the box has room for it.
func (s boardSheet) label(d *svg, class string, b [4]int, text string) {
	if b[3] < boardTextSize || textWidth(text, boardTextSize) > b[2]-2 {
		return
	}
	d.text(class, b[0]+b[2]/2, b[1]+b[3]/2+boardTextSize*3/8, text)
}

// area draws a rectangle that is named.
func (s boardSheet) area(d *svg, group, class string, a DrawnArea) {
	b := s.box(a.X, a.Y, a.W, a.H)
	d.group(group)
	d.title(a.Name)
	d.rect(class, b[0], b[1], b[2], b[3], 0)
	s.label(d, "ct-text", b, a.Name)
	d.end()
}

// defect draws a crossed-out rectangle: a shape as well as a colour.
func (s boardSheet) defect(d *svg, a DrawnArea) {
	b := s.box(a.X, a.Y, a.W, a.H)
	d.group("ct-defect")
	d.title(a.Name)
	d.rect("ct-flaw", b[0], b[1], b[2], b[3], 0)
	d.path("ct-cross", (&outline{}).move(b[0], b[1]).to(b[0]+b[2], b[1]+b[3]).move(b[0], b[1]+b[3]).to(b[0]+b[2], b[1]))
	d.end()
}

func (s boardSheet) cut(d *svg, c DrawnCut) {
	class := "ct-cut"
	if c.First {
		class = "ct-cut-first"
	}
	d.line(class, s.across(c.X1), s.up(c.Y1), s.across(c.X2), s.up(c.Y2))
}
