package stock

import (
	"cmp"
	"math"
	"slices"

	"faceside/models/wood"
)

// Yield is the share of bought wood that becomes rough parts, more than 0 and at most
// 1; the rest goes into ends, edges, kerf and defects.
type Yield struct{ Boards, Sheets float64 }

// UsualYield is common practice, no source: of rough hardwood about a quarter is lost
// between the yard and the rough part, of sheets about a sixth. A maker who keeps a
// record of what a yard's boards gave sets their own.
var UsualYield = Yield{Boards: 0.75, Sheets: 0.85}

// UsualBoard and UsualSheet are sizes a yard has as a rule: common practice, no source.
// Hardwood comes 8 ft long and longer and about 6 in wide; sheets are 8 by 4 ft.
var (
	UsualBoard = Rect{Length: 96 * wood.Inch, Width: 6 * wood.Inch}
	UsualSheet = Rect{Length: 96 * wood.Inch, Width: 48 * wood.Inch}
)

// Purchase is what to buy of one stock.
type Purchase struct {
	Species   string
	Quarter   string // "" for sheets
	Sheet     bool
	Thickness wood.Length // of the sheets; of boards the nominal thickness
	Pieces    int
	Net       float64     // of the rough parts: board feet, for sheets square metres
	Buy       float64     // with the yield allowed for: whole board feet, for sheets square metres
	Longest   wood.Length // rough length of the longest piece: no board may be shorter
	Widest    wood.Length // rough width of the widest piece
}

// ToBuy is what the lines of all open commissions take, stock by stock. Lines too thick
// for any stock are left out: they are glued up of others. To count boards on hand
// first, give it the lines that Plans leave short (Plan.Short).
func ToBuy(lines []Line, yield Yield) ([]Purchase, error) {
	for _, y := range []struct {
		name string
		of   float64
	}{{"boards", yield.Boards}, {"sheets", yield.Sheets}} {
		if !(y.of > 0 && y.of <= 1) {
			return nil, fault("the yield of %s, %g, must be more than 0 and at most 1", y.name, y.of)
		}
	}
	at := map[Stock]int{}
	var out []Purchase
	for _, l := range lines {
		if l.TooThick {
			continue
		}
		key := l.stock()
		i, known := at[key]
		if !known {
			i = len(out)
			at[key] = i
			out = append(out, Purchase{Species: key.Species, Quarter: key.Quarter, Sheet: l.Sheet, Thickness: nominal(l)})
		}
		p := &out[i]
		p.Pieces += l.Quantity
		p.Longest, p.Widest = max(p.Longest, l.Rough.Length), max(p.Widest, l.Rough.Width)
		if l.Sheet {
			p.Net += l.area()
			p.Buy = p.Net / yield.Sheets
		} else {
			p.Net += l.feet()
			p.Buy = math.Ceil(p.Net / yield.Boards)
		}
	}
	slices.SortFunc(out, func(a, b Purchase) int {
		return cmp.Or(cmp.Compare(a.Species, b.Species), cmp.Compare(b.Thickness, a.Thickness))
	})
	return out, nil
}

// BoardsOf is about how many boards, or sheets, of one size the purchase comes to; boards
// shorter than the longest piece, or narrower than the widest, cannot give them all.
// A size that is not positive is refused.
func (p Purchase) BoardsOf(length, width wood.Length) (int, error) {
	for _, d := range []dimension{{"length of a board", length}, {"width of a board", width}} {
		if err := d.check(); err != nil {
			return 0, err
		}
	}
	each := wood.BoardFeet(length, width, p.Thickness)
	if p.Sheet {
		each = length.Metres() * width.Metres()
	}
	return int(math.Ceil(p.Buy/each - 1e-9)), nil
}

func nominal(l Line) wood.Length {
	if q, known := quarterNamed(l.Quarter); known {
		return q.Rough
	}
	return l.Finished.Thickness
}

// Stock is what boards and parts must have in common.
type Stock struct {
	Species   string
	Quarter   string      // "" for sheets
	Thickness wood.Length // of sheets; 0 for boards, which their quarter tells apart
}

func (l Line) stock() Stock {
	if l.Sheet {
		return Stock{Species: l.Species, Thickness: l.Finished.Thickness}
	}
	return Stock{Species: l.Species, Quarter: l.Quarter}
}

func (b Board) stock() Stock {
	if b.Quarter == "" {
		return Stock{Species: b.Species, Thickness: b.Thickness}
	}
	return Stock{Species: b.Species, Quarter: b.Quarter}
}
