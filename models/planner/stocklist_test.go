package planner

import (
	"context"
	"testing"

	"faceside/models"
	"faceside/models/stock"
	"faceside/models/testrig"
	"faceside/models/wood"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func names(lines []stock.Line) (all []string) {
	for _, l := range lines {
		all = append(all, l.Commission+": "+l.Name)
	}
	return all
}

func TestStockListFollowsTheWork(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	first := r.take("First", "2026-12-20")
	all := []string{"First: Panel board", "First: Rail"}
	list := ReadStockList(r.snap())
	assert.Equal(t, all, names(list.Lines))
	assert.Equal(t, all, names(list.ToCut()))
	assert.Equal(t, all, names(list.ToPlane()))
	assert.Equal(t, "5/4", list.Lines[0].Quarter, "27 mm rough takes 5/4")

	r.do("Ana", first, "joint")
	list = ReadStockList(r.snap())
	assert.Equal(t, all, names(list.Lines), "a cut list stays whole")
	assert.Empty(t, list.ToCut(), "what was begun is cut")
	assert.True(t, list.Begun(list.Lines[0]))
	assert.Equal(t, all, names(list.ToPlane()))

	r.do("Ana", first, "plane")
	assert.Equal(t, []string{"First: Rail"}, names(ReadStockList(r.snap()).ToPlane()))
}

func TestStockListTellsCommissionsApart(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	a, b := r.take("Shelf", "2026-12-20"), r.take("Shelf", "2026-12-21")
	_, err := stock.Solve(context.Background(), stock.Problems(ReadStockList(r.snap()).Lines, nil, stock.UsualRules)[0], stock.Search{Tries: 1})
	require.NoError(t, err, "no two pieces have one key")
	assert.Equal(t, []string{"Shelf (no. 1): Panel board", "Shelf (no. 1): Rail", "Shelf (no. 2): Panel board", "Shelf (no. 2): Rail"},
		names(ReadStockList(r.snap()).Lines))
	assert.Len(t, ReadStockList(r.snap(), b.ID).Lines, 2)

	a.State = models.Held
	require.NoError(t, r.store.SaveCommission(context.Background(), *a))
	assert.Len(t, ReadStockList(r.snap()).Lines, 2, "a held commission takes no wood")
	assert.Len(t, ReadStockList(r.snap(), a.ID).Lines, 2, "unless it is asked for")
}

func TestStockListSaysWhatItLeavesOut(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := testrig.NewCommission(t, r.store, "Shelf", "2026-12-20")
	c.Pieces[0].Parts[0].Species = ""
	_, err := r.store.TakeCommission(context.Background(), c)
	require.NoError(t, err)
	list := ReadStockList(r.snap())
	assert.Equal(t, []string{"Shelf: Rail"}, names(list.Lines))
	require.Len(t, list.Wrong, 1)
	assert.Equal(t, "“Panel board” of Shelf is left out: the species is missing.", list.Wrong[0].String())
}

func TestStockBoardsAreSingle(t *testing.T) {
	mm := wood.Millimetre
	got := StockBoards([]models.Board{
		{ID: 7, Species: "ash", Quarter: "5/4", Length: 2400 * mm, Width: 200 * mm, Count: 2, Log: "A", InLog: 4},
		{ID: 9, Species: "ash", Quarter: "5/4", Length: 900 * mm, Width: 150 * mm, Count: 1, Note: "short",
			Defects: []models.BoardDefect{{X: 10 * mm, Y: 20 * mm, Length: 30 * mm, Width: 40 * mm, Note: "knot"}}},
	})
	assert.Equal(t, []stock.Board{
		{ID: "7-1", Species: "ash", Quarter: "5/4", Length: 2400 * mm, Width: 200 * mm, Log: "A", InLog: 4},
		{ID: "7-2", Species: "ash", Quarter: "5/4", Length: 2400 * mm, Width: 200 * mm, Log: "A", InLog: 5},
		{ID: "9", Species: "ash", Quarter: "5/4", Length: 900 * mm, Width: 150 * mm, Note: "short",
			Defects: []stock.Defect{{Rect: stock.Rect{X: 10 * mm, Y: 20 * mm, Length: 30 * mm, Width: 40 * mm}, Note: "knot"}}},
	}, got)
	for _, b := range got {
		assert.NoError(t, b.Check())
	}
}
