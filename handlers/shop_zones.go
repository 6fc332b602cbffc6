package handlers

import (
	"slices"
	"strings"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/views"
)

// zoneRow is a zone's form under the stations that share its air.
func (r *room) zoneRow(z models.Zone) views.FoldedForm {
	var in []string
	for _, st := range r.snap.Stations {
		if st.ZoneID != nil && *st.ZoneID == z.ID {
			in = append(in, st.Name)
		}
	}
	line := r.say.say("no station yet: choose the zone in the station's form")
	if len(in) > 0 {
		line = strings.Join(in, ", ")
	}
	return views.FoldedForm{Form: r.say.zoneForm(z), Line: line}
}

func (w words) zoneForm(z models.Zone) views.Form {
	id, action := recordForm("zones", z.ID)
	form := views.Form{ID: id, Action: action, Title: z.Name, Save: w.say("Save"), Fields: []views.Field{
		{Name: "name", Label: w.say("Name"), Kind: "text", Value: z.Name},
	}}
	if z.ID == 0 {
		form.Title, form.Save = w.say("Add a zone"), w.say("Add the zone")
	}
	return form
}

// saveZone saves one zone; without a number in the path, a new one.
func (s *server) saveZone(c *gin.Context) {
	s.saveRecord(c, "zones", func(snap *models.Snapshot, in *reader, id models.ID) error {
		z := models.Zone{ID: id, Name: in.text("name")}
		if was := snap.Zone(id); was != nil {
			z.Key, z.Name = was.Key, in.kept("name", was.Name)
		} else {
			z.Key = key(z.Name, "zone", func(k string) bool {
				return slices.ContainsFunc(snap.Zones, func(o models.Zone) bool { return o.Key == k })
			})
		}
		_, err := s.store.SaveZone(c.Request.Context(), z)
		return err
	})
}
