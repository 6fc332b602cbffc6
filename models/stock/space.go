package stock

import (
	"slices"

	"faceside/models/wood"
)

// space is a rectangle of a board that nothing has been laid on, with the stage and
// kind of the cut that made it.
type space struct {
	Rect
	board int
	stage int
	kind  CutKind // "" for none yet
	flaws []Rect  // defects that meet it
}

// spot is a place for a unit, and the order of its cuts.
type spot struct {
	space  int
	at     Rect
	turned bool
	first  CutKind
	score  float64
}

// severed is what a cut leaves before and after its kerf; a side without extent has
// none in the other direction of it either.
func severed(kind CutKind, from Rect, at, kerf wood.Length) (near, far Rect) {
	near, far = from, from
	if kind == Crosscut {
		near.Length = max(0, at-from.X)
		far.X = at + kerf
		far.Length = max(0, from.Right()-far.X)
	} else {
		near.Width = max(0, at-from.Y)
		far.Y = at + kerf
		far.Width = max(0, from.Top()-far.Y)
	}
	return near, far
}

// place is the place nearest to the space's corner where a rectangle covers no defect.
// It lies in the corner, or against the far end of a defect, in either direction.
func (s *space) place(l, w wood.Length) (Rect, bool) {
	if l > s.Length || w > s.Width {
		return Rect{}, false
	}
	at := Rect{s.X, s.Y, l, w}
	if len(s.flaws) == 0 {
		return at, true
	}
	xs, ys := []wood.Length{s.X}, []wood.Length{s.Y}
	for _, f := range s.flaws {
		xs, ys = append(xs, f.Right()), append(ys, f.Top())
	}
	slices.Sort(xs)
	slices.Sort(ys)
	for _, x := range xs {
		for _, y := range ys {
			at.X, at.Y = x, y
			if s.holds(at) && !slices.ContainsFunc(s.flaws, at.meets) {
				return at, true
			}
		}
	}
	return Rect{}, false
}

// clear is the area of a space that no defect covers, in square metres.
func (s *space) clear() float64 {
	area := s.Area()
	for _, f := range s.flaws {
		length, width := min(f.Right(), s.Right())-max(f.X, s.X), min(f.Top(), s.Top())-max(f.Y, s.Y)
		area -= length.Metres() * width.Metres()
	}
	return max(area, 0)
}

// firstKind is which kind of cut frees a rectangle first: as the gene asks, or so that
// the larger single space is left, where both may be.
func (b *bench) firstKind(s *space, at Rect, split byte) (CutKind, bool) {
	cross, rip := b.may(s, at, Crosscut), b.may(s, at, Rip)
	switch {
	case !cross && !rip:
		return "", false
	case !rip:
		return Crosscut, true
	case !cross:
		return Rip, true
	}
	switch split {
	case 1:
		return Crosscut, true
	case 2:
		return Rip, true
	}
	right := float64(s.Right()-at.Right()) * float64(s.Width)
	above := float64(s.Top()-at.Top()) * float64(s.Length)
	if right >= above {
		return Crosscut, true
	}
	return Rip, true
}

// may says whether a rectangle may be freed by cuts of a kind first: within the stages,
// and no rip of a piece that is too short for it.
func (b *bench) may(s *space, at Rect, first CutKind) bool {
	ripped := s.Length
	if first == Crosscut {
		ripped = at.Length
	}
	if b.needs(s, at, Rip) && ripped < b.p.Rules.LeastRip {
		return false
	}
	return b.stages(s, at, first) <= b.most
}

// stages is the last stage of the cuts that free a rectangle when a kind comes first.
func (b *bench) stages(s *space, at Rect, first CutKind) int {
	stage, kind := s.stage, s.kind
	for _, k := range [2]CutKind{first, other(first)} {
		if b.needs(s, at, k) && k != kind {
			stage, kind = stage+1, k
		}
	}
	return stage
}

func (b *bench) needs(s *space, at Rect, k CutKind) bool {
	if k == Crosscut {
		return at.X > s.X || at.Right() < s.Right()
	}
	return at.Y > s.Y || at.Top() < s.Top()
}

func other(k CutKind) CutKind {
	if k == Crosscut {
		return Rip
	}
	return Crosscut
}

// score says how much a place is worth: the less the better.
func score(s, at Rect, rule byte) float64 {
	over, above := float64(s.Length-at.Length), float64(s.Width-at.Width)
	switch rule {
	case 0: // a side that fits
		return min(over, above)
	case 1: // a small space
		return float64(s.Length)*float64(s.Width) - float64(at.Length)*float64(at.Width)
	case 2: // no long rest
		return max(over, above)
	case 3: // width first, then length
		return above*float64(wood.Millimetre) + over
	default: // length first, then width
		return over*float64(wood.Millimetre) + above
	}
}

// take cuts a rectangle out of its space and puts what is left among the spaces.
func (b *bench) take(s spot) {
	from := b.spaces[s.space]
	last := len(b.spaces) - 1
	b.spaces[s.space] = b.spaces[last]
	b.spaces = b.spaces[:last]
	rest, stage, kind := from.Rect, from.stage, from.kind
	for _, k := range [2]CutKind{s.first, other(s.first)} {
		lo, hi, end := s.at.X-rest.X, s.at.Right(), rest.Right()
		if k == Rip {
			lo, hi, end = s.at.Y-rest.Y, s.at.Top(), rest.Top()
		}
		if lo == 0 && hi == end {
			continue
		}
		if k != kind {
			stage, kind = stage+1, k
		}
		if lo > 0 {
			at := hi - s.at.Length - b.p.Rules.Kerf
			if k == Rip {
				at = hi - s.at.Width - b.p.Rules.Kerf
			}
			near, _ := severed(k, rest, at, b.p.Rules.Kerf)
			b.add(from, near, stage, kind)
			rest = b.note(k, stage, rest, at, false)
		}
		if hi < end {
			_, far := severed(k, rest, hi, b.p.Rules.Kerf)
			b.add(from, far, stage, kind)
			rest = b.note(k, stage, rest, hi, true)
		}
	}
}

func (b *bench) add(from space, r Rect, stage int, kind CutKind) {
	if r.Length <= 0 || r.Width <= 0 {
		return
	}
	s := space{Rect: r, board: from.board, stage: stage, kind: kind}
	for _, f := range from.flaws {
		if f.meets(r) {
			s.flaws = append(s.flaws, f)
		}
	}
	b.spaces = append(b.spaces, s)
}
