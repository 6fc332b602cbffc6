package views

import (
	"cmp"
	"math"
	"slices"
	"strconv"
)

const (
	sizeFirst = 22 // pixels from the piece to the first line of sizes
	sizeArrow = 8
	sizePad   = 4
)

// sizeLine is one size laid out along its direction, in pixels from the left or
// from the floor.
type sizeLine struct {
	PieceSize
	row      int // counted from the piece outward
	from, to int
	text     string
	textAt   int  // where the text is centred
	outside  bool // the arrows and the text did not fit between the ends
}

// out is how far the line stands from the piece.
func (l sizeLine) out() int { return sizeFirst + l.row*pieceRow }

// sizeRows lays out the sizes of one direction, the shortest nearest to the piece,
// each in the first row where it has room.
func sizeRows(sizes []PieceSize, upright bool, scale float64, whole int) []sizeLine {
	var lines []sizeLine
	for _, s := range sizes {
		if s.Upright == upright && s.To > s.From {
			lines = append(lines, s.line(scale, whole))
		}
	}
	slices.SortStableFunc(lines, func(a, b sizeLine) int { return cmp.Compare(a.to-a.from, b.to-b.from) })
	for i := range lines {
		for slices.ContainsFunc(lines[:i], func(l sizeLine) bool { return l.row == lines[i].row && l.meets(lines[i]) }) {
			lines[i].row++
		}
	}
	return lines
}

// line places a size and its text: name and size between the arrows, or the size
// alone, or beside them on the side where there is more room.
func (s PieceSize) line(scale float64, whole int) sizeLine {
	l := sizeLine{PieceSize: s, from: pixels(s.From * scale), to: pixels(s.To * scale)}
	l.textAt = (l.from + l.to) / 2
	between := l.to - l.from - 2*sizePad
	for _, text := range []string{s.Name + " " + s.Text, s.Text} {
		if textWidth(text, pieceTextSize) <= between {
			l.text = text
			return l
		}
	}
	l.text, l.outside = s.Text, true
	reach := sizeArrow*2 + sizePad + textWidth(l.text, pieceTextSize)/2
	if l.from+l.to > whole {
		l.textAt = l.from - reach
	} else {
		l.textAt = l.to + reach
	}
	return l
}

// meets tells whether two lines would run into each other in one row.
func (l sizeLine) meets(other sizeLine) bool {
	a, b := l.reach(), other.reach()
	return a[0] < b[1] && b[0] < a[1]
}

// reach is what a line takes of its row, its text and outer arrows included.
func (l sizeLine) reach() [2]int {
	half := textWidth(l.text, pieceTextSize)/2 + sizePad
	low, high := min(l.from, l.textAt-half), max(l.to, l.textAt+half)
	if l.outside {
		low, high = min(low, l.from-2*sizeArrow), max(high, l.to+2*sizeArrow)
	}
	return [2]int{low, high}
}

// size draws one size: two lines that lead out from the piece, an arrow between
// them, and its text.
func (s pieceSheet) size(d *svg, l sizeLine, floor int) {
	at := func(along, out int) (x, y int) {
		if l.Upright {
			return s.x - out, floor - along
		}
		return s.x + along, floor + out
	}
	stroke := func(class string, along1, out1, along2, out2 int) {
		x1, y1 := at(along1, out1)
		x2, y2 := at(along2, out2)
		d.line(class, x1, y1, x2, y2)
	}
	out := l.out()
	d.group("pd-size")
	d.title(l.Name + " " + l.PieceSize.Text)
	stroke("pd-lead", l.from, 4, l.from, out+4)
	stroke("pd-lead", l.to, 4, l.to, out+4)
	inward := 1
	if l.outside {
		inward = -1
		stroke("pd-measure", l.from-2*sizeArrow, out, l.to+2*sizeArrow, out)
	} else {
		stroke("pd-measure", l.from, out, l.to, out)
	}
	for _, tip := range [][2]int{{l.from, inward}, {l.to, -inward}} {
		p := &outline{}
		p.move(at(tip[0], out))
		p.to(at(tip[0]+tip[1]*sizeArrow, out-3))
		p.to(at(tip[0]+tip[1]*sizeArrow, out+3))
		d.path("pd-arrow", p.shut())
	}
	x, y := at(l.textAt, out-5)
	turn := ""
	if l.Upright {
		x, y = at(l.textAt, out+5)
		turn = "rotate(-90 " + strconv.Itoa(x) + " " + strconv.Itoa(y) + ")"
	}
	d.begin("text", "class", "pd-text", "x", strconv.Itoa(x), "y", strconv.Itoa(y), "transform", turn)
	d.escaped(l.text)
	d.end()
	d.end()
}

func pixels(v float64) int { return int(math.Round(v)) }
