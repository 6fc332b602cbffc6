package stock

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"faceside/models/phrase"
	_ "faceside/models/testrig/sameseed"
	"faceside/models/wood"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

const mm = wood.Millimetre

func board(id string, length, width wood.Length) Board {
	return Board{ID: id, Species: "pine", Quarter: "4/4", Length: length, Width: width}
}

// tiny draws a board of a few millimetres, so that every cut can be tried.
func tiny(r *rand.Rand) Problem {
	some := func(most int) wood.Length { return wood.Length(1+r.IntN(most)) * mm }
	b := board("b", (4+some(5)/mm)*mm, (2+some(3)/mm)*mm)
	for range r.IntN(3) {
		b.Defects = append(b.Defects, Defect{Rect: Rect{some(int(b.Length/mm)) - mm, some(int(b.Width/mm)) - mm, some(2), some(2)}})
	}
	p := Problem{Stock: pine, Boards: []Board{b}, Rules: Rules{
		Kerf: wood.Length(r.IntN(2)) * mm, First: []First{FirstEither, FirstCrosscut, FirstRip}[r.IntN(3)], Stages: []int{0, 2, 3}[r.IntN(3)],
		LeastRip: wood.Length(r.IntN(4)) * mm}}
	for i := range 2 + r.IntN(2) {
		p.Pieces = append(p.Pieces, Piece{Key: fmt.Sprint("p", i), Quantity: 1 + r.IntN(2), Length: some(5), Width: some(3), Turn: r.IntN(4) == 0})
	}
	return p
}

// Held to an oracle that tries every cut of one tiny board, the search never gives more,
// and nearly always as much; the bound never gives less.
func TestTinyBoardsAgainstTheOracle(t *testing.T) {
	const problems = 60
	best, worst := 0, 0.0
	for n := range problems {
		p := tiny(rand.New(rand.NewPCG(uint64(n), 1)))
		most := p.most(p.Boards[0])
		plan, err := Solve(context.Background(), p, Search{Tries: 800, Seed: 1})
		require.NoError(t, err)
		require.NoError(t, Check(p, plan), "problem %d", n)
		require.LessOrEqual(t, plan.PartArea(), most+1e-12, "problem %d gives more than can be had", n)
		k := kindsOf(context.Background(), p, finest)[0]
		gives, _ := k.lattice.best(context.Background(), worths(p)[byArea])
		require.GreaterOrEqual(t, min(k.clear, gives)+1e-12, most, "problem %d: the bound is no bound", n)
		if plan.PartArea() >= most-1e-12 {
			best++
		} else {
			worst = max(worst, 1-plan.PartArea()/most)
		}
	}
	t.Logf("%d of %d are the best there is; the worst falls short by %.0f %%", best, problems, 100*worst)
	assert.GreaterOrEqual(t, best, problems*9/10)
}

// drawn draws boards and pieces as they lie in a shop.
func drawn(t *rapid.T) Problem {
	length := func(name string, low, high int) wood.Length {
		return wood.Length(rapid.IntRange(low, high).Draw(t, name)) * mm
	}
	p := Problem{Stock: pine, Rules: Rules{
		Kerf: length("kerf", 0, 6), EndTrim: length("trim", 0, 40), KeepLength: 300 * mm, KeepWidth: 60 * mm, LeastRip: length("least rip", 0, 400),
		First:  rapid.SampledFrom([]First{FirstCrosscut, FirstRip, FirstEither}).Draw(t, "first"),
		Stages: rapid.SampledFrom([]int{0, 2, 3, 4}).Draw(t, "stages")}}
	for i := range rapid.IntRange(1, 5).Draw(t, "boards") {
		b := board(fmt.Sprint("b", i), length("length", 60, 3000), length("width", 40, 300))
		b.Log, b.InLog = rapid.SampledFrom([]string{"", "A", "B"}).Draw(t, "log"), i
		b.Thickness = length("thickness", 0, 1) * 24
		for range rapid.IntRange(0, 3).Draw(t, "defects") {
			b.Defects = append(b.Defects, Defect{Rect: Rect{length("x", -10, int(b.Length/mm)-1), length("y", -10, int(b.Width/mm)-1),
				length("long", 11, 90), length("wide", 11, 60)}})
		}
		p.Boards = append(p.Boards, b)
	}
	for i := range rapid.IntRange(1, 6).Draw(t, "pieces") {
		p.Pieces = append(p.Pieces, Piece{Key: fmt.Sprint("p", i), Quantity: rapid.IntRange(1, 4).Draw(t, "quantity"),
			Length: length("piece", 20, 1200), Width: length("across", 10, 200), Turn: rapid.Bool().Draw(t, "turn"),
			Thickness: length("thick", 20, 26), Match: rapid.SampledFrom([]string{"", "", "a", "b"}).Draw(t, "match")})
	}
	return p
}

