package views

import (
	"fmt"
	"html/template"
)

// LitPiece is a piece from whichever side shows more of some of its parts, those
// lit: by a pattern of lines and a heavy outline, not by colour alone.
type LitPiece struct {
	Title string
	Views []PieceView // to choose from
	Lit   map[string]bool
	Hatch string // id of its pattern of lines, of which a page has one only
}

// The size of the drawing at most, in pixels.
const (
	litMostWidth  = 640
	litMostHeight = 280
)

// SVG draws the better view without sizes; "" where neither shows a lit part.
func (p LitPiece) SVG() (template.HTML, error) {
	v := p.better()
	if v == nil {
		return "", nil
	}
	if v.Width <= 0 || v.Height <= 0 {
		return "", fmt.Errorf("the %s view is %g by %g mm; both must be more than 0", v.Name, v.Width, v.Height)
	}
	bare := *v
	bare.Sizes = nil
	s := bare.sheet(min(litMostWidth/v.Width, litMostHeight/v.Height))
	const edge = 4 // room for the outline
	s.x = edge
	floor := pieceNameHeight + s.above
	d := newSVG("piece-drawing", s.width+2*edge, floor+edge, p.Title+": "+v.Name)
	d.begin("defs")
	d.begin("pattern", "id", p.Hatch, "width", "7", "height", "7", "patternUnits", "userSpaceOnUse", "patternTransform", "rotate(45)")
	d.rect("pd-hatch-ground", 0, 0, 7, 7, 0)
	d.line("pd-hatch-line", 0, 0, 0, 7)
	d.end()
	d.end()
	s.drawLit(d, p, floor)
	return d.html(), nil
}

// better is the view that shows more of the lit parts, by how many of them and
// then by how large; the first where both show as much.
func (p LitPiece) better() *PieceView {
	var best *PieceView
	bestParts, bestArea := 0, 0.0
	for i := range p.Views {
		seen, area := map[string]bool{}, 0.0
		for _, part := range p.Views[i].Parts {
			if p.Lit[part.Key] && !part.Hidden {
				seen[part.Key] = true
				area += part.W * part.H
			}
		}
		if len(seen) > bestParts || len(seen) == bestParts && area > bestArea {
			best, bestParts, bestArea = &p.Views[i], len(seen), area
		}
	}
	return best
}

// drawLit draws what is seen, and of what is hidden the lit parts alone.
func (s pieceSheet) drawLit(d *svg, p LitPiece, floor int) {
	d.group("pd-view")
	d.text("pd-name", s.x, pieceNameHeight-12, s.view.Name)
	drawn := map[[4]int]bool{}
	for _, hidden := range []bool{false, true} {
		for _, part := range s.view.Parts {
			box := s.box(part, floor)
			if part.Hidden != hidden || hidden && (drawn[box] || !p.Lit[part.Key]) {
				continue
			}
			drawn[box] = true
			class, wood, fill := "pd-part", "pd-wood", ""
			if hidden {
				class += " is-hidden"
			}
			if p.Lit[part.Key] {
				class, wood, fill = class+" is-lit", "pd-lit", "url(#"+p.Hatch+")"
			}
			s.partAs(d, part, class, wood, fill, floor)
		}
	}
	d.end()
}
