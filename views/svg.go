package views

import (
	"encoding/xml"
	"html/template"
	"strconv"
	"strings"
)

// svg writes one drawing, shape by shape. Positions are whole pixels, so that a
// drawing is the same on every machine. What it writes is well-formed XML that
// may also stand inside an HTML page; looks come from classes alone.
type svg struct {
	out  strings.Builder
	open []string
}

// newSVG begins a drawing of a size in pixels, named for those who cannot see it.
func newSVG(class string, width, height int, label string) *svg {
	return newSVGCalled("", class, width, height, label)
}

// newSVGCalled begins one that another drawing of the page can use by its id.
func newSVGCalled(id, class string, width, height int, label string) *svg {
	d := &svg{}
	d.begin("svg", "id", id, "xmlns", "http://www.w3.org/2000/svg", "class", class,
		"width", strconv.Itoa(width), "height", strconv.Itoa(height),
		"viewBox", "0 0 "+strconv.Itoa(width)+" "+strconv.Itoa(height),
		"role", "group", "aria-label", label)
	return d
}

// begin opens an element; attributes are name, value, name, value, and those
// with an empty value are left out.
func (d *svg) begin(name string, attributes ...string) {
	d.tag(name, attributes)
	d.out.WriteByte('>')
	d.open = append(d.open, name)
}

// end closes the element opened last.
func (d *svg) end() {
	last := len(d.open) - 1
	d.out.WriteString("</" + d.open[last] + ">")
	d.open = d.open[:last]
	if last <= 2 {
		d.out.WriteByte('\n') // a line a shape, for whoever reads a golden file
	}
}

// shape writes an element with nothing inside.
func (d *svg) shape(name string, attributes ...string) {
	d.tag(name, attributes)
	d.out.WriteString("/>")
}

func (d *svg) tag(name string, attributes []string) {
	d.out.WriteString("<" + name)
	for i := 0; i+1 < len(attributes); i += 2 {
		if attributes[i+1] == "" {
			continue
		}
		d.out.WriteString(" " + attributes[i] + `="`)
		d.escaped(attributes[i+1])
		d.out.WriteByte('"')
	}
}

// escaped writes text that is text wherever it stands. A character that XML
// cannot carry becomes U+FFFD. Writing to a Builder never fails.
func (d *svg) escaped(s string) {
	_ = xml.EscapeText(&d.out, []byte(s))
}

func (d *svg) group(class string) { d.begin("g", "class", class) }

// link opens an anchor. Only a place in this program is linked: anything else
// becomes a plain group.
func (d *svg) link(href, class string) {
	inside := strings.HasPrefix(href, "#") || strings.HasPrefix(href, "/") && !strings.HasPrefix(href, "//")
	if !inside || strings.Contains(href, "\\") {
		d.group(class)
		return
	}
	d.begin("a", "href", href, "class", class)
}

// title names the element it stands in.
func (d *svg) title(s string) {
	d.begin("title")
	d.escaped(s)
	d.end()
}

func (d *svg) rect(class string, x, y, width, height, round int) {
	r := ""
	if round > 0 {
		r = strconv.Itoa(round)
	}
	d.shape("rect", "class", class, "x", strconv.Itoa(x), "y", strconv.Itoa(y),
		"width", strconv.Itoa(max(width, 0)), "height", strconv.Itoa(max(height, 0)), "rx", r)
}

func (d *svg) line(class string, x1, y1, x2, y2 int) {
	d.shape("line", "class", class, "x1", strconv.Itoa(x1), "y1", strconv.Itoa(y1),
		"x2", strconv.Itoa(x2), "y2", strconv.Itoa(y2))
}

func (d *svg) path(class string, p *outline) { d.shape("path", "class", class, "d", p.out.String()) }

// text writes a line of text; y is its baseline.
func (d *svg) text(class string, x, y int, s string) {
	d.begin("text", "class", class, "x", strconv.Itoa(x), "y", strconv.Itoa(y))
	d.escaped(s)
	d.end()
}

// html closes what is open and gives the drawing, ready to stand in a page.
func (d *svg) html() template.HTML {
	for len(d.open) > 0 {
		d.end()
	}
	return template.HTML(d.out.String()) // every text and attribute went through escaped
}

// outline collects the data of an SVG path.
type outline struct{ out strings.Builder }

func (p *outline) add(command string, numbers ...int) *outline {
	p.out.WriteString(command)
	for i, n := range numbers {
		if i > 0 {
			p.out.WriteByte(' ')
		}
		p.out.WriteString(strconv.Itoa(n))
	}
	return p
}

func (p *outline) move(x, y int) *outline { return p.add("M", x, y) }
func (p *outline) to(x, y int) *outline   { return p.add("L", x, y) }
func (p *outline) shut() *outline         { return p.add("Z") }

// bend goes to (x, y) leaving and arriving level.
func (p *outline) bend(fromX, fromY, x, y int) *outline {
	middle := (fromX + x) / 2
	return p.add("C", middle, fromY, middle, y, x, y)
}
