package handlers

import (
	"net/http"

	"github.com/gin-gonic/gin"
	"github.com/google/uuid"

	"faceside/models"
	"faceside/models/photo"
	"faceside/views"
)

// notesPath is where a note with its photo is sent.
const notesPath = "/steps/:id/notes"

// note asks for a photo or a note of a step.
func (s *server) note(c *gin.Context) {
	back := ""
	if c.Query("back") == "bench" {
		back = "/"
	}
	s.notePage(c, http.StatusOK, views.Note{NoteID: uuid.NewString(), Back: back})
}

// addNote keeps a note and its photo, then leads back to where it was asked for.
func (s *server) addNote(c *gin.Context) {
	form, err := readPhotoForm(c)
	if err == nil {
		err = s.keepNote(c, form)
	}
	if err == nil {
		seeOther(c, localPath(form.fields["back"]))
		return
	}
	if failed(err) || models.CodeOf(err) == models.NotFound {
		s.fail(c, err)
		return
	}
	forget(c)
	again := views.Note{Notice: s.words(c).sentence(err), NoteID: form.fields["note_id"], Text: form.fields["text"], Back: form.fields["back"]}
	if _, bad := uuid.Parse(again.NoteID); bad != nil {
		again.NoteID = uuid.NewString()
	}
	s.notePage(c, statusOf(err), again)
}

func (s *server) keepNote(c *gin.Context, form photoForm) error {
	step, err := idOf(c)
	if err != nil {
		return err
	}
	id := form.fields["note_id"]
	if _, err := uuid.Parse(id); err != nil {
		return refused("note_id", id, "The note has no id of its own (%q): load the page again.", id)
	}
	snap, err := s.snapshot(c)
	if err != nil {
		return err
	}
	person := s.person(c, snap)
	if person == nil {
		return refused("person", "", "Say first who is at this tablet: a note names who wrote it.")
	}
	made, err := s.makePhoto(c, form.data)
	if err != nil {
		return err
	}
	return s.store.AddNote(c.Request.Context(), models.StepNote{
		ID: id, StepID: step, PersonID: person.ID, Tablet: tabletID(c), Text: form.fields["text"],
	}, made)
}

// removeNote takes a note away for good.
func (s *server) removeNote(c *gin.Context) {
	step, err := idOf(c)
	if err == nil {
		err = parseForm(c)
	}
	if err == nil {
		err = s.store.RemoveNote(c.Request.Context(), step, c.PostForm("note"))
	}
	if err != nil {
		s.fail(c, err)
		return
	}
	seeOther(c, stepHref(step)+"/note")
}

// notePage draws the question with what is there already.
func (s *server) notePage(c *gin.Context, status int, data views.Note) {
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
	st := r.snap.Step(id)
	if st == nil {
		s.fail(c, noOpenStep(id))
		return
	}
	notes, err := s.store.NotesOf(c.Request.Context(), id)
	if err != nil {
		s.fail(c, err)
		return
	}
	if data.Back == "" {
		data.Back = stepHref(id)
	}
	data.Back = localPath(data.Back)
	data.Step, data.Name, data.Commission = id, st.Name, r.commission(st.CommissionID)
	data.Action, data.Notes, data.MostBytes = stepHref(id)+"/notes", r.noteRows(notes[id]), photo.MostBytes
	data.TooLarge = r.say.say("The photo is %s; at most %s are taken. Choose a smaller size in the camera.", "{size}", models.Bytes(photo.MostBytes))
	s.page(c, status, "note", r.say.say("Photo or note"), data)
}

// noteRows tells the notes of a step.
func (r *room) noteRows(notes []models.NoteOfStep) []views.NoteRow {
	var rows []views.NoteRow
	for _, n := range notes {
		row := views.NoteRow{ID: n.ID, Text: n.Text, Width: n.Width, Height: n.Height, Who: r.who(&n.PersonID), When: r.say.at(n.At)}
		if n.Photo != nil {
			row.Photo = photoHref(*n.Photo)
		}
		rows = append(rows, row)
	}
	return rows
}
