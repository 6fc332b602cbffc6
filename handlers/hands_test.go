package handlers

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"faceside/models"
)

// One asks for a second pair of hands, takes the step up again, and is given them;
// the time book has both.
func TestASecondPairOfHandsByPlainForms(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	ana, ben := r.as("Ana"), r.as("Ben")
	p := ana.press(ana.get("/"), "Start")
	assert.Zero(t, p.doc.Find(".step-hands").Length(), "one person does it")
	p = ana.get(stepHref(r.step("joint").ID) + "/trouble")
	ana.press(p, "Ben , one more pair of hands")
	p = ana.press(ana.get(stepHref(r.step("joint").ID)), "Take up again")
	assert.Contains(t, p.text(".step-hands"), "Whose hands has it been given?")
	p = ana.press(ana.get("/"), "Ben helps")
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
	assert.Contains(t, ana.get(stepHref(r.step("joint").ID)).text(".history"), "Ana gave it further hands")
}
