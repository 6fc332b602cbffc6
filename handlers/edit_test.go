package handlers

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

// editOf is the screen on which a step is changed.
func editOf(st *models.Step) string { return editStepHref(st) }

// snap is the shop as it is now.
func (r *rig) snap() *models.Snapshot { return testrig.Snapshot(r.T, r.store) }

// formOf is what one form of a page sends, as it stands.
func (p page) formOf(id string) (action string, values url.Values) {
	p.Helper()
	form := p.doc.Find("form#" + id)
	require.Equal(p, 1, form.Length(), "there is no form %s", id)
	return form.AttrOr("action", ""), fieldsOf(form, nil)
}

// send changes some fields of a form and sends it.
func (t *browser) send(p page, id string, changes url.Values) page {
	t.Helper()
	action, form := p.formOf(id)
	for k, v := range changes {
		if v == nil {
			form.Del(k)
		} else {
			form[k] = v
		}
	}
	return t.post(action, form)
}

func val(v any) []string { return []string{fmt.Sprint(v)} }

func TestTheStepsOfACommissionAreListedToBeChanged(t *testing.T) {
	r := newRig(t)
	com := r.take("Hall shelf")
	ana := r.as("Ana")
	ana.tap(models.TapStart, r.step("joint"))
	p := ana.get(commissionHref(com.ID))
	require.NotZero(t, p.doc.Find(`a[href="`+editHref(com.ID)+`"]`).Length(), "the commission leads to it")
	p = ana.get(editHref(com.ID))
	assert.Equal(t, http.StatusOK, p.status)
	assert.Len(t, p.texts(".edit-steps .row"), 10)
	assert.Contains(t, p.text(".fold .edit-steps"), "Joint a face and an edge", "what is begun stands apart")
	assert.Contains(t, p.text("#step-"+fmt.Sprint(r.step("rip").ID)), "waits for “Plane the boards”")
	assert.Contains(t, p.text("section[aria-labelledby=found]"), "What the checks say")
	assert.Equal(t, http.StatusNotFound, ana.get("/commissions/99/edit").status)
	assert.Equal(t, http.StatusNotFound, ana.get(editHref(com.ID)+"/steps/99").status)
	assert.Contains(t, ana.get(editOf(r.step("joint"))).text(".note"), "was begun")
}

func TestAStepIsChangedByItsForm(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	rip := r.step("rip")
	band := testrig.Station(t, r.snap(), "band-saw")
	p := ana.send(ana.get(editOf(rip)), "change-form", url.Values{
		"name": val("Rip on the band saw"), "station": val(band.ID), "attended": val(17), "hands": val(2), "note": val("mind the crown"),
		"setup": val("fence 102 mm"), "what_to_set": val("Band saw: fence at 102 mm"), "dusty": val("on"), "interruptible": nil,
	})
	assert.Equal(t, http.StatusOK, p.status)
	assert.Equal(t, "Rip on the band saw", p.text("h1"))
	now := r.step("rip")
	assert.Equal(t, []any{17, 2, band.ID, "mind the crown", true, false}, []any{now.Attended, now.Hands, now.StationID, now.Note, now.Dusty, now.Interruptible})
	setup := r.snap().Setup(*now.SetupID)
	assert.Equal(t, []string{"fence", "fence 102 mm", "Band saw: fence at 102 mm"}, []string{setup.Family, setup.State, setup.Instruction})
	assert.Equal(t, rip.Kind, now.Kind, "what was not changed stays")

	p = ana.send(ana.get(editOf(now)), "change-form", nil)
	require.Equal(t, http.StatusOK, p.status)
	again := r.step("rip")
	assert.Equal(t, now, again, "a form sent as it stands changes nothing")
	glue := r.step("glue-panel")
	ana.send(ana.get(editOf(glue)), "change-form", nil)
	assert.Equal(t, glue, r.step("glue-panel"), "neither does that of a glue-up")
	assert.Len(t, r.snap().ClampsOf(glue.ID), 1)
}

