package stock

import (
	"math"

	"faceside/models/wood"
)

// oracle tries every cut of a tiny board at whole millimetres. It shares nothing with
// the search but the types.
type oracle struct {
	rules   Rules
	units   []Piece // one of each
	defects []Defect
	memo    map[oracleKey]float64
}

type oracleKey struct {
	r     Rect
	set   uint // units still to be had
	stage int
	kind  CutKind
}

// most is the greatest area of units that one board gives.
func (p Problem) most(b Board) float64 {
	o := oracle{rules: p.Rules, defects: b.Defects, memo: map[oracleKey]float64{}}
	for _, c := range p.Pieces {
		for range c.Quantity {
			o.units = append(o.units, c)
		}
	}
	if o.rules.Stages == 0 {
		o.rules.Stages = math.MaxInt
	}
	start := oracleKey{r: Rect{X: p.Rules.EndTrim, Length: b.Length - 2*p.Rules.EndTrim, Width: b.Width}, set: 1<<len(o.units) - 1}
	if p.Rules.First != FirstEither {
		start.stage, start.kind = 1, CutKind(p.Rules.First)
	}
	return o.best(start)
}

func (o *oracle) best(k oracleKey) float64 {
	if k.r.Length <= 0 || k.r.Width <= 0 || k.set == 0 {
		return 0
	}
	if v, known := o.memo[k]; known {
		return v
	}
	v := o.whole(k)
	for _, kind := range []CutKind{Crosscut, Rip} {
		stage := k.stage
		if kind != k.kind {
			stage++
		}
		if stage > o.rules.Stages || kind == Rip && k.r.Length < o.rules.LeastRip {
			continue
		}
		begin, end := k.r.X, k.r.X+k.r.Length
		if kind == Rip {
			begin, end = k.r.Y, k.r.Y+k.r.Width
		}
		for at := begin - o.rules.Kerf; at < end; at += wood.Millimetre {
			if at+o.rules.Kerf <= begin {
				continue
			}
			near, far := k, k
			near.stage, far.stage, near.kind, far.kind = stage, stage, kind, kind
			if kind == Crosscut {
				near.r.Length, far.r.X, far.r.Length = at-begin, at+o.rules.Kerf, end-at-o.rules.Kerf
			} else {
				near.r.Width, far.r.Y, far.r.Width = at-begin, at+o.rules.Kerf, end-at-o.rules.Kerf
			}
			for part := k.set; ; part = (part - 1) & k.set {
				near.set, far.set = part, k.set&^part
				v = max(v, o.best(near)+o.best(far))
				if part == 0 {
					break
				}
			}
		}
	}
	o.memo[k] = v
	return v
}

// whole is the area of the piece in hand if it is one of the units as it is.
func (o *oracle) whole(k oracleKey) float64 {
	for _, d := range o.defects {
		if d.X < k.r.X+k.r.Length && k.r.X < d.X+d.Length && d.Y < k.r.Y+k.r.Width && k.r.Y < d.Y+d.Width {
			return 0
		}
	}
	for i, u := range o.units {
		if k.set&(1<<i) == 0 {
			continue
		}
		if u.Length == k.r.Length && u.Width == k.r.Width || u.Turn && u.Width == k.r.Length && u.Length == k.r.Width {
			return u.Length.Metres() * u.Width.Metres()
		}
	}
	return 0
}
