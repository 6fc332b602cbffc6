package handlers

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
)

func TestAnotherPieceIsAddedToACommission(t *testing.T) {
	r := newRig(t)
	r.wholeShop()
	ana := r.as("Ana")
	com := ana.takePattern("wall-shelf-unit")
	r.plan()
	p := ana.get(commissionHref(com.ID))
	require.Equal(t, 1, p.doc.Find(`a[href="`+addPieceHref(com.ID)+`"]`).Length(), "the commission leads to it")
	p = ana.get(addPieceHref(com.ID))
	assert.Equal(t, "Another piece for Wall shelf unit", p.text("h1"))
	require.Equal(t, 1, p.doc.Find(`a[href="`+addPieceHref(com.ID)+`/stool"]`).Length())

	p = ana.get(addPieceHref(com.ID) + "/wall-shelf-unit")
	assert.Equal(t, "Wall shelf unit 2", p.typed("piece"), "a name that tells it apart")
	assert.Zero(t, p.doc.Find(`[name="promised_date"]`).Length(), "the commission has its promise already")
	assert.Contains(t, p.text("#preview"), "without this piece it is done")
	require.Equal(t, 1, p.doc.Find("#preview svg.piece-drawing").Length())
	assert.Len(t, r.snap().Pieces, 1, "nothing is saved by looking")

	form := fieldsOf(p.doc.Find("form.draft"), nil)
	form.Set("measure.width", "640 mm")
	previewed := ana.post(addPieceHref(com.ID)+"/wall-shelf-unit/preview", form)
	assert.Contains(t, previewed.text("#preview svg.piece-drawing"), "640 mm")
	assert.Len(t, r.snap().Pieces, 1)

	for range 2 { // sent twice, it is one piece
		p = ana.post(addPieceHref(com.ID)+"/wall-shelf-unit", form)
		require.Equal(t, http.StatusOK, p.status, p.text("main"))
	}
	assert.Equal(t, commissionHref(com.ID), p.path)
	snap := r.snap()
	require.Len(t, snap.Pieces, 2)
	assert.Len(t, snap.Commissions, 1)
	assert.Equal(t, "640 mm", snap.Pieces[1].Measures["width"])
	assert.EqualValues(t, 1, snap.Commission(com.ID).Edition)

	assert.Equal(t, 2, p.doc.Find("svg.piece-drawing").Length(), "each piece is drawn")
	assert.Equal(t, 2, p.doc.Find("svg.order-graph").Length(), "and its order of work")
	assert.Equal(t, []string{"Wall shelf unit", "Wall shelf unit 2"}, p.texts("section[aria-labelledby=parts] h3"))
	p = ana.get(editHref(com.ID))
	assert.Contains(t, p.texts(".card h2"), "Wall shelf unit 2")
}

func TestThePlanAndTheChecksTakeEachPieceInto(t *testing.T) {
	r := newRig(t)
	r.wholeShop()
	ana := r.as("Ana")
	com := ana.takePattern("wall-shelf-unit")
	ana.post(addPieceHref(com.ID)+"/stool", fieldsOf(ana.get(addPieceHref(com.ID)+"/stool").doc.Find("form.draft"), nil))
	r.plan()
	snap := r.snap()
	pieces := map[models.ID]bool{}
	for _, ps := range snap.Plan.Steps {
		pieces[snap.Step(ps.StepID).PieceID] = true
	}
	assert.Len(t, pieces, 2)
	all, err := findingsOf(snap)
	require.NoError(t, err)
	of := map[models.ID]bool{}
	for _, f := range all {
		of[f.piece] = true
	}
	assert.NotContains(t, of, models.ID(0))
	var first, second *models.Step
	for _, st := range snap.StepsOf(com.ID) {
		if st.PieceID == snap.Pieces[0].ID {
			first = st
		} else if second == nil {
			second = st
		}
	}
	p := ana.send(ana.get(editStepHref(second)), "link-form", map[string][]string{"before": val(first.ID)})
	require.Equal(t, http.StatusOK, p.status, p.text("main"))
	said := ana.get(commissionHref(com.ID)).text("section[aria-labelledby=order]")
	assert.Contains(t, said, "“"+second.Name+"” of Stool waits for “"+first.Name+"” of Wall shelf unit.", "no drawing shows it")
}

func TestAPieceThatCannotBeAddedIsRefusedWhereItWasTyped(t *testing.T) {
	r := newRig(t)
	r.wholeShop()
	ana := r.as("Ana")
	com := ana.takePattern("wall-shelf-unit")
	path := addPieceHref(com.ID) + "/wall-shelf-unit"
	form := fieldsOf(ana.get(path).doc.Find("form.draft"), nil)
	for name, c := range map[string]struct {
		field, typed, beside, says string
		status                     int
	}{
		"a name that is taken":    {"piece", "Wall shelf unit", "piece", "has a piece called “Wall shelf unit” already", http.StatusConflict},
		"no name":                 {"piece", " ", "piece", "The piece is empty.", http.StatusUnprocessableEntity},
		"a measure out of line":   {"measure.width", "5 m", "measure.width", "", http.StatusUnprocessableEntity},
		"an edition that is past": {"edition", "7", "", "were changed since you looked", http.StatusConflict},
	} {
		t.Run(name, func(t *testing.T) {
			typed := map[string][]string{}
			for k, v := range form {
				typed[k] = v
			}
			typed["form_id"], typed[c.field] = []string{name}, []string{c.typed}
			p := ana.post(path, typed)
			assert.Equal(t, c.status, p.status, p.text("main .refusal"))
			if c.beside != "" {
				said := p.text(`[data-said="` + c.beside + `"] .wrong-why`)
				assert.NotEmpty(t, said)
				assert.Contains(t, said, c.says)
			} else {
				assert.Contains(t, p.text(".notice"), c.says)
				assert.Equal(t, "0", p.typed("edition"), "sent again it is thought out on what is now")
			}
			assert.Len(t, r.snap().Pieces, 1)
		})
	}
	require.Equal(t, http.StatusOK, ana.post(commissionHref(com.ID)+"/state", map[string][]string{"state": {"dropped"}}).status)
	p := ana.post(path, form)
	assert.Equal(t, http.StatusConflict, p.status)
	assert.Contains(t, p.text("main"), "is dropped: no piece is added to it any more")
	assert.Zero(t, ana.get(commissionHref(com.ID)).doc.Find(`a[href="`+addPieceHref(com.ID)+`"]`).Length())
	assert.Equal(t, http.StatusNotFound, ana.get("/commissions/99/add-piece").status)
	assert.Equal(t, http.StatusNotFound, ana.get("/commissions/99/add-piece/stool").status)
}

// The name that is offered tells the piece apart in a shop that reads German, too, where
// a first piece is kept under the English title of its pattern.
func TestAnotherPieceHasANameOfItsOwnInGerman(t *testing.T) {
	r := newRig(t)
	r.wholeShop()
	r.german()
	ana := r.as("Ana")
	com := ana.takePattern("wall-shelf-unit")
	path := addPieceHref(com.ID) + "/wall-shelf-unit"
	for _, name := range []string{"Wandregal 2", "Wandregal 3"} {
		form := fieldsOf(ana.get(path).doc.Find("form.draft"), nil)
		require.Equal(t, name, form.Get("piece"))
		p := ana.post(path, form)
		require.Equal(t, http.StatusOK, p.status, p.text("main"))
	}
	assert.Len(t, r.snap().Pieces, 3)
}
