package handlers

import (
	"net/http"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/pattern"
	"faceside/views"
)

// addForm asks for a new step, filled in from the kind that was chosen.
func (s *server) addForm(c *gin.Context) {
	e, err := s.editingOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.page(c, http.StatusOK, "edit-add", s.words(c).say("Add a step"), s.addPage(e, c.Query("kind"), c.Query("after")))
}

func (s *server) addPage(e *editing, kind, after string) *views.EditAdd {
	action := editHref(e.com.ID) + "/add"
	k, known := s.library.Catalogue().Kind(kind)
	work := models.StepWork{Phase: string(pattern.Fitting), Attended: 10, Hands: 1, Interruptible: true}
	if len(e.snap.Stations) > 0 {
		work.StationID = e.snap.Stations[0].ID
	}
	if known {
		work = e.workOfKind(k)
		work.Name = e.say.shipped(k.Name)
	}
	data := &views.EditAdd{Commission: e.com.Name, Href: editHref(e.com.ID), Action: action, Cautions: e.say.shippedAll(k.Cautions),
		Kind: views.Field{Name: "kind", Label: e.say.say("Kind"), Kind: "select", Value: k.Key, Options: s.kindOptions(e.say), Wide: true}}
	if after != "" {
		data.Hidden = []views.Field{{Name: "after", Value: after}}
	}
	form := views.EditForm{Edition: e.com.Edition, Form: views.Form{ID: "add-form", Action: action, Save: e.say.say("Add the step")}, MoreTitle: e.say.say("Setup, rest, clamps, glue and what it works on"),
		Hidden: []views.Field{{Name: "kind", Value: k.Key}}}
	form.Fields, form.More = s.workFields(e, work)
	form.Fields = append(form.Fields, e.placeFields(after)...)
	for _, p := range e.snap.Pieces {
		of := ""
		if len(e.snap.Pieces) > 1 {
			of = ", " + p.Name
		}
		form.More = append(form.More, e.useFields(p.ID, uses{}, 0, e.say.say("Works on: "), of)...)
	}
	data.Add = form
	return data
}

// placeFields ask where a new step comes.
func (e *editing) placeFields(after string) []views.Field {
	fields := []views.Field{
		{Name: "after", Label: e.say.say("It waits for"), Kind: "select", Value: after, Options: e.stepOptions(0, e.say.say("nothing")), Wide: true},
		{Name: "before", Label: e.say.say("What waits for it"), Kind: "select", Options: e.stepOptions(0, e.say.say("nothing")), Wide: true},
	}
	if len(e.snap.Pieces) > 1 {
		fields = append(fields, views.Field{Name: "piece", Label: e.say.say("Piece"), Kind: "select", Options: pieceOptions(e.snap.Pieces)})
	}
	return fields
}

// addStep adds a step.
func (s *server) addStep(c *gin.Context) {
	e, err := s.editingOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	in, err := s.reader(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	a, edit := attemptOf(in), s.readAdd(e, in)
	if err = in.err(); err == nil {
		err = s.try(c, e.com.ID, a, edit)
	}
	if err == nil {
		onward(c, editHref(e.com.ID))
		return
	}
	if e, err = s.again(c, e, err); err == nil {
		return
	}
	data := s.addPage(e, in.text("kind"), in.text("after"))
	e.blameForm(&data.Add, in, a, err)
	s.pageOrPart(c, formStatus(err), "edit-add", "edit-add", e.say.say("Add a step"), data)
}

func (s *server) readAdd(e *editing, in *reader) models.Edit {
	k, _ := s.library.Catalogue().Kind(in.text("kind")) // readWork refuses one that is not known
	add := models.AddStep{StepWork: s.readWork(e, in, models.StepWork{Name: k.Name}), PieceID: e.snap.Pieces[0].ID}
	if id := in.record("piece"); id != nil {
		add.PieceID = *id
	}
	if id := in.record("after"); id != nil {
		add.AfterID = *id
	}
	if id := in.record("before"); id != nil {
		add.BeforeID = *id
	}
	on := e.readUses(in, add.PieceID)
	add.Parts, add.Assemblies = on.parts, on.assemblies
	e.refuseOthers(in, add.PieceID)
	return add
}
