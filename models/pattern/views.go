package pattern

import (
	"cmp"
	"math"
	"slices"

	"faceside/models/wood"
)

// View is a piece seen from one side. Width and Height are of the box around it.
type View struct {
	Name          string // "front", or "side": from the right, the front at the left
	Width, Height wood.Length
	Shapes        []Shape // the farthest first
	Dimensions    []Dimension
}

// Shape is one part in a view, in finished size. X is from the left and Y from the
// floor to its lower left corner.
type Shape struct {
	Part       string // part key
	X, Y, W, H wood.Length
	Kind       ShapeKind
	Points     []Point // of an outline, around it; empty for a rectangle
	Cut        bool    // smaller than the finished part: an assembly is cut after its glue-up
	Hidden     bool    // wholly behind other parts
}

// ShapeKind is how a shape is drawn.
type ShapeKind string

// A rectangle, or a closed line within it where the part is shaped.
const (
	Rectangle ShapeKind = "rect"
	Outline   ShapeKind = "outline"
)

// Point is a place in a view, from the left and from the floor.
type Point struct{ X, Y wood.Length }

// Dimension is a size to be written beside a view.
type Dimension struct {
	Name     string // e.g. "Depth"
	Upright  bool   // from the floor up; else from the left
	From, To wood.Length
}

// addViews draws the piece, where its pattern has a drawing. It takes time in
// proportion to the square of the parts shown.
func (b *builder) addViews(top *instance) {
	if top.pattern.drawing == nil || len(b.errs.List) > 0 {
		return
	}
	things, size, err := b.solids(top)
	if err != nil {
		b.wrong(top, "drawing", err)
		return
	}
	for _, side := range []struct {
		name string
		flat int
		near func(s solid) float64
	}{
		{"front", across, func(s solid) float64 { return s.low[deep] }},
		{"side", deep, func(s solid) float64 { return -s.high[across] }},
	} {
		v := View{Name: side.name, Width: nearest(size[side.flat]), Height: nearest(size[up])}
		seen := slices.Clone(things)
		slices.SortStableFunc(seen, func(a, z solid) int { return cmp.Compare(side.near(z), side.near(a)) })
		for i, s := range seen {
			made := s.seen(side.flat)
			made.Hidden = hidden(s, seen[i+1:], side.flat)
			v.Shapes = append(v.Shapes, made)
		}
		if v.Dimensions, err = b.dimensions(top, side.name, v); err != nil {
			b.wrong(top, "drawing", err)
		}
		b.out.Views = append(b.out.Views, v)
	}
}

func (b *builder) dimensions(top *instance, view string, v View) ([]Dimension, error) {
	out := []Dimension{{"Width", false, 0, v.Width}, {"Height", true, 0, v.Height}}
	if view == "side" {
		out = []Dimension{{"Depth", false, 0, v.Width}}
	}
	for _, s := range top.pattern.drawing.sizes {
		there, err := s.when.holds(top.values)
		if err != nil {
			return nil, err
		}
		if !there || s.view != view {
			continue
		}
		d := Dimension{Upright: s.along == up}
		if d.Name, err = s.name.fill(top.values, words{here: top.here}, b.shown); err != nil {
			return nil, err
		}
		if s.from != nil {
			if d.From, err = s.from.length(top.values); err != nil {
				return nil, err
			}
		}
		if d.To, err = s.to.length(top.values); err != nil {
			return nil, err
		}
		out = append(out, d)
	}
	return out, nil
}

// seen is the solid as a view shows it whose level axis is flat.
func (s solid) seen(flat int) Shape {
	out := Shape{
		Part: s.part, Cut: s.cut, Kind: Rectangle,
		X: nearest(s.low[flat]), Y: nearest(s.low[up]),
		W: nearest(s.high[flat] - s.low[flat]), H: nearest(s.high[up] - s.low[up]),
	}
	for _, along := range []int{flat, up} {
		if points := s.outline(flat+up-along, along); points != nil {
			out.Kind = Outline
			for _, p := range points {
				if along == up {
					p[0], p[1] = p[1], p[0]
				}
				out.Points = append(out.Points, Point{nearest(p[0]), nearest(p[1])})
			}
			return out
		}
	}
	return out
}

