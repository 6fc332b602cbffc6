package seed

import (
	"context"
	"fmt"

	"faceside/models"
	"faceside/models/wood"
)

// demoBoard is a board of the demo shop's rack, with the places its maker marked.
type demoBoard struct {
	board   models.Board
	defects []models.BoardDefect
}

// demoBoards are an invented rack, in inches: enough for some of what is open, not
// for all of it.
func demoBoards() []demoBoard {
	board := func(species, quarter string, length, width wood.Length, count int) models.Board {
		return models.Board{Species: species, Quarter: quarter, Length: length * wood.Inch, Width: width * wood.Inch / 4, Count: count}
	}
	of := func(log string, place int, b models.Board) models.Board {
		b.Log, b.InLog = log, place
		return b
	}
	at := func(x, y, length, width wood.Length, note string) models.BoardDefect {
		return models.BoardDefect{X: x * wood.Inch, Y: y * wood.Inch / 4, Length: length * wood.Inch, Width: width * wood.Inch / 4, Note: note}
	}
	sheet := models.Board{Species: "plywood", Thickness: wood.Inch / 4, Length: 96 * wood.Inch, Width: 48 * wood.Inch, Count: 1}
	return []demoBoard{
		{board: of("ash at the door", 1, board("ash", "8/4", 98, 33, 1)), defects: []models.BoardDefect{at(40, 0, 3, 8, "knot"), at(95, 0, 3, 33, "check")}},
		{board: of("ash at the door", 2, board("ash", "8/4", 98, 34, 1)), defects: []models.BoardDefect{at(61, 20, 2, 7, "knot")}},
		{board: board("ash", "5/4", 121, 30, 2)},
		{board: board("ash", "4/4", 96, 28, 3)},
		{board: of("cherry of the orchard", 1, board("cherry", "4/4", 76, 27, 1)), defects: []models.BoardDefect{at(0, 24, 30, 3, "wane")}},
		{board: of("cherry of the orchard", 2, board("cherry", "4/4", 76, 29, 1))},
		{board: board("walnut", "4/4", 84, 25, 2)},
		{board: board("walnut", "8/4", 40, 21, 1), defects: []models.BoardDefect{at(12, 8, 2, 5, "knot")}},
		{board: board("oak", "4/4", 108, 32, 3)},
		{board: board("oak", "5/4", 100, 30, 1), defects: []models.BoardDefect{at(0, 0, 4, 30, "check")}},
		{board: sheet},
	}
}

// rackDemo puts the demo's boards on the rack.
func rackDemo(ctx context.Context, store *models.Store) error {
	for _, d := range demoBoards() {
		b, err := store.SaveBoard(ctx, d.board)
		if err != nil {
			return fmt.Errorf("racking the boards: %w", err)
		}
		for _, defect := range d.defects {
			defect.BoardID = b.ID
			if _, err := store.MarkDefect(ctx, defect); err != nil {
				return fmt.Errorf("marking the boards: %w", err)
			}
		}
	}
	return nil
}