// Whatever the boards, pieces and rules: the plan can be sawn, gives or misses every
// piece, takes no less than the bound, and the same seed gives the same plan.
func TestEveryPlanCanBeSawn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawn(t)
		s := Search{Tries: rapid.IntRange(1, 60).Draw(t, "tries"), Seed: rapid.Uint64().Draw(t, "seed")}
		plan, err := Solve(context.Background(), p, s)
		require.NoError(t, err)
		require.NoError(t, Check(p, plan))
		require.GreaterOrEqual(t, plan.BoardArea(), plan.Bound.Boards-1e-9)
		require.GreaterOrEqual(t, plan.Bound.Boards, plan.Bound.Parts-1e-9)
		require.InDelta(t, plan.PartArea(), plan.Bound.Parts, 1e-9, "the bound is for the pieces that are cut")
		again, err := Solve(context.Background(), p, s)
		require.NoError(t, err)
		require.Equal(t, plan, again)
	})
}

// A board measured thinner than a part's finished thickness cannot give it, and a piece
// that no board takes is told apart from one that there is no room for.
func TestShortagesSayWhy(t *testing.T) {
	p := Problem{Stock: pine, Rules: anyCuts, Boards: []Board{board("a", 1000*mm, 100*mm)}, Pieces: []Piece{
		{Key: "long", Quantity: 1, Length: 1200 * mm, Width: 50 * mm},
		{Key: "half", Quantity: 3, Length: 500 * mm, Width: 100 * mm},
		{Key: "thick", Quantity: 1, Length: 10 * mm, Width: 10 * mm, Thickness: 21 * mm},
	}}
	p.Boards[0].Thickness = 20 * mm
	plan, err := Solve(context.Background(), p, Search{Tries: 50})
	require.NoError(t, err)
	require.NoError(t, Check(p, plan))
	assert.Equal(t, []Short{
		{"long", 1, phrase.Of("no board on hand is long, wide and thick enough")},
		{"half", 1, phrase.Of("there is no room left on the boards on hand")},
		{"thick", 1, phrase.Of("no board on hand is long, wide and thick enough")},
	}, plan.Short)
	assert.Zero(t, plan.Waste())

	p.Boards = nil
	plan, err = Solve(context.Background(), p, Search{})
	require.NoError(t, err)
	require.Len(t, plan.Short, 3)
	assert.Equal(t, "there is no board of 4/4 pine on hand", Told(plan.Short[0].Why, exactly, Stock.String).String())
}

// Matched parts lie on one board though a smaller one would take some of them; if one
// does not hold them, on boards that follow each other in a log, or at least are of one
// log; if there is none, on any, and the plan says so.
func TestMatchedPartsStayTogether(t *testing.T) {
	boards := []Board{board("short", 1000*mm, 110*mm), board("other", 1000*mm, 110*mm), board("long", 2100*mm, 110*mm)}
	p := Problem{Stock: pine, Rules: anyCuts, Boards: boards, Pieces: []Piece{{Key: "seat", Quantity: 2, Length: 1000 * mm, Width: 100 * mm, Match: "seat"}}}
	on := func() ([]string, []Matched) {
		plan, err := Solve(context.Background(), p, Search{Tries: 300, Seed: 3})
		require.NoError(t, err)
		require.NoError(t, Check(p, plan))
		require.Empty(t, plan.Short)
		var ids []string
		for _, l := range plan.Layouts {
			ids = append(ids, l.Board.ID)
		}
		return ids, plan.Matched
	}
	ids, matched := on()
	assert.Equal(t, []string{"long"}, ids)
	assert.Equal(t, []Matched{{"seat", OneBoard, ids}}, matched)
	p.Pieces[0].Match = ""
	ids, matched = on()
	assert.Equal(t, []string{"short", "other"}, ids, "two small boards are less")
	assert.Empty(t, matched)
	p.Pieces[0].Match = "seat"
	p.Boards = boards[:2]
	_, matched = on()
	assert.Equal(t, []Matched{{"seat", Apart, []string{"short", "other"}}}, matched)
	p.Boards[0].Log, p.Boards[0].InLog, p.Boards[1].Log, p.Boards[1].InLog = "oak of the churchyard", 4, "oak of the churchyard", 5
	_, matched = on()
	assert.Equal(t, []Matched{{"seat", Following, []string{"short", "other"}}}, matched)
	p.Boards[1].InLog = 6
	_, matched = on()
	assert.Equal(t, []Matched{{"seat", OneLog, []string{"short", "other"}}}, matched)
	p.Boards = append(p.Boards, board("third", 1000*mm, 110*mm))
	p.Boards[2].Log, p.Boards[2].InLog = "oak of the churchyard", 5
	ids, matched = on()
	assert.Contains(t, ids, "third", "the one between follows both")
	assert.Equal(t, Following, matched[0].How)
}

