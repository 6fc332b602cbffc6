package handlers

import (
	"github.com/gin-gonic/gin"
	"github.com/google/uuid"

	"faceside/models"
	"faceside/models/pattern"
	"faceside/models/planner"
	"faceside/views"
)

// preview tells what a built piece would mean for the shop.
func (s *server) preview(c *gin.Context, d *draft, built *pattern.Built, p *views.Preview) {
	d.tellChanges(built, p)
	thought, err := s.thinkOut(c, d, built)
	if err != nil {
		p.Wrong = d.room.say.say("No forecast can be made: %s", s.words(c).sentence(err))
		if statusOf(err) >= 500 {
			s.log.Warn("forecast of a draft", "pattern", built.Pattern, "error", err)
		}
		d.tellBuilt(built, p)
		return
	}
	d.tellBuilt(built, p)
	p.Steps, p.Hands, p.Rest = thought.Steps, span(thought.AttendedMin), d.room.say.clockSpan(thought.RestMin)
	for _, need := range thought.Clamps {
		p.Clamps = append(p.Clamps, views.ClampLine{Name: d.room.say.shipped(need.Class), Most: need.Most, Has: need.Has, Short: need.Most > need.Has})
	}
	d.tellPromise(thought, p)
	before := forecastsByID(thought.Before)
	if d.into != nil {
		if without := before[d.into.ID]; !without.Ends.IsZero() {
			p.Without = d.room.say.at(without.Ends)
		}
	}
	for _, after := range thought.Others {
		with := thought.Promises.Of(after.CommissionID)
		row := d.room.change(before[after.CommissionID], after, with)
		row.Safe = d.room.safer(after, d.room.played.Of(after.CommissionID), with)
		p.Others = append(p.Others, row)
	}
	p.Ready = true
}

// tellPromise tells when the piece, or the commission it is added to, would be
// complete, and which dates can be promised.
func (d *draft) tellPromise(thought *planner.Draft, p *views.Preview) {
	w := d.room.say
	promise := thought.Promises.Of(thought.Forecast.CommissionID)
	p.Forecast = views.CommissionRow{Promised: w.date(d.about.PromisedOn)}
	if thought.Forecast.Ends.IsZero() {
		p.Forecast.State, p.Forecast.Mark = w.say("no forecast"), "waiting"
	} else {
		d.room.promise(&p.Forecast, thought.Forecast, promise)
	}
	if promise != nil {
		if day, ok := promise.Day(d.room.snap, d.sure); ok {
			p.Earliest = w.say("It can be promised for %[1]s: %[2]s.", w.date(day), w.sure(d.sure))
		}
	}
	if b := thought.Bound; b != nil {
		p.Bound = w.say("It cannot be complete before %[1]s. %[2]s", w.at(b.At), b.Sentence())
		p.Early = thought.Forecast.PromisedBy.Before(b.At)
	}
	if p.Plays = w.say("Of %d weeks played.", thought.Promises.Plays); d.effort != planner.Better {
		p.Better = uuid.NewString()
	}
}

// safer says how safe another promise is now and would be; "" where nothing is known.
func (r *room) safer(f planner.Forecast, now, with *planner.Promise) string {
	if with == nil {
		return ""
	}
	n, of := outOf(with.Holds(f.PromisedBy))
	if now == nil {
		return r.say.say("safe in %[1]d of %[2]d weeks", n, of)
	}
	was, wasOf := outOf(now.Holds(f.PromisedBy))
	if was*of == n*wasOf {
		return r.say.say("safe in %[1]d of %[2]d weeks", n, of)
	}
	return r.say.say("safe in %[1]d of %[2]d weeks now, %[3]d of %[4]d with it", was, wasOf, n, of)
}

// tellBuilt tells what the piece is made of, which needs no plan.
func (d *draft) tellBuilt(built *pattern.Built, p *views.Preview) {
	minutes, steps := map[string]int{}, map[string]int{}
	for _, st := range built.Steps {
		minutes[string(st.Phase)] += st.Attended
		steps[string(st.Phase)]++
	}
	p.GlueUps = steps[string(pattern.GlueUp)]
	for _, phase := range sortedPhases(steps) {
		p.Phases = append(p.Phases, views.PhaseHours{Phase: capital(d.room.say.phase(phase)), Steps: steps[phase], Time: span(minutes[phase])})
	}
	var parts []models.Part
	for _, part := range built.Parts {
		parts = append(parts, models.Part{
			Name: d.room.say.shipped(part.Name), Quantity: part.Quantity, Species: part.Species, Grain: part.Grain, Note: d.room.say.shipped(part.Note),
			Length: part.Finished.Length, Width: part.Finished.Width, Thickness: part.Finished.Thickness,
			RoughLength: part.Rough.Length, RoughWidth: part.Rough.Width, RoughThickness: part.Rough.Thickness,
		})
	}
	p.Parts = d.room.partSizes(parts)
	p.Drawing = d.room.say.piece(built, true)
}

// change tells what happens to another promise.
func (r *room) change(before, after planner.Forecast, with *planner.Promise) views.PromiseChange {
	row := views.PromiseChange{Name: after.Name, Promised: r.say.at(after.PromisedBy), After: r.say.at(after.Ends)}
	row.Before = row.After
	if !before.Ends.IsZero() {
		row.Before = r.say.at(before.Ends)
		row.Worse = after.Late && (!before.Late || after.SlackMin < before.SlackMin)
	}
	word, mark := verdict(after, with)
	row.State, row.Mark = r.say.tell(word.Of()), mark
	return row
}
