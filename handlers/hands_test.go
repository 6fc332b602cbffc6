package handlers

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"faceside/models"
)

// One calls for a second pair of hands in two taps from the bench, and the work goes
// on; whose they are is tapped later, and the time book has both.
func TestASecondPairOfHandsByPlainForms(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	ana, ben := r.as("Ana"), r.as("Ben")
	p := ana.press(ana.get("/"), "Start")
	assert.Zero(t, p.doc.Find(".step-hands").Length(), "one person does it")
	p = ana.press(ana.ask(), "Ben , one more pair of hands")
	assert.Equal(t, "/", p.path, "that is all")
	assert.Equal(t, "in hand", p.text(".bench-main .state"))
	assert.Contains(t, p.text(".step-hands"), "A hand was called. The work goes on meanwhile. Whose hands has it been given?")
	assert.Equal(t, "Undo: asked for help with Joint a face and an edge, 8:30", p.text(".bench-who .tap-undo"))
	assert.Zero(t, p.doc.Find(".call").Length(), "who calls is not called")
	assert.Equal(t, "Ana calls for a hand, 8:30: Joint a face and an edge I help Joint a face and an edge", ben.get("/").text(".call"))
	p = ana.press(ana.get("/"), "Ben helps")
	assert.Zero(t, ben.get("/").doc.Find(".call").Length(), "Ben came")
	assert.Contains(t, p.text(".step-helper"), "Ben helps since 8:30")

	r.clock.Step(20 * time.Minute)
	p = ben.get("/")
	assert.Equal(t, "You help Ana, since 8:30:", p.text(".bench-lead"))
	assert.Equal(t, "Joint a face and an edge", p.text(".step-name"))
	assert.Equal(t, "My hands are free again", p.text("button.main"))
	assert.Contains(t, ana.get("/").text("section[aria-labelledby=others]"), "helps Ana")
	p = ben.press(p, "My hands are free again")
	assert.Zero(t, len(r.step("joint").Helpers))
	assert.Equal(t, []string{"I help Joint a face and an edge"}, p.texts("section[aria-labelledby=others] button"))
	p = ben.press(p, "Undo: end of the help with Joint a face and an edge, 8:50")
	assert.Equal(t, "My hands are free again", p.text("button.main"))

	r.clock.Step(10 * time.Minute)
	ana.press(ana.get("/"), "Finish")
	assert.Equal(t, models.Done, r.step("joint").State)
	assert.NotEqual(t, "My hands are free again", ben.get("/").text("button.main"))
	p = ana.get("/times")
	assert.Contains(t, p.text("section[aria-labelledby=by-person]"), "Ana 30 min 0 min 30 min Ben 0 min 30 min 30 min")
	assert.Contains(t, p.text("section[aria-labelledby=by-commission]"), "30 min and 30 min of helping hands")
	history := ana.get(stepHref(r.step("joint").ID)).text(".history")
	assert.Contains(t, history, "Ana gave it further hands")
	assert.Contains(t, history, "Ana called for a hand with it")
}

// Whose hands are full is told of the call too, and who is called by name alone.
func TestACallReachesWhoHasSomethingInHand(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.take("Porch shelf")
	r.plan()
	ana, ben := r.as("Ana"), r.as("Ben")
	ana.press(ana.get("/"), "Start")
	for _, st := range r.snap().Steps {
		if st.Key == "joint" && st.State == models.Todo {
			ben.tap(models.TapStart, &st)
		}
	}
	p := ana.ask()
	form := fieldsOf(p.doc.Find(".trouble-form"), nil)
	form.Set("trouble", "hand")
	form.Set("note", "the long one")
	p = ana.post("/tap", form)
	assert.Equal(t, "/", p.path)
	call := ben.get("/").text(".call")
	assert.Contains(t, call, "the long one")
	assert.Contains(t, call, "Put down what you have in hand to help.")
	p = ben.press(ben.get("/"), "Put down")
	p = ben.press(p, readable(p.doc.Find(".call button")))
	assert.Contains(t, p.text(".bench-lead"), "You help Ana")
	ana.press(ana.get("/"), "Finish")
	assert.Zero(t, ben.get("/").doc.Find(".call").Length())
}
