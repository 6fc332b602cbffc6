package planner

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"faceside/models"
	"faceside/models/pattern"
	"faceside/models/phrase"
	"faceside/models/stock"
)

// HeldUp finds the steps that are not planned, because something is missing and
// nobody knows when it comes, or only in longer than a calendar reaches, or because
// they follow such a step; by step the one that holds it up. O(steps + links).
func HeldUp(snap *models.Snapshot) map[models.ID]models.ID {
	by := map[models.ID]models.ID{}
	last := snap.At.AddDate(0, 0, reach).Format(time.DateOnly)
	for i := range snap.Steps {
		st := &snap.Steps[i]
		if st.State != models.InTrouble || st.TroubleKind != models.TroubleMissing || st.ExpectedOn != "" && st.ExpectedOn <= last {
			continue
		}
		for open := []models.ID{st.ID}; len(open) > 0; open = open[1:] {
			if _, known := by[open[0]]; known {
				continue
			}
			by[open[0]] = st.ID
			for _, l := range snap.After(open[0]) {
				if after := snap.Step(l.AfterID); after != nil && toPlace(after, snap.At) {
					open = append(open, after.ID)
				}
			}
		}
	}
	return by
}

// noteHeldUp says which steps are not planned, and why.
func (q *posed) noteHeldUp(heldUp map[models.ID]models.ID) {
	waiting := map[models.ID]int{}
	for step, by := range heldUp {
		if step != by {
			waiting[by]++
		}
	}
	for i := range q.snap.Steps {
		st := &q.snap.Steps[i]
		if heldUp[st.ID] != st.ID {
			continue
		}
		if c := q.snap.Commission(st.CommissionID); c == nil || c.State != models.Open {
			continue
		}
		what := quoted(st)
		if st.Trouble != "" {
			what = phrase.Of("%s (%s)", what, strings.TrimRight(st.Trouble, "."))
		}
		if n := waiting[st.ID]; n > 0 {
			q.noteOn(st, "%[2]s waits for what is missing: it and %[1]d steps after it are not planned until it is there.", n, what)
		} else {
			q.noteOn(st, "%s waits for what is missing: it is not planned until it is there.", what)
		}
	}
}

// expected is when the shop opens on the day on which what a step waits for is
// expected; false where no day was said, or the day has come.
func (q *posed) expected(st *models.Step) (time.Time, bool) {
	if st.TroubleKind != models.TroubleMissing || st.ExpectedOn == "" {
		return time.Time{}, false
	}
	day, err := time.ParseInLocation(time.DateOnly, st.ExpectedOn, q.cal.Zone)
	if err != nil {
		return time.Time{}, false
	}
	opening, ok := q.cal.next(day)
	return opening.From, ok && opening.From.After(q.at)
}

// Left returns the attended minutes still to do of a step by its estimate.
func Left(snap *models.Snapshot, st *models.Step, at time.Time) int {
	if st.State == models.InHand {
		return leftAfter(st, snap.WorkedBy(st, at)/60)
	}
	return left(st, at)
}

// SpoiledWood is what the wood for parts that were spoiled comes from.
type SpoiledWood struct {
	Line     stock.Line // with how many are needed
	Boards   []string   // numbers of the boards on hand that give them
	Short    int        // how many no board on hand gives
	Measured bool       // the part has the sizes that it takes to look
}

// WoodFor looks which boards on hand give so many of parts again. Boards that are
// wanted for other parts are not set aside. It takes about as long as a few
// hundred layouts of those parts.
func WoodFor(ctx context.Context, snap *models.Snapshot, parts map[models.ID]int, boards []models.Board) ([]SpoiledWood, error) {
	var all []SpoiledWood
	var lines []stock.Line
	for _, p := range snap.Parts {
		if parts[p.ID] == 0 {
			continue
		}
		line, err := lineFor(&p, parts[p.ID])
		all = append(all, SpoiledWood{Line: line, Measured: err == nil})
		if err == nil && !line.TooThick {
			lines = append(lines, line)
		}
	}
	for _, problem := range stock.Problems(lines, StockBoards(boards), stock.UsualRules) {
		plan, err := stock.Solve(ctx, problem, stock.Search{Tries: layoutsTried, Seed: 1})
		if err != nil {
			return nil, fmt.Errorf("look for boards of %s: %w", problem.Stock, err)
		}
		for i := range all {
			all[i].find(plan)
		}
	}
	return all, nil
}

// layoutsTried is how many layouts are looked at for the few parts of a trouble.
const layoutsTried = 200

// lineFor is so many of a part as a line of a cut list; an error where it lacks
// what a cut list needs.
func lineFor(p *models.Part, n int) (stock.Line, error) {
	named := pattern.Part{Key: partKey(p.ID), Name: p.Name, Quantity: n, Species: p.Species, Grain: p.Grain,
		Finished: pattern.Size{Length: p.Length, Width: p.Width, Thickness: p.Thickness},
		Rough:    pattern.Size{Length: p.RoughLength, Width: p.RoughWidth, Thickness: p.RoughThickness}}
	lines, err := stock.CutList("again", []pattern.Part{named})
	if err != nil {
		return stock.Line{Part: named.Key, Name: p.Name, Quantity: n}, err
	}
	return lines[0], nil
}

// find notes what a plan of cuts gives of the part.
func (w *SpoiledWood) find(plan stock.Plan) {
	key := w.Line.Commission + "/" + w.Line.Part
	for _, l := range plan.Layouts {
		number, _, _ := strings.Cut(l.Board.ID, "-")
		if slices.ContainsFunc(l.Placed, func(p stock.Placed) bool { return p.Piece == key }) && !slices.Contains(w.Boards, number) {
			w.Boards = append(w.Boards, number)
		}
	}
	for _, s := range plan.Short {
		if s.Piece == key {
			w.Short += s.Quantity
		}
	}
}
