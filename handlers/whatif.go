package handlers

import (
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/google/uuid"

	"faceside/models"
	"faceside/models/planner"
	"faceside/views"
)

// whatIf shows the plan as it would be if some changes were kept, beside today's; it
// asks for one where none is named.
func (s *server) whatIf(c *gin.Context) {
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	asked := askedIf(c.Request.URL.Query(), r.say)
	effort := planner.IfAtOnce
	switch {
	case c.Query("longer") != "":
		effort = planner.IfLonger
	case c.Query("better") != "":
		effort = planner.IfBetter
	}
	data, err := s.whatIfData(c, r, &asked, effort)
	status := http.StatusOK
	if err != nil {
		if failed(err) {
			s.fail(c, err)
			return
		}
		if swapped(c) {
			s.problem(c, formStatus(err), r.say.sentence(err), err)
			return
		}
		status = formStatus(err)
		data = r.askAgain(&asked, err)
	}
	part := "what-if"
	if effort == planner.IfBetter && data.Result {
		part = "what-if-better"
	}
	s.pageOrPart(c, status, "what-if", part, r.say.say("What if"), data)
}

// whatIfData tries what was asked, where anything was.
func (s *server) whatIfData(c *gin.Context, r *room, asked *whatIfAsked, effort planner.Effort) (views.WhatIf, error) {
	if asked.err != nil {
		return views.WhatIf{}, asked.err
	}
	data := views.WhatIf{Forms: r.tryForms(asked.with, c.Request.URL.Query())}
	if len(asked.of) == 0 {
		return data, nil
	}
	w, err := s.planner.WhatIf(c.Request.Context(), asked.of, effort)
	if err != nil {
		return data, err
	}
	for i := range data.Forms {
		for k := range data.Forms[i].Forms {
			data.Forms[i].Forms[k].Open = false // it was answered
		}
	}
	r.tellIf(&data, w, asked)
	if effort != planner.IfLonger && !w.Proved {
		data.Longer, data.First = data.Href+"&longer=1", effort == planner.IfAtOnce
	}
	if effort == planner.IfAtOnce {
		data.Better = data.Href + "&better=1"
	}
	return data, nil
}

// askAgain shows the forms with what is wrong beside the field, and keeps what was
// tried before.
func (r *room) askAgain(asked *whatIfAsked, refusal error) views.WhatIf {
	data := views.WhatIf{Forms: r.tryForms(asked.others(), asked.in.form)}
	for _, group := range data.Forms {
		for i := range group.Forms {
			form := &group.Forms[i]
			if form.Kind != string(asked.kind) {
				continue
			}
			r.say.refuse(&form.Form, asked.in.form, refusal)
			for _, f := range form.Fields {
				if f.Kind == "hidden" && f.Error != "" {
					form.Notice = f.Error
				}
			}
			if form.Notice == "" && form.Erroneous() {
				data.Notice = r.say.say("%s: see what is marked below.", form.Title)
				return data
			}
			data.Notice, form.Notice = form.Notice, ""
			return data
		}
	}
	data.Notice = r.say.sentence(refusal)
	return data
}

// tellIf tells what a what-if comes to.
func (r *room) tellIf(data *views.WhatIf, w *planner.WhatIf, asked *whatIfAsked) {
	with := asked.with
	data.Result, data.Href, data.Act, data.Revision, data.Proved = true, whatIfHref(with), uuid.NewString(), w.Revision, w.Proved
	for i, says := range w.Says {
		change := views.TriedChange{Says: capital(r.say.tell(says)), Value: with[i]}
		if len(w.Says) > 1 {
			change.TakeOut = whatIfHref(slices.Delete(slices.Clone(with), i, i+1))
		}
		data.Changes = append(data.Changes, change)
	}
	var same []string
	becomes := outcomes{}
	for i := range w.Promises {
		p := &w.Promises[i]
		if !p.Moves() {
			same = append(same, p.Name)
			continue
		}
		row := r.promiseIf(p, w.Played)
		becomes.add(turnOf(p, &row), p.Name)
		data.Promises = append(data.Promises, row)
	}
	if len(same) > 0 {
		data.Same = r.say.say("As today: %s.", strings.Join(same, ", "))
	}
	data.Verdict = r.verdictIf(becomes, len(w.Promises))
	data.Lines = r.linesIf(w, len(data.Promises))
	data.Notes = r.say.tellAll(w.Notes)
	data.Cautions = r.cautionsIf(asked.of)
}

