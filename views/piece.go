package views

import (
	"fmt"
	"html/template"
	"strings"

	"faceside/views/tongues"
)

// PieceDrawing is a piece as it will stand, seen from several sides at one scale.
type PieceDrawing struct {
	Title  string
	Say    *tongues.Speaker
	Views  []PieceView
	Narrow bool // the views stand below each other, for a narrow column
}

// PieceView is the piece seen from one side. Sizes and places are in millimetres,
// from the left and from the floor.
type PieceView struct {
	Name          string // e.g. "Front"
	Width, Height float64
	Parts         []DrawnPart // the farthest first
	Sizes         []PieceSize
}

// DrawnPart is one part in a view.
type DrawnPart struct {
	Key, Name  string
	X, Y, W, H float64
	Points     [][2]float64 // around a part that is not a rectangle
	Hidden     bool         // wholly behind others: dashed
}

// PieceSize is one size to write beside a view.
type PieceSize struct {
	Name, Text string // e.g. "Height", "450 mm"
	Upright    bool
	From, To   float64
}

// Room for the views, and the sizes of what stands around them, in pixels;
// drawings.css sets the same text.
const (
	pieceMostHeight = 420
	pieceMostWidth  = 700 // of the whole drawing: a tablet held upright shows that
	pieceNarrow     = 360 // most width and height of a view in a narrow drawing
	pieceGap        = 48  // between views, and around them
	pieceNameHeight = 30
	pieceRow        = 36 // from one dimension line to the next
	pieceTextSize   = 15
	pieceNameSize   = 17
)

// SVG draws the views beside each other, their floors on one line, with their
// sizes below and at the left.
func (p PieceDrawing) SVG() (template.HTML, error) {
	scale, err := p.scale()
	if err != nil {
		return "", err
	}
	if p.Narrow {
		return p.below(scale), nil
	}
	sheets, width := p.beside(scale)
	above, below := 0, 0
	for _, s := range sheets {
		above, below = max(above, s.above), max(below, s.below)
	}
	floor := pieceNameHeight + above + 12
	d := newSVG("piece-drawing", width, floor+below+10, p.sentence())
	for _, s := range sheets {
		s.draw(d, floor)
	}
	return d.html(), nil
}

// beside lays the views out beside each other, and says how wide that is.
func (p PieceDrawing) beside(scale float64) (sheets []pieceSheet, width int) {
	width = pieceGap / 2
	for _, v := range p.Views {
		s := v.sheet(scale)
		s.x = width + s.left
		sheets = append(sheets, s)
		width += s.left + s.width + pieceGap
	}
	return sheets, width - pieceGap/2
}

// below draws the views below each other, their left sides on one line.
func (p PieceDrawing) below(scale float64) template.HTML {
	var sheets []pieceSheet
	left, right, height := 0, 0, 0
	for _, v := range p.Views {
		s := v.sheet(scale)
		sheets = append(sheets, s)
		left, right = max(left, s.left), max(right, s.width)
		height += pieceNameHeight + s.above + 12 + s.below + 10
	}
	d := newSVG("piece-drawing", pieceGap/2+left+right+pieceGap/2, height, p.sentence())
	top := 0
	for _, s := range sheets {
		s.x, s.top = pieceGap/2+left, top
		floor := top + pieceNameHeight + s.above + 12
		s.draw(d, floor)
		top = floor + s.below + 10
	}
	return d.html()
}

// scale is in pixels a millimetre, the same for every view: the greatest at which the
// drawing has room, or at which only its words would still be wider.
func (p PieceDrawing) scale() (float64, error) {
	wide, high := 0.0, 0.0
	for _, v := range p.Views {
		if v.Width <= 0 || v.Height <= 0 {
			return 0, fmt.Errorf("the %s view is %g by %g mm; both must be more than 0", v.Name, v.Width, v.Height)
		}
		high = max(high, v.Height)
		wide = max(wide, v.Width)
	}
	if len(p.Views) == 0 {
		return 0, fmt.Errorf("there is no view to draw")
	}
	if p.Narrow {
		return min(pieceNarrow/wide, pieceNarrow/high), nil
	}
	most := min(pieceMostWidth/wide, pieceMostHeight/high)
	for scale := most; scale > most/4; scale *= 0.97 {
		if _, width := p.beside(scale); width <= pieceMostWidth {
			return scale, nil
		}
	}
	return most / 4, nil
}

