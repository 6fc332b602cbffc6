package models_test

import (
	"context"
	"path/filepath"
	"testing"

	"faceside/models"
	"faceside/models/testrig"
	"faceside/models/wood"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

const mm = wood.Millimetre

// walnut is a board that can be saved.
func walnut() models.Board {
	return models.Board{Species: "walnut", Quarter: "8/4", Length: 2400 * mm, Width: 210 * mm, Count: 1, Note: "from the left rack"}
}

func TestBoardsAreKeptAndChanged(t *testing.T) {
	ctx, store := context.Background(), testrig.Shop(t, testrig.Monday())
	before := testrig.Snapshot(t, store).Shop.Revision
	b, err := store.SaveBoard(ctx, walnut())
	require.NoError(t, err)
	assert.Equal(t, before+1, testrig.Snapshot(t, store).Shop.Revision)

	b.Length, b.Note = 2300*mm, ""
	_, err = store.SaveBoard(ctx, b)
	require.NoError(t, err)
	knot, err := store.MarkDefect(ctx, models.BoardDefect{BoardID: b.ID, X: 400 * mm, Y: 0, Length: 60 * mm, Width: 40 * mm, Note: "knot"})
	require.NoError(t, err)
	read, err := store.BoardByID(ctx, b.ID)
	require.NoError(t, err)
	b.Defects = []models.BoardDefect{knot}
	assert.Equal(t, b, read)

	require.NoError(t, store.UnmarkDefect(ctx, b.ID, knot.ID))
	require.NoError(t, store.RemoveBoard(ctx, b.ID))
	all, err := store.Boards(ctx)
	require.NoError(t, err)
	assert.Empty(t, all)
	assert.Equal(t, before+5, testrig.Snapshot(t, store).Shop.Revision)
	again, err := store.SaveBoard(ctx, walnut())
	require.NoError(t, err)
	assert.Greater(t, again.ID, b.ID, "a number chalked on wood is not given again")
}

func TestBoardsAreListedThickBeforeThin(t *testing.T) {
	ctx, store := context.Background(), testrig.Shop(t, testrig.Monday())
	for _, b := range []models.Board{
		{Species: "walnut", Quarter: "4/4", Length: 3000 * mm, Width: 150 * mm, Count: 2},
		{Species: "plywood", Thickness: 6 * mm, Length: 2440 * mm, Width: 1220 * mm, Count: 1},
		{Species: "walnut", Quarter: "12/4", Length: 900 * mm, Width: 150 * mm, Count: 1},
		{Species: "walnut", Quarter: "4/4", Length: 3100 * mm, Width: 150 * mm, Count: 1},
	} {
		_, err := store.SaveBoard(ctx, b)
		require.NoError(t, err)
	}
	all, err := store.Boards(ctx)
	require.NoError(t, err)
	var ids []models.ID
	for _, b := range all {
		ids = append(ids, b.ID)
	}
	assert.Equal(t, []models.ID{2, 3, 4, 1}, ids)
}

func TestBoardsRefused(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*models.Board)
		field  string
		say    string
	}{
		"no species":      {func(b *models.Board) { b.Species = "" }, "species", `The species "" is no key: use letters and digits without accents, and - . _ / : # after the first.`},
		"unknown quarter": {func(b *models.Board) { b.Quarter = "9/4" }, "quarter", `The quarter "9/4" is not one that is sold: 4/4, 5/4, 6/4, 7/4, 8/4, 10/4, 12/4, 16/4.`},
		"no quarter":      {func(b *models.Board) { b.Quarter = "" }, "quarter", "The thickness as sold is missing: solid wood is sold as 4/4, 5/4, 6/4, 7/4, 8/4, 10/4, 12/4, 16/4."},
		"no length":       {func(b *models.Board) { b.Length = 0 }, "length", "The length 0 mm is not above 0 and at most 100 m."},
		"too wide":        {func(b *models.Board) { b.Width = 100_001 * mm }, "width", "The width 100001 mm is not above 0 and at most 100 m."},
		"thickness":       {func(b *models.Board) { b.Thickness = -mm }, "thickness", "The thickness -1 mm is not between 0 and 100 m."},
		"none":            {func(b *models.Board) { b.Count = 0 }, "count", "The count 0 boards is not between 1 and 500 boards."},
		"place, no log":   {func(b *models.Board) { b.InLog = 3 }, "log", "The place 3 is in no log: name the log too, or leave both empty."},
		"log, no place":   {func(b *models.Board) { b.Log = "A" }, "place in the log", "The place in the log 0 is not between 1 and 100000."},
		"sheet, quarter":  {func(b *models.Board) { b.Species = "plywood" }, "quarter", `plywood comes in sheets, so its thickness is measured and it has no quarter such as "8/4".`},
		"sheet, thinness": {func(b *models.Board) { b.Species, b.Quarter = "plywood", "" }, "thickness", "The thickness 0 mm is not above 0 and at most 100 m."},
		"not there":       {func(b *models.Board) { b.ID = 99 }, "board", "There is no board with number 99."},
	} {
		t.Run(name, func(t *testing.T) {
			ctx, store := context.Background(), testrig.Shop(t, testrig.Monday())
			b := walnut()
			c.change(&b)
			_, err := store.SaveBoard(ctx, b)
			var e *models.Error
			require.ErrorAs(t, err, &e)
			assert.Equal(t, c.field, e.Field)
			assert.Equal(t, c.say, e.Error())
			all, err := store.Boards(ctx)
			require.NoError(t, err)
			assert.Empty(t, all, "nothing half saved")
		})
	}
}