// What is wrong stands beside its field, what was typed is kept, and nothing is saved.
func TestWhatIsWrongWithAStepStandsBesideItsField(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	rip := r.step("rip")
	before := r.snap()
	for _, c := range []struct{ form, field, typed, says string }{
		{"change-form", "name", "", "The name is empty."},
		{"change-form", "attended", "soon", `"soon" is not a whole number.`},
		{"change-form", "attended", "0", "The attended 0 minutes is not between 1 and 100,000 minutes."},
		{"change-form", "hands", "3", "asks for 3 people; 2 work here"},
		{"change-form", "unattended", "30", ""},
		{"change-form", "rest", "drying", ""},
		{"change-form", "kind", "lunch", `There is no kind of step "lunch".`},
		{"change-form", "clamps.1", "99", ""},
		{"change-form", "station", "99", "There is no station with number 99."},
		{"split-form", "first_minutes", "10", "is not between 1 and 9 minutes"},
		{"split-form", "first_name", "", "The first name is empty."},
		{"split-form", "part.1", "7", "The first step cannot have 7 of 3."},
		{"link-form", "greatest_lag", "-5", "is less than the least"},
		{"link-form", "least_lag", "x", `"x" is not a whole number.`},
		{"link-form", "before", fmt.Sprint(r.step("trim").ID), ""},
		{"move-form", "where", "under", `"under" is neither before nor after.`},
		{"move-form", "other", "99", "no step with number 99"},
	} {
		t.Run(c.form+" "+c.field, func(t *testing.T) {
			p := ana.get(editOf(rip))
			p = ana.send(p, c.form, url.Values{c.field: {c.typed}})
			assert.GreaterOrEqual(t, p.status, 400)
			assert.Less(t, p.status, 500)
			if c.says != "" {
				assert.Contains(t, p.text("form#"+c.form+` [data-said="`+c.field+`"] .wrong-why`), c.says)
			} else {
				assert.NotEmpty(t, p.text("form#"+c.form+" .wrong-why")+p.text("form#"+c.form+" .refusal"))
			}
			_, kept := p.formOf(c.form)
			if f := p.doc.Find("form#" + c.form + ` input[name="` + c.field + `"]`); f.Length() > 0 {
				assert.Equal(t, c.typed, kept.Get(c.field), "what was typed is kept")
			}
			now := r.snap()
			assert.Equal(t, before.Steps, now.Steps)
			assert.Equal(t, before.Links, now.Links)
		})
	}
	p := ana.send(ana.get(editOf(rip)), "link-form", url.Values{"before": val(r.step("trim").ID)})
	assert.Contains(t, p.text("form#link-form .refusal"), "The steps would go in a circle: “Rip the boards” → “Glue up the panel” → “Trim the panel” → “Rip the boards”.")
}

func TestAStepIsSplitMovedAndTakenOutByItsForms(t *testing.T) {
	r := newRig(t)
	com := r.take("Hall shelf")
	ana := r.as("Ana")
	sand := r.step("sand")
	p := ana.send(ana.get(editOf(sand)), "split-form", url.Values{"first_minutes": val(15), "second_name": val("Sand to 180")})
	require.Equal(t, http.StatusOK, p.status, p.text(".refusal"))
	second := r.step("sand#2")
	assert.Equal(t, []any{15, 25, "Sand to 180"}, []any{r.step("sand").Attended, second.Attended, second.Name})

	p = ana.send(ana.get(editOf(r.step("plane-rails"))), "move-form", url.Values{"where": val("before"), "other": val(r.step("plane").ID)})
	require.Equal(t, http.StatusOK, p.status)
	assert.Contains(t, ana.get(editOf(r.step("plane"))).text("section[aria-labelledby=links]"), "Plane the rails")

	p = ana.send(ana.get(editOf(second)), "remove-form", nil)
	require.Equal(t, http.StatusOK, p.status)
	assert.Equal(t, editHref(com.ID), p.path)
	assert.Len(t, r.snap().Steps, 10)
	assert.Equal(t, http.StatusNotFound, ana.get(editOf(second)).status)
}

