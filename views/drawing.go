package views

import "html/template"

// Drawing is an SVG, or the sentence that stands in for it.
type Drawing struct {
	SVG   template.HTML
	Wrong string // why it could not be drawn
}