// linesIf are the figures of two plans.
func (r *room) linesIf(w *planner.WhatIf, moved int) []views.WhatIfLine {
	setups := func(c planner.Count) string {
		return r.say.say("%[1]d (%[2]s)", c.Setups, span(c.Minutes))
	}
	lines := []views.WhatIfLine{
		{What: r.say.say("Setups"), Now: setups(w.Now.Setups), Then: setups(w.Then.Setups), Change: r.moreOrLess(w.Then.Setups.Minutes - w.Now.Setups.Minutes)},
		{What: r.say.say("Hours of hands until %s", r.say.date(w.Until.In(r.say.now.Location()).Format(time.DateOnly))), Now: span(w.Now.HandsMin), Then: span(w.Then.HandsMin),
			Change: r.moreOrLess(w.Then.HandsMin - w.Now.HandsMin)},
	}
	lines = append(lines, views.WhatIfLine{What: r.say.say("Commissions that end at another time, or are promised for one"), Then: r.say.say("%[1]d of %[2]d", moved, len(w.Promises))})
	return append(lines, views.WhatIfLine{What: r.say.say("Steps that begin at another time"), Then: r.say.say("%d ## steps", w.Moved)})
}

// moreOrLess says a change of minutes; "" for none.
func (r *room) moreOrLess(minutes int) string {
	switch {
	case minutes > 0:
		return r.say.say("%s more", span(minutes))
	case minutes < 0:
		return r.say.say("%s less", span(-minutes))
	}
	return ""
}

// promiseIf tells what becomes of one commission, then by weeks played too where those of
// now were.
func (r *room) promiseIf(p *planner.PromiseIf, then *planner.Promises) views.PromiseIf {
	played := r.played.Of(p.CommissionID)
	if played == nil || then == nil {
		played, then = nil, nil // both or neither
	}

	row := views.PromiseIf{Name: p.Name, Href: commissionHref(p.CommissionID), Promised: r.say.date(p.PromisedOn)}
	row.Now, row.NowWord, row.NowMark = r.endIf(p.Now, p.Was, played)
	row.Then, row.ThenWord, row.Mark = r.endIf(p.Then, p.State, then.Of(p.CommissionID))
	if p.PromisedOn != p.WasPromised {
		row.ChangeOfPromise = r.say.say("was promised for %s", r.say.date(p.WasPromised))
	}
	if p.Now.Ends.IsZero() || p.Then.Ends.IsZero() {
		return row
	}
	row.Worse = p.Then.Late && (!p.Now.Late || p.Then.SlackMin < p.Now.SlackMin)
	row.Better = p.Now.Late && (!p.Then.Late || p.Then.SlackMin > p.Now.SlackMin)
	row.Change = r.laterBy(p.Now.Ends, p.Then.Ends)
	return row
}

// endIf says when a commission is complete, and whether its promise holds.
func (r *room) endIf(f planner.Forecast, state models.CommissionState, played *planner.Promise) (when, word, mark string) {
	switch {
	case state == models.Held:
		return "–", r.say.say("held"), "put-down"
	case f.Ends.IsZero():
		return "–", r.say.say("not planned yet"), "waiting"
	}
	key, mark := verdict(f, played)
	return r.say.at(f.Ends), r.say.tell(key.Of()), mark
}

// laterBy says by how much something ends later, or earlier: in days, or within one day
// in hours.
func (r *room) laterBy(now, then time.Time) string {
	zone := r.say.now.Location()
	days, minutes := daysBetween(now.In(zone), then.In(zone)), int(then.Sub(now)/time.Minute)
	switch {
	case days > 0:
		return r.say.say("%d days later", days)
	case days < 0:
		return r.say.say("%d days earlier", -days)
	case minutes > 0:
		return r.say.say("%s later", span(minutes))
	case minutes < 0:
		return r.say.say("%s earlier", span(-minutes))
	}
	return ""
}

// cautionsIf are what a maker must see to before such changes are kept.
func (r *room) cautionsIf(changes []models.Steer) []string {
	var all []string
	for _, c := range changes {
		switch c.Kind {
		case models.SteerWeek:
			if openFor(c.Week) > openFor(models.OpeningsOf(r.snap.Hours)) {
				all = append(all, r.longHours())
			}
		case models.SteerGlue, models.SteerFinish:
			all = append(all, r.say.say("These are times of a class: what the maker's sheet of the glue or finish says goes before them. Try it on a piece of waste first."))
		case models.SteerHands:
			all = append(all, r.say.say("Whoever helps must know the machines and their guards: show them, and see the machine's manual and the rules where you are."))
		case models.SteerHours:
			all = append(all, r.longHours())
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}

func (r *room) longHours() string {
	return r.say.say("Tired hands make mistakes at machines: leave cutting for the day, and see what the law says of long hours.")
}

// openFor is how many minutes of a week are open.
func openFor(week []models.Opens) (minutes int) {
	for _, o := range week {
		minutes += o.Closes - o.Opens
	}
	return minutes
}
