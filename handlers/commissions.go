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

const (
	// tightMin is how little working hours to spare makes a promise tight where no
	// weeks were played, in minutes: half a day.
	tightMin = 240
	// A promise that holds in less than half of the weeks played is in danger, and safe
	// in nine of ten.
	inDanger, isSafe = 0.5, 0.9
)

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
		r.promise(&row, f, r.played.Of(sum.ID))
	}
	return row
}

// promise sets a forecast, and what the weeks played say, beside what was promised.
func (r *room) promise(row *views.CommissionRow, f planner.Forecast, p *planner.Promise) {
	row.Forecast = r.say.say("done %s", r.say.at(f.Ends))
	r.foresee(row, f, p)
	word, mark := verdict(f, p)
	row.State, row.Mark = r.say.tell(word.Of()), mark
	if f.Late {
		row.SlackHead, row.Slack = r.say.say("Too late by"), r.say.say("%s of work", span(max(-f.SlackMin, 1)))
	} else {
		row.SlackHead, row.Slack = r.say.say("To spare"), r.say.say("%s of work", span(f.SlackMin))
	}
}

// verdict is a word for whether a promise holds, and its mark: by the plan and, where
// weeks were played, by how many of them it holds in.
func verdict(f planner.Forecast, p *planner.Promise) (word phrase.Key, mark string) {
	switch {
	case f.Late:
		return phrase.Key("late"), "late"
	case onlyByPlan(f, p):
		return phrase.Key("in danger"), "late"
	case p != nil && p.Holds(f.PromisedBy) < isSafe || p == nil && f.SlackMin < tightMin:
		return phrase.Key("tight"), "tight"
	}
	return phrase.Key("in time"), "in-time"
}
