package handlers

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/stock"
	"faceside/models/wood"
	"faceside/views"
)

// stockRoutes is what the server answers about wood.
func (s *server) stockRoutes(e *gin.Engine) {
	e.GET("/stock", s.boards)
	e.POST("/stock/boards", s.saveBoard)
	e.GET("/stock/boards/:id", s.board)
	e.POST("/stock/boards/:id", s.saveBoard)
	e.POST("/stock/boards/:id/remove", s.removeBoard)
	e.POST("/stock/boards/:id/defects", s.markDefect)
	e.POST("/stock/boards/:id/defects/:defect/remove", s.unmarkDefect)
	e.GET("/stock/cuts", s.cuts)
	e.POST("/stock/cuttings", s.bookCutting)
	e.GET("/stock/cuttings/:id", s.cutting)
	e.POST("/stock/cuttings/:id/undo", s.undoCutting)
	e.GET("/stock/buy", s.toBuy)
	e.GET("/stock/runs", s.runs)
	e.GET("/commissions/:id/cut-list", s.cutList)
	e.POST("/commissions/:id/together", s.keepTogether)
}

// boards lists the boards on hand.
func (s *server) boards(c *gin.Context) {
	s.showBoards(c, http.StatusOK, func(*views.Stock) {})
}

// showBoards shows the list, with what an action has to say put into it.
func (s *server) showBoards(c *gin.Context, status int, say func(*views.Stock)) {
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	all, err := s.boardsOnHand(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	w := s.stockWords(r)
	data := views.Stock{Nav: views.StockNav{At: "boards"}, Add: s.boardForm(r, models.Board{Count: 1})}
	for _, of := range grouped(all) {
		group := views.BoardGroup{Name: w.stock(of[0].Species, of[0].Quarter, of[0].Thickness)}
		feet, area := 0.0, 0.0
		for _, b := range of {
			f, a := boardMeasure(b)
			feet, area = feet+f, area+a
			data.Boards += b.Count
			group.Boards = append(group.Boards, views.BoardRow{Number: b.ID, Href: boardHref(b.ID), Size: w.face(b.Length, b.Width),
				Facts: w.boardFacts(b), Measure: w.measure(b.Quarter == "", f, a)})
		}
		group.Measure = w.measure(of[0].Quarter == "", feet, area)
		data.Groups = append(data.Groups, group)
	}
	if data.Cuttings, err = s.lastCuttings(c, w); err != nil {
		s.fail(c, err)
		return
	}
	say(&data)
	s.pageOrPart(c, status, "stock", "boards", s.words(c).say("Stock"), data)
}

// cuttingsShown is how many cuttings the rack lists.
const cuttingsShown = 5

// lastCuttings lists the newest cuttings.
func (s *server) lastCuttings(c *gin.Context, w stockWords) ([]views.CuttingRow, error) {
	all, err := s.store.Cuttings(c.Request.Context(), cuttingsShown)
	if err != nil {
		return nil, fmt.Errorf("read the cuttings: %w", err)
	}
	var out []views.CuttingRow
	for _, cut := range all {
		boards, parts := 0, 0
		for _, b := range cut.Boards {
			boards += b.Used
		}
		for _, p := range cut.Parts {
			parts += p.Quantity
		}
		out = append(out, views.CuttingRow{Name: cut.Name, Href: cuttingHref(cut.ID), At: w.at(cut.At), Undone: cut.UndoneAt != nil,
			Facts: []string{w.say("%d boards cut into", boards), w.say("%d parts", parts)}})
	}
	return out, nil
}

func (s *server) boardsOnHand(ctx context.Context) ([]models.Board, error) {
	all, err := s.store.Boards(ctx)
	if err != nil {
		return nil, fmt.Errorf("read the boards on hand: %w", err)
	}
	return all, nil
}

// grouped splits the sorted boards by species and thickness.
func grouped(all []models.Board) [][]models.Board {
	var groups [][]models.Board
	for _, b := range all {
		n := len(groups) - 1
		if n >= 0 && groups[n][0].Species == b.Species && groups[n][0].Quarter == b.Quarter &&
			(b.Quarter != "" || groups[n][0].Thickness == b.Thickness) {
			groups[n] = append(groups[n], b)
		} else {
			groups = append(groups, []models.Board{b})
		}
	}
	return groups
}

func boardHref(id models.ID) string { return fmt.Sprintf("/stock/boards/%d", id) }

// boardFacts says what a record of boards tells beside its size.
func (w stockWords) boardFacts(b models.Board) []string {
	var facts []string
	if b.Count > 1 {
		facts = append(facts, w.say("%d equal ones", b.Count))
	}
	if b.Quarter != "" && b.Thickness > 0 {
		facts = append(facts, w.say("measures %s", w.length(b.Thickness)))
	}
	if b.Log != "" && b.Count > 1 {
		facts = append(facts, w.say("log %s, places %d to %d", b.Log, b.InLog, b.InLog+b.Count-1))
	} else if b.Log != "" {
		facts = append(facts, w.say("log %s, place %d", b.Log, b.InLog))
	}
	if b.CutFrom != 0 {
		facts = append(facts, w.say("offcut of no. %d", b.CutFrom))
	}
	if n := len(b.Defects); n > 0 {
		facts = append(facts, w.say("%d defects marked", n))
	}
	if b.Note != "" {
		facts = append(facts, b.Note)
	}
	return facts
}

// boardForm asks for a record of boards; without a number, for a new one.
func (s *server) boardForm(r *room, b models.Board) views.Form {
	form := views.Form{ID: "board-new", Action: "/stock/boards", Title: r.say.say("Add boards"), Save: r.say.say("Add to the rack")}
	if b.ID != 0 {
		form.ID, form.Action, form.Title, form.Save = "board-form", boardHref(b.ID), "", r.say.say("Save")
	}
	place := ""
	if b.InLog > 0 {
		place = strconv.Itoa(b.InLog)
	}
	form.Fields = []views.Field{
		{Name: "species", Label: r.say.say("Wood"), Kind: "select", Value: b.Species, Options: s.speciesOptions(r.say, b.Species)},
		{Name: "quarter", Label: r.say.say("Thickness as sold"), Kind: "select", Value: b.Quarter, Options: r.say.quarterOptions(), Help: r.say.say("Sheet goods have none: measure them.")},
		{Name: "thickness", Label: r.say.say("Thickness, measured"), Kind: "text", Value: r.orNone(b.Thickness), Help: r.say.say("Empty for a rough board that was not measured.")},
		{Name: "length", Label: r.say.say("Length"), Kind: "text", Value: r.orNone(b.Length), Help: r.say.say("Along the grain.")},
		{Name: "width", Label: r.say.say("Width"), Kind: "text", Value: r.orNone(b.Width), Help: r.say.say("At its narrowest, or mark the wane as a defect.")},
		{Name: "count", Label: r.say.say("How many equal ones"), Kind: "number", Mode: "numeric", Least: "1", Value: strconv.Itoa(b.Count)},
		{Name: "log", Label: r.say.say("Log"), Kind: "text", Value: b.Log, Help: r.say.say("A name for the log it was sawn from: its boards match in colour. Empty if not known.")},
		{Name: "place_in_the_log", Label: r.say.say("Place in the log"), Kind: "number", Mode: "numeric", Least: "1", Value: place, Help: r.say.say("1 for the first board sawn from it, and so on.")},
		{Name: "note", Label: r.say.say("Note"), Kind: "textarea", Value: b.Note, Wide: true},
	}
	return form
}

// speciesOptions are the woods of the library, and the one a record has.
func (s *server) speciesOptions(w words, has string) []views.Option {
	var options []views.Option
	for _, sp := range s.library.Species() {
		name := w.shipped(sp.Name)
		if stock.SheetGoods(sp.Key) {
			name = w.say("%s (sheets)", name)
		}
		options = append(options, views.Option{Value: sp.Key, Name: name})
	}
	if has != "" && !slices.ContainsFunc(options, func(o views.Option) bool { return o.Value == has }) {
		options = append(options, views.Option{Value: has, Name: capital(has)})
	}
	return options
}

func (w words) quarterOptions() []views.Option {
	var options []views.Option
	for _, q := range wood.Quarters {
		options = append(options, views.Option{Value: q.Name, Name: w.say("%s rough", q.Name)})
	}
	return append(options, views.Option{Value: "", Name: w.say("a sheet, or none")})
}

// saveBoard saves a record of boards; without a number in the path, a new one.
func (s *server) saveBoard(c *gin.Context) {
	id, _, in, ok := s.posted(c, recordID)
	if !ok {
		return
	}
	was := models.Board{}
	if id != 0 {
		var err error
		if was, err = s.store.BoardByID(c.Request.Context(), id); err != nil {
			s.fail(c, err)
			return
		}
	}
	b := models.Board{ID: id, Species: in.text("species"), Quarter: in.text("quarter"), Thickness: in.length("thickness", was.Thickness),
		Length: in.length("length", was.Length), Width: in.length("width", was.Width), Count: in.whole("count"),
		Log: in.text("log"), InLog: in.whole("place_in_the_log"), Note: in.text("note")}
	err := in.err()
	save := func() (models.ID, error) {
		b, err = s.store.SaveBoard(c.Request.Context(), b)
		return b.ID, err
	}
	switch form := in.text("form_id"); {
	case err != nil:
	case form == "":
		_, err = save()
	default: // bought: the same form twice puts them onto the rack once
		_, err = s.racked.once(form, save)
	}
	forget(c)
	switch {
	case err == nil && id == 0:
		seeOther(c, "/stock#boards")
	case err == nil:
		seeOther(c, boardHref(b.ID))
	case id == 0:
		s.showBoards(c, formStatus(err), func(data *views.Stock) { s.words(c).refuse(&data.Add, in.form, err) })
	default:
		s.showBoard(c, id, formStatus(err), func(data *views.Board) { s.words(c).refuse(&data.Edit, in.form, err) })
	}
}

// removeBoard takes a record of boards off the rack.
func (s *server) removeBoard(c *gin.Context) {
	id, err := idOf(c)
	if err == nil {
		err = s.store.RemoveBoard(c.Request.Context(), id)
	}
	forget(c)
	if err != nil {
		s.showBoards(c, statusOf(err), func(data *views.Stock) { data.Notice = s.words(c).sentence(err) })
		return
	}
	seeOther(c, "/stock")
}
