package stock

import (
	"slices"
)

// Closeness is how near to each other matched parts lie in the tree, the nearest first.
type Closeness int

// How matched parts can lie.
const (
	OneBoard  Closeness = iota // on one board
	Following                  // on boards that follow each other in one log
	OneLog                     // on boards of one log
	Apart                      // on boards of which nothing says that they match
)

// Matched is how the parts of one match lie that a plan cuts.
type Matched struct {
	Match  string
	How    Closeness
	Boards []string // that they lie on
}

// closeness is how boards lie to each other.
func closeness(boards []Board) Closeness {
	boards = slices.Clone(boards)
	slices.SortStableFunc(boards, func(a, b Board) int { return a.InLog - b.InLog })
	how := OneBoard
	for i, b := range boards {
		switch {
		case b.ID == boards[0].ID && how == OneBoard:
		case b.Log == "" || b.Log != boards[0].Log:
			return Apart
		case b.InLog-boards[i-1].InLog > 1:
			how = OneLog
		default:
			how = max(how, Following)
		}
	}
	return how
}

// matched is how the matched parts of a plan lie, in the order in which they are asked for.
func (p *Problem) matched(layouts []Layout) []Matched {
	match, on := map[string]string{}, map[string][]Board{}
	for _, c := range p.Pieces {
		match[c.Key] = c.Match
	}
	for _, l := range layouts {
		for _, part := range l.Placed {
			m := match[part.Piece]
			if m != "" && !slices.ContainsFunc(on[m], func(b Board) bool { return b.ID == l.Board.ID }) {
				on[m] = append(on[m], l.Board)
			}
		}
	}
	var out []Matched
	for _, m := range p.matches() {
		if len(on[m]) == 0 {
			continue
		}
		of := Matched{Match: m, How: closeness(on[m])}
		for _, b := range on[m] {
			of.Boards = append(of.Boards, b.ID)
		}
		out = append(out, of)
	}
	return out
}

// matches lists what is asked to match.
func (p *Problem) matches() []string {
	var out []string
	for _, c := range p.Pieces {
		if c.Match != "" && !slices.Contains(out, c.Match) {
			out = append(out, c.Match)
		}
	}
	return out
}

// near is how near the parts of each match must lie.
type near map[string]Closeness

// loosest leaves out the ways in which no boards on hand could give a match: at or
// after a closeness, the first that may.
func (b *bench) loosest(match string, from Closeness) Closeness {
	logs := map[string]int{}
	for _, o := range b.p.Boards {
		if o.Log != "" {
			logs[o.Log]++
		}
	}
	inLogs := false
	for _, n := range logs {
		inLogs = inLogs || n > 1
	}
	if from == OneBoard && !b.oneTakes(match) {
		from = Following
	}
	if (from == Following || from == OneLog) && !inLogs {
		from = Apart
	}
	return from
}

// oneTakes says whether some board is large enough for all parts of a match.
func (b *bench) oneTakes(match string) bool {
	for i, o := range b.p.Boards {
		room, fits := b.p.usable(o).Area(), true
		for _, u := range b.units {
			if b.p.Pieces[u.piece].Match == match {
				room, fits = room-u.area, fits && u.fits[i]
			}
		}
		if fits && room >= 0 {
			return true
		}
	}
	return false
}

// missing is the area of the units of each match that an arrangement leaves out.
func (b *bench) missing(a *arrangement) map[string]float64 {
	out := map[string]float64{}
	for _, i := range a.missing {
		if m := b.p.Pieces[b.units[i].piece].Match; m != "" {
			out[m] += b.units[i].area
		}
	}
	return out
}
