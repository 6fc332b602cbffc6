package handlers

import (
	"slices"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/wood"
	"faceside/views"
)

// glueRow is a glue's form under the line that tells it.
func (w words) glueRow(g models.Glue) views.FoldedForm {
	return views.FoldedForm{Form: w.glueForm(g), Line: w.say("open time %s, in clamps %s, cured after %s; not below %s",
		w.clockSpan(g.OpenMin), w.clockSpan(g.ClampMin), w.clockSpan(g.CureMin), w.degrees(g.LeastTempC))}
}

func (w words) glueForm(g models.Glue) views.Form {
	id, action := recordForm("glues", g.ID)
	form := views.Form{ID: id, Action: action, Title: g.Name, Save: w.say("Save"), Fields: []views.Field{
		{Name: "name", Label: w.say("Name"), Kind: "text", Value: g.Name},
		{Name: "open_time", Label: w.say("Open time"), Kind: "text", Value: w.exactSpan(g.OpenMin), Help: w.say("From first glue to last clamp. For example 45 min, 4 h or 7 days.")},
		{Name: "clamp_time", Label: w.say("In clamps"), Kind: "text", Value: w.exactSpan(g.ClampMin), Help: w.say("The least before the clamps come off.")},
		{Name: "cure_time", Label: w.say("Cured after"), Kind: "text", Value: w.exactSpan(g.CureMin), Help: w.say("Until it takes its full load.")},
		w.leastTemperature(g.LeastTempC), w.materialCaution(g.Caution),
	}}
	if g.ID == 0 {
		form.Title, form.Save = w.say("Add a glue"), w.say("Add the glue")
		emptied(form.Fields)
	}
	return form
}

// finishRow is a finish's form under the line that tells it.
func (w words) finishRow(f models.Finish) views.FoldedForm {
	next := w.say("next coat after %s", w.clockSpan(f.RecoatLeastMin))
	if f.RecoatGreatestMin > 0 {
		next = w.say("next coat after %s and within %s", w.clockSpan(f.RecoatLeastMin), w.clockSpan(f.RecoatGreatestMin))
	}
	return views.FoldedForm{Form: w.finishForm(f), Line: w.say("dry after %s, %s, cured after %s; not below %s",
		w.clockSpan(f.DryMin), next, w.clockSpan(f.CureMin), w.degrees(f.LeastTempC))}
}

func (w words) finishForm(f models.Finish) views.Form {
	id, action := recordForm("finishes", f.ID)
	greatest := ""
	if f.RecoatGreatestMin > 0 {
		greatest = w.exactSpan(f.RecoatGreatestMin)
	}
	form := views.Form{ID: id, Action: action, Title: f.Name, Save: w.say("Save"), Fields: []views.Field{
		{Name: "name", Label: w.say("Name"), Kind: "text", Value: f.Name},
		{Name: "drying_time", Label: w.say("Dry after"), Kind: "text", Value: w.exactSpan(f.DryMin), Help: w.say("No dust near it until then. For example 45 min, 4 h or 7 days.")},
		{Name: "least_recoat_time", Label: w.say("Next coat after"), Kind: "text", Value: w.exactSpan(f.RecoatLeastMin), Help: w.say("At the earliest.")},
		{Name: "greatest_recoat_time", Label: w.say("Next coat within"), Kind: "text", Value: greatest, Help: w.say("Later it must be sanded first. Empty: no limit.")},
		{Name: "cure_time", Label: w.say("Cured after"), Kind: "text", Value: w.exactSpan(f.CureMin), Help: w.say("Until it takes wear.")},
		w.leastTemperature(f.LeastTempC), w.materialCaution(f.Caution),
	}}
	if f.ID == 0 {
		form.Title, form.Save = w.say("Add a finish"), w.say("Add the finish")
		emptied(form.Fields)
	}
	return form
}

// emptied takes the zeros out of a form for something new: no time is proposed
// that a hurried maker would leave standing.
func emptied(fields []views.Field) {
	for i := range fields {
		fields[i].Value = ""
	}
}

func (w words) leastTemperature(celsius float64) views.Field {
	return w.temperatureField("least_temperature", w.say("Not below, %s", wood.DegreesIn(w.shop.Units)), celsius)
}

func (w words) materialCaution(text string) views.Field {
	return views.Field{Name: "caution", Label: w.say("Caution"), Kind: "textarea", Value: text, Wide: true,
		Help: w.say("Shown with every step that uses it. The maker's sheet goes before it.")}
}

// saveGlue saves one glue; without a number in the path, a new one.
func (s *server) saveGlue(c *gin.Context) {
	s.saveRecord(c, "glues", func(snap *models.Snapshot, in *reader, id models.ID) error {
		g := models.Glue{ID: id, Name: in.text("name"), OpenMin: in.span("open_time"), ClampMin: in.span("clamp_time"),
			CureMin: in.span("cure_time"), Caution: in.text("caution")}
		if was := snap.Glue(id); was != nil {
			g.Key, g.LeastTempC = was.Key, was.LeastTempC
			g.Name, g.Caution = in.kept("name", was.Name), in.kept("caution", was.Caution)
		} else {
			g.Key = key(g.Name, "glue", func(k string) bool {
				return slices.ContainsFunc(snap.Glues, func(o models.Glue) bool { return o.Key == k })
			})
		}
		g.LeastTempC = in.temperature("least_temperature", g.LeastTempC)
		in.need("open_time", "clamp_time", "cure_time", "least_temperature")
		if err := in.err(); err != nil {
			return err
		}
		_, err := s.store.SaveGlue(c.Request.Context(), g)
		return err
	})
}

// saveFinish saves one finish; without a number in the path, a new one.
func (s *server) saveFinish(c *gin.Context) {
	s.saveRecord(c, "finishes", func(snap *models.Snapshot, in *reader, id models.ID) error {
		f := models.Finish{ID: id, Name: in.text("name"), DryMin: in.span("drying_time"), RecoatLeastMin: in.span("least_recoat_time"),
			RecoatGreatestMin: in.span("greatest_recoat_time"), CureMin: in.span("cure_time"),
			Caution: in.text("caution")}
		if was := snap.Finish(id); was != nil {
			f.Key, f.LeastTempC = was.Key, was.LeastTempC
			f.Name, f.Caution = in.kept("name", was.Name), in.kept("caution", was.Caution)
		} else {
			f.Key = key(f.Name, "finish", func(k string) bool {
				return slices.ContainsFunc(snap.Finishes, func(o models.Finish) bool { return o.Key == k })
			})
		}
		f.LeastTempC = in.temperature("least_temperature", f.LeastTempC)
		in.need("drying_time", "least_recoat_time", "cure_time", "least_temperature")
		if err := in.err(); err != nil {
			return err
		}
		_, err := s.store.SaveFinish(c.Request.Context(), f)
		return err
	})
}
