package pattern

import (
	"fmt"
	"math"
)

// point3 is a place in the box of a drawing, in nanometres, by axis.
type point3 [3]float64

// solid is a part in its place: a box, from which curves may take wood.
type solid struct {
	part      string
	low, high point3
	cut       bool // smaller than the finished part: an assembly is cut after its glue-up
	curves    []curve
}

// curve takes wood off one edge.
type curve struct {
	kind        string
	edge, along int     // axes
	low         bool    // it comes from the low side of the edge's axis
	base        float64 // where that edge is
	from, to    float64
	by, over    float64
}

// depth is how far the curve reaches in at a place along it.
func (c curve) depth(t float64) float64 {
	u := (t - c.from) / (c.to - c.from)
	switch c.kind {
	case "taper":
		return c.by * min(max(u, 0), 1)
	case "ends":
		near := min(t-c.from, c.to-t)
		if near >= c.over {
			return 0
		}
		x := (c.over - max(near, 0)) / c.over
		return c.by * (1 - math.Sqrt(1-x*x))
	}
	if u <= 0 || u >= 1 || c.by <= 0 {
		return 0
	}
	half := (c.to - c.from) / 2
	radius := (half*half + c.by*c.by) / (2 * c.by) // of the circle through both feet and the crown
	x := t - c.from - half
	return max(0, math.Sqrt(radius*radius-x*x)-(radius-c.by))
}

// mostSolids bounds a drawing, so that a slip in a file does not fill the memory.
const mostSolids = 600

// solids places everything a pattern's drawing shows, and gives the size of its
// box.
func (b *builder) solids(in *instance) ([]solid, point3, error) {
	d := in.pattern.drawing
	var size point3
	for i, f := range d.box {
		l, err := f.length(in.values)
		if err != nil {
			return nil, size, fmt.Errorf("box: %w", err)
		}
		size[i] = float64(l)
	}
	var out []solid
	for _, p := range d.show {
		placed, err := b.placed(in, p, size)
		if err != nil {
			return nil, size, fmt.Errorf("%s%s: %w", p.part, p.use, err)
		}
		if out = append(out, placed...); len(out) > mostSolids {
			return nil, size, fmt.Errorf("it shows more than %d parts", mostSolids)
		}
	}
	if d.trimmed {
		out = clipped(out, point3{}, size)
	}
	return out, size, nil
}

// placed is one entry of a drawing: as many of a part or a sub-assembly as it says.
func (b *builder) placed(in *instance, p placing, box point3) ([]solid, error) {
	there, err := p.when.holds(in.values)
	if err != nil || !there {
		return nil, err
	}
	things, size, err := b.thing(in, p)
	if err != nil || things == nil {
		return nil, err
	}
	times := 1
	if p.times != nil {
		if times, err = p.times.count(in.values, 0, mostSolids/max(1, len(things))); err != nil {
			return nil, err
		}
	}
	start, err := p.at0.eval(in.values, 0)
	if err != nil {
		return nil, err
	}
	every, err := p.every.eval(in.values, 0)
	if err != nil {
		return nil, err
	}
	left, err := p.cut.eval(in.values, math.Inf(1))
	if err != nil {
		return nil, err
	}
	var out []solid
	for n := range times {
		at, end := start, point3{}
		for i := range at {
			at[i] += float64(n) * every[i]
			end[i] = at[i] + min(size[i], left[i])
		}
		one := clipped(turned(things, p.lies, at), at, end)
		if err := shape(in.values, one, p.shaped, at, end, box); err != nil {
			return nil, err
		}
		out = append(out, one...)
	}
	return out, nil
}

// thing is what an entry places, at no place yet and not turned, and its size as
// it will lie. It is nil where the thing is not there at this choice.
func (b *builder) thing(in *instance, p placing) ([]solid, point3, error) {
	var things []solid
	var own, size point3
	if p.use != "" {
		sub := in.subs[p.use]
		if sub == nil {
			return nil, size, nil
		}
		var err error
		if things, own, err = b.solids(sub); err != nil {
			return nil, size, err
		}
	} else {
		key, there := in.resolve(p.part)
		if !there {
			return nil, size, nil
		}
		s := b.parts[key].Finished
		own = point3{float64(s.Length), float64(s.Width), float64(s.Thickness)}
		things = []solid{{part: key, high: own}}
	}
	for i, from := range p.lies {
		size[i] = own[from]
	}
	return things, size, nil
}

// turned lays things along the axes as lies says, with their corner at a place.
func turned(things []solid, lies [3]int, at point3) []solid {
	out := make([]solid, len(things))
	axis := [3]int{}
	for i, from := range lies {
		axis[from] = i
	}
	for n, s := range things {
		t := solid{part: s.part, cut: s.cut}
		for i, from := range lies {
			t.low[i], t.high[i] = s.low[from]+at[i], s.high[from]+at[i]
		}
		for _, c := range s.curves {
			c.edge, c.along = axis[c.edge], axis[c.along]
			c.base += at[c.edge]
			c.from, c.to = c.from+at[c.along], c.to+at[c.along]
			t.curves = append(t.curves, c)
		}
		out[n] = t
	}
	return out
}

// clipped leaves of things what lies between two corners.
func clipped(things []solid, low, high point3) []solid {
	const little = 1 // nanometre: what rounding may leave
	var out []solid
	for _, s := range things {
		there := true
		for i := range low {
			if s.low[i] < low[i]-little {
				s.low[i], s.cut = low[i], true
			}
			if s.high[i] > high[i]+little {
				s.high[i], s.cut = high[i], true
			}
			there = there && s.high[i] > s.low[i]
		}
		if there {
			out = append(out, s)
		}
	}
	return out
}

// shape gives things that lie between two corners their curves.
func shape(v values, things []solid, shapings []shaping, low, high, box point3) error {
	for _, s := range shapings {
		there, err := s.when.holds(v)
		if err != nil {
			return err
		}
		if !there {
			continue
		}
		c, err := s.curve3(v, low, high, box)
		if err != nil {
			return err
		}
		for i := range things {
			things[i].curves = append(things[i].curves, c)
		}
	}
	return nil
}

// curve3 works a shaping out for a thing between two corners.
func (s shaping) curve3(v values, low, high, box point3) (curve, error) {
	c := curve{kind: s.curve, edge: s.axis(), along: s.along}
	for _, n := range []struct {
		to   *float64
		from *formula
	}{{&c.from, s.from}, {&c.to, s.to}, {&c.by, s.by}, {&c.over, s.over}} {
		if n.from == nil {
			continue
		}
		l, err := n.from.length(v)
		if err != nil {
			return c, err
		}
		*n.to = float64(l)
	}
	if c.from == c.to || c.over <= 0 && c.kind == "ends" {
		return c, fmt.Errorf("a curve on the edge %q has no length", s.edge)
	}
	c.from, c.to = c.from+low[c.along], c.to+low[c.along]
	switch s.edge {
	case "left", "below", "front":
		c.low = true
	case "inner-across", "inner-deep":
		c.low = low[c.edge]+high[c.edge] > box[c.edge]
	}
	if c.base = high[c.edge]; c.low {
		c.base = low[c.edge]
	}
	return c, nil
}

// eval works out three lengths; what is not given is otherwise.
func (t three) eval(v values, otherwise float64) (point3, error) {
	out := point3{otherwise, otherwise, otherwise}
	for i, f := range t {
		if f == nil {
			continue
		}
		raw, err := f.eval(v)
		if err != nil {
			return out, err
		}
		out[i] = size(raw) // not rounded yet: a row must not drift
	}
	return out, nil
}
