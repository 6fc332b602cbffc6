package models_test

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"

	"faceside/models"
	"faceside/models/testrig"
	"faceside/models/wood"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// rack is a shop with a commission to be cut and boards of its own.
type rack struct {
	testing.TB
	store *models.Store
	parts []models.Part // panel boards and rails
}

func newRack(t *testing.T) *rack {
	store := testrig.Shop(t, testrig.Monday())
	testrig.Commission(t, store, "Shelf", "2026-03-20")
	return &rack{TB: t, store: store, parts: testrig.Snapshot(t, store).Parts}
}

func (r *rack) save(b models.Board) models.Board {
	r.Helper()
	b, err := r.store.SaveBoard(context.Background(), b)
	require.NoError(r, err)
	return b
}

func (r *rack) all() []models.Board {
	r.Helper()
	all, err := r.store.Boards(context.Background())
	require.NoError(r, err)
	return all
}

// cut is a cutting that takes boards and gives one rail.
func (r *rack) cut(form string, boards ...models.BoardCut) models.NewCutting {
	rail := r.parts[1]
	return models.NewCutting{FormID: form, Name: "8/4 Walnut", Boards: boards,
		Parts: []models.PartCut{{PartID: rail.ID, Quantity: 1, Length: rail.RoughLength, Width: rail.RoughWidth}}}
}

// one is one board of a record, at a place of its log.
func one(b models.Board, k int) models.Board {
	if b.Log != "" {
		b.InLog += k
	}
	b.Count = 1
	return b
}

func TestCuttingTakesBoardsAndPutsOffcutsBack(t *testing.T) {
	ctx, r := context.Background(), newRack(t)
	b := walnut()
	b.Thickness, b.Log, b.InLog = 52*mm, "A", 3
	b = r.save(b)
	knot, err := r.store.MarkDefect(ctx, models.BoardDefect{BoardID: b.ID, X: 1000 * mm, Y: 180 * mm, Length: 60 * mm, Width: 30 * mm, Note: "knot"})
	require.NoError(t, err)
	b.Defects = []models.BoardDefect{knot}
	before := r.all()

	n := r.cut("form/all", models.BoardCut{Board: b, Offcuts: []models.BoardArea{{X: 900 * mm, Length: 1500 * mm, Width: 200 * mm}, {Length: 890 * mm, Width: 70 * mm}}})
	c, err := r.store.BookCutting(ctx, n)
	require.NoError(t, err)
	got := r.all()
	require.Len(t, got, 2)
	long := got[0]
	assert.Equal(t, models.Board{ID: long.ID, Species: "walnut", Quarter: "8/4", Thickness: 52 * mm, Length: 1500 * mm, Width: 200 * mm, Count: 1,
		Log: "A", InLog: 3, Note: "from the left rack", CutFrom: b.ID,
		Defects: []models.BoardDefect{{ID: long.Defects[0].ID, BoardID: long.ID, X: 100 * mm, Y: 180 * mm, Length: 60 * mm, Width: 20 * mm, Note: "knot"}}}, long)
	assert.Equal(t, 890*mm, got[1].Length)
	assert.Empty(t, got[1].Defects)
	snap := testrig.Snapshot(t, r.store)
	assert.Equal(t, map[models.ID]int{r.parts[1].ID: 1}, snap.Cut)

	again, err := r.store.BookCutting(ctx, n)
	require.NoError(t, err, "the same form twice")
	assert.Equal(t, c.ID, again.ID)
	assert.Equal(t, got, r.all())
	assert.Equal(t, snap.Shop.Revision, testrig.Snapshot(t, r.store).Shop.Revision)

	long.Note = "in the loft"
	_, err = r.store.SaveBoard(ctx, long)
	require.NoError(t, err, "offcuts share a place in the log")
	require.NoError(t, r.store.UndoCutting(ctx, c.ID), "where it lies does not matter")
	after := r.all()
	after[0].Defects[0].ID = before[0].Defects[0].ID
	assert.Equal(t, before, after)
	assert.Empty(t, testrig.Snapshot(t, r.store).Cut)
	require.NoError(t, r.store.UndoCutting(ctx, c.ID), "undone twice is undone once")
	c, err = r.store.CuttingByID(ctx, c.ID)
	require.NoError(t, err)
	assert.NotNil(t, c.UndoneAt)
	assert.Len(t, c.Boards, 3)
}

