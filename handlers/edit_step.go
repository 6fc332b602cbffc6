package handlers

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/views"
)

// editedStep is the screen of one step that is to be changed.
func (s *server) editedStep(c *gin.Context) {
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
	s.page(c, http.StatusOK, "edit-step", st.Name, s.stepPage(e, st))
}

// stepOf finds the step the path names.
func (e *editing) stepOf(c *gin.Context) (*models.Step, error) {
	id, err := strconv.ParseInt(c.Param("step"), 10, 64)
	if st := e.snap.Step(id); err == nil && st != nil {
		return st, nil
	}
	return nil, &models.Error{Code: models.NotFound, Field: "step", Value: c.Param("step"),
		Sentence: phrase.Of("“%s” has no step with number %s; it may have been taken out.", e.com.Name, c.Param("step"))}
}

func (s *server) stepPage(e *editing, st *models.Step) *views.EditStep {
	plain := e.row(st, false)
	data := &views.EditStep{Name: st.Name, Commission: e.com.Name, Href: editHref(e.com.ID), StepHref: stepHref(st.ID),
		Mark: plain.Mark, Standing: plain.Standing, Locked: e.locked()}
	if data.Locked == "" && begun(st) {
		data.Locked = e.say.say("This step was begun: it is not changed any more.")
	}
	var own []found
	for _, f := range e.findings {
		for _, id := range f.steps {
			if id == st.ID {
				own = append(own, f)
				break
			}
		}
	}
	data.Findings = e.findingRows(own, remedies)
	data.Change, data.Split, data.Move, data.Remove = s.changeForm(e, st), e.splitForm(st), e.moveForm(st), e.removeForm(st)
	data.Uses, data.Makes = e.usesForm(st), e.makesWords(st)
	data.AddLink = e.addLinkForm(st)
	for _, l := range e.snap.Before(st.ID) {
		data.Before = append(data.Before, e.linkForms(st, e.snap.Step(l.BeforeID), l, data.Locked != ""))
	}
	for _, l := range e.snap.After(st.ID) {
		later := e.snap.Step(l.AfterID)
		data.After = append(data.After, e.linkForms(st, later, l, begun(later) || e.locked() != ""))
	}
	return data
}

// form starts a form of a step's screen.
func (e *editing) form(st *models.Step, path, save string, fields ...views.Field) views.EditForm {
	return views.EditForm{Edition: e.com.Edition, Form: views.Form{ID: path + "-form", Action: editStepHref(st) + "/" + path, Save: save, Fields: fields}}
}

// halves are what the two steps are called that a step is split into, unless their
// maker says otherwise; in English, like all names that are kept.
func halves(st *models.Step) (first, second string) {
	return phrase.Of("%s, first part", st.Name).String(), phrase.Of("%s, second part", st.Name).String()
}

func (e *editing) splitForm(st *models.Step) views.EditForm {
	first, second := halves(e.records.Step(st.ID))
	form := e.form(st, "split", e.say.say("Split it"),
		views.Field{Name: "first_name", Label: e.say.say("Name of the first"), Kind: "text", Value: e.say.shipped(first), Wide: true},
		views.Field{Name: "second_name", Label: e.say.say("Name of the second"), Kind: "text", Value: e.say.shipped(second), Wide: true},
		views.Field{Name: "first_minutes", Label: e.say.say("Minutes of the first"), Kind: "number", Mode: "numeric", Least: "1", Value: strconv.Itoa(st.Attended / 2),
			Help: e.say.say("Of %d; the rest are the second's.", st.Attended)})
	for _, use := range e.snap.PartsOf(st.ID) {
		if p := e.snap.Part(use.PartID); p != nil {
			form.Fields = append(form.Fields, views.Field{Name: partField(p.ID), Label: e.say.say("%s in the first", p.Name), Kind: "number", Mode: "numeric", Least: "0",
				Greatest: strconv.Itoa(use.Quantity), Value: strconv.Itoa((use.Quantity + 1) / 2), Help: e.say.say("Of %d.", use.Quantity)})
		}
	}
	form.Fields = append(form.Fields, views.Field{Name: "apart", Label: e.say.say("the second need not wait for the first"), Kind: "check"})
	form.Quiet = true
	return form
}

func partField(id models.ID) string { return fmt.Sprintf("part.%d", id) }