// A group over several lines is one match, kept on the one board that holds it, though
// other parts want that board too; a group that no boards hold wholly is short.
func TestAGroupOverSeveralLines(t *testing.T) {
	p := Problem{Stock: pine, Rules: anyCuts, Boards: []Board{board("a", 1000*mm, 200*mm), board("b", 1000*mm, 200*mm)}, Pieces: []Piece{
		{Key: "front", Quantity: 2, Length: 1000 * mm, Width: 50 * mm, Match: "drawers"},
		{Key: "rail", Quantity: 4, Length: 1000 * mm, Width: 50 * mm},
		{Key: "top", Quantity: 1, Length: 1000 * mm, Width: 100 * mm, Match: "drawers"},
	}}
	plan, err := Solve(context.Background(), p, Search{Tries: 300, Seed: 1})
	require.NoError(t, err)
	require.NoError(t, Check(p, plan))
	require.Empty(t, plan.Short)
	require.Len(t, plan.Matched, 1)
	assert.Equal(t, OneBoard, plan.Matched[0].How)

	p.Pieces[0].Quantity = 9
	plan, err = Solve(context.Background(), p, Search{Tries: 300, Seed: 1})
	require.NoError(t, err)
	require.NoError(t, Check(p, plan))
	assert.NotEmpty(t, plan.Short)
	assert.Equal(t, Apart, plan.Matched[0].How)
}

// An offcut keeps the defects that lie on it; what has too little beside them is waste.
func TestOffcutsKeepTheirDefects(t *testing.T) {
	for _, c := range []struct {
		name string
		knot Rect
		keep bool
	}{
		{"a knot at its end", Rect{X: 1900 * mm, Y: 40 * mm, Length: 30 * mm, Width: 30 * mm}, true},
		{"a check through all of it", Rect{X: 900 * mm, Y: 50 * mm, Length: 1100 * mm, Width: 50 * mm}, false},
	} {
		b := board("b", 2000*mm, 150*mm)
		b.Defects = []Defect{{Rect: c.knot}}
		rules := UsualRules
		rules.Kerf, rules.EndTrim = 3*mm, 0
		p := Problem{Stock: pine, Rules: rules, Boards: []Board{b}, Pieces: []Piece{{Key: "p", Quantity: 1, Length: 800 * mm, Width: 150 * mm}}}
		plan, err := Solve(context.Background(), p, Search{Tries: 100, Seed: 1})
		require.NoError(t, err)
		require.NoError(t, Check(p, plan))
		assert.Equal(t, []Offcut{{Rect{X: 803 * mm, Length: 1197 * mm, Width: 150 * mm}, c.keep}}, plan.Layouts[0].Offcuts, c.name)
	}
}

// The cuts are in an order a maker can follow: a knot is crosscut away, lengths first,
// then widths, each measured from the left end or the lower edge of the piece in hand.
func TestCutsOfOneBoard(t *testing.T) {
	b := board("b", 2000*mm, 150*mm)
	b.Defects = []Defect{{Rect: Rect{X: 20 * mm, Y: 60 * mm, Length: 40 * mm, Width: 30 * mm}, Note: "knot"}}
	p := Problem{Stock: pine, Boards: []Board{b}, Rules: UsualRules,
		Pieces: []Piece{{Key: "rail", Quantity: 2, Length: 900 * mm, Width: 70 * mm}, {Key: "slat", Quantity: 2, Length: 440 * mm, Width: 70 * mm}}}
	p.Rules.Kerf, p.Rules.EndTrim = 3*mm, 10*mm
	plan, err := Solve(context.Background(), p, Search{Tries: 2000, Seed: 1})
	require.NoError(t, err)
	require.NoError(t, Check(p, plan))
	require.Empty(t, plan.Short)
	cuts := plan.Layouts[0].Cuts
	assert.Equal(t, Cut{Kind: Crosscut, From: Rect{Length: 2000 * mm, Width: 150 * mm}, At: 7 * mm, Measure: 7 * mm}, cuts[0], "the left end is trimmed")
	assert.Equal(t, Cut{Kind: Crosscut, From: Rect{X: 10 * mm, Length: 1990 * mm, Width: 150 * mm}, At: 1990 * mm, Measure: 1980 * mm}, cuts[1])
	for i, c := range cuts[2:] {
		assert.Equal(t, []CutKind{"", Crosscut, Rip, Crosscut}[c.Stage], c.Kind, "cut %d", i+3)
		assert.GreaterOrEqual(t, c.Stage, cuts[i+1].Stage)
	}
	assert.InDelta(t, 2*(0.9+0.44)*0.07/(2*0.15), 1-plan.Waste(), 1e-9)
}

