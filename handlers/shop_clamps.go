package handlers

import (
	"slices"
	"strconv"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/views"
)

func (r *room) clampForm(class models.ClampClass) views.Form {
	id, action := recordForm("clamps", class.ID)
	form := views.Form{ID: id, Action: action, Title: class.Name, Save: r.say.say("Save"), Fields: []views.Field{
		{Name: "name", Label: r.say.say("Name"), Kind: "text", Value: class.Name},
		{Name: "reach", Label: r.say.say("Reach"), Kind: "text", Value: r.orNone(class.Reach), Help: r.say.say("The widest they open.")},
		{Name: "count", Label: r.say.say("How many"), Kind: "number", Mode: "numeric", Least: "0", Value: strconv.Itoa(class.Count)},
	}}
	if class.ID == 0 {
		form.Title, form.Save = r.say.say("Add clamps"), r.say.say("Add the clamps")
	}
	return form
}

// saveClamps saves one class of clamps; without a number in the path, a new one.
func (s *server) saveClamps(c *gin.Context) {
	s.saveRecord(c, "clamps", func(snap *models.Snapshot, in *reader, id models.ID) error {
		class := models.ClampClass{ID: id, Name: in.text("name"), Count: in.whole("count")}
		if was := snap.Clamp(id); was != nil {
			class.Key, class.Name, class.Reach = was.Key, in.kept("name", was.Name), in.length("reach", was.Reach)
		} else {
			class.Reach = in.length("reach", 0)
			class.Key = key(class.Name, "clamps", func(k string) bool {
				return slices.ContainsFunc(snap.Clamps, func(o models.ClampClass) bool { return o.Key == k })
			})
		}
		if err := in.err(); err != nil {
			return err
		}
		_, err := s.store.SaveClampClass(c.Request.Context(), class)
		return err
	})
}