func TestCuttingsRefused(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(*rack, *models.NewCutting)
		say   string
	}{
		"no form":          {func(_ *rack, n *models.NewCutting) { n.FormID = "" }, `The form has no id of its own (""): load the page again.`},
		"no boards":        {func(_ *rack, n *models.NewCutting) { n.Boards = nil }, "Nothing is cut: 0 boards, 1 parts."},
		"board is gone":    {func(r *rack, _ *models.NewCutting) { require.NoError(r, r.store.RemoveBoard(context.Background(), 1)) }, "Board 1 is not on the rack any more: plan the cuts again."},
		"board is shorter": {func(r *rack, _ *models.NewCutting) { b := walnut(); b.ID, b.Length, b.Count = 1, 2000*mm, 2; r.save(b) }, "Board 1 was changed since this was planned: plan the cuts again."},
		"a new defect": {func(r *rack, n *models.NewCutting) {
			_, err := r.store.MarkDefect(context.Background(), models.BoardDefect{BoardID: 2, Length: mm, Width: mm})
			require.NoError(r, err)
		}, "Board 2 was changed since this was planned: plan the cuts again."},
		"too few are left": {func(r *rack, n *models.NewCutting) { n.Boards = append(n.Boards, n.Boards[0], n.Boards[0]) }, "Board 1 stands for 2 boards, and this plan cuts into 3 or into one twice: plan the cuts again."},
		"offcut beyond": {func(_ *rack, n *models.NewCutting) {
			n.Boards[0].Offcuts = []models.BoardArea{{X: 2000 * mm, Length: 401 * mm, Width: mm}}
		}, "An offcut does not lie on board 1, which it is said to come from."},
		"part of another size": {func(_ *rack, n *models.NewCutting) { n.Parts[0].Length += mm }, "The rough size of “Rail” was changed since this was planned: plan the cuts again."},
		"no such part":         {func(_ *rack, n *models.NewCutting) { n.Parts[0].PartID = 99 }, "There is no part with number 99."},
		"none of a part":       {func(_ *rack, n *models.NewCutting) { n.Parts[0].Quantity = 0 }, "The quantity of “Rail”, 0, is not at least 1."},
		"cut already": {func(r *rack, n *models.NewCutting) {
			first := *n
			first.FormID, first.Boards = "other", n.Boards[1:]
			first.Parts = []models.PartCut{n.Parts[0]}
			first.Parts[0].Quantity = 2
			b := r.save(models.Board{Species: "walnut", Quarter: "8/4", Length: 900 * mm, Width: 90 * mm, Count: 1})
			first.Boards = []models.BoardCut{{Board: b}}
			_, err := r.store.BookCutting(context.Background(), first)
			require.NoError(r, err)
		}, "Of “Rail”, 2 of 2 are booked as cut already, and this plan cuts 1 more: plan the cuts again."},
	} {
		t.Run(name, func(t *testing.T) {
			r := newRack(t)
			two := walnut()
			two.Count = 2
			n := r.cut("form", models.BoardCut{Board: one(r.save(two), 0)}, models.BoardCut{Board: r.save(walnut())})
			c.spoil(r, &n)
			before, cut := r.all(), testrig.Snapshot(t, r.store).Cut
			_, err := r.store.BookCutting(context.Background(), n)
			assert.EqualError(t, err, c.say)
			assert.Equal(t, before, r.all(), "nothing half booked")
			assert.Equal(t, cut, testrig.Snapshot(t, r.store).Cut)
			assert.Equal(t, models.NotFound, models.CodeOf(r.store.UndoCutting(context.Background(), 99)))
		})
	}
}

// What came out of a cutting must be as it was left, or there is no way back.
func TestCuttingIsNotUndoneOnceItsOffcutsAreUsed(t *testing.T) {
	ctx, r := context.Background(), newRack(t)
	b := r.save(walnut())
	first, err := r.store.BookCutting(ctx, r.cut("first", models.BoardCut{Board: b, Offcuts: []models.BoardArea{{Length: 1200 * mm, Width: 210 * mm}}}))
	require.NoError(t, err)
	offcut := r.all()[0]
	second, err := r.store.BookCutting(ctx, r.cut("second", models.BoardCut{Board: offcut}))
	require.NoError(t, err)
	before := r.all()
	err = r.store.UndoCutting(ctx, first.ID)
	assert.EqualError(t, err, "Board 2 came out of this cutting and was used or changed since, so the cutting cannot be undone.")
	assert.Equal(t, models.Conflict, models.CodeOf(err))
	assert.Equal(t, before, r.all())

	require.NoError(t, r.store.UndoCutting(ctx, second.ID), "the last one first")
	offcut.Length -= mm
	r.save(offcut)
	require.Error(t, r.store.UndoCutting(ctx, first.ID), "it was measured again")
	offcut.Length += mm
	r.save(offcut)
	require.NoError(t, r.store.UndoCutting(ctx, first.ID))
	assert.Equal(t, []models.Board{b}, r.all())
}

