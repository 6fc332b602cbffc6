package handlers

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"
	"github.com/google/uuid"

	"faceside/models"
	"faceside/models/planner"
	"faceside/views"
)

// bookCutting books a plan as cut: all of it, or the one stock whose button was pressed.
func (s *server) bookCutting(c *gin.Context) {
	if err := parseForm(c); err != nil {
		s.fail(c, err)
		return
	}
	form := c.Request.PostForm
	n, err := s.cuttingSent(c)
	var booked models.Cutting
	if err == nil {
		booked, err = s.store.BookCutting(c.Request.Context(), n)
	}
	forget(c)
	switch {
	case err == nil:
		seeOther(c, cuttingHref(booked.ID))
	case statusOf(err) >= http.StatusInternalServerError:
		s.fail(c, err)
	default:
		s.showCuts(c, statusOf(err), form, s.words(c).sentence(err))
	}
}

// cuttingSent reads what is booked. A form may be sent once for each of its buttons.
func (s *server) cuttingSent(c *gin.Context) (models.NewCutting, error) {
	var all models.NewCutting
	r, err := s.room(c)
	if err != nil {
		return all, err
	}
	form := c.Request.PostForm
	id, only, plans := form.Get("form_id"), form.Get("only"), form["plan"]
	if _, err := uuid.Parse(id); err != nil {
		return all, refused("form_id", id, "The form has no id of its own (%q): load the page again.", id)
	}
	all.FormID = id + "/all"
	if only != "" {
		n, err := strconv.Atoi(only)
		if err != nil || n < 0 || n >= len(plans) {
			return all, refused("only", only, "There is no stock number %q in this plan: load the page again.", only)
		}
		all.FormID, plans = fmt.Sprintf("%s/%d", id, n), plans[n:n+1]
	}
	var names []string
	for _, text := range plans {
		plan, err := readSentPlan(text)
		if err != nil {
			s.log.Warn("a cutting plan was sent that does not hold", "error", err)
			return all, refused("plan", "", "The plan that was sent is not one that was shown here: load the page again.")
		}
		part, err := planner.CuttingOf(plan.Layouts, plan.Pieces)
		if err != nil {
			return all, fmt.Errorf("the records of the plan: %w", err)
		}
		all.Boards, all.Parts = append(all.Boards, part.Boards...), append(all.Parts, part.Parts...)
		names = append(names, s.stockWords(r).stock(plan.Stock.Species, plan.Stock.Quarter, plan.Stock.Thickness))
	}
	if all.Name = strings.Join(names, ", "); len(names) > 3 {
		all.Name = s.words(c).say("%d stocks", len(names))
	}
	return all, nil
}

func cuttingHref(id models.ID) string { return fmt.Sprintf("/stock/cuttings/%d", id) }

// cutting is the screen of one cutting.
func (s *server) cutting(c *gin.Context) {
	s.showCutting(c, http.StatusOK, "")
}

// showCutting shows a cutting, with what an action has to say.
func (s *server) showCutting(c *gin.Context, status int, notice string) {
	id, err := idOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	cut, err := s.store.CuttingByID(c.Request.Context(), id)
	if err != nil {
		s.fail(c, err)
		return
	}
	data := s.stockWords(r).cutting(cut)
	data.Notice = notice
	if data.Parts, err = s.partsCut(c, r, cut); err != nil {
		s.fail(c, err)
		return
	}
	s.page(c, status, "stock-cutting", cut.Name, data)
}

// cutting tells what went off the rack and what came back.
func (w stockWords) cutting(cut models.Cutting) views.Cutting {
	data := views.Cutting{Name: cut.Name, At: w.at(cut.At), Undo: cuttingHref(cut.ID) + "/undo"}
	if cut.UndoneAt != nil {
		data.UndoneAt = w.at(*cut.UndoneAt)
	}
	for _, row := range cut.Boards {
		if row.Before != nil {
			used := views.BoardRow{Number: row.BoardID, Size: w.face(row.Before.Length, row.Before.Width)}
			if row.Before.Count > 1 {
				used.Facts = append(used.Facts, w.say("%d of %d equal ones", row.Used, row.Before.Count))
			}
			data.Used = append(data.Used, used)
			continue
		}
		came := views.BoardRow{Number: row.BoardID, Href: boardHref(row.BoardID), Size: w.face(row.After.Length, row.After.Width), Facts: w.boardFacts(*row.After)}
		data.Back = append(data.Back, came)
	}
	return data
}

// partsCut names the parts a cutting gave.
func (s *server) partsCut(c *gin.Context, r *room, cut models.Cutting) ([]string, error) {
	ids := make([]models.ID, len(cut.Parts))
	for i, p := range cut.Parts {
		ids[i] = p.PartID
	}
	parts, err := s.store.PartsByID(c.Request.Context(), ids)
	if err != nil {
		return nil, fmt.Errorf("name the parts: %w", err)
	}
	var all []string
	for _, p := range parts {
		i := slices.Index(ids, p.ID)
		said := fmt.Sprintf("%d × %s", cut.Parts[i].Quantity, r.say.shipped(p.Name))
		if of := r.commission(p.CommissionID); of != "" { // one that is delivered has gone from the records of the day
			said += ", " + of
		}
		all = append(all, said)
	}
	return all, nil
}

// undoCutting takes a cutting back.
func (s *server) undoCutting(c *gin.Context) {
	id, err := idOf(c)
	if err == nil {
		err = s.store.UndoCutting(c.Request.Context(), id)
	}
	forget(c)
	switch {
	case err == nil:
		seeOther(c, cuttingHref(id))
	case models.CodeOf(err) == models.Conflict:
		s.showCutting(c, statusOf(err), s.words(c).sentence(err))
	default:
		s.fail(c, err)
	}
}
