package stock

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"faceside/models/pattern"
	"faceside/models/phrase"
	"faceside/models/wood"
)

// Line is so many equal parts of one commission.
type Line struct {
	Commission      string // its name or number, as the maker knows it
	Part            string // part key, unique in the commission
	Name            string
	Quantity        int
	Finished, Rough pattern.Size
	Species         string // species key
	// Quarter is the thickness to buy, "" for sheet goods and for what no board gives.
	Quarter string
	Sheet   bool
	// TooThick: no usual stock gives the thickness; it is glued up from thinner.
	TooThick bool
	Grain    string // "length", "width" or "none"
	// Match keeps the pieces of all lines with the same Match on one board, else on
	// boards of one log. "" for no such wish.
	Match string
	Group string // the maker's name for the match, "" where the maker gave none
	Note  string
}

// Group is the lines that are cut from one stock and planed to one thickness.
type Group struct {
	Species   string
	Quarter   string
	Sheet     bool
	Thickness wood.Length // finished
	Lines     []Line
	Pieces    int
	Feet      float64 // board feet of the rough parts at the quarter's thickness; 0 for sheets
	Area      float64 // square metres of the rough parts
}

// SheetGoods says whether a species key means sheet goods: what is not in the table of
// woods, as for movement.
func SheetGoods(species string) bool {
	_, err := wood.SafeSpeciesOf(species)
	return err != nil
}

// QuarterFor is the thinnest usual quarter that gives a part: surfaced it is the
// finished thickness or more, and as sawn the rough thickness or more.
func QuarterFor(finished, rough wood.Length) (wood.Quarter, error) {
	first, err := wood.StockFor(finished)
	if err != nil {
		return wood.Quarter{}, fmt.Errorf("find the stock: %w", err)
	}
	for _, q := range wood.Quarters {
		if !q.Rare && q.Quarters >= first.Quarters && q.Rough >= rough {
			return q, nil
		}
	}
	last := wood.Quarters[len(wood.Quarters)-1]
	return wood.Quarter{}, fault("the rough thickness, %s, is more than %s stock has (%s); glue it up from thinner stock",
		rough, last.Name, last.Rough)
}

// CutList is the lines of a commission's parts, as a pattern built them. A part without
// a size, a quantity or a species is refused; one too thick for any stock is marked.
func CutList(commission string, parts []pattern.Part) ([]Line, error) {
	var lines []Line
	var errs []error
	for _, p := range parts {
		line, err := lineOf(commission, p)
		if err != nil {
			errs = append(errs, fmt.Errorf("part %q of %q: %w", p.Key, commission, err))
			continue
		}
		lines = append(lines, line)
	}
	if len(errs) > 0 {
		return nil, errors.Join(errs...)
	}
	return lines, nil
}

func lineOf(commission string, p pattern.Part) (Line, error) {
	line := Line{Commission: commission, Part: p.Key, Name: p.Name, Quantity: p.Quantity,
		Finished: p.Finished, Rough: p.Rough, Species: p.Species, Grain: p.Grain, Note: p.Note}
	if err := line.check(); err != nil {
		return Line{}, err
	}
	if line.Sheet = SheetGoods(p.Species); line.Sheet {
		return line, nil
	}
	if q, err := QuarterFor(p.Finished.Thickness, p.Rough.Thickness); err == nil {
		line.Quarter = q.Name
	} else {
		line.TooThick = true
		line.Note = joined(line.Note, "No usual stock is thick enough: glue it up from thinner boards.")
	}
	return line, nil
}

func (l Line) check() error {
	if l.Species == "" {
		return fault("the species is missing")
	}
	if l.Quantity < 1 || l.Quantity > mostPieces {
		return fault("the quantity, %d, must lie between 1 and %d", l.Quantity, mostPieces)
	}
	for _, d := range []dimension{
		{"finished length", l.Finished.Length}, {"finished width", l.Finished.Width}, {"finished thickness", l.Finished.Thickness},
		{"rough length", l.Rough.Length}, {"rough width", l.Rough.Width}, {"rough thickness", l.Rough.Thickness},
	} {
		if err := d.check(); err != nil {
			return err
		}
	}
	for _, d := range []struct {
		name            string
		finished, rough wood.Length
	}{
		{"length", l.Finished.Length, l.Rough.Length}, {"width", l.Finished.Width, l.Rough.Width},
		{"thickness", l.Finished.Thickness, l.Rough.Thickness},
	} {
		if d.rough < d.finished {
			return fault("the rough %[1]s, %[2]s, is less than the finished %[1]s, %[3]s", phrase.Of(d.name), d.rough, d.finished)
		}
	}
	return nil
}

// MatchEach asks that the pieces of each line of more than one piece stay together,
// where nothing is asked of them yet.
func MatchEach(lines []Line) []Line {
	out := slices.Clone(lines)
	for i, l := range out {
		if l.Quantity > 1 && !l.Sheet && l.Match == "" {
			out[i].Match = l.Commission + "/" + l.Part
		}
	}
	return out
}

// Groups sorts lines, of one commission or of all, by stock and finished thickness:
// species by species, thickest first, within a group the longest first.
func Groups(lines []Line) []Group {
	lines = slices.Clone(lines)
	slices.SortStableFunc(lines, func(a, b Line) int {
		return cmp.Or(cmp.Compare(a.Species, b.Species), cmp.Compare(b.Finished.Thickness, a.Finished.Thickness),
			cmp.Compare(quarters(b.Quarter), quarters(a.Quarter)), cmp.Compare(b.Rough.Length, a.Rough.Length),
			cmp.Compare(b.Rough.Width, a.Rough.Width), cmp.Compare(a.Commission, b.Commission), cmp.Compare(a.Part, b.Part))
	})
	var groups []Group
	for _, l := range lines {
		n := len(groups) - 1
		if n < 0 || groups[n].Species != l.Species || groups[n].Thickness != l.Finished.Thickness || groups[n].Quarter != l.Quarter {
			groups = append(groups, Group{Species: l.Species, Quarter: l.Quarter, Sheet: l.Sheet, Thickness: l.Finished.Thickness})
			n++
		}
		g := &groups[n]
		g.Lines = append(g.Lines, l)
		g.Pieces += l.Quantity
		g.Feet += l.feet()
		g.Area += l.area()
	}
	return groups
}

// quarters is the number of quarters in a name, 0 for none.
func quarters(name string) int {
	q, _ := quarterNamed(name)
	return q.Quarters
}

// feet is the board feet of the line's rough pieces at the thickness of the quarter; a
// piece too thick for any stock counts as thick as it is.
func (l Line) feet() float64 {
	if l.Sheet {
		return 0
	}
	thick := l.Rough.Thickness
	if q, known := quarterNamed(l.Quarter); known {
		thick = q.Rough
	}
	return float64(l.Quantity) * wood.BoardFeet(l.Rough.Length, l.Rough.Width, thick)
}

func (l Line) area() float64 {
	return float64(l.Quantity) * l.Rough.Length.Metres() * l.Rough.Width.Metres()
}

func joined(note, more string) string {
	if note == "" {
		return more
	}
	return note + " " + more
}
