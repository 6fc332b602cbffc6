package stock

import (
	"faceside/models/phrase"
	"faceside/models/wood"
)

// CutKind is the direction of a cut.
type CutKind string

// The two kinds of cut.
const (
	Crosscut CutKind = "crosscut" // across the grain
	Rip      CutKind = "rip"      // along the grain
)

// Cut is one cut from edge to edge of the piece in hand.
type Cut struct {
	Kind  CutKind
	Stage int         // 0: end trim; then how often the saw has changed direction, from 1
	From  Rect        // the piece in hand
	At    wood.Length // where the kerf begins: X of a crosscut, Y of a rip, on the board
	// Measure is the length (crosscut) or width (rip) of what lies before the kerf, from
	// the left end or the lower edge of the piece in hand; 0 where only an edge is dressed.
	Measure wood.Length
}

// Placed is where one rough part comes from.
type Placed struct {
	Piece  string // piece key
	Number int    // 1 to the piece's quantity
	Rect
	Turned bool // its length lies across the board
}

// Offcut is what is left of a board when its cuts are done.
type Offcut struct {
	Rect
	Keep bool // the least size worth keeping can be had from it without a defect
}

// Layout is one board with its cuts in an order in which they can be made.
type Layout struct {
	Board   Board
	Cuts    []Cut
	Placed  []Placed
	Offcuts []Offcut
}

// PartArea is the area of the parts of the layout in square metres.
func (l Layout) PartArea() float64 {
	sum := 0.0
	for _, p := range l.Placed {
		sum += p.Area()
	}
	return sum
}

// Waste is the share of the board that becomes no part.
func (l Layout) Waste() float64 { return 1 - l.PartArea()/l.Board.rect().Area() }

// KeptArea is the area of the offcuts worth keeping, in square metres.
func (l Layout) KeptArea() float64 {
	sum := 0.0
	for _, o := range l.Offcuts {
		if o.Keep {
			sum += o.Area()
		}
	}
	return sum
}

// Short is so many of a piece that the boards on hand do not give.
type Short struct {
	Piece    string
	Quantity int
	Why      phrase.Phrase
}

// Plan is how a problem's pieces are cut.
type Plan struct {
	Layouts []Layout // only the boards that are cut into
	Short   []Short
	Matched []Matched // the matches that are cut at least in part
	Bound   Bound     // for the pieces that are not short
	Tried   int       // layouts of all boards that the search looked at
}

// PartArea is the area of all parts cut, in square metres.
func (p Plan) PartArea() float64 { return p.sum(Layout.PartArea) }

// BoardArea is the area of all boards cut into, in square metres.
func (p Plan) BoardArea() float64 {
	return p.sum(func(l Layout) float64 { return l.Board.rect().Area() })
}

// KeptArea is the area of all offcuts worth keeping, in square metres.
func (p Plan) KeptArea() float64 { return p.sum(Layout.KeptArea) }

func (p Plan) sum(of func(Layout) float64) float64 {
	sum := 0.0
	for _, l := range p.Layouts {
		sum += of(l)
	}
	return sum
}

// Waste is the share of the boards cut into that becomes no part, 0 to 1; 0 where
// nothing is cut.
func (p Plan) Waste() float64 {
	if len(p.Layouts) == 0 {
		return 0
	}
	return 1 - p.PartArea()/p.BoardArea()
}

// Lost is the share that becomes neither a part nor an offcut worth keeping.
func (p Plan) Lost() float64 {
	if len(p.Layouts) == 0 {
		return 0
	}
	return 1 - (p.PartArea()+p.KeptArea())/p.BoardArea()
}

// Gap is by what share the boards cut into exceed the bound: 0 means that no plan takes
// less.
func (p Plan) Gap() float64 {
	if p.Bound.Boards == 0 {
		return 0
	}
	return max(0, p.BoardArea()/p.Bound.Boards-1)
}

// ShortLines is the lines, of those the problems were made of, that a plan leaves
// short, with the quantity that is missing: what is still to be bought.
func ShortLines(lines []Line, plans ...Plan) []Line {
	missing := map[string]int{}
	for _, p := range plans {
		for _, s := range p.Short {
			missing[s.Piece] += s.Quantity
		}
	}
	var out []Line
	for _, l := range lines {
		if n := missing[l.Commission+"/"+l.Part]; n > 0 {
			l.Quantity = n
			out = append(out, l)
		}
	}
	return out
}
