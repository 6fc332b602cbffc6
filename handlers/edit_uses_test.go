package handlers

import (
	"fmt"
	"net/http"
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
)

// partID and assemblyID find the numbers of a part and an assembly by their keys.
func (r *rig) partID(key string) models.ID {
	r.Helper()
	for _, p := range r.snap().Parts {
		if p.Key == key {
			return p.ID
		}
	}
	require.Failf(r, "no such part", "%q", key)
	return 0
}

func (r *rig) assemblyID(key string) models.ID {
	r.Helper()
	for _, a := range r.snap().Assemblies {
		if a.Key == key {
			return a.ID
		}
	}
	require.Failf(r, "no such assembly", "%q", key)
	return 0
}

func TestWhatAStepWorksOnIsChangedByItsForm(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	rip := r.step("rip")
	board, rail, panel := partField(r.partID("board")), partField(r.partID("rail")), assemblyField(r.assemblyID("panel"))
	p := ana.get(editOf(rip))
	_, now := p.formOf("uses-form")
	assert.Equal(t, []string{"3", "0", ""}, []string{now.Get(board), now.Get(rail), now.Get(panel)}, "it begins with what is so now")

	p = ana.send(p, "uses-form", url.Values{board: val(2), rail: val(1)})
	require.Equal(t, http.StatusOK, p.status, p.text("main"))
	_, now = p.formOf("uses-form")
	assert.Equal(t, []string{"2", "1", ""}, []string{now.Get(board), now.Get(rail), now.Get(panel)})
	assert.Len(t, r.snap().PartsOf(rip.ID), 2)
	assert.Equal(t, http.StatusConflict, ana.send(p, "uses-form", url.Values{panel: val("on")}).status, "the checks judge it: the panel is glued later")
	trim := r.step("trim")
	for _, works := range []url.Values{{panel: nil}, {panel: val("on")}} {
		p = ana.send(ana.get(editOf(trim)), "uses-form", works)
		require.Equal(t, http.StatusOK, p.status, p.text("main"))
		assert.Len(t, r.snap().AssembliesOf(trim.ID), len(works[panel]))
	}
	assert.Contains(t, ana.get(stepHref(rip.ID)).text(".parts"), "2 × Panel board", "the bench shows it too")

	glue := r.step("glue-panel")
	p = ana.get(editOf(glue))
	assert.Contains(t, p.text("section[aria-labelledby=uses]"), "It makes: Panel.")
	assert.Zero(t, p.doc.Find(fmt.Sprintf(`#uses-form [name="%s"]`, panel)).Length(), "what it makes is not asked for")
}

func TestWhatAStepCannotWorkOnIsRefusedBesideItsField(t *testing.T) {
	r := newRig(t)
	com := r.take("Hall shelf")
	ana := r.as("Ana")
	rip := r.step("rip")
	before := r.snap().StepParts
	board := partField(r.partID("board"))
	for typed, says := range map[string]string{
		"4": "There are 3 of Panel board; the step cannot work on 4.", "-1": "the step cannot work on -1", "two": `"two" is not a whole number.`,
	} {
		p := ana.send(ana.get(editOf(rip)), "uses-form", url.Values{board: val(typed)})
		assert.Equal(t, http.StatusUnprocessableEntity, p.status)
		assert.Contains(t, p.text(`#uses-form [data-said="`+board+`"] .wrong-why`), says)
		_, kept := p.formOf("uses-form")
		assert.Equal(t, typed, kept.Get(board), "what was typed is kept")
	}
	shelf := assemblyField(r.assemblyID("shelf"))
	p := ana.send(ana.get(editOf(r.step("glue-panel"))), "uses-form", url.Values{shelf: val("on")})
	assert.Contains(t, p.text("#uses-form .refusal"), "inside one another")
	assert.Equal(t, before, r.snap().StepParts)
	assert.Zero(t, r.snap().Commission(com.ID).Edition, "nothing was saved")
}

// The checks judge the uses like any other change: a glue-up that loses a part
// that is needed, or a step on wood that nobody has milled.
func TestTheChecksJudgeWhatAStepWorksOn(t *testing.T) {
	r := newRig(t)
	r.wholeShop()
	ana := r.as("Ana")
	com := ana.takePattern("hall-bench")
	late := r.step("seat-finish.coat-1")
	rail := partField(r.partID("rails.rail"))
	p := ana.send(ana.get(editOf(late)), "uses-form", url.Values{rail: val(2)})
	require.Equal(t, http.StatusConflict, p.status, "a coat on rails that are glued later: %s", p.text("main"))
	assert.NotEmpty(t, p.texts("#uses-form .objections .finding"))
	assert.Zero(t, r.snap().Commission(com.ID).Edition)

	p = ana.send(p, "uses-form", url.Values{"keep": val("on")})
	require.Equal(t, http.StatusOK, p.status, p.text("main"))
	assert.EqualValues(t, 1, r.snap().Commission(com.ID).Edition, "it is the maker's to say")
}

func TestHowManyThereAreIsSaidInTheShopsLanguage(t *testing.T) {
	r := newRig(t)
	r.take("Wandregal")
	r.german()
	said := r.as("Ana").get(editOf(r.step("rip"))).text("form#uses-form")
	assert.Contains(t, said, "Von 3.")
	assert.NotContains(t, said, "Of 3.")
}
