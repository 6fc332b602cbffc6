package handlers

import (
	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/views"
)

func (w words) personForm(p models.Person) views.Form {
	id, action := recordForm("people", p.ID)
	form := views.Form{ID: id, Action: action, Title: p.Name, Save: w.say("Save"), Fields: []views.Field{
		{Name: "name", Label: w.say("Name"), Kind: "text", Value: p.Name},
		{Name: "active", Label: w.say("works here now"), Kind: "check", Value: on(p.Active)},
	}}
	if p.ID == 0 {
		form.Title, form.Save = w.say("Add a person"), w.say("Add the person")
	}
	return form
}

// on is the value of a check.
func on(b bool) string {
	if b {
		return "on"
	}
	return ""
}

// savePerson saves one person; without a number in the path, a new one.
func (s *server) savePerson(c *gin.Context) {
	id, err := recordID(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	in, err := s.reader(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	_, err = s.store.SavePerson(c.Request.Context(), models.Person{ID: id, Name: in.text("name"), Active: in.check("active")})
	formID, _ := recordForm("people", id)
	s.shopSaved(c, "people", formID, in.form, err)
}
