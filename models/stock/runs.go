package stock

import (
	"cmp"
	"slices"

	"faceside/models/wood"
)

// Run is everything that goes through the planer at one setting, whichever commission
// and species it belongs to.
type Run struct {
	Thickness wood.Length // finished thickness, the planer's setting for the last pass
	Thickest  wood.Length // greatest rough thickness: where the passes begin
	Shortest  wood.Length // least rough length: hold it against the planer's least length
	Lines     []Line
	Pieces    int
	Feed      float64 // metres fed in one pass of every piece
}

// Runs puts the lines of all commissions into planer runs, thickest first, so that
// every thickness meets the planer once and the table moves one way only. Sheet goods
// are not planed.
func Runs(lines []Line) []Run {
	at := map[wood.Length]int{}
	var runs []Run
	for _, l := range lines {
		if l.Sheet {
			continue
		}
		i, known := at[l.Finished.Thickness]
		if !known {
			i = len(runs)
			at[l.Finished.Thickness] = i
			runs = append(runs, Run{Thickness: l.Finished.Thickness, Shortest: l.Rough.Length})
		}
		r := &runs[i]
		r.Lines = append(r.Lines, l)
		r.Pieces += l.Quantity
		r.Thickest = max(r.Thickest, l.Rough.Thickness)
		r.Shortest = min(r.Shortest, l.Rough.Length)
		r.Feed += float64(l.Quantity) * l.Rough.Length.Metres()
	}
	slices.SortFunc(runs, func(a, b Run) int { return cmp.Compare(b.Thickness, a.Thickness) })
	return runs
}
