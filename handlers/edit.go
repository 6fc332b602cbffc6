package handlers

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/views"
)

// editRoutes are the screens and forms on which an order of work is changed.
func (s *server) editRoutes(e *gin.Engine) {
	e.GET("/commissions/:id/edit", s.edit)
	e.GET("/commissions/:id/edit/add", s.addForm)
	e.POST("/commissions/:id/edit/add", s.addStep)
	e.POST("/commissions/:id/edit/remedy", s.applyRemedy)
	e.GET("/commissions/:id/edit/steps/:step", s.editedStep)
	for path, form := range stepForms {
		e.POST("/commissions/:id/edit/steps/:step/"+path, func(c *gin.Context) { s.postStep(c, form) })
	}
}

func editHref(commission models.ID) string { return commissionHref(commission) + "/edit" }

func editStepHref(st *models.Step) string {
	return fmt.Sprintf("%s/steps/%d", editHref(st.CommissionID), st.ID)
}

// editing is a commission whose order of work is looked at or changed.
type editing struct {
	*room
	com      *models.Commission
	findings []found
}

// editingOf reads the commission the path names, and what the checks say of it.
func (s *server) editingOf(c *gin.Context) (*editing, error) {
	snap, com, err := s.commissionRead(c)
	if err != nil {
		return nil, err
	}
	r, err := s.roomOf(snap)
	if err != nil {
		return nil, err
	}
	return checked(r, com)
}

// checked is a commission with what the checks say of it.
func checked(r *room, com *models.Commission) (*editing, error) {
	e := &editing{room: r, com: com}
	var err error
	if e.findings, err = findingsOf(r.records); err != nil {
		return nil, fmt.Errorf("check the order of work of %q: %w", e.com.Name, err)
	}
	return e, nil
}

// locked says why nothing of the commission is changed any more, "" if it is.
func (e *editing) locked() string {
	if e.com.State == models.Open || e.com.State == models.Held {
		return ""
	}
	return e.say.say("“%s” is %s: its steps are not changed any more.", e.com.Name, e.com.State.Words())
}

// edit lists the steps of a commission with what the checks say of them.
func (s *server) edit(c *gin.Context) {
	e, err := s.editingOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.page(c, http.StatusOK, "edit", e.say.say("Steps of %s", e.com.Name), e.list())
}

func (e *editing) list() views.Edit {
	data := views.Edit{Name: e.com.Name, Href: commissionHref(e.com.ID), AddHref: editHref(e.com.ID) + "/add", Locked: e.locked(),
		Findings: e.findingRows(e.findings, remedies), Counts: e.say.countFindings(e.findings)}
	said := map[models.ID]int{}
	for _, f := range e.findings {
		for _, id := range f.steps {
			said[id]++
		}
	}
	for _, p := range e.snap.Pieces {
		piece := views.EditPiece{Name: p.Name}
		for _, st := range e.snap.StepsOf(e.com.ID) {
			switch {
			case st.PieceID != p.ID:
			case begun(st):
				piece.Begun = append(piece.Begun, e.editRow(st, said[st.ID]))
			default:
				piece.Steps = append(piece.Steps, e.editRow(st, said[st.ID]))
			}
		}
		data.Pieces = append(data.Pieces, piece)
	}
	return data
}

func (e *editing) editRow(st *models.Step, findings int) views.EditRow {
	plain := e.row(st, false)
	row := views.EditRow{ID: st.ID, Name: st.Name, Href: editStepHref(st), Mark: plain.Mark, Standing: plain.Standing,
		Detail: plain.Detail, Findings: findings}
	var waits []string
	for _, l := range e.snap.Before(st.ID) {
		if before := e.snap.Step(l.BeforeID); before != nil && before.State != models.Done {
			if name := e.say.say("“%s”", before.Name); !slices.Contains(waits, name) { // two links may lead to one step
				waits = append(waits, name)
			}
		}
	}
	row.Waits = strings.Join(waits, ", ")
	return row
}

// begun says whether a step was started: then it is not changed any more.
func begun(st *models.Step) bool { return st.StartedAt != nil }

// attempt is one try to change an order of work from a form.
type attempt struct {
	edition int64
	keep    bool    // even if the checks object
	objects []found // what they object to
}

// attemptOf reads what every form of these screens sends along.
func attemptOf(in *reader) *attempt {
	edition, err := strconv.ParseInt(in.text("edition"), 10, 64)
	if err != nil {
		edition = -1 // no edition: it is refused as stale
	}
	return &attempt{edition: edition, keep: in.check("keep")}
}

// errObjected stands for the objections of an attempt.
var errObjected = &models.Error{Code: models.Conflict, Sentence: phrase.Of("The checks object to this.")}

// try makes the edits, unless the checks object to what would come of them and
// did not before.
func (s *server) try(c *gin.Context, com models.ID, a *attempt, edits ...models.Edit) error {
	judge := func(before, after *models.Snapshot) error {
		was, err := findingsOf(before)
		if err != nil {
			return fmt.Errorf("check the order of work as it was: %w", err)
		}
		now, err := findingsOf(after)
		if err != nil {
			return fmt.Errorf("check the order of work as it would be: %w", err)
		}
		a.objects = newStops(was, now)
		if len(a.objects) > 0 && !a.keep {
			return errObjected
		}
		return nil
	}
	err := s.store.EditCommission(c.Request.Context(), com, a.edition, edits, judge)
	forget(c)
	if err != nil {
		return err
	}
	s.log.Info("steps changed", "commission", com, "edits", len(edits), "kept all the same", len(a.objects))
	return nil
}

// blameForm puts what was typed and what is wrong into a form.
func (e *editing) blameForm(form *views.EditForm, in *reader, a *attempt, err error) {
	form.Open = true
	for _, fields := range [][]views.Field{form.Fields, form.More} {
		retyped(fields, in.form)
	}
	if errors.Is(err, errObjected) {
		form.Objections = e.findingRows(a.objects, noRemedies)
		return
	}
	all := append(append([]views.Field{}, form.Fields...), form.More...)
	form.Notice = e.say.blame(all, err)
	copy(form.Fields, all)
	copy(form.More, all[len(form.Fields):])
}
