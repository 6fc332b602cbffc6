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
	s.showCutList(c, http.StatusOK, func(*views.CutList) {})
}

// showCutList shows the cut list of one commission, with what an action has to say put
// into it.
func (s *server) showCutList(c *gin.Context, status int, say func(*views.CutList)) {
	snap, com, err := s.commissionRead(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	r, err := s.roomOf(snap)
	if err != nil {
		s.fail(c, err)
		return
	}
	w, list := s.stockWords(r), planner.ReadStockList(r.snap, com.ID)
	data := w.cutList(list)
	data.Commission, data.Href, data.Client, data.Promised = com.Name, commissionHref(com.ID), com.Client, r.say.date(com.PromisedOn)
	data.Open, data.Cuts = com.State == models.Open || com.State == models.Held, fmt.Sprintf("/stock/cuts?commission=%d", com.ID)
	data.Together = w.together(r.snap, list, commissionHref(com.ID)+"/together")
	say(&data)
	s.pageOrPart(c, status, "stock-cutlist", "cut-list", s.words(c).say("Cut list of %s", com.Name), data)
}

func (w stockWords) cutList(list planner.StockList) views.CutList {
	data := views.CutList{Wrong: w.toldAll(list.Wrong)}
	pieces, feet, area := 0, 0.0, 0.0
	for _, g := range stock.Groups(list.Lines) {
		group := views.CutGroup{Name: w.say("%s, %s thick", w.wood(g.Species), w.length(g.Thickness)), Measure: w.measure(g.Sheet, g.Feet, g.Area)}
		switch {
		case g.Sheet:
			group.Buy = w.say("from sheets of that thickness")
			area += g.Area
		case g.Quarter == "":
			group.Buy = w.say("No usual stock is thick enough: glue it up from thinner boards.")
		default:
			group.Buy = w.say("from %s stock", g.Quarter)
		}
		for _, l := range g.Lines {
			group.Rows = append(group.Rows, w.cutLine(l, list.Cut(l)))
		}
		pieces, feet = pieces+g.Pieces, feet+g.Feet
		data.Groups = append(data.Groups, group)
	}
	data.Totals = []string{w.say("%d parts", pieces)}
	if feet > 0 {
		data.Totals = append(data.Totals, w.say("%s of rough parts", w.boardFeet(feet)))
	}
	if area > 0 {
		data.Totals = append(data.Totals, w.say("%s of sheets", w.area(area)))
	}
	return data
}

// cutRow tells a line; from names its commission where that is not plain.
func (w stockWords) cutRow(l stock.Line, from string, done bool) views.CutRow {
	row := views.CutRow{Count: l.Quantity, Name: l.Name, Done: done}
	row.Finished, row.Rough = w.lineSizes(l)
	for _, detail := range []string{from, w.tell(grainWords[l.Grain].Of()), l.Note} {
		if detail != "" {
			row.Details = append(row.Details, detail)
		}
	}
	return row
}

// cutLine tells a line of a cut list, of which so many are cut.
func (w stockWords) cutLine(l stock.Line, cut int) views.CutRow {
	row := w.cutRow(l, "", cut == l.Quantity)
	if cut > 0 && cut < l.Quantity {
		row.Details = append(row.Details, w.say("%d of %d are cut", cut, l.Quantity))
	}
	if l.Group != "" {
		row.Details = append(row.Details, w.say("matches in colour: %s", l.Group))
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
	data := views.Runs{Nav: views.StockNav{At: "runs"}, Wrong: w.toldAll(list.Wrong)}
	for _, run := range stock.Runs(list.ToPlane()) {
		data.Runs = append(data.Runs, w.millingRun(run, r.snap.Stations))
	}
	s.pageOrPart(c, http.StatusOK, "stock-runs", "runs", s.words(c).say("Milling runs"), data)
}

// millingRun tells a run, and what the shop's planers may not take of it.
func (w stockWords) millingRun(run stock.Run, stations []models.Station) views.MillingRun {
	out := views.MillingRun{Thickness: w.length(run.Thickness), Facts: []string{
		w.say("%d parts", run.Pieces), w.say("begin at %s", w.length(run.Thickest)), w.say("%s fed in a pass of all", w.feed(run.Feed))}}
	short := wood.Length(0)
	for _, st := range stations {
		if st.Kind == "planer" && st.MinLength > run.Shortest && !st.Down {
			short = max(short, st.MinLength)
		}
	}
	if short > 0 {
		out.Caution = w.say("The shortest part is %s rough and the planer takes nothing under %s: leave such parts joined in one length until they are planed. See the machine's manual.",
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
		return w.figure(oneDecimal(metres/0.3048)) + " ft"
	}
	return w.figure(oneDecimal(metres)) + " m"
}
