package handlers

import (
	"fmt"
	"slices"
	"strconv"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/views"
)

// spanHelp says how a span of time is typed.
const spanHelp = "For example 45 min, 4 h or 7 days."

// glueRow is a glue's form under the line that tells it.
func glueRow(g models.Glue) views.FoldedForm {
	return views.FoldedForm{Form: glueForm(g), Line: fmt.Sprintf("open time %s, in clamps %s, cured after %s; not below %g °C",
		clockSpan(g.OpenMin), clockSpan(g.ClampMin), clockSpan(g.CureMin), g.LeastTempC)}
}

func glueForm(g models.Glue) views.Form {
	id, action := recordForm("glues", g.ID)
	form := views.Form{ID: id, Action: action, Title: g.Name, Save: "Save", Fields: []views.Field{
		{Name: "name", Label: "Name", Kind: "text", Value: g.Name},
		{Name: "open_time", Label: "Open time", Kind: "text", Value: exactSpan(g.OpenMin), Help: "From first glue to last clamp. " + spanHelp},
		{Name: "clamp_time", Label: "In clamps", Kind: "text", Value: exactSpan(g.ClampMin), Help: "The least before the clamps come off."},
		{Name: "cure_time", Label: "Cured after", Kind: "text", Value: exactSpan(g.CureMin), Help: "Until it takes its full load."},
		leastTemperature(g.LeastTempC), materialCaution(g.Caution),
	}}
	if g.ID == 0 {
		form.Title, form.Save = "Add a glue", "Add the glue"
		emptied(form.Fields)
	}
	return form
}

// finishRow is a finish's form under the line that tells it.
func finishRow(f models.Finish) views.FoldedForm {
	next := fmt.Sprintf("next coat after %s", clockSpan(f.RecoatLeastMin))
	if f.RecoatGreatestMin > 0 {
		next += fmt.Sprintf(" and within %s", clockSpan(f.RecoatGreatestMin))
	}
	return views.FoldedForm{Form: finishForm(f), Line: fmt.Sprintf("dry after %s, %s, cured after %s; not below %g °C",
		clockSpan(f.DryMin), next, clockSpan(f.CureMin), f.LeastTempC)}
}

func finishForm(f models.Finish) views.Form {
	id, action := recordForm("finishes", f.ID)
	greatest := ""
	if f.RecoatGreatestMin > 0 {
		greatest = exactSpan(f.RecoatGreatestMin)
	}
	form := views.Form{ID: id, Action: action, Title: f.Name, Save: "Save", Fields: []views.Field{
		{Name: "name", Label: "Name", Kind: "text", Value: f.Name},
		{Name: "drying_time", Label: "Dry after", Kind: "text", Value: exactSpan(f.DryMin), Help: "No dust near it until then. " + spanHelp},
		{Name: "least_recoat_time", Label: "Next coat after", Kind: "text", Value: exactSpan(f.RecoatLeastMin), Help: "At the earliest."},
		{Name: "greatest_recoat_time", Label: "Next coat within", Kind: "text", Value: greatest, Help: "Later it must be sanded first. Empty: no limit."},
		{Name: "cure_time", Label: "Cured after", Kind: "text", Value: exactSpan(f.CureMin), Help: "Until it takes wear."},
		leastTemperature(f.LeastTempC), materialCaution(f.Caution),
	}}
	if f.ID == 0 {
		form.Title, form.Save = "Add a finish", "Add the finish"
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

func leastTemperature(celsius float64) views.Field {
	return views.Field{Name: "least_temperature", Label: "Not below, °C", Kind: "text", Mode: "decimal",
		Value: strconv.FormatFloat(celsius, 'f', -1, 64)}
}

func materialCaution(text string) views.Field {
	return views.Field{Name: "caution", Label: "Caution", Kind: "textarea", Value: text, Wide: true,
		Help: "Shown with every step that uses it. The maker's sheet goes before it."}
}

// saveGlue saves one glue; without a number in the path, a new one.
func (s *server) saveGlue(c *gin.Context) {
	s.saveRecord(c, "glues", func(snap *models.Snapshot, in *reader, id models.ID) error {
		g := models.Glue{ID: id, Name: in.text("name"), OpenMin: in.span("open_time"), ClampMin: in.span("clamp_time"),
			CureMin: in.span("cure_time"), LeastTempC: in.number("least_temperature"), Caution: in.text("caution")}
		if was := snap.Glue(id); was != nil {
			g.Key = was.Key
		} else {
			g.Key = key(g.Name, "glue", func(k string) bool {
				return slices.ContainsFunc(snap.Glues, func(o models.Glue) bool { return o.Key == k })
			})
		}
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
			LeastTempC: in.number("least_temperature"), Caution: in.text("caution")}
		if was := snap.Finish(id); was != nil {
			f.Key = was.Key
		} else {
			f.Key = key(f.Name, "finish", func(k string) bool {
				return slices.ContainsFunc(snap.Finishes, func(o models.Finish) bool { return o.Key == k })
			})
		}
		in.need("drying_time", "least_recoat_time", "cure_time", "least_temperature")
		if err := in.err(); err != nil {
			return err
		}
		_, err := s.store.SaveFinish(c.Request.Context(), f)
		return err
	})
}