// curveSteps is how many straight pieces stand for a curve.
const curveSteps = 24

// outline goes around the solid in the plane of two axes, first onward along the
// low edge, then back along the high one: pairs of (along, edge). It is nil where
// no curve takes anything off there.
func (s solid) outline(edge, along int) [][2]float64 {
	places := []float64{s.low[along], s.high[along]}
	var curves []curve
	for _, c := range s.curves {
		if c.edge != edge || c.along != along {
			continue
		}
		curves = append(curves, c)
		for i := range curveSteps + 1 {
			t := c.from + (c.to-c.from)*float64(i)/curveSteps
			if t > s.low[along] && t < s.high[along] {
				places = append(places, t)
			}
		}
	}
	slices.Sort(places)
	var onward, back [][2]float64
	shaped := false
	for _, t := range slices.Compact(places) {
		low, high := s.low[edge], s.high[edge]
		for _, c := range curves {
			if c.low {
				low = max(low, c.base+c.depth(t))
			} else {
				high = min(high, c.base-c.depth(t))
			}
		}
		low = min(low, s.high[edge])
		high = max(high, low)
		shaped = shaped || low > s.low[edge] || high < s.high[edge]
		onward, back = append(onward, [2]float64{t, low}), append(back, [2]float64{t, high})
	}
	if !shaped {
		return nil
	}
	slices.Reverse(back)
	return straightened(append(onward, back...))
}

// straightened leaves out points on a straight line between their neighbours.
func straightened(points [][2]float64) [][2]float64 {
	var out [][2]float64
	for i, p := range points {
		before, after := points[(i+len(points)-1)%len(points)], points[(i+1)%len(points)]
		level := before[1] == p[1] && p[1] == after[1]
		plumb := before[0] == p[0] && p[0] == after[0]
		if !level && !plumb {
			out = append(out, p)
		}
	}
	return out
}

// flatBox is a rectangle in a view: left, floor, right, top.
type flatBox [4]float64

// hidden tells whether the parts in front cover all of a solid. What a shaped part
// may leave open does not count as covered.
func hidden(s solid, front []solid, flat int) bool {
	open := []flatBox{{s.low[flat], s.low[up], s.high[flat], s.high[up]}}
	for _, f := range front {
		cover := flatBox{f.low[flat], f.low[up], f.high[flat], f.high[up]}
		for _, c := range f.curves {
			cover.inside(c, flat)
		}
		var left []flatBox
		for _, o := range open {
			left = append(left, o.without(cover)...)
		}
		if open = left; len(open) == 0 {
			return true
		}
	}
	return false
}

// inside shrinks a rectangle to what a curve surely leaves.
func (r *flatBox) inside(c curve, flat int) {
	i, other := 0, up
	if c.edge == up {
		i, other = 1, flat
	}
	if c.edge != flat && c.edge != up || c.along != other {
		return
	}
	if c.low {
		r[i] = max(r[i], c.base+c.by)
	} else {
		r[i+2] = min(r[i+2], c.base-c.by)
	}
}

// without is what is left of a rectangle beside another.
func (r flatBox) without(c flatBox) []flatBox {
	const little = 2 // nanometres: what rounding may leave
	cut := flatBox{max(r[0], c[0]), max(r[1], c[1]), min(r[2], c[2]), min(r[3], c[3])}
	if cut[0] >= cut[2] || cut[1] >= cut[3] {
		return []flatBox{r}
	}
	var out []flatBox
	for _, rest := range []flatBox{
		{r[0], r[1], cut[0], r[3]}, {cut[2], r[1], r[2], r[3]},
		{cut[0], r[1], cut[2], cut[1]}, {cut[0], cut[3], cut[2], r[3]},
	} {
		if rest[2]-rest[0] > little && rest[3]-rest[1] > little {
			out = append(out, rest)
		}
	}
	return out
}

func nearest(nm float64) wood.Length { return wood.Length(math.Round(nm)) }