func TestDefectsRefused(t *testing.T) {
	ctx, store := context.Background(), testrig.Shop(t, testrig.Monday())
	b, err := store.SaveBoard(ctx, walnut())
	require.NoError(t, err)
	two := walnut()
	two.Count = 2
	two, err = store.SaveBoard(ctx, two)
	require.NoError(t, err)
	for say, d := range map[string]models.BoardDefect{
		"The defect would reach to 2410 mm from the left end, and the board is 2400 mm long.":           {BoardID: b.ID, X: 2400 * mm, Length: 10 * mm, Width: 10 * mm},
		"The defect would reach to 211 mm from the lower edge, and the board is 210 mm wide.":           {BoardID: b.ID, Y: 200 * mm, Length: 10 * mm, Width: 11 * mm},
		"The distance from the left end -1 mm is not between 0 and 100 m.":                              {BoardID: b.ID, X: -mm, Length: 10 * mm, Width: 10 * mm},
		"The length 0 mm is not above 0 and at most 100 m.":                                             {BoardID: b.ID, Width: 10 * mm},
		"There is no board with number 99.":                                                             {BoardID: 99, Length: mm, Width: mm},
		"Board 2 stands for 2 equal boards: lower its count and add the one with the defect by itself.": {BoardID: two.ID, Length: mm, Width: mm},
	} {
		_, err := store.MarkDefect(ctx, d)
		assert.EqualError(t, err, say)
	}
	knot, err := store.MarkDefect(ctx, models.BoardDefect{BoardID: b.ID, X: 2300 * mm, Y: 200 * mm, Length: 100 * mm, Width: 10 * mm})
	require.NoError(t, err, "up to the very corner")

	b.Count = 2
	_, err = store.SaveBoard(ctx, b)
	assert.EqualError(t, err, "Board 1 has marked defects, so it stands for itself: its count is 1, not 2.")
	b.Count, b.Length = 1, 2399*mm
	_, err = store.SaveBoard(ctx, b)
	assert.EqualError(t, err, "The length 2399 mm leaves out a marked defect that reaches to 2400 mm: remove its mark first.")
	assert.EqualError(t, store.UnmarkDefect(ctx, two.ID, knot.ID), "There is no defect with number 1.")
	assert.EqualError(t, store.UnmarkDefect(ctx, b.ID, 77), "There is no defect with number 77.")
	assert.EqualError(t, store.RemoveBoard(ctx, 77), "There is no board with number 77.")
	_, err = store.BoardByID(ctx, 77)
	assert.Equal(t, models.NotFound, models.CodeOf(err))
}

// However boards are given places in a log, no two have one place.
func TestPlacesInALogStayApart(t *testing.T) {
	ctx, store := context.Background(), testrig.Shop(t, testrig.Monday())
	rapid.Check(t, func(t *rapid.T) {
		b := walnut()
		b.Log = rapid.SampledFrom([]string{"", "A", "B"}).Draw(t, "log")
		b.Count = rapid.IntRange(1, 4).Draw(t, "count")
		if b.Log != "" {
			b.InLog = rapid.IntRange(1, 30).Draw(t, "place")
		}
		b.ID = rapid.SampledFrom([]models.ID{0, 1, 2, 3}).Draw(t, "board")
		if _, err := store.SaveBoard(ctx, b); err != nil && models.CodeOf(err) == models.Internal {
			t.Fatalf("the store failed: %v", err)
		}
		all, err := store.Boards(ctx)
		if err != nil {
			t.Fatal(err)
		}
		taken := map[string]map[int]models.ID{}
		for _, o := range all {
			for k := o.InLog; o.Log != "" && k < o.InLog+o.Count; k++ {
				if taken[o.Log] == nil {
					taken[o.Log] = map[int]models.ID{}
				}
				if other, there := taken[o.Log][k]; there {
					t.Fatalf("place %d of log %s is taken by %d and %d", k, o.Log, other, o.ID)
				}
				taken[o.Log][k] = o.ID
			}
		}
	})
}

// What the store's checks would let through by mistake, the database refuses too.
func TestDatabaseRefusesBadBoards(t *testing.T) {
	ctx, store := context.Background(), testrig.Shop(t, testrig.Monday())
	b, err := store.SaveBoard(ctx, walnut())
	require.NoError(t, err)
	_, err = store.MarkDefect(ctx, models.BoardDefect{BoardID: b.ID, Length: mm, Width: mm})
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, store.Backup(ctx, path))
	db := raw(t, path)
	for statement, why := range map[string]string{
		"UPDATE boards SET species = ''":         "CHECK",
		"UPDATE boards SET quarter = ''":         "CHECK",
		"UPDATE boards SET length = 0":           "CHECK",
		"UPDATE boards SET width = 'wide'":       "CHECK",
		"UPDATE boards SET count = 0":            "CHECK",
		"UPDATE boards SET log = 'A'":            "CHECK",
		"UPDATE boards SET in_log = 1":           "CHECK",
		"UPDATE board_defects SET x = -1":        "CHECK",
		"UPDATE board_defects SET length = 0":    "CHECK",
		"UPDATE board_defects SET board_id = 99": "FOREIGN KEY",
		"UPDATE board_defects SET note = NULL":   "NOT NULL",
	} {
		_, err := db.Exec(statement)
		assert.ErrorContains(t, err, why, statement)
	}
	_, err = db.Exec("DELETE FROM boards")
	require.NoError(t, err)
	var left int
	require.NoError(t, db.QueryRow("SELECT count(*) FROM board_defects").Scan(&left))
	assert.Zero(t, left, "marks go with their board")
}
