package planner

import (
	"fmt"
	"slices"
	"strconv"

	"faceside/models"
	"faceside/models/pattern"
	"faceside/models/phrase"
	"faceside/models/stock"
)

// StockList is the parts of some commissions as lines of a cut list, and how far
// each has come.
type StockList struct {
	Lines []stock.Line
	// Wrong says of each part that was left out why, a sentence each; see stock.Told.
	Wrong []phrase.Phrase

	begun  map[string]bool // by partKey: a step on it was begun, so it is cut
	cut    map[string]int  // so many were booked as cut
	again  map[string]int  // so many were spoiled, and their work is not begun again
	toGo   map[string]bool // a step on it at a planer is not over
	called map[models.ID]string
}

// planerKind is the kind of the station that brings parts to thickness.
const planerKind = "planer"

// ReadStockList reads the parts of commissions of a snapshot, in the snapshot's order;
// none named means all that are open. It takes time in proportion to parts and steps.
func ReadStockList(snap *models.Snapshot, commissions ...models.ID) StockList {
	l := StockList{begun: map[string]bool{}, cut: map[string]int{}, toGo: map[string]bool{}, called: commissionNames(snap)}
	l.readSteps(snap)
	for part, n := range snap.Cut {
		l.cut[partKey(part)] = n
	}
	for _, c := range snap.Commissions {
		if len(commissions) == 0 && c.State == models.Open || slices.Contains(commissions, c.ID) {
			l.readParts(snap, c.ID)
		}
	}
	return l
}

// commissionNames tells commissions apart: by name, with their number where two have one name.
func commissionNames(snap *models.Snapshot) map[models.ID]string {
	times := map[string]int{}
	for _, c := range snap.Commissions {
		times[c.Name]++
	}
	names := map[models.ID]string{}
	for _, c := range snap.Commissions {
		names[c.ID] = c.Name
		if times[c.Name] > 1 {
			names[c.ID] = fmt.Sprintf("%s (no. %d)", c.Name, c.ID)
		}
	}
	return names
}

// readParts adds the lines of one commission.
func (l *StockList) readParts(snap *models.Snapshot, commission models.ID) {
	pieces := 0
	for _, p := range snap.Pieces {
		if p.CommissionID == commission {
			pieces++
		}
	}
	for _, p := range snap.Parts {
		if p.CommissionID != commission {
			continue
		}
		part := pattern.Part{Key: partKey(p.ID), Name: p.Name, Quantity: p.Quantity, Species: p.Species, Grain: p.Grain, Note: p.Note,
			Finished: pattern.Size{Length: p.Length, Width: p.Width, Thickness: p.Thickness},
			Rough:    pattern.Size{Length: p.RoughLength, Width: p.RoughWidth, Thickness: p.RoughThickness}}
		if piece := snap.Piece(p.PieceID); pieces > 1 && piece != nil {
			part.Name = fmt.Sprintf("%s, %s", p.Name, piece.Name)
		}
		lines, err := stock.CutList(l.called[commission], []pattern.Part{part})
		if err != nil {
			l.Wrong = append(l.Wrong, phrase.Of("“%s” of %s is left out: %s.", part.Name, l.called[commission], stock.Faults(err)[0]))
			continue
		}
		for i := range lines {
			if lines[i].Group = p.Together; p.Together != "" {
				lines[i].Match = l.called[commission] + "/together/" + p.Together
			}
		}
		l.Lines = append(l.Lines, lines...)
	}
}

// partKey names a part in a line: its number, so that parts of several pieces of one
// commission stay apart.
func partKey(id models.ID) string { return strconv.FormatInt(id, 10) }

// readSteps notes how far the parts are.
func (l *StockList) readSteps(snap *models.Snapshot) {
	l.readAgain(snap)
	for i := range snap.Steps {
		st := &snap.Steps[i]
		station := snap.Station(st.StationID)
		planes := station != nil && station.Kind == planerKind
		for _, use := range snap.PartsOf(st.ID) {
			key := partKey(use.PartID)
			l.begun[key] = l.begun[key] || st.State != models.Todo
			l.toGo[key] = l.toGo[key] || planes && st.FinishedAt == nil
		}
	}
}

// readAgain counts the spoiled parts whose work has come back and is not begun: the
// fewest of any step, since the first that is begun has its wood.
func (l *StockList) readAgain(snap *models.Snapshot) {
	type work struct {
		part string
		of   models.ID
	}
	todo := map[work]int{}
	for i := range snap.Steps {
		st := &snap.Steps[i]
		for _, use := range snap.PartsOf(st.ID) {
			if st.AgainOf == nil {
				continue
			}
			w := work{partKey(use.PartID), *st.AgainOf}
			if todo[w] += 0; st.State == models.Todo {
				todo[w] += use.Quantity
			}
		}
	}
	l.again = map[string]int{}
	for w, n := range todo {
		if has, known := l.again[w.part]; !known || n < has {
			l.again[w.part] = n
		}
	}
}

// Begun says whether a step on a line's part was begun.
func (l StockList) Begun(line stock.Line) bool { return l.begun[line.Part] }

// Cut is how many of a line are cut already: booked as cut, or all once a step on them
// was begun, but for those spoiled since.
func (l StockList) Cut(line stock.Line) int {
	booked := min(l.cut[line.Part], line.Quantity)
	if l.Begun(line) {
		return max(booked, line.Quantity-l.again[line.Part])
	}
	return booked
}

// ToCut is the lines that still take wood, with how many of each.
func (l StockList) ToCut() []stock.Line {
	var out []stock.Line
	for _, line := range l.Lines {
		if line.Quantity -= l.Cut(line); line.Quantity > 0 {
			out = append(out, line)
		}
	}
	return out
}

// ToPlane is the lines that have yet to meet the planer.
func (l StockList) ToPlane() []stock.Line {
	return slices.DeleteFunc(slices.Clone(l.Lines), func(line stock.Line) bool { return !l.toGo[line.Part] })
}

// StockBoards is the boards on hand for a plan of cuts: equal boards one by one. Their
// IDs are the boards' numbers, with a count where there are several, e.g. "7-2".
func StockBoards(boards []models.Board) []stock.Board {
	var out []stock.Board
	for _, b := range boards {
		one := stock.Board{ID: strconv.FormatInt(b.ID, 10), Species: b.Species, Quarter: b.Quarter, Thickness: b.Thickness,
			Length: b.Length, Width: b.Width, Log: b.Log, InLog: b.InLog, Note: b.Note}
		if b.CutFrom != 0 {
			one.CutFrom = strconv.FormatInt(b.CutFrom, 10)
		}
		for _, d := range b.Defects {
			one.Defects = append(one.Defects, stock.Defect{Rect: stock.Rect{X: d.X, Y: d.Y, Length: d.Length, Width: d.Width}, Note: d.Note})
		}
		for k := range b.Count {
			if b.Count > 1 {
				one.ID = fmt.Sprintf("%d-%d", b.ID, k+1)
			}
			if b.Log != "" {
				one.InLog = b.InLog + k
			}
			out = append(out, one)
		}
	}
	return out
}
