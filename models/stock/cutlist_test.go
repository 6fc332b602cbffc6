package stock

import (
	"context"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models/pattern"
	"faceside/models/wood"
)

// shipped is the lines of a piece that the program ships with.
func shipped(t testing.TB, commission, key string) []Line {
	l, err := pattern.Load(os.DirFS("../../seed"))
	require.NoError(t, err)
	b, err := l.Build(pattern.Input{Pattern: key}, l.GenerousShop())
	require.NoError(t, err)
	lines, err := CutList(commission, b.Parts)
	require.NoError(t, err)
	require.Len(t, lines, len(b.Parts))
	return lines
}

func part4(key string, quantity int, species string, length, width, thickness wood.Length) pattern.Part {
	return pattern.Part{Key: key, Name: key, Quantity: quantity, Species: species, Grain: "length",
		Finished: pattern.Size{Length: length - 30*mm, Width: width - 7*mm, Thickness: thickness},
		Rough:    pattern.Size{Length: length, Width: width, Thickness: thickness + 5*mm}}
}

func TestQuarterFor(t *testing.T) {
	for _, c := range []struct {
		finished, rough wood.Length
		want            string
	}{
		{19 * mm, 24 * mm, "4/4"},               // three quarters of an inch out of 4/4: common practice, no source
		{13 * wood.Inch / 16, wood.Inch, "4/4"}, // the surfaced thickness itself, as Quarters prints it
		{13*wood.Inch/16 + 1, wood.Inch, "5/4"},
		{20 * mm, 26 * mm, "5/4"}, // surfaced it would do, but as sawn it is too thin
		{45 * mm, 52 * mm, "10/4"},
		{44 * mm, 50 * mm, "8/4"},
		{90 * mm, 97 * mm, "16/4"},
	} {
		q, err := QuarterFor(c.finished, c.rough)
		require.NoError(t, err)
		assert.Equal(t, c.want, q.Name, "%v %v", c.finished, c.rough)
	}
	_, err := QuarterFor(90*mm, 120*mm)
	assert.ErrorContains(t, err, "the rough thickness, 120 mm, is more than 16/4 stock has (101.6 mm)")
	_, err = QuarterFor(120*mm, 125*mm)
	assert.ErrorContains(t, err, "glue it up from thinner stock")
}

// Of the woods that patterns may ask for only plywood comes as sheets.
func TestSheetGoods(t *testing.T) {
	l, err := pattern.Load(os.DirFS("../../seed"))
	require.NoError(t, err)
	for _, s := range l.Species() {
		assert.Equal(t, s.Key == "plywood", SheetGoods(s.Key), s.Key)
	}
}

func TestBadPartsAreRefused(t *testing.T) {
	for want, spoil := range map[string]func(*pattern.Part){
		"the species is missing":                                                     func(p *pattern.Part) { p.Species = "" },
		"the quantity, 0, must lie between 1 and 1000":                               func(p *pattern.Part) { p.Quantity = 0 },
		"the rough width, 0 mm, must be more than 0":                                 func(p *pattern.Part) { p.Rough.Width = 0 },
		"the rough length, 900 mm, is less than the finished length, 970 mm":         func(p *pattern.Part) { p.Rough.Length = 900 * mm },
		`part "rail" of "Bench": the finished thickness, -1 mm, must be more than 0`: func(p *pattern.Part) { p.Finished.Thickness = -mm },
	} {
		p := part4("rail", 1, "oak", 1000*mm, 100*mm, 20*mm)
		spoil(&p)
		_, err := CutList("Bench", []pattern.Part{p})
		assert.ErrorContains(t, err, want)
	}
}

// Two commissions share a group where species, stock and thickness are the same; board
// feet are counted by hand: 1 in by 12 in by 10 ft of 8/4 is 20 board feet.
func TestGroupsAndRunsOverTwoCommissions(t *testing.T) {
	bench, err := CutList("Bench", []pattern.Part{
		part4("post", 4, "oak", 500*mm, 60*mm, 44*mm),
		part4("seat", 1, "oak", 10*wood.Foot, 12*wood.Inch, 44*mm),
		part4("block", 2, "walnut", 300*mm, 60*mm, 44*mm),
		part4("back", 1, "plywood", 800*mm, 600*mm, 6*mm),
		part4("beam", 1, "oak", 800*mm, 150*mm, 120*mm),
	})
	require.NoError(t, err)
	shelf, err := CutList("Shelf", []pattern.Part{part4("side", 2, "oak", 900*mm, 200*mm, 20*mm), part4("rail", 3, "oak", 600*mm, 60*mm, 44*mm)})
	require.NoError(t, err)
	all := append(bench, shelf...)

	groups := Groups(all)
	type row struct {
		species, quarter string
		thickness        wood.Length
		lines, pieces    int
	}
	var rows []row
	for _, g := range groups {
		rows = append(rows, row{g.Species, g.Quarter, g.Thickness, len(g.Lines), g.Pieces})
	}
	assert.Equal(t, []row{
		{"oak", "", 120 * mm, 1, 1}, {"oak", "8/4", 44 * mm, 3, 8}, {"oak", "4/4", 20 * mm, 1, 2},
		{"plywood", "", 6 * mm, 1, 1}, {"walnut", "8/4", 44 * mm, 1, 2},
	}, rows)
	assert.True(t, groups[0].Lines[0].TooThick)
	assert.True(t, groups[3].Sheet)
	assert.InDelta(t, 0.48, groups[3].Area, 1e-12)
	assert.InDelta(t, 20+4*wood.BoardFeet(500*mm, 60*mm, 2*wood.Inch)+3*wood.BoardFeet(600*mm, 60*mm, 2*wood.Inch), groups[1].Feet, 1e-9)
	assert.Equal(t, "seat", groups[1].Lines[0].Part, "the longest first")

	// Every thickness meets the planer once, thickest first; walnut goes with oak.
	runs := Runs(all)
	require.Len(t, runs, 3)
	assert.Equal(t, []wood.Length{120 * mm, 44 * mm, 20 * mm}, []wood.Length{runs[0].Thickness, runs[1].Thickness, runs[2].Thickness})
	assert.Equal(t, 10, runs[1].Pieces)
	assert.Equal(t, 300*mm, runs[1].Shortest)
	assert.Equal(t, 49*mm, runs[1].Thickest)
	assert.InDelta(t, 4*0.5+3.048+2*0.3+3*0.6, runs[1].Feed, 1e-9)
}