func TestALinkIsAddedChangedAndRemovedByItsForms(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	trim, rails := r.step("trim"), r.step("plane-rails")
	p := ana.send(ana.get(editOf(trim)), "link-form", url.Values{"before": val(rails.ID), "least_lag": val(90), "greatest_lag": val(2880), "why": val("the rails lie flat")})
	require.Equal(t, http.StatusOK, p.status, p.text(".refusal"))
	said := p.text("section[aria-labelledby=links]")
	assert.Contains(t, said, "after its end, at least 1 h 30, at most 2 days")
	assert.Contains(t, said, "the rails lie flat")
	links := r.snap().Links
	added := links[len(links)-1]
	id := fmt.Sprint(added.ID)
	p = ana.send(p, "relink-form-"+id, url.Values{"from": val("start"), "least_lag": val(10), "greatest_lag": val(5)})
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text("form#relink-form-"+id+` [data-said="greatest_lag"]`), "is less than the least")
	p = ana.send(p, "relink-form-"+id, url.Values{"greatest_lag": val("")})
	require.Equal(t, http.StatusOK, p.status)
	links = r.snap().Links
	assert.Equal(t, []any{"start", 10, (*int)(nil)}, []any{links[len(links)-1].From, links[len(links)-1].MinLag, links[len(links)-1].MaxLag})
	gone := p
	p = ana.send(p, "unlink-form-"+id, nil)
	require.Equal(t, http.StatusOK, p.status)
	assert.Len(t, r.snap().Links, len(links)-1)
	p = ana.send(gone, "unlink-form-"+id, nil)
	assert.Equal(t, http.StatusConflict, p.status, "the page was of an older edition")
	assert.Contains(t, p.text(".refusal"), "were changed since you looked")
}

func TestAStepIsAddedByItsForm(t *testing.T) {
	r := newRig(t)
	com := r.take("Hall shelf")
	ana := r.as("Ana")
	p := ana.get(editHref(com.ID) + "/add?kind=sand&after=" + fmt.Sprint(r.step("sand").ID))
	assert.Equal(t, "Sand", strings.Fields(p.typed("name"))[0], "the catalogue fills it in")
	assert.Contains(t, p.text(".caution"), "Dust")
	p = ana.send(p, "add-form", url.Values{"attended": val("")})
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text(`form#add-form [data-said="attended"]`), "0 minutes")
	p = ana.send(p, "add-form", url.Values{"name": val("Sand again"), "attended": val(12), "before": val(r.step("coat-1").ID), "assembly.2": val("on")})
	require.Equal(t, http.StatusOK, p.status, p.text(".refusal"))
	assert.Equal(t, editHref(com.ID), p.path)
	added := r.step("sand#2")
	assert.Equal(t, []any{"Sand again", 12, "sand", "sanding", true}, []any{added.Name, added.Attended, added.Kind, added.Phase, added.Dusty})
	assert.NotEmpty(t, added.Cautions)
	assert.Equal(t, models.ID(2), r.snap().AssembliesOf(added.ID)[0].AssemblyID)
	p = ana.get(editHref(com.ID) + "/add")
	p = ana.send(p, "add-form", url.Values{"name": val("Oil the hinges")})
	require.Equal(t, http.StatusOK, p.status)
	assert.Equal(t, "Oil the hinges", r.step("own#2").Name)
}

// benchTaken is a hall bench, taken through the screens, in a shop that can build it.
func benchTaken(t *testing.T) (*rig, *browser, models.ID) {
	t.Helper()
	r := newRig(t)
	r.moreClamps()
	ana := r.as("Ana")
	form := fieldsOf(ana.get("/commissions/new/wall-shelf-unit").doc.Find("form.draft"), nil)
	p := ana.post("/commissions/new/wall-shelf-unit", form)
	require.Equal(t, http.StatusOK, p.status, p.text(".refusal"))
	return r, ana, r.snap().Commissions[0].ID
}

// stepNamed is the first step whose key ends so.
func (r *rig) stepEnding(end string) *models.Step {
	r.Helper()
	snap := r.snap()
	for i := range snap.Steps {
		if strings.HasSuffix(snap.Steps[i].Key, end) {
			return &snap.Steps[i]
		}
	}
	require.Failf(r.T, "no such step", "%q", end)
	return nil
}