func (e *editing) moveForm(st *models.Step) views.EditForm {
	form := e.form(st, "move", e.say.say("Put it there"),
		views.Field{Name: "where", Label: e.say.say("Where"), Kind: "select", Value: "after", Options: []views.Option{{Value: "before", Name: e.say.say("right before")}, {Value: "after", Name: e.say.say("right after")}}},
		views.Field{Name: "other", Label: e.say.say("Step"), Kind: "select", Options: e.stepOptions(st.ID, ""), Wide: true})
	form.Quiet = true
	return form
}

// stepOptions lists the other steps of the commission; none names an empty answer.
func (e *editing) stepOptions(except models.ID, none string) []views.Option {
	var options []views.Option
	if none != "" {
		options = append(options, views.Option{Name: none})
	}
	for _, st := range e.snap.StepsOf(e.com.ID) {
		if st.ID != except {
			options = append(options, option(st.ID, e.stepName(st)))
		}
	}
	return options
}

// stepName is the name of a step, with its piece's where there are several.
func (e *editing) stepName(st *models.Step) string {
	if len(e.snap.Pieces) > 1 {
		return st.Name + ", " + e.pieceName(st)
	}
	return st.Name
}

func (e *editing) removeForm(st *models.Step) views.EditForm {
	form := e.form(st, "remove", e.say.say("Take it out"))
	form.Quiet = true
	return form
}

func (e *editing) addLinkForm(st *models.Step) views.EditForm {
	form := e.form(st, "link", e.say.say("Add the link"), views.Field{Name: "before", Label: e.say.say("Step to wait for"), Kind: "select", Options: e.stepOptions(st.ID, ""), Wide: true})
	form.Fields = append(form.Fields, e.say.lagFields(models.Link{From: models.FromEnd})...)
	return form
}

// fromOptions are the points of the earlier step that a link can count from.
func (w words) fromOptions() []views.Option {
	return []views.Option{
		{Value: models.FromEnd, Name: w.say("its end, rest included")}, {Value: models.FromAttended, Name: w.say("the end of its work")},
		{Value: models.FromStart, Name: w.say("its start")},
	}
}

func (w words) lagFields(l models.Link) []views.Field {
	most := ""
	if l.MaxLag != nil {
		most = strconv.Itoa(*l.MaxLag)
	}
	return []views.Field{
		{Name: "from", Label: w.say("Counted from"), Kind: "select", Value: l.From, Options: w.fromOptions()},
		{Name: "least_lag", Label: w.say("At least, minutes after"), Kind: "number", Mode: "numeric", Value: strconv.Itoa(l.MinLag)},
		{Name: "greatest_lag", Label: w.say("At most, minutes after"), Kind: "number", Mode: "numeric", Value: most, Help: w.say("Empty: no greatest.")},
		{Name: "why", Label: w.say("Why"), Kind: "text", Value: l.Why, Wide: true},
	}
}

// linkForms are a link of the step with the forms that change it.
func (e *editing) linkForms(st, other *models.Step, l models.Link, locked bool) views.EditLink {
	row := views.EditLink{Name: other.Name, Href: editStepHref(other), Says: e.say.lag(l), Why: l.Why, Locked: locked}
	id := strconv.FormatInt(l.ID, 10)
	row.Change = e.form(st, "relink", e.say.say("Save the link"), e.say.lagFields(l)...)
	row.Remove = e.form(st, "unlink", e.say.say("Remove the link"))
	row.Remove.Quiet = true
	for _, form := range []*views.EditForm{&row.Change, &row.Remove} {
		form.ID += "-" + id
		form.Hidden = []views.Field{{Name: "link", Value: id}}
	}
	return row
}

// linkPoints are the points of a step that a link measures from.
var linkPoints = map[string]phrase.Key{models.FromEnd: "after its end", models.FromAttended: "after its work", models.FromStart: "after its start"}

// lag says a link's lags: "after its end, at least 1 h, at most 2 days".
func (w words) lag(l models.Link) string {
	says := []string{w.tell(linkPoints[l.From].Of())}
	switch {
	case l.MinLag > 0:
		says = append(says, w.say("at least %s", w.clockSpan(l.MinLag)))
	case l.MinLag < 0:
		says = append(says, w.say("up to %s before it", w.clockSpan(-l.MinLag)))
	}
	if l.MaxLag != nil {
		says = append(says, w.say("at most %s", w.clockSpan(*l.MaxLag)))
	}
	return strings.Join(says, ", ")
}
