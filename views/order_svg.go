package views

import (
	"html/template"
	"strconv"
	"strings"

	"faceside/models/phrase"
	"faceside/views/tongues"
)

// Sizes of text in the drawing, in pixels; drawings.css sets the same.
const (
	orderNameSize  = 16
	orderSmallSize = 14
	orderLagSize   = 14
	orderLagHeight = 20
	orderInset     = 10
)

func (l *orderLayout) draw() template.HTML {
	label := l.graph.Say.Say("%s: %s, read left to right", l.graph.Title, steps(len(l.graph.Steps)))
	d := newSVGCalled(l.graph.ID, "order-graph", l.width, l.height, label)
	for _, lane := range l.lanes {
		l.drawLane(d, lane)
	}
	for _, r := range l.routes {
		l.drawRoute(d, r)
	}
	for _, label := range l.labels {
		drawLag(d, label)
	}
	for i, step := range l.graph.Steps {
		l.drawOrderStep(d, step, l.spots[i].x, l.spots[i].y)
	}
	return d.html()
}

func (l *orderLayout) drawLane(d *svg, n lane) {
	left, right := l.width, 0
	for _, s := range l.spots {
		if s.layer == n.first {
			left = s.x - orderMargin
		}
		if s.layer == n.last {
			right = s.x + orderBoxWidth + orderMargin
		}
	}
	d.group("og-stream")
	d.rect("og-band", left, n.y, right-left, n.height, 8)
	if name := fit(n.name, orderSmallSize, right-left-2*orderInset); name != "" {
		d.text("og-band-name", left+orderInset, n.y+16, name)
	}
	d.end()
}

func (l *orderLayout) drawRoute(d *svg, r route) {
	class := "og-link"
	if l.graph.Steps[r.edge.from].State == StateDone {
		class += " is-done"
	}
	p := &outline{}
	at := l.spots[r.edge.from]
	x, y := at.x+orderBoxWidth, at.middle()
	p.move(x, y)
	for _, i := range r.via[1:] {
		s := l.spots[i]
		p.bend(x, y, s.x, s.middle())
		x, y = s.x, s.middle()
		if i != r.edge.to {
			x += orderBoxWidth
			p.to(x, y)
		}
	}
	d.group(class)
	d.title(l.routeSentence(r.edge))
	d.path("og-wire", p)
	d.path("og-arrow", (&outline{}).move(x, y).to(x-8, y-5).to(x-8, y+5).shut())
	d.end()
}

func (l *orderLayout) routeSentence(e edge) string {
	s := l.graph.Say.Say("%s before %s", l.graph.Steps[e.from].Name, l.graph.Steps[e.to].Name)
	if len(e.labels) > 0 {
		s += " (" + strings.Join(e.labels, ", ") + ")"
	}
	if len(e.why) > 0 {
		s += ": " + strings.Join(e.why, " ")
	}
	return s
}

func drawLag(d *svg, label orderLabel) {
	width := textWidth(label.text, orderLagSize) + 10
	d.group("og-lag")
	if label.because != "" {
		d.title(label.because)
	}
	d.rect("og-lag-box", label.x-width/2, label.y-orderLagHeight/2, width, orderLagHeight, 4)
	d.text("og-lag-text", label.x, label.y+4, label.text)
	d.end()
}

// drawOrderStep draws one box: state by shape and word, phase, name, time; a
// gate has a thick right side and says how much it holds.
func (l *orderLayout) drawOrderStep(d *svg, s OrderStep, x, y int) {
	class := "og-step " + stateClass(s.State)
	if s.Holds > 0 {
		class += " is-gate"
	}
	d.begin("g", "id", "order-"+strconv.FormatInt(s.ID, 10), "class", class)
	d.link(s.Href, "og-step-link")
	d.title(s.sentence(l.graph.Say))
	d.rect("og-box", x, y, orderBoxWidth, orderBoxHeight, 6)
	d.markScaled(s.State, x+orderInset, y+9, "1.3")
	inner := orderBoxWidth - 2*orderInset
	said := l.graph.Say.Say(string(s.State))
	if s.Phase != "" {
		said += " · " + s.Phase
	}
	beside := inner - 21
	if s.Pinned {
		beside -= 14
		d.pin(x+orderBoxWidth-orderInset-11, y+11)
	}
	d.text("og-state", x+orderInset+21, y+22, fit(said, orderSmallSize, beside))
	for n, line := range wrap(s.Name, orderNameSize, inner, inner, inner) {
		d.text("og-name", x+orderInset, y+43+18*n, line)
	}
	d.text("og-time", x+orderInset, y+orderBoxHeight-9, s.times(l.graph.Say, inner))
	if s.Holds > 0 {
		d.drawGate(l.graph.Say.Say("gate, holds %d", s.Holds), x, y)
	}
	d.end()
	d.end()
}

// drawGate marks a box as a gate: a post on its right side and a tag.
func (d *svg) drawGate(tag string, x, y int) {
	right := x + orderBoxWidth
	d.rect("og-post", right-6, y+6, 6, orderBoxHeight-6, 2)
	width := textWidth(tag, orderSmallSize) + 12
	d.rect("og-gate-box", right-width, y-11, width, 19, 4)
	d.text("og-gate-text", right-width+6, y+4, tag)
}

// times says how long the step takes and rests or, of a step that is pinned or
// has no rest, when it is planned; of the two as much as there is room for.
func (s OrderStep) times(say *tongues.Speaker, width int) string {
	long, when := shortTime(s.Minutes), s.When
	switch {
	case s.Pinned:
		when = say.Say("pinned %s", when)
	case s.RestMin > 0 && s.Rest != "":
		return fit(long+" + "+shortTime(s.RestMin)+" "+say.Say(s.Rest), orderSmallSize, width)
	case when == "":
		return long
	}
	if both := when + " · " + long; textWidth(both, orderSmallSize) <= width {
		return both
	}
	return fit(when, orderSmallSize, width)
}

// sentence says everything of a step, for the title of its box.
func (s OrderStep) sentence(say *tongues.Speaker) string {
	said := say.Say("%s: %s. %s of attended time.", s.Name, phrase.Of(string(s.State)), shortTime(s.Minutes))
	if s.RestMin > 0 && s.Rest != "" {
		said = say.Say("%s: %s. %s of attended time, then %s %s.", s.Name, phrase.Of(string(s.State)), shortTime(s.Minutes), shortTime(s.RestMin), phrase.Of(s.Rest))
	}
	if s.When != "" {
		said += " " + say.Say("Planned %s.", s.When)
	}
	if s.Pinned {
		said += " " + say.Say("Pinned there.")
	}
	if s.Holds > 0 {
		said += " " + say.Say("A gate: %s.", phrase.Of("%d steps wait for it", s.Holds))
	}
	return said
}

// steps says "1 step", "3 steps".
func steps(n int) phrase.Phrase {
	if n == 1 {
		return phrase.Of("1 step")
	}
	return phrase.Of("%d steps", n)
}
