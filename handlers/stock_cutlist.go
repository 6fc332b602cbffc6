package handlers

import (
	"fmt"
	"net/http"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/planner"
	"faceside/models/stock"
	"faceside/models/wood"
	"faceside/views"
)

// cutList is the cut list of one commission, in any state.
func (s *server) cutList(c *gin.Context) {
	snap, com, err := s.commissionRead(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	r, err := roomOf(snap, s.store.Now())
	if err != nil {
		s.fail(c, err)
		return
	}
	data := s.stockWords(r).cutList(planner.ReadStockList(snap, com.ID))
	data.Commission, data.Href, data.Client, data.Promised = com.Name, commissionHref(com.ID), com.Client, r.say.date(com.PromisedOn)
	data.Open, data.Cuts = com.State == models.Open || com.State == models.Held, fmt.Sprintf("/stock/cuts?commission=%d", com.ID)
	if swapped(c) {
		s.fragment(c, http.StatusOK, "stock-cutlist", "cut-list", data)
		return
	}
	s.page(c, http.StatusOK, "stock-cutlist", "Cut list of "+com.Name, data)
}

func (w stockWords) cutList(list planner.StockList) views.CutList {
	data := views.CutList{Wrong: list.Wrong}
	pieces, feet, area := 0, 0.0, 0.0
	for _, g := range stock.Groups(list.Lines) {
		group := views.CutGroup{Name: fmt.Sprintf("%s, %s thick", w.wood(g.Species), w.length(g.Thickness)), Measure: w.measure(g.Sheet, g.Feet, g.Area)}
		switch {
		case g.Sheet:
			group.Buy = "from sheets of that thickness"
			area += g.Area
		case g.Quarter == "":
			group.Buy = "No usual stock is thick enough: glue it up from thinner boards."
		default:
			group.Buy = "from " + g.Quarter + " stock"
		}
		for _, l := range g.Lines {
			group.Rows = append(group.Rows, w.cutRow(l, "", list.Begun(l)))
		}
		pieces, feet = pieces+g.Pieces, feet+g.Feet
		data.Groups = append(data.Groups, group)
	}
	data.Totals = []string{count(pieces, "part")}
	if feet > 0 {
		data.Totals = append(data.Totals, w.boardFeet(feet)+" of rough parts")
	}
	if area > 0 {
		data.Totals = append(data.Totals, w.area(area)+" of sheets")
	}
	return data
}

// cutRow tells a line; from names its commission where that is not plain.
func (w stockWords) cutRow(l stock.Line, from string, done bool) views.CutRow {
	row := views.CutRow{Count: l.Quantity, Name: l.Name, Done: done}
	row.Finished, row.Rough = w.lineSizes(l)
	for _, detail := range []string{from, grainWords[l.Grain], l.Note} {
		if detail != "" {
			row.Details = append(row.Details, detail)
		}
	}
	return row
}

// runs is the screen of the milling runs.
func (s *server) runs(c *gin.Context) {
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	w, list := s.stockWords(r), planner.ReadStockList(r.snap)
	data := views.Runs{Nav: views.StockNav{At: "runs"}, Wrong: list.Wrong}
	for _, run := range stock.Runs(list.ToPlane()) {
		data.Runs = append(data.Runs, w.millingRun(run, r.snap.Stations))
	}
	if swapped(c) {
		s.fragment(c, http.StatusOK, "stock-runs", "runs", data)
		return
	}
	s.page(c, http.StatusOK, "stock-runs", "Milling runs", data)
}

// millingRun tells a run, and what the shop's planers may not take of it.
func (w stockWords) millingRun(run stock.Run, stations []models.Station) views.MillingRun {
	out := views.MillingRun{Thickness: w.length(run.Thickness), Facts: []string{
		count(run.Pieces, "part"), "begin at " + w.length(run.Thickest), w.feed(run.Feed) + " fed in a pass of all"}}
	short := wood.Length(0)
	for _, st := range stations {
		if st.Kind == "planer" && st.MinLength > run.Shortest && !st.Down {
			short = max(short, st.MinLength)
		}
	}
	if short > 0 {
		out.Caution = fmt.Sprintf("The shortest part is %s rough and the planer takes nothing under %s: leave such parts joined in one length until they are planed. See the machine's manual.",
			w.length(run.Shortest), w.length(short))
	}
	for _, l := range run.Lines {
		out.Rows = append(out.Rows, w.cutRow(l, l.Commission+", "+w.wood(l.Species), false))
	}
	return out
}

// feed says metres, as feet where the shop measures in inches.
func (w stockWords) feed(metres float64) string {
	if w.shop.Units == wood.Inches {
		return oneDecimal(metres/0.3048) + " ft"
	}
	return oneDecimal(metres) + " m"
}