// Short pegs are ripped in a strip and crosscut from it, never the other way.
func TestShortPartsAreRippedInAStrip(t *testing.T) {
	p := Problem{Stock: pine, Boards: []Board{board("b", 1000*mm, 100*mm)}, Rules: UsualRules, Pieces: []Piece{{Key: "peg", Quantity: 40, Length: 40 * mm, Width: 10 * mm}}}
	plan, err := Solve(context.Background(), p, Search{Tries: 200, Seed: 1})
	require.NoError(t, err)
	require.NoError(t, Check(p, plan))
	require.Empty(t, plan.Short)
	rips := 0
	for _, c := range plan.Layouts[0].Cuts {
		if c.Kind == Rip {
			rips++
			assert.GreaterOrEqual(t, c.From.Length, 12*wood.Inch)
		}
	}
	assert.Positive(t, rips)
}

func TestBadProblemsAreRefused(t *testing.T) {
	good := func() Problem {
		return Problem{Stock: pine, Rules: UsualRules, Boards: []Board{board("a", 1000*mm, 100*mm)}, Pieces: []Piece{{Key: "p", Quantity: 1, Length: 10 * mm, Width: 10 * mm}}}
	}
	for want, spoil := range map[string]func(*Problem){
		`the kerf, -1 mm, must lie between 0 and 50 mm`:                  func(p *Problem) { p.Rules.Kerf = -mm },
		`the first cut, "saw", must be crosscut, rip or either`:          func(p *Problem) { p.Rules.First = "saw" },
		`the stages, 1, must lie between 2 and 20`:                       func(p *Problem) { p.Rules.Stages = 1 },
		`board "a": the length, 0 mm, must be more than 0`:               func(p *Problem) { p.Boards[0].Length = 0 },
		`the board "a" is listed twice`:                                  func(p *Problem) { p.Boards = append(p.Boards, p.Boards[0]) },
		`the board "a" is 4/4 pine, not 8/4 pine`:                        func(p *Problem) { p.Stock.Quarter = "8/4" },
		`the quarter "9/4" is not one of those`:                          func(p *Problem) { p.Boards[0].Quarter = "9/4" },
		`a sheet, which has no quarter, needs its thickness`:             func(p *Problem) { p.Boards[0].Quarter = "" },
		`defect 1 (5 mm by 5 mm at 1000 mm, 0 mm) is not on the board`:   func(p *Problem) { p.Boards[0].Defects = []Defect{{Rect: Rect{1000 * mm, 0, 5 * mm, 5 * mm}}} },
		`piece "p": the quantity, 0, must lie between 1 and 1000`:        func(p *Problem) { p.Pieces[0].Quantity = 0 },
		`piece "p": the width, -5 mm, must be more than 0`:               func(p *Problem) { p.Pieces[0].Width = -5 * mm },
		`the piece key "" is missing or listed twice`:                    func(p *Problem) { p.Pieces[0].Key = "" },
		`the least offcut to keep, -1 mm by 60 mm, must not be negative`: func(p *Problem) { p.Rules.KeepLength = -mm },
		`the least length to rip, -1 mm, must lie between 0 and 100 m`:   func(p *Problem) { p.Rules.LeastRip = -mm },
		`the end trim, -1 mm, must lie between 0`:                        func(p *Problem) { p.Rules.EndTrim = -mm },
		`the boards "a" and "b" have one place, 2, in the log "L"`: func(p *Problem) {
			p.Boards[0].Log, p.Boards[0].InLog = "L", 2
			o := p.Boards[0]
			o.ID = "b"
			p.Boards = append(p.Boards, o)
		},
		`2000 pieces are more than the 1000 that can be planned at once`: func(p *Problem) {
			p.Pieces[0].Quantity = 1000
			o := p.Pieces[0]
			o.Key = "q"
			p.Pieces = append(p.Pieces, o)
		},
		`board "a": the thickness, -1 mm, must lie between 0 and 100 m`: func(p *Problem) { p.Boards[0].Thickness = -mm },
	} {
		p := good()
		require.NoError(t, p.Check())
		spoil(&p)
		_, err := Solve(context.Background(), p, Search{Tries: 1})
		assert.ErrorContains(t, err, want)
	}
	_, err := Solve(context.Background(), good(), Search{Tries: -1})
	assert.ErrorContains(t, err, "the tries, -1, must be 1 or more")
}