// What would spoil the piece is asked about before it is saved, and one tap mends it.
func TestTheChecksAreAskedBeforeAnEditIsSaved(t *testing.T) {
	r, ana, com := benchTaken(t)
	clean := ana.get(editHref(com))
	assert.Zero(t, clean.doc.Find(".finding-stops").Length())
	sand, coat := r.stepEnding("sand-fine"), r.stepEnding("coat-2")
	was := r.snap()
	p := ana.get(editOf(sand))
	p = ana.send(p, "move-form", url.Values{"where": val("after"), "other": val(coat.ID)})
	assert.Equal(t, http.StatusConflict, p.status)
	assert.Contains(t, p.text("form#move-form .objections"), "Sanding through finish")
	assert.Contains(t, p.text("form#move-form .objections"), "Source:")
	_, kept := p.formOf("move-form")
	assert.Equal(t, []string{"after", fmt.Sprint(coat.ID)}, []string{kept.Get("where"), kept.Get("other")}, "what was chosen is kept")
	assert.Equal(t, was.Links, r.snap().Links, "nothing is saved yet")

	p = ana.send(p, "move-form", url.Values{"keep": val("on")})
	require.Equal(t, http.StatusOK, p.status)
	assert.NotEqual(t, was.Links, r.snap().Links)
	p = ana.get(editHref(com))
	assert.Contains(t, p.text(".finding-stops"), "Sanding through finish")
	p = ana.send(ana.get(editOf(sand)), "change-form", url.Values{"note": val("by hand")})
	assert.Equal(t, http.StatusOK, p.status, "what was kept all the same is not asked about again")

	p = ana.get(editHref(com))
	remedy := p.text(".finding-stops .remedy button")
	stale := p
	p = ana.press(p, remedy)
	require.Equal(t, http.StatusOK, p.status, p.text(".refusal"))
	assert.Zero(t, p.doc.Find(".finding-stops").Length(), "one tap mends it")
	p = ana.press(stale, remedy)
	assert.Equal(t, http.StatusConflict, p.status)
	assert.Contains(t, p.text(".notice"), "The checks do not find that any more")
}

func TestAScriptGetsTheFormItSent(t *testing.T) {
	r := newRig(t)
	com := r.take("Hall shelf")
	ana := r.as("Ana")
	p := ana.get(editOf(r.step("rip")))
	ana.script = true
	f := ana.send(p, "change-form", url.Values{"name": val("")})
	assert.Equal(t, http.StatusUnprocessableEntity, f.status)
	assert.NotContains(t, f.body, "<html")
	assert.Contains(t, f.text("#change-form .wrong-why"), "The name is empty.")
	f = ana.send(p, "change-form", url.Values{"name": val("Rip them")})
	assert.Equal(t, http.StatusNoContent, f.status)
	assert.Equal(t, editOf(r.step("rip")), f.header.Get("HX-Redirect"))
	assert.Equal(t, "Rip them", r.step("rip").Name)
	f = ana.post(editHref(com.ID)+"/remedy", url.Values{"edition": {"1"}, "piece": {"1"}, "finding": {"nothing"}})
	assert.Equal(t, http.StatusConflict, f.status)
	assert.NotContains(t, f.body, "<html")
}

func TestAClosedCommissionIsNotEdited(t *testing.T) {
	r := newRig(t)
	com := r.take("Hall shelf")
	ana := r.as("Ana")
	form := ana.get(editOf(r.step("rip")))
	rip := r.step("rip")
	ana.press(ana.get(commissionHref(com.ID)), "Drop")
	p := ana.get(editHref(com.ID))
	assert.Contains(t, p.text(".note"), "“Hall shelf” is dropped: its steps are not changed any more.")
	assert.Zero(t, p.doc.Find(`a[href$="/add"]`).Length())
	assert.Zero(t, ana.get(editOf(rip)).doc.Find("form#change-form").Length())
	p = ana.send(form, "change-form", url.Values{"name": val("Late")})
	assert.Equal(t, http.StatusConflict, p.status)
	assert.Contains(t, p.body, "is dropped: its steps are not changed any more.")
}

// A plan that was made before still names a step that is taken out: every screen
// is drawn all the same, and the next plan is without it.
func TestScreensAfterAPlannedStepIsTakenOut(t *testing.T) {
	r := newRig(t)
	com := r.take("Hall shelf")
	ana := r.as("Ana")
	r.plan()
	trim := r.step("trim")
	require.Contains(t, ana.get(stepHref(trim.ID)).text(".jump"), "Change this step")
	require.Equal(t, http.StatusOK, ana.send(ana.get(editOf(trim)), "remove-form", url.Values{"keep": val("on")}).status)
	look := func() {
		t.Helper()
		for _, path := range []string{"/", "/week", "/commissions", commissionHref(com.ID), editHref(com.ID), stepHref(r.step("sand").ID)} {
			assert.Equal(t, http.StatusOK, ana.get(path).status, path)
		}
	}
	look()
	assert.Equal(t, http.StatusNotFound, ana.get(stepHref(trim.ID)).status)
	p := ana.tap(models.TapStart, trim)
	assert.Equal(t, http.StatusNotFound, p.status, "an old page cannot start it")
	r.plan()
	look()
	for _, planned := range r.snap().Plan.Steps {
		assert.NotEqual(t, trim.ID, planned.StepID)
	}
}
