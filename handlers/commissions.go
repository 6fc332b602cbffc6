package handlers

import (
	"fmt"
	"net/http"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/planner"
	"faceside/views"
)

// tightMin is how little working hours to spare makes a promise tight, in
// minutes: half a day.
const tightMin = 240

// commissions lists every commission.
func (s *server) commissions(c *gin.Context) {
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	all, err := s.store.Commissions(c.Request.Context())
	if err != nil {
		s.fail(c, fmt.Errorf("list the commissions: %w", err))
		return
	}
	data := r.commissionRows(all)
	s.pageOrPart(c, http.StatusOK, "commissions", "commissions", s.words(c).say("Commissions"), data)
}

func (r *room) commissionRows(all []models.CommissionSummary) views.Commissions {
	forecasts := forecastsByID(planner.Forecasts(r.snap))
	var data views.Commissions
	for _, sum := range all {
		row := r.commissionRow(sum, forecasts[sum.ID])
		switch sum.State {
		case models.Open:
			data.Open = append(data.Open, row)
		case models.Held:
			data.Held = append(data.Held, row)
		default:
			data.Closed = append(data.Closed, row)
		}
	}
	data.Foreseen = r.foreseen(len(data.Open) > 0)
	return data
}

func forecastsByID(all []planner.Forecast) map[models.ID]planner.Forecast {
	by := make(map[models.ID]planner.Forecast, len(all))
	for _, f := range all {
		by[f.CommissionID] = f
	}
	return by
}

// commissionRow tells one commission; a forecast without an end is none.
func (r *room) commissionRow(sum models.CommissionSummary, f planner.Forecast) views.CommissionRow {
	row := views.CommissionRow{
		Name: sum.Name, Href: commissionHref(sum.ID), Client: sum.Client, Promised: r.say.date(sum.PromisedOn),
		Done: sum.Done, Steps: sum.Steps,
	}
	if sum.State == models.Open {
		row.Trouble = r.troubleOf(sum.ID)
	}
	if sum.MinutesLeft > 0 {
		row.Left = span(sum.MinutesLeft)
	}
	switch {
	case sum.State == models.Held:
		row.State, row.Mark = r.say.say("held"), "put-down"
	case sum.State != models.Open:
		row.State, row.Mark = r.say.tell(sum.State.Words()), "done"
	case sum.Steps > 0 && sum.Done == sum.Steps:
		row.State, row.Mark = r.say.say("ready to deliver"), "done"
	case f.Ends.IsZero() && row.Trouble != "":
		row.State, row.Mark = r.say.say("held up"), "in-trouble"
	case f.Ends.IsZero():
		row.State, row.Mark = r.say.say("not planned yet"), "waiting"
	default:
		r.promise(&row, f)
		r.foresee(&row, &sum.Commission, r.played.Of(sum.ID))
	}
	return row
}

// promise sets a forecast beside what was promised.
func (r *room) promise(row *views.CommissionRow, f planner.Forecast) {
	row.Forecast = r.say.say("done %s", r.say.at(f.Ends))
	word, mark := verdict(f)
	row.State, row.Mark = r.say.tell(word.Of()), mark
	if f.Late {
		row.SlackHead, row.Slack = r.say.say("Too late by"), r.say.say("%s of work", span(max(-f.SlackMin, 1)))
	} else {
		row.SlackHead, row.Slack = r.say.say("To spare"), r.say.say("%s of work", span(f.SlackMin))
	}
}

// verdict is a word for whether a promise holds, and its mark.
func verdict(f planner.Forecast) (word phrase.Key, mark string) {
	switch {
	case f.Late:
		return phrase.Key("late"), "late"
	case f.SlackMin < tightMin:
		return phrase.Key("tight"), "tight"
	}
	return phrase.Key("in time"), "in-time"
}