// Equal boards in no log are told by their count: another cutting of the same record
// does not stand in the way.
func TestCuttingsOfEqualBoardsAreUndoneInAnyOrder(t *testing.T) {
	ctx, r := context.Background(), newRack(t)
	five := walnut()
	five.Count = 2
	five = r.save(five)
	first, err := r.store.BookCutting(ctx, r.cut("first", models.BoardCut{Board: one(five, 0)}))
	require.NoError(t, err)
	second, err := r.store.BookCutting(ctx, r.cut("second", models.BoardCut{Board: one(five, 1)}))
	require.NoError(t, err)
	assert.Empty(t, r.all())
	require.NoError(t, r.store.UndoCutting(ctx, first.ID))
	assert.Equal(t, 1, r.all()[0].Count)
	require.NoError(t, r.store.UndoCutting(ctx, second.ID))
	assert.Equal(t, []models.Board{five}, r.all())
}

// Of boards that follow each other in a log those that are left keep their places.
func TestBoardsOfALogKeepTheirPlacesWhenOneIsCut(t *testing.T) {
	ctx, r := context.Background(), newRack(t)
	b := walnut()
	b.Count, b.Log, b.InLog = 5, "A", 4
	b = r.save(b)
	c, err := r.store.BookCutting(ctx, r.cut("form", models.BoardCut{Board: one(b, 1)}, models.BoardCut{Board: one(b, 3), Offcuts: []models.BoardArea{{Length: 300 * mm, Width: 210 * mm}}}))
	require.NoError(t, err)
	places := map[string]bool{}
	for _, o := range r.all() {
		places[fmt.Sprintf("%d from %d, %d long", o.Count, o.InLog, o.Length/mm)] = true
	}
	assert.Equal(t, map[string]bool{"1 from 4, 2400 long": true, "1 from 6, 2400 long": true, "1 from 8, 2400 long": true, "1 from 7, 300 long": true}, places)
	require.NoError(t, r.store.UndoCutting(ctx, c.ID))
	assert.Equal(t, []models.Board{b}, r.all())
}

// Whatever is cut and undone, in whatever order: no two boards but offcuts have one
// place in a log, and once all is undone the rack is as it was.
func TestCuttingAndUndoingLeavesTheRackAsItWas(t *testing.T) {
	ctx, r := context.Background(), newRack(t)
	r.parts[1].Quantity = 1 // only its size counts: what is cut is undone again
	rapid.Check(t, func(t *rapid.T) {
		for _, b := range r.all() {
			if err := r.store.RemoveBoard(ctx, b.ID); err != nil {
				t.Fatal(err)
			}
		}
		place := 1
		for range rapid.IntRange(1, 3).Draw(t, "records") {
			b := walnut()
			b.Count = rapid.IntRange(1, 4).Draw(t, "count")
			if rapid.Bool().Draw(t, "logged") {
				b.Log, b.InLog = "A", place
				place += b.Count
			}
			if _, err := r.store.SaveBoard(ctx, b); err != nil {
				t.Fatal(err)
			}
		}
		before := r.all()
		var stack []models.ID
		for range rapid.IntRange(1, 6).Draw(t, "cuttings") {
			if n := len(stack); n > 0 && (n == 2 || rapid.Bool().Draw(t, "undo")) { // there are two rails
				if err := r.store.UndoCutting(ctx, stack[n-1]); err != nil {
					t.Fatal(err)
				}
				stack = stack[:n-1]
				continue
			}
			var cuts []models.BoardCut
			for _, b := range r.all() {
				for k := range b.Count {
					if rapid.Bool().Draw(t, "cut") {
						cut := models.BoardCut{Board: one(b, k)}
						if b.Length > 100*mm {
							half := b.Length / 2
							cut.Offcuts = []models.BoardArea{{Length: half, Width: b.Width}, {X: half, Length: b.Length - half, Width: b.Width}}
						}
						cuts = append(cuts, cut)
					}
				}
			}
			if len(cuts) == 0 {
				continue
			}
			c, err := r.store.BookCutting(ctx, r.cut(fmt.Sprint(rapid.Uint64().Draw(t, "form")), cuts...))
			if err != nil {
				t.Fatalf("booking: %v", err)
			}
			if c.UndoneAt == nil && (len(stack) == 0 || stack[len(stack)-1] != c.ID) {
				stack = append(stack, c.ID)
			}
			placesApart(t, r.all())
		}
		for n := len(stack) - 1; n >= 0; n-- {
			if err := r.store.UndoCutting(ctx, stack[n]); err != nil {
				t.Fatal(err)
			}
		}
		assert.Equal(t, before, r.all())
	})
}

func placesApart(t *rapid.T, all []models.Board) {
	taken := map[int]models.Board{}
	for _, b := range all {
		for k := b.InLog; b.Log != "" && k < b.InLog+b.Count; k++ {
			if o, there := taken[k]; there && (o.CutFrom == 0 || b.CutFrom == 0) {
				t.Fatalf("place %d is taken by %d and %d", k, o.ID, b.ID)
			}
			taken[k] = b
		}
	}
}

