package handlers

import (
	"slices"
	"strings"

	"faceside/models/stock"
	"faceside/models/wood"
	"faceside/views"
)

// cutTeller tells the boards of one plan with their cuts.
type cutTeller struct {
	stockWords
	kerf    wood.Length
	letters map[string]string // by piece
	pieces  map[string]stock.Piece
	from    map[string]string // commission by piece
}

// board tells one board: its drawing, and its cuts in order.
func (t cutTeller) board(l stock.Layout, longest, widest wood.Length) views.CutBoard {
	out := views.CutBoard{Title: t.say("No. %s, %s ## a board", l.Board.ID, t.face(l.Board.Length, l.Board.Width)),
		Facts: []string{t.say("%d parts", len(l.Placed)), t.say("waste %s", t.percent(l.Waste()))}}
	if l.Board.Log != "" {
		out.Facts = append(out.Facts, t.say("log %s, place %d", l.Board.Log, l.Board.InLog))
	}
	if l.Board.Note != "" {
		out.Facts = append(out.Facts, l.Board.Note)
	}
	out.Drawing = t.drawn(t.drawing(l, longest, widest))
	for _, c := range l.Cuts {
		out.Cuts = append(out.Cuts, t.cut(c, l))
	}
	return out
}

// drawing is a board with its parts, offcuts, defects and cuts.
func (t cutTeller) drawing(l stock.Layout, longest, widest wood.Length) views.BoardDrawing {
	d := views.BoardDrawing{
		Title:  t.say("Board %s with its cuts: %s", l.Board.ID, strings.Join(t.inside(l, stock.Rect{Length: l.Board.Length, Width: l.Board.Width}), ", ")),
		Length: l.Board.Length.Millimetres(), Width: l.Board.Width.Millimetres(), Longest: longest.Millimetres(), Widest: widest.Millimetres(),
	}
	area := func(name string, r stock.Rect) views.DrawnArea {
		return views.DrawnArea{Name: name, X: r.X.Millimetres(), Y: r.Y.Millimetres(), W: r.Length.Millimetres(), H: r.Width.Millimetres()}
	}
	for _, p := range l.Placed {
		a := area("", p.Rect)
		d.Parts = append(d.Parts, views.DrawnCutPart{Letter: t.letters[p.Piece], Name: t.pieces[p.Piece].Name, X: a.X, Y: a.Y, W: a.W, H: a.H})
	}
	for _, o := range l.Offcuts {
		if o.Keep {
			d.Offcuts = append(d.Offcuts, area(t.say("keep %s ## an offcut", t.face(o.Length, o.Width)), o.Rect))
		}
	}
	for i, f := range l.Board.Defects {
		d.Defects = append(d.Defects, area(t.defectName(f.Note, i), f.Rect))
	}
	for _, c := range l.Cuts {
		d.Cuts = append(d.Cuts, t.line(c))
	}
	return d
}

// line is a cut as a line along the middle of its kerf.
func (t cutTeller) line(c stock.Cut) views.DrawnCut {
	at, f := (c.At + t.kerf/2).Millimetres(), c.From
	if c.Kind == stock.Crosscut {
		return views.DrawnCut{First: c.Stage == 1, X1: at, Y1: f.Y.Millimetres(), X2: at, Y2: f.Top().Millimetres()}
	}
	return views.DrawnCut{First: c.Stage == 1, X1: f.X.Millimetres(), Y1: at, X2: f.Right().Millimetres(), Y2: at}
}

// cut tells one cut.
func (t cutTeller) cut(c stock.Cut, l stock.Layout) views.CutStep {
	near, far := t.severed(c)
	out := views.CutStep{From: t.say("of the %s piece", t.face(c.From.Length, c.From.Width))}
	if c.Stage == 0 {
		out.Kind = t.say("Crosscut")
		if len(t.inside(l, near)) == 0 {
			out.Measure, out.From = t.say("%s off the left end", t.length(c.Measure+t.kerf)), t.say("kerf included")
		} else {
			out.Measure, out.From = t.say("at %s", t.length(c.Measure)), t.say("from the left end: the right end falls off")
		}
		return out
	}
	out.Kind, out.Measure = t.say("Crosscut"), t.say("at %s", t.length(c.Measure))
	if c.Kind == stock.Rip {
		out.Kind, out.Measure = t.say("Rip"), t.say("to %s", t.length(c.Measure))
	}
	if c.Measure == 0 {
		out.Measure = t.say("the edge clean")
	}
	var gives []string
	for _, side := range []stock.Rect{near, far} {
		if text := t.yields(side, l); text != "" {
			gives = append(gives, text)
		}
	}
	if len(gives) > 0 {
		out.Gives = "→ " + strings.Join(gives, ", ")
	}
	return out
}

// severed is what lies before the kerf of a cut and what lies after it.
func (t cutTeller) severed(c stock.Cut) (near, far stock.Rect) {
	near, far = c.From, c.From
	if c.Kind == stock.Crosscut {
		near.Length = c.At - c.From.X
		far.X, far.Length = c.At+t.kerf, max(0, c.From.Right()-c.At-t.kerf)
	} else {
		near.Width = c.At - c.From.Y
		far.Y, far.Width = c.At+t.kerf, max(0, c.From.Top()-c.At-t.kerf)
	}
	return near, far
}

// yields says what a piece is, once it is cut off: a part, or an offcut to keep; ""
// for what is cut on, or falls.
func (t cutTeller) yields(r stock.Rect, l stock.Layout) string {
	for _, p := range l.Placed {
		if p.Rect == r {
			return t.letters[p.Piece] + " " + t.pieces[p.Piece].Name
		}
	}
	for _, o := range l.Offcuts {
		if o.Rect == r && o.Keep {
			return t.say("keep %s ## an offcut", t.face(r.Length, r.Width))
		}
	}
	return ""
}

// inside lists the letters and names of the parts within a rectangle, each once.
func (t cutTeller) inside(l stock.Layout, r stock.Rect) []string {
	var all []string
	for _, p := range l.Placed {
		name := t.letters[p.Piece] + " " + t.pieces[p.Piece].Name
		if p.X >= r.X && p.Y >= r.Y && p.Right() <= r.Right() && p.Top() <= r.Top() && !slices.Contains(all, name) {
			all = append(all, name)
		}
	}
	return all
}