// A hundred board feet at a yield of 0.8 is 125 to buy; what is too thick is not bought.
func TestToBuy(t *testing.T) {
	lines, err := CutList("Bench", []pattern.Part{
		part4("seat", 5, "oak", 10*wood.Foot, 12*wood.Inch, 44*mm), part4("post", 1, "oak", 500*mm, 60*mm, 120*mm),
		part4("back", 2, "plywood", 800*mm, 600*mm, 6*mm), part4("side", 1, "oak", 10*wood.Foot, 12*wood.Inch, 20*mm),
	})
	require.NoError(t, err)
	buy, err := ToBuy(lines, Yield{Boards: 0.8, Sheets: 0.96})
	require.NoError(t, err)
	require.Len(t, buy, 3)
	assert.Equal(t, Purchase{Species: "oak", Quarter: "8/4", Thickness: 2 * wood.Inch, Pieces: 5, Net: 100, Buy: 125, Longest: 10 * wood.Foot, Widest: 12 * wood.Inch}, buy[0])
	assert.Equal(t, Purchase{Species: "oak", Quarter: "4/4", Thickness: wood.Inch, Pieces: 1, Net: 10, Buy: 13, Longest: 10 * wood.Foot, Widest: 12 * wood.Inch}, buy[1])
	assert.InDelta(t, 1, buy[2].Buy, 1e-9)
	n, err := buy[0].BoardsOf(8*wood.Foot, 6*wood.Inch) // 8 board feet each
	require.NoError(t, err)
	assert.Equal(t, 16, n)
	n, err = buy[2].BoardsOf(2000*mm, 500*mm)
	require.NoError(t, err)
	assert.Equal(t, 1, n)
	_, err = buy[0].BoardsOf(8*wood.Foot, 0)
	assert.ErrorContains(t, err, "the width of a board, 0 mm, must be more than 0")
	for _, y := range []Yield{{0, 1}, {1, 1.1}, {-1, 1}} {
		_, err := ToBuy(lines, y)
		assert.ErrorContains(t, err, "must be more than 0 and at most 1")
	}
}

// The pieces that ship: every line has a stock, every thickness is in one run, and what
// boards on hand do not give is what is to be bought.
func TestShippedPiecesFromBoardsOnHand(t *testing.T) {
	lines := MatchEach(append(shipped(t, "Bench", "hall-bench"), shipped(t, "Shelf", "wall-shelf-unit")...))
	pieces := 0
	for _, l := range lines {
		assert.True(t, l.Sheet != (l.Quarter != ""), "%s: %q", l.Part, l.Quarter)
		assert.False(t, l.TooThick, l.Part)
		pieces += l.Quantity
	}
	counted, seen := 0, map[wood.Length]bool{}
	for _, r := range Runs(lines) {
		assert.False(t, seen[r.Thickness])
		seen[r.Thickness] = true
		counted += r.Pieces
	}
	for _, l := range lines {
		if l.Sheet {
			counted += l.Quantity
		}
	}
	assert.Equal(t, pieces, counted)

	buyAll, err := ToBuy(lines, UsualYield)
	require.NoError(t, err)
	var boards []Board
	for _, p := range buyAll[:len(buyAll)-1] { // none of the last stock is on hand
		for i := range 4 {
			b := Board{ID: p.Species + p.Quarter + string(rune('a'+i)), Species: p.Species, Quarter: p.Quarter, Length: p.Longest + 200*mm, Width: p.Widest + 60*mm}
			if p.Sheet {
				b.Thickness = p.Thickness
			}
			boards = append(boards, b)
		}
	}
	var plans []Plan
	gaps := 0
	for _, p := range Problems(lines, boards, UsualRules) {
		plan, err := Solve(context.Background(), p, Search{Tries: 300, Seed: 1})
		require.NoError(t, err, p.Stock)
		require.NoError(t, Check(p, plan), p.Stock)
		plans = append(plans, plan)
		gaps += len(plan.Short)
	}
	require.Positive(t, gaps, "some stock is not on hand")
	short := ShortLines(lines, plans...)
	buy, err := ToBuy(short, UsualYield)
	require.NoError(t, err)
	assert.Equal(t, buyAll[len(buyAll)-1], buy[len(buy)-1], "all of the stock that is not on hand")
	placed := 0
	for _, p := range plans {
		for _, l := range p.Layouts {
			placed += len(l.Placed)
		}
	}
	for _, l := range short {
		placed += l.Quantity
	}
	assert.Equal(t, pieces, placed, "every piece is cut or bought")
}
