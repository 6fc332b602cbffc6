package planner

import (
	"fmt"
	"strconv"
	"strings"

	"faceside/models"
	"faceside/models/stock"
)

// CuttingOf is a cutting plan as records: which boards are cut, with the offcuts that
// are worth keeping, and how many of which parts they give.
func CuttingOf(layouts []stock.Layout, pieces []stock.Piece) (models.NewCutting, error) {
	var n models.NewCutting
	got := map[string]int{}
	for _, l := range layouts {
		board, err := recordOf(l.Board)
		if err != nil {
			return n, err
		}
		cut := models.BoardCut{Board: board}
		for _, o := range l.Offcuts {
			if o.Keep {
				cut.Offcuts = append(cut.Offcuts, models.BoardArea(o.Rect))
			}
		}
		n.Boards = append(n.Boards, cut)
		for _, p := range l.Placed {
			got[p.Piece]++
		}
	}
	for _, p := range pieces {
		if got[p.Key] == 0 {
			continue
		}
		id, err := strconv.ParseInt(p.Key[strings.LastIndex(p.Key, "/")+1:], 10, 64)
		if err != nil {
			return n, fmt.Errorf("the part of piece %q: %w", p.Key, err)
		}
		n.Parts = append(n.Parts, models.PartCut{PartID: id, Quantity: got[p.Key], Length: p.Length, Width: p.Width})
	}
	return n, nil
}

// recordOf is one board of StockBoards as a record.
func recordOf(b stock.Board) (models.Board, error) {
	number, _, _ := strings.Cut(b.ID, "-")
	id, err := strconv.ParseInt(number, 10, 64)
	if err != nil {
		return models.Board{}, fmt.Errorf("the number of board %q: %w", b.ID, err)
	}
	out := models.Board{ID: id, Species: b.Species, Quarter: b.Quarter, Thickness: b.Thickness, Length: b.Length, Width: b.Width,
		Count: 1, Log: b.Log, InLog: b.InLog, Note: b.Note}
	for _, d := range b.Defects {
		out.Defects = append(out.Defects, models.BoardDefect{X: d.X, Y: d.Y, Length: d.Length, Width: d.Width, Note: d.Note})
	}
	return out, nil
}
