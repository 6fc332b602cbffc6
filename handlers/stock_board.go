package handlers

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/views"
)

// board is the screen of one board.
func (s *server) board(c *gin.Context) {
	id, err := idOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.showBoard(c, id, http.StatusOK, func(*views.Board) {})
}

// showBoard shows one board, with what an action has to say put into it.
func (s *server) showBoard(c *gin.Context, id models.ID, status int, say func(*views.Board)) {
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	b, err := s.store.BoardByID(c.Request.Context(), id)
	if err != nil {
		s.fail(c, err)
		return
	}
	w := s.stockWords(r)
	feet, area := boardMeasure(b)
	data := views.Board{
		Number: id, Title: w.say("No. %d · %s", id, w.stock(b.Species, b.Quarter, b.Thickness)+" · "+w.face(b.Length, b.Width)),
		Facts: append([]string{w.measure(b.Quarter == "", feet, area)}, w.boardFacts(b)...), Drawing: w.boardDrawing(b),
		Edit: s.boardForm(r, b), Mark: r.say.defectForm(id), Remove: boardHref(id) + "/remove",
	}
	if b.Count > 1 {
		data.NoMark = s.words(c).say("This record stands for %d equal boards. To mark a defect, lower the count and add the one with the defect by itself.", b.Count)
	}
	for i, d := range b.Defects {
		data.Defects = append(data.Defects, views.DefectRow{Name: r.say.defectName(d.Note, i), Remove: fmt.Sprintf("%s/defects/%d/remove", boardHref(id), d.ID),
			Where: s.words(c).say("%s from the left end, %s from the lower edge; %s", w.length(d.X), w.length(d.Y), w.face(d.Length, d.Width))})
	}
	say(&data)
	s.page(c, status, "stock-board", data.Title, data)
}

// defectName is what was noted of a board's defect, else its number.
func (w words) defectName(note string, i int) string {
	if note != "" {
		return note
	}
	return w.say("Defect %d", i+1)
}

// boardDrawing draws a board that is not cut yet.
func (w stockWords) boardDrawing(b models.Board) views.Drawing {
	drawing := views.BoardDrawing{Title: w.say("Board %d, %s, with %s", b.ID, w.face(b.Length, b.Width), w.say("%d marked defects", len(b.Defects))),
		Length: b.Length.Millimetres(), Width: b.Width.Millimetres(), Whole: true}
	for i, d := range b.Defects {
		drawing.Defects = append(drawing.Defects, views.DrawnArea{Name: w.defectName(d.Note, i), X: d.X.Millimetres(), Y: d.Y.Millimetres(),
			W: d.Length.Millimetres(), H: d.Width.Millimetres()})
	}
	return w.drawn(drawing)
}

// drawn is a board's drawing, or the sentence that stands in for it.
func (w words) drawn(b views.BoardDrawing) views.Drawing {
	svg, err := b.SVG()
	if err != nil {
		return views.Drawing{Wrong: w.say("The board cannot be drawn: %s.", err.Error())}
	}
	return views.Drawing{SVG: svg}
}

// defectForm asks for the place of a defect.
func (w words) defectForm(board models.ID) views.Form {
	return views.Form{ID: "defect-new", Action: boardHref(board) + "/defects", Save: w.say("Mark the defect"), Fields: []views.Field{
		{Name: "distance_from_the_left_end", Label: w.say("From the left end"), Kind: "text", Help: w.say("To where it begins, along the grain. Empty: at the end.")},
		{Name: "distance_from_the_lower_edge", Label: w.say("From the lower edge"), Kind: "text", Help: w.say("Across the grain. Empty: at the edge.")},
		{Name: "length", Label: w.say("Length"), Kind: "text", Help: w.say("Along the grain.")},
		{Name: "width", Label: w.say("Width"), Kind: "text", Help: w.say("Across the grain.")},
		{Name: "note", Label: w.say("What it is"), Kind: "text", Help: w.say("For example: knot, check, wane.")},
	}}
}

// markDefect marks a defect on a board.
func (s *server) markDefect(c *gin.Context) {
	id, _, in, ok := s.posted(c, idOf)
	if !ok {
		return
	}
	d := models.BoardDefect{BoardID: id, X: in.length("distance_from_the_left_end", 0), Y: in.length("distance_from_the_lower_edge", 0),
		Length: in.length("length", 0), Width: in.length("width", 0), Note: in.text("note")}
	err := in.err()
	if err == nil {
		_, err = s.store.MarkDefect(c.Request.Context(), d)
	}
	forget(c)
	if err != nil {
		s.showBoard(c, id, formStatus(err), func(data *views.Board) { s.words(c).refuse(&data.Mark, in.form, err) })
		return
	}
	seeOther(c, boardHref(id)+"#defects")
}

// unmarkDefect takes a mark off a board.
func (s *server) unmarkDefect(c *gin.Context) {
	id, err := idOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	defect, err := strconv.ParseInt(c.Param("defect"), 10, 64)
	if err != nil {
		s.notFound(c)
		return
	}
	err = s.store.UnmarkDefect(c.Request.Context(), id, defect)
	forget(c)
	if err != nil {
		s.showBoard(c, id, statusOf(err), func(data *views.Board) { data.Notice = s.words(c).sentence(err) })
		return
	}
	seeOther(c, boardHref(id)+"#defects")
}