// sentence says the drawing to those who cannot see it.
func (p PieceDrawing) sentence() string {
	var said []string
	for _, v := range p.Views {
		for _, s := range v.Sizes {
			name := s.Name
			if p.Say.Code() == tongues.English { // German keeps the capital of a noun
				name = strings.ToLower(name)
			}
			said = append(said, name+" "+s.Text)
		}
	}
	return p.Say.Say("%s, drawn to scale: %s", p.Title, strings.Join(said, ", "))
}

// pieceSheet is a view laid out: where it stands, and its sizes in rows.
type pieceSheet struct {
	view          PieceView
	scale         float64
	x, top        int // of its left side and of its name's row
	width, height int
	left, below   int // room for the sizes
	above         int // from the floor to whatever is highest
	sizes         []sizeLine
}

func (v PieceView) sheet(scale float64) pieceSheet {
	s := pieceSheet{view: v, scale: scale, width: pixels(v.Width * scale), height: pixels(v.Height * scale)}
	level := sizeRows(v.Sizes, false, scale, s.width)
	upright := sizeRows(v.Sizes, true, scale, s.height)
	s.sizes = append(level, upright...)
	s.left, s.below = room(upright)+pieceTextSize, room(level)
	s.above = s.height
	for _, l := range upright {
		s.above, s.below = max(s.above, l.reach()[1]), max(s.below, -l.reach()[0])
	}
	s.width = max(s.width, textWidth(v.Name, pieceNameSize))
	for _, l := range level {
		s.width, s.left = max(s.width, l.reach()[1]), max(s.left, -l.reach()[0])
	}
	return s
}

// room is how far out the rows of sizes reach.
func room(lines []sizeLine) int {
	out := 0
	for _, l := range lines {
		out = max(out, l.out()+8)
	}
	return out
}

func (s pieceSheet) draw(d *svg, floor int) {
	d.group("pd-view")
	d.text("pd-name", s.x, s.top+pieceNameHeight-12, s.view.Name)
	drawn := map[[4]int]bool{}
	for _, p := range s.view.Parts {
		if !p.Hidden {
			drawn[s.box(p, floor)] = true
			s.part(d, p, floor)
		}
	}
	for _, p := range s.view.Parts {
		if box := s.box(p, floor); p.Hidden && !drawn[box] {
			drawn[box] = true
			s.part(d, p, floor)
		}
	}
	for _, l := range s.sizes {
		s.size(d, l, floor)
	}
	d.end()
}

// box is where a part stands: left, top, width and height in pixels.
func (s pieceSheet) box(p DrawnPart, floor int) [4]int {
	left, right := s.across(p.X), s.across(p.X+p.W)
	top, low := s.up(p.Y+p.H, floor), s.up(p.Y, floor)
	return [4]int{left, top, max(right-left, 1), max(low-top, 1)}
}

func (s pieceSheet) across(mm float64) int        { return s.x + pixels(mm*s.scale) }
func (s pieceSheet) up(mm float64, floor int) int { return floor - pixels(mm*s.scale) }

// part draws one part.
func (s pieceSheet) part(d *svg, p DrawnPart, floor int) {
	class := "pd-part"
	if p.Hidden {
		class += " is-hidden"
	}
	s.partAs(d, p, class, "pd-wood", "", floor)
}

// partAs draws one part with a look of its own; fill is what it is filled with where
// its class does not say.
func (s pieceSheet) partAs(d *svg, p DrawnPart, class, wood, fill string, floor int) {
	d.begin("g", "class", class, "data-part", p.Key, "fill", fill)
	d.title(p.Name)
	if len(p.Points) == 0 {
		b := s.box(p, floor)
		d.rect(wood, b[0], b[1], b[2], b[3], 0)
	} else {
		line := &outline{}
		for i, at := range p.Points {
			x, y := s.across(at[0]), s.up(at[1], floor)
			if i == 0 {
				line.move(x, y)
			} else {
				line.to(x, y)
			}
		}
		d.path(wood, line.shut())
	}
	d.end()
}