// A cancelled search still gives a plan that can be sawn.
func TestCancelledSearch(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	p := published(t, "gcut4").problem(20)
	plan, err := Solve(ctx, p, Search{Tries: 1_000_000})
	require.NoError(t, err)
	require.NoError(t, Check(p, plan))
	assert.Empty(t, plan.Short)
	assert.LessOrEqual(t, plan.Tried, 3)
}

// The bound keeps to the time it is given: told to stop it says what it knows, and still
// bounds.
func TestLowerBoundStopsWhenItIsTold(t *testing.T) {
	p := published(t, "gcut4").problem(20)
	whole := LowerBound(context.Background(), p)
	require.Greater(t, whole.Boards, whole.Parts)
	for checks := range 40 {
		ctx := &doneAfter{Context: context.Background(), left: checks}
		got := LowerBound(ctx, p)
		assert.Equal(t, whole.Parts, got.Parts)
		assert.GreaterOrEqual(t, got.Boards, got.Parts)
		assert.LessOrEqual(t, got.Boards, whole.Boards+1e-12)
		assert.LessOrEqual(t, ctx.late, 30, "asked again and again after it was told")
	}
}

// doneAfter is a context that is done when it was asked so many times.
type doneAfter struct {
	context.Context
	left, late int
}

func (d *doneAfter) Err() error {
	if d.left--; d.left >= 0 {
		return nil
	}
	d.late++
	return context.DeadlineExceeded
}

// Bounds that can be told without searching.
func TestLowerBoundOfPlainCases(t *testing.T) {
	square := func(n int, length, width wood.Length) []Piece {
		return []Piece{{Key: "p", Quantity: n, Length: length, Width: width}}
	}
	boards := []Board{board("a", 1000*mm, 100*mm), board("b", 2000*mm, 100*mm), board("c", 3000*mm, 100*mm)}
	for name, c := range map[string]struct {
		pieces []Piece
		kerf   wood.Length
		want   float64
	}{
		"one small piece takes the least board":             {square(1, 10*mm, 10*mm), 0, 0.1},
		"ten whole metres are too many: their own area":     {square(10, 1000*mm, 100*mm), 0, 1},
		"three metres take the third, or the two others":    {square(3, 1000*mm, 100*mm), 0, 0.3},
		"with a kerf three metres take more than the third": {square(3, 1000*mm, 100*mm), 3 * mm, 0.4},
		"one long piece takes the third":                    {square(1, 2500*mm, 10*mm), 0, 0.3},
		"two too wide to lie beside each other":             {square(2, 900*mm, 60*mm), 0, 0.2},
		"pieces too small for points count by area":         {square(1000, 2*mm, 2*mm), 0, 0.1},
	} {
		got := LowerBound(context.Background(), Problem{Stock: pine, Rules: Rules{First: FirstEither, Kerf: c.kerf}, Boards: boards, Pieces: c.pieces})
		assert.InDelta(t, c.want, got.Boards, 1e-9, name)
	}
	assert.Equal(t, Bound{}, LowerBound(context.Background(), Problem{Stock: pine, Rules: anyCuts, Boards: boards}))
}

// The largest problem there may be, of boards and pieces all different, is bounded and
// laid without running away: the bound divides such boards coarsely, or goes by area.
func TestLargestProblem(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	p := Problem{Stock: pine, Rules: UsualRules}
	for i := range mostBoards {
		p.Boards = append(p.Boards, board(fmt.Sprint("b", i), wood.Length(1000+r.IntN(3000))*mm, wood.Length(300+r.IntN(900))*mm))
	}
	for i := range mostPieces {
		p.Pieces = append(p.Pieces, Piece{Key: fmt.Sprint("p", i), Quantity: 1, Length: wood.Length(20+r.IntN(900)) * mm, Width: wood.Length(20+r.IntN(250)) * mm})
	}
	plan, err := Solve(context.Background(), p, Search{Tries: 1, Seed: 1})
	require.NoError(t, err)
	require.NoError(t, Check(p, plan))
	require.LessOrEqual(t, plan.Bound.Boards, plan.BoardArea())
	require.GreaterOrEqual(t, plan.Bound.Boards, plan.Bound.Parts)
}
