package handlers

import (
	"net/http"
	"slices"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/views"
)

// stepForm is one form of a step's screen: what it asks for and where it stands.
type stepForm struct {
	edit func(*server, *editing, *models.Step, *reader) models.Edit
	at   func(*views.EditStep, *reader) *views.EditForm
	gone bool // the step is not there any more afterwards
}

// stepForms are the forms of a step's screen, by the end of their path.
var stepForms = map[string]stepForm{
	"change": {edit: readChange, at: func(p *views.EditStep, _ *reader) *views.EditForm { return &p.Change }},
	"uses":   {edit: readUsesForm, at: func(p *views.EditStep, _ *reader) *views.EditForm { return &p.Uses }},
	"split":  {edit: readSplit, at: func(p *views.EditStep, _ *reader) *views.EditForm { return &p.Split }},
	"move":   {edit: readMove, at: func(p *views.EditStep, _ *reader) *views.EditForm { return &p.Move }},
	"remove": {edit: readRemove, at: func(p *views.EditStep, _ *reader) *views.EditForm { return &p.Remove }, gone: true},
	"link":   {edit: readLink, at: func(p *views.EditStep, _ *reader) *views.EditForm { return &p.AddLink }},
	"relink": {edit: readRelink, at: func(p *views.EditStep, in *reader) *views.EditForm {
		return linkForm(p, in, func(l *views.EditLink) *views.EditForm { return &l.Change })
	}},
	"unlink": {edit: readUnlink, at: func(p *views.EditStep, in *reader) *views.EditForm {
		return linkForm(p, in, func(l *views.EditLink) *views.EditForm { return &l.Remove })
	}},
}

// linkForm finds the form of the link that was sent; where it is gone, that of
// the step itself says so.
func linkForm(p *views.EditStep, in *reader, of func(*views.EditLink) *views.EditForm) *views.EditForm {
	for _, links := range [][]views.EditLink{p.Before, p.After} {
		for i := range links {
			if form := of(&links[i]); len(form.Hidden) > 0 && form.Hidden[0].Value == in.text("link") {
				return form
			}
		}
	}
	return &p.AddLink
}

// postStep changes an order of work by one form of a step's screen.
func (s *server) postStep(c *gin.Context, f stepForm) {
	e, err := s.editingOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	st, err := e.stepOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	in, err := s.reader(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	a, edit := attemptOf(in), f.edit(s, e, st, in)
	if err = in.err(); err == nil {
		err = s.try(c, e.com.ID, a, edit)
	}
	if err == nil {
		if f.gone {
			onward(c, editHref(e.com.ID))
		} else {
			onward(c, editStepHref(st))
		}
		return
	}
	if e, err = s.again(c, e, err); err == nil {
		return
	}
	if st = e.snap.Step(st.ID); st == nil {
		s.fail(c, err)
		return
	}
	data := s.stepPage(e, st)
	e.blameForm(f.at(data, in), in, a, err)
	s.pageOrPart(c, formStatus(err), "edit-step", "edit-step", st.Name, data)
}

// again reads the commission anew after a refusal, so that a form shows the
// edition that is now. An answer is given where that fails; the error is nil then.
func (s *server) again(c *gin.Context, e *editing, refusal error) (*editing, error) {
	if failed(refusal) {
		s.fail(c, refusal)
		return e, nil
	}
	now, err := s.editingOf(c)
	if err != nil {
		s.fail(c, err)
		return e, nil
	}
	return now, refusal
}

// onward sends the browser on after an edit; a script is told to go there, as
// it would put what it is redirected to into the page it has.
func onward(c *gin.Context, path string) {
	if swapped(c) {
		c.Header("HX-Redirect", path)
		c.Status(http.StatusNoContent)
		return
	}
	seeOther(c, path)
}

func readChange(s *server, e *editing, st *models.Step, in *reader) models.Edit {
	return models.ChangeStep{StepID: st.ID, StepWork: s.readWork(e, in, workOf(e.records, e.records.Step(st.ID)))}
}

func readSplit(_ *server, e *editing, st *models.Step, in *reader) models.Edit {
	first, second := halves(e.records.Step(st.ID))
	split := models.SplitStep{StepID: st.ID, Attended: in.whole("first_minutes"), FirstName: in.kept("first_name", first), SecondName: in.kept("second_name", second),
		Apart: in.check("apart"), Parts: map[models.ID]int{}}
	for _, use := range e.snap.PartsOf(st.ID) {
		split.Parts[use.PartID] = in.whole(partField(use.PartID))
		if n := split.Parts[use.PartID]; n < 0 || n > use.Quantity {
			in.refuse(partField(use.PartID), "The first step cannot have %d of %d.", n, use.Quantity)
		}
	}
	return split
}

func readMove(_ *server, _ *editing, st *models.Step, in *reader) models.Edit {
	move := models.MoveStep{StepID: st.ID}
	switch where := in.text("where"); where {
	case "before", "after":
		move.After = where == "after"
	default:
		in.refuse("where", "%q is neither before nor after.", where)
	}
	if id := in.record("other"); id != nil {
		move.OtherID = *id
	}
	return move
}

func readRemove(_ *server, _ *editing, st *models.Step, _ *reader) models.Edit {
	return models.RemoveStep{StepID: st.ID}
}

// lags reads the questions about a link; why is the reason that it has so far.
func (r *reader) lags(why string) models.Link {
	l := models.Link{From: r.text("from"), MinLag: r.whole("least_lag"), Why: r.kept("why", why)}
	if r.text("greatest_lag") != "" {
		most := r.whole("greatest_lag")
		l.MaxLag = &most
	}
	return l
}

func readLink(_ *server, _ *editing, st *models.Step, in *reader) models.Edit {
	l := in.lags("")
	l.AfterID = st.ID
	if id := in.record("before"); id != nil {
		l.BeforeID = *id
	}
	return models.AddLink{Link: l}
}

func readRelink(_ *server, e *editing, _ *models.Step, in *reader) models.Edit {
	why := ""
	change := models.ChangeLink{}
	if id := in.record("link"); id != nil {
		change.LinkID = *id
		if i := slices.IndexFunc(e.records.Links, func(l models.Link) bool { return l.ID == *id }); i >= 0 {
			why = e.records.Links[i].Why
		}
	}
	l := in.lags(why)
	change.From, change.MinLag, change.MaxLag, change.Why = l.From, l.MinLag, l.MaxLag, l.Why
	return change
}

func readUnlink(_ *server, _ *editing, _ *models.Step, in *reader) models.Edit {
	remove := models.RemoveLink{}
	if id := in.record("link"); id != nil {
		remove.LinkID = *id
	}
	return remove
}
