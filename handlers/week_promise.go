package handlers

import (
	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/planner"
	"faceside/views"
)

// outlook is what can be said of a commission's promise.
type outlook struct {
	com      *models.Commission
	forecast planner.Forecast // without an end: none
	state    views.Promise
	word     phrase.Key
	slack    string // "6 h"
	promise  *planner.Promise
}

// verdict says the outlook on the chart: "in time: 6 h to spare", "late by 6 h".
// With weeks played it says how safe the promise is: "in time: 6 h to spare; holds in
// 8 of 10 weeks", "in danger: fits only the plan; holds in 1 of 10 weeks".
func (o outlook) verdict(w words) string {
	word := w.tell(o.word.Of())
	switch {
	case o.slack == "":
		return word
	case o.forecast.Late:
		word = w.say("late by %s", o.slack)
	case onlyByPlan(o.forecast, o.promise):
		word = w.say("%s: fits only the plan", word)
	default:
		word = w.say("%[1]s: %[2]s to spare", word, o.slack)
	}
	if o.promise == nil {
		return word
	}
	return w.holdsToo(word, o.promise.Holds(o.forecast.PromisedBy))
}

// outlooks tells of every open and held commission, in the order of their letters.
func (w *weekRoom) outlooks() []outlook {
	forecasts := forecastsByID(planner.Forecasts(w.snap))
	var all []outlook
	for i := range w.snap.Commissions {
		com := &w.snap.Commissions[i]
		o := outlook{com: com, forecast: forecasts[com.ID], state: views.PromiseOpen, word: phrase.Key("not planned yet")}
		switch {
		case com.State == models.Held:
			o.word = phrase.Key("held, not planned")
		case !o.forecast.Ends.IsZero():
			var mark string
			o.promise = w.played.Of(com.ID)
			o.word, mark = verdict(o.forecast, o.promise)
			o.state, o.slack = views.Promise(mark), w.slack(o.forecast)
		}
		all = append(all, o)
	}
	return all
}

// slack says the working time between the forecast and the promise.
func (w *weekRoom) slack(f planner.Forecast) string {
	minutes := f.SlackMin
	if f.Late {
		minutes = max(-f.SlackMin, 1)
	}
	return w.openSpan(minutes)
}

// fullDay is how many minutes the shop is open on the longest day shown, at least 1.
func (w *weekRoom) fullDay() int {
	most := 1
	for _, d := range w.days {
		most = max(most, d.minutesFor(0)) // without what some work beside that
	}
	return most
}

// promises is the key to the chart: a line a commission.
func (w *weekRoom) promises() []views.WeekPromise {
	var all []views.WeekPromise
	for i, o := range w.looks {
		p := views.WeekPromise{Letter: views.Letter(i), Look: views.Look(i), Name: o.com.Name, Href: w.planners(commissionHref(o.com.ID)),
			Promised: w.say.date(o.com.PromisedOn), Word: w.say.tell(o.word.Of()), State: o.state}
		if o.slack != "" {
			p.Slack = w.say.say("%s to spare", o.slack)
			if o.forecast.Late {
				p.Slack = w.say.say("%s too late", o.slack)
			}
		}
		if !o.forecast.Ends.IsZero() {
			p.Forecast = w.say.at(o.forecast.Ends)
		}
		if o.promise != nil {
			p.Holds = w.say.holds(o.forecast, o.promise)
		}
		all = append(all, p)
	}
	return all
}
