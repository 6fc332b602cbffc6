package views

import "html/template"

// Drawing is an SVG, or the sentence that stands in for it.
type Drawing struct {
	SVG template.HTML
	Map template.HTML // the same, small, its marks leading into SVG; "" where that is small enough
	// Strips are the same for paper, below each other; none where it is narrow enough.
	Strips []template.HTML
	Wrong  string // why it could not be drawn
}
