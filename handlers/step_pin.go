package handlers

import (
	"fmt"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/planner"
	"faceside/views"
)

// pinnedThere tells whether the plan has a step where it is pinned.
func pinnedThere(st *models.Step, planned *models.PlanStep) bool {
	at, ok := st.Pinned()
	return ok && planned != nil && planned.Start.Equal(at)
}

// pin asks for a day and time to pin a step to; nil where it cannot be pinned,
// or not by who asks.
func (r *room) pin(st *models.Step) *views.Pin {
	c := r.snap.Commission(st.CommissionID)
	if r.atBench || st.State != models.Todo || c == nil || c.State != models.Open {
		return nil
	}
	at, pinned := st.Pinned()
	form := &views.Pin{Steer: fmt.Sprintf("/what-if?step=%d", st.ID), Given: r.given(st)}
	wants := r.snap.Wants(st.ID)
	if pinned || wants != nil && wants.Day != "" {
		form.Free = stepHref(st.ID) + "/unpin"
	}
	if !pinned {
		at = r.mayStart(st)
	}
	at = at.In(r.say.now.Location())
	form.Form = views.Form{ID: "pin-form", Action: stepHref(st.ID) + "/pin", Save: r.say.say("Pin it"), Try: string(models.SteerPin), Fields: []views.Field{
		{Name: "step", Kind: "hidden", Value: strconv.FormatInt(st.ID, 10)},
		{Name: "date", Label: r.say.say("Day"), Kind: "date", Value: at.Format(time.DateOnly), Least: r.say.now.Format(time.DateOnly)},
		{Name: "time", Label: r.say.say("Time"), Kind: "time", Value: at.Format("15:04")},
	}}
	return form
}

// given says to what day a step is pinned, and to whom it is given.
func (r *room) given(st *models.Step) string {
	w := r.snap.Wants(st.ID)
	switch {
	case w == nil:
		return ""
	case w.Day == "":
		return r.say.say("It is given to %s.", r.who(w.PersonID))
	case w.PersonID == nil:
		return r.say.say("It is pinned to %s, at any time of that day.", r.say.date(w.Day))
	}
	return r.say.say("It is pinned to %[1]s, at any time of that day, and given to %[2]s.", r.say.date(w.Day), r.who(w.PersonID))
}

// mayStart is a time to begin with: where the plan has a step, or else the next
// time the shop is open.
func (r *room) mayStart(st *models.Step) time.Time {
	if p := r.snap.Planned(st.ID); p != nil && p.Start.After(r.at) {
		return p.Start
	}
	for day := range 14 {
		for _, o := range planner.Openings(r.snap, r.at.AddDate(0, 0, day)) {
			if o.From.After(r.at) {
				return o.From
			}
		}
	}
	return r.at
}

// pinStep pins a step to the day and time of the form.
func (s *server) pinStep(c *gin.Context) {
	id, err := idOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	in, err := s.reader(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	at := in.moment(r.say.now.Location())
	if err = in.err(); err == nil {
		err = s.store.PinStep(c.Request.Context(), id, &at)
	}
	s.pinned(c, id, in, err)
}

// moment reads the fields date and time.
func (r *reader) moment(zone *time.Location) time.Time {
	day, err := time.ParseInLocation(time.DateOnly, r.text("date"), zone)
	if err != nil {
		r.refuse("date", "%q is no day; choose one, or write for example 2026-03-31.", r.text("date"))
	}
	return time.Date(day.Year(), day.Month(), day.Day(), 0, r.clock("time"), 0, 0, zone)
}

// unpinStep lets a step move again.
func (s *server) unpinStep(c *gin.Context) {
	id, err := idOf(c)
	if err == nil {
		err = s.store.PinStep(c.Request.Context(), id, nil)
	}
	s.pinned(c, id, nil, err)
}

// pinned shows the step again: as it is now or, where the pin was refused, with
// what was typed and why not.
func (s *server) pinned(c *gin.Context, id models.ID, in *reader, refusal error) {
	forget(c)
	if refusal == nil {
		seeOther(c, stepHref(id))
		return
	}
	data, err := s.stepData(c, id)
	if err != nil {
		s.fail(c, err)
		return
	}
	data.Notice = s.words(c).sentence(refusal)
	if data.Pin != nil && in != nil {
		s.words(c).refuse(&data.Pin.Form, in.form, refusal)
		data.Pin.Form.Notice = ""
		if data.Pin.Form.Erroneous() {
			data.Notice = s.words(c).say("“%s” was not pinned: see what is marked below.", data.Card.Name)
		}
	}
	s.page(c, formStatus(refusal), "step", data.Card.Name, data)
}
