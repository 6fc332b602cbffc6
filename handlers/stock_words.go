package handlers

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/planner"
	"faceside/models/stock"
	"faceside/models/wood"
)

// stockWords says wood the way the shop does.
type stockWords struct {
	words
	species map[string]string // names by key
}

func (s *server) stockWords(r *room) stockWords {
	w := stockWords{words: r.say, species: map[string]string{}}
	for _, sp := range s.library.Species() {
		w.species[sp.Key] = sp.Name
	}
	return w
}

// wood is a species as the shop calls it.
func (w stockWords) wood(key string) string {
	if name := w.species[key]; name != "" {
		return w.shipped(name)
	}
	return capital(w.shipped(key))
}

// stock names a stock: "8/4 Walnut", "6 mm Plywood".
func (w stockWords) stock(species, quarter string, thickness wood.Length) string {
	if quarter == "" {
		return w.length(thickness) + " " + w.wood(species)
	}
	return quarter + " " + w.wood(species)
}

// face says length × width.
func (w stockWords) face(length, width wood.Length) string {
	if w.shop.Units == wood.Inches {
		return w.length(length) + " × " + w.length(width)
	}
	return strings.TrimSuffix(w.length(length), " mm") + " × " + w.length(width)
}

// boardFeet says a board measure, as cubic metres where the shop measures in
// millimetres: to a litre, or to a tenth of one below ten.
func (w stockWords) boardFeet(feet float64) string {
	if cubic := feet * cubicMetresPerBoardFoot; w.shop.Units != wood.Inches {
		places := 3
		if cubic < 0.01 {
			places = 4
		}
		return w.figure(strconv.FormatFloat(cubic, 'f', places, 64)) + " m³"
	}
	if oneDecimal(feet) == "1" {
		return w.say("1 board foot")
	}
	return w.say("%s board feet", w.figure(oneDecimal(feet)))
}

// cubicMetresPerBoardFoot: a board foot is 144 cubic inches, an inch 25.4 mm.
const cubicMetresPerBoardFoot = 144 * 0.0254 * 0.0254 * 0.0254

// squareMetresPerFoot: a foot is 304.8 mm.
const squareMetresPerFoot = 0.3048 * 0.3048

// area says square metres, as square feet where the shop measures in inches.
func (w stockWords) area(squareMetres float64) string {
	if w.shop.Units == wood.Inches {
		return w.say("%s sq ft", w.figure(oneDecimal(squareMetres/squareMetresPerFoot)))
	}
	return w.figure(fmt.Sprintf("%.2f", squareMetres)) + " m²"
}

func oneDecimal(x float64) string { return strconv.FormatFloat(math.Round(x*10)/10, 'f', -1, 64) }

func (w words) percent(share float64) string { return w.figure(oneDecimal(100*share)) + " %" }

// measure says how much wood of one stock there is.
func (w stockWords) measure(sheet bool, feet, area float64) string {
	if sheet {
		return w.area(area)
	}
	return w.boardFeet(feet)
}

// boardMeasure is the board feet of a record, 0 for sheets, and its square metres.
func boardMeasure(b models.Board) (feet, area float64) {
	for _, one := range planner.StockBoards([]models.Board{b}) {
		area += one.Length.Metres() * one.Width.Metres()
		for _, q := range wood.Quarters {
			if q.Name == one.Quarter {
				feet += wood.BoardFeet(one.Length, one.Width, q.Rough)
			}
		}
	}
	return feet, area
}

// lineSizes says the finished and the rough size of a line.
func (w stockWords) lineSizes(l stock.Line) (finished, rough string) {
	return w.size(l.Finished.Length, l.Finished.Width, l.Finished.Thickness), w.size(l.Rough.Length, l.Rough.Width, l.Rough.Thickness)
}

// told says a sentence about wood in the shop's units.
func (w stockWords) told(p phrase.Phrase) string {
	return w.tell(stock.Told(p, w.length, func(s stock.Stock) string { return w.stock(s.Species, s.Quarter, s.Thickness) }))
}

// toldAll says several.
func (w stockWords) toldAll(all []phrase.Phrase) (out []string) {
	for _, p := range all {
		out = append(out, w.told(p))
	}
	return out
}

// faults says everything that was refused, in one line.
func (w stockWords) faults(err error) string { return strings.Join(w.toldAll(stock.Faults(err)), "; ") }

// reasons says everything that could not be read of a form, in one line.
func (w words) reasons(r *reader) string {
	var all []string
	for _, name := range slices.Sorted(maps.Keys(r.wrong)) {
		all = append(all, w.tell(r.wrong[name]))
	}
	return strings.Join(all, " ")
}
