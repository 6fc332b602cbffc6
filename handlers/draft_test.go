package handlers

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

// firstMeasure is a length of the wall shelf unit's form, by its field's name.
func firstMeasure(t *testing.T, p page) string {
	t.Helper()
	name, ok := p.doc.Find(`input[name^="measure."]`).First().Attr("name")
	require.True(t, ok)
	return name
}

// moreClamps fills the rack, so that every pattern can be made at its defaults.
func (r *rig) moreClamps() {
	r.Helper()
	for _, class := range testrig.Snapshot(r.T, r.store).Clamps {
		class.Count = 40
		_, err := r.store.SaveClampClass(context.Background(), class)
		require.NoError(r, err)
	}
}

func TestANewCommissionFromPatternToBench(t *testing.T) {
	r := newRig(t)
	r.moreClamps()
	ana := r.as("Ana")
	p := ana.get("/commissions/new")
	require.Contains(t, p.texts(".pattern h2"), "Wall shelf unit")

	p = ana.get("/commissions/new/wall-shelf-unit")
	assert.Equal(t, "Wall shelf unit", p.typed("name"))
	assert.Equal(t, "2026-03-23", p.typed("promised_date"), "three weeks from the shop's today")
	preview := p.text("#preview")
	for _, want := range []string{"By the plan", "Hands", "In clamps and drying", "glue-ups", "Parts"} {
		assert.Contains(t, preview, want)
	}
	assert.NotEmpty(t, p.texts("#preview table tbody tr"))
	assert.Empty(t, commissionsOf(r), "nothing is saved by looking")

	p = ana.press(p, "See parts and hours")
	assert.Equal(t, http.StatusOK, p.status)
	assert.Empty(t, commissionsOf(r))

	form := fieldsOf(p.doc.Find("form.draft"), nil)
	form.Set("name", "Shelves for the stair")
	form.Set("client", "Okafor")
	p = ana.post("/commissions/new/wall-shelf-unit", form)
	assert.Equal(t, http.StatusOK, p.status)
	assert.True(t, strings.HasPrefix(p.path, "/commissions/"))
	assert.Equal(t, "Shelves for the stair", p.text("h1"))
	require.Len(t, commissionsOf(r), 1)
	assert.Contains(t, ana.get("/").text(".step-for"), "Shelves for the stair")

	again := ana.post("/commissions/new/wall-shelf-unit", form)
	assert.Equal(t, p.path, again.path, "the same form sent twice is one commission")
	assert.Len(t, commissionsOf(r), 1)
}

func commissionsOf(r *rig) []models.Commission {
	return testrig.Snapshot(r.T, r.store).Commissions
}

func TestOtherMeasuresMakeOtherParts(t *testing.T) {
	r := newRig(t)
	r.moreClamps()
	ana := r.as("Ana")
	ana.script = true
	p := ana.get("/commissions/new/wall-shelf-unit")
	form := fieldsOf(p.doc.Find("form.draft"), nil)
	measure := firstMeasure(t, p)
	before := ana.post("/commissions/new/wall-shelf-unit/preview", form)
	form.Set(measure, "30 in") // inches are taken in a shop of millimetres too
	after := ana.post("/commissions/new/wall-shelf-unit/preview", form)
	assert.Equal(t, http.StatusOK, after.status)
	assert.NotContains(t, after.body, "<html")
	assert.NotEqual(t, before.texts("table tbody tr"), after.texts("table tbody tr"))
	assert.Contains(t, after.body, "724 ×\u00a060", "the cleat between two sides of 19 mm: 30 in are 762 mm")
}

func TestThePreviewTellsWhatHappensToOtherPromises(t *testing.T) {
	r := newRig(t)
	testrig.Commission(t, r.store, "Hall shelf", "2026-03-06")
	r.plan()
	ana := r.as("Ana")
	p := ana.get("/commissions/new/bedside-cabinet")
	assert.Contains(t, p.text("#preview .rows"), "Hall shelf promised")
}

func TestWhatIsWrongWithADraftStandsBesideItsField(t *testing.T) {
	r := newRig(t)
	ana := r.as("Ana")
	const path = "/commissions/new/wall-shelf-unit"
	start := ana.get(path)
	measure := firstMeasure(t, start)
	for name, c := range map[string]struct{ field, value, say string }{
		"no length":   {measure, "long", "long"},
		"too long":    {measure, "90 m", "90"},
		"in the past": {"promised_date", "2026-02-27", "The promised date Fri 27 Feb is past: today is Mon 2 Mar."},
		"no date":     {"promised_date", "soon", `"soon" is no date`},
		"no number":   {"weight", "much", `"much" is not a whole number.`},
	} {
		for _, action := range []string{path, path + "/preview"} {
			t.Run(name+" "+action, func(t *testing.T) {
				form := fieldsOf(start.doc.Find("form.draft"), nil)
				form.Set(c.field, c.value)
				form.Set("client", "Okafor & Daughters")
				p := ana.post(action, form)
				if action == path {
					assert.Equal(t, http.StatusUnprocessableEntity, p.status)
				}
				assert.Contains(t, p.text(`[data-said="`+c.field+`"] .wrong-why`), c.say)
				assert.Equal(t, c.value, p.typed(c.field))
				assert.Equal(t, "Okafor & Daughters", p.typed("client"), "what was typed is kept")
				assert.Empty(t, commissionsOf(r))
			})
		}
	}
}

func TestTheScriptGetsTheReasonBesideTheField(t *testing.T) {
	r := newRig(t)
	ana := r.as("Ana")
	form := fieldsOf(ana.get("/commissions/new/wall-shelf-unit").doc.Find("form.draft"), nil)
	measure := firstMeasure(t, ana.get("/commissions/new/wall-shelf-unit"))
	form.Set(measure, "90 m")
	ana.script = true
	p := ana.post("/commissions/new/wall-shelf-unit/preview", form)
	assert.Contains(t, p.text(".refusal"), "look at the field marked in the form")
	said := p.doc.Find(`hx-partial[hx-target='[data-said="` + measure + `"]']`)
	assert.Contains(t, readable(said.Find(".wrong-why")), "90")
	assert.Zero(t, p.doc.Find("input,select,textarea").Length(), "no field is drawn anew while it is typed in")
}

func TestMoreClampsThanTheRackHas(t *testing.T) {
	r := newRig(t)
	ana := r.as("Ana")
	p := ana.get("/commissions/new/wall-shelf-unit")
	assert.Equal(t, http.StatusOK, p.status, "the form is shown, so that it can be made smaller")
	assert.Contains(t, p.text("#preview .refusal"), "the rack has 6 (1200 mm bar clamps: 6)")

	p = ana.press(p, "Take the commission")
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text("#preview .refusal"), "the rack has 6")
	assert.Empty(t, commissionsOf(r))
}

func TestNoSuchPattern(t *testing.T) {
	r := newRig(t)
	tab := r.browser()
	assert.Equal(t, http.StatusNotFound, tab.get("/commissions/new/spaceship").status)
	assert.Equal(t, http.StatusNotFound, tab.post("/commissions/new/glued-panel", url.Values{}).status, "a sub-assembly is no commission")
}
