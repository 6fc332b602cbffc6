package handlers

import (
	"math"

	"faceside/models/planner"
	"faceside/views"
)

// foresee tells of a commission which dates can be promised, and how safe the one is
// that was; nothing where its weeks were not played.
func (r *room) foresee(row *views.CommissionRow, f planner.Forecast, p *planner.Promise) {
	if p == nil {
		return
	}
	for _, confidence := range planner.Confidences {
		date := views.PromiseDate{Sure: r.say.sure(confidence), Date: r.say.say("further off than can be seen")}
		if day, ok := p.Day(r.snap, confidence); ok {
			date.Date = r.say.date(day)
		}
		row.Dates = append(row.Dates, date)
	}
	row.Holds = r.say.holds(f, p)
}

// sure says how sure a date is: "80 % sure".
func (w words) sure(confidence int) string { return w.say("%d %% sure", confidence) }

// onlyByPlan says whether a promise that the plan keeps is in danger: it does not hold in
// half of the weeks played.
func onlyByPlan(f planner.Forecast, p *planner.Promise) bool {
	return p != nil && !f.Late && p.Holds(f.PromisedBy) < inDanger
}

// holds says in what part of the weeks played a promise holds and, where that is few
// though the plan keeps it, how both can be.
func (w words) holds(f planner.Forecast, p *planner.Promise) string {
	n, of := outOf(p.Holds(f.PromisedBy))
	switch only := onlyByPlan(f, p); {
	case n == of:
		return w.say("The promise holds in all the weeks played.")
	case n == 0 && only:
		return w.say("The promise holds in none of the weeks played: it fits the plan only if every step takes what is planned, and in this shop some take longer.")
	case n == 0:
		return w.say("The promise holds in none of the weeks played.")
	case only:
		return w.say("The promise holds in %[1]d of %[2]d weeks played: it fits the plan only if every step takes what is planned, and in this shop some take longer.", n, of)
	}
	return w.say("The promise holds in %[1]d of %[2]d weeks played.", n, of)
}

// holdsToo says it behind a verdict: "in time: 6 h to spare; holds in 8 of 10 weeks".
func (w words) holdsToo(verdict string, part float64) string {
	switch n, of := outOf(part); n {
	case of:
		return w.say("%s; holds in all weeks", verdict)
	case 0:
		return w.say("%s; holds in no week", verdict)
	default:
		return w.say("%[1]s; holds in %[2]d of %[3]d weeks", verdict, n, of)
	}
}

// outOf tells a part as so many out of ten, near its ends out of a hundred. All and
// none are said of what the plays cannot tell from them.
func outOf(part float64) (n, of int) {
	switch {
	case part < 0.005:
		return 0, 100
	case part > 0.995:
		return 100, 100
	case part < 0.05 || part > 0.95:
		return min(max(int(math.Round(part*100)), 1), 99), 100
	}
	return min(max(int(math.Round(part*10)), 1), 9), 10
}

// foreseen says where the dates come from, "" where there are none to tell of.
func (r *room) foreseen(any bool) string {
	switch p := r.played; {
	case !any:
		return ""
	case p == nil:
		return r.say.say("Which dates can be promised comes in a moment: many weeks of this plan are being played.")
	default:
		return r.say.say("Dates and safety are of %[1]d weeks played from the plan of %[2]s, with times as %[3]d finished steps in the time book say.", p.Plays, r.say.at(p.At), p.Booked)
	}
}