// Parts of a commission are named as a group, and taken out of it again.
func TestPartsAreKeptTogether(t *testing.T) {
	ctx, r := context.Background(), newRack(t)
	before := testrig.Snapshot(t, r.store)
	com := before.Commissions[0]
	ids := []models.ID{r.parts[0].ID, r.parts[1].ID}
	require.NoError(t, r.store.KeepTogether(ctx, com.ID, ids, " shelf "))
	snap := testrig.Snapshot(t, r.store)
	assert.Equal(t, "shelf", snap.Parts[0].Together)
	assert.Equal(t, "shelf", snap.Parts[1].Together)
	assert.Equal(t, com.Edition+1, snap.Commissions[0].Edition)
	require.NoError(t, r.store.KeepTogether(ctx, com.ID, ids[:1], ""))
	assert.Empty(t, testrig.Snapshot(t, r.store).Parts[0].Together)
	assert.Equal(t, "shelf", testrig.Snapshot(t, r.store).Parts[1].Together)

	other := testrig.Commission(t, r.store, "Another", "2026-03-21")
	for say, err := range map[string]error{
		"No part is chosen: tick the parts that belong together.": r.store.KeepTogether(ctx, com.ID, nil, "x"),
		"There is no part with number 99.":                        r.store.KeepTogether(ctx, com.ID, []models.ID{99}, "x"),
		"There is no commission with number 99.":                  r.store.KeepTogether(ctx, 99, ids, "x"),
		"“Panel board” is a part of another commission.":          r.store.KeepTogether(ctx, other.ID, ids, "x"),
	} {
		assert.EqualError(t, err, say)
	}
}

// A rework leaves a part that is booked as cut as it is, and keeps what belongs together.
func TestAPartThatIsBookedAsCutKeepsItsSize(t *testing.T) {
	ctx, b := context.Background(), newBench(t)
	r := &rack{TB: t, store: b.store, parts: b.snap().Parts}
	require.NoError(t, b.store.KeepTogether(ctx, r.parts[1].CommissionID, []models.ID{r.parts[1].ID}, "rails"))
	c, err := b.store.BookCutting(ctx, r.cut("form", models.BoardCut{Board: r.save(walnut())}))
	require.NoError(t, err)
	order := testrig.NewCommission(t, b.store, "x", "2026-03-20").Pieces[0]
	assert.Equal(t, "rails", b.must(models.Rework{PieceID: 1, Order: order}).Parts[1].Together)
	order.Parts[1].RoughWidth += mm
	refused(t, b.edit(models.Rework{PieceID: 1, Order: order}), models.Conflict,
		"Of “Rail”, 1 of 2 are booked as cut: undo that cutting first, under Stock, or leave the part as it is.")
	require.NoError(t, b.store.UndoCutting(ctx, c.ID))
	assert.Equal(t, "rails", b.must(models.Rework{PieceID: 1, Order: order}).Parts[1].Together)
}

// What the store's checks would let through by mistake, the database refuses too.
func TestDatabaseRefusesBadCuttings(t *testing.T) {
	ctx, r := context.Background(), newRack(t)
	_, err := r.store.BookCutting(ctx, r.cut("form", models.BoardCut{Board: r.save(walnut()), Offcuts: []models.BoardArea{{Length: wood.Inch, Width: wood.Inch}}}))
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, r.store.Backup(ctx, path))
	db := raw(t, path)
	for statement, why := range map[string]string{
		"UPDATE cuttings SET form_id = ''":                                               "CHECK",
		"UPDATE cuttings SET name = ' '":                                                 "CHECK",
		"UPDATE cuttings SET at = 'now'":                                                 "CHECK",
		"UPDATE cuttings SET undone_at = 'later'":                                        "CHECK",
		"INSERT INTO cuttings (form_id, name, at) SELECT form_id, 'x', at FROM cuttings": "UNIQUE",
		"UPDATE cutting_boards SET used = -1":                                            "CHECK",
		"UPDATE cutting_boards SET before = 'x'":                                         "CHECK",
		"UPDATE cutting_boards SET before = NULL, after = NULL":                          "CHECK",
		"UPDATE cutting_boards SET cutting_id = 99":                                      "FOREIGN KEY",
		"UPDATE cutting_parts SET quantity = 0":                                          "CHECK",
		"UPDATE cutting_parts SET part_id = 99":                                          "FOREIGN KEY",
		"UPDATE boards SET cut_from = -1":                                                "CHECK",
		"UPDATE parts SET together = NULL":                                               "NOT NULL",
	} {
		_, err := db.Exec(statement)
		assert.ErrorContains(t, err, why, statement)
	}
}
