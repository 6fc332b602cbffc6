package handlers

import (
	"strings"

	"faceside/models"
	"faceside/models/planner"
	"faceside/views"
)

// stake tells on a card what the step keeps waiting, and what an hour's delay would do.
func (r *room) stake(card *views.StepCard, st *models.Step) {
	switch st.State {
	case models.Todo, models.PutDown, models.InHand:
	default:
		return
	}
	stake := planner.StakeOf(r.snap, st.ID, r.at)
	if !stake.Planned {
		return
	}
	card.Later, card.Longer = r.later(stake), st.State == models.InHand
	if g := stake.Gate; g != nil {
		card.Gates = r.holds(*g)
		if opens := r.opens(st.ID); opens != "" {
			card.Gates += "; " + r.say.say("closed, it opens %s.", opens)
		} else {
			card.Gates += "."
		}
	}
}

// whyNow tells on a card why the step is worth taking now, or what holds it where no
// link does.
func (r *room) whyNow(card *views.StepCard, person models.ID) {
	for _, s := range planner.Next(r.snap, person, r.at) {
		switch {
		case s.StepID != card.ID:
		case s.Ready:
			card.Why = r.say.tell(s.Why)
		case len(card.Waits) == 0:
			card.Waits = []string{r.say.tell(s.Why)}
		}
	}
}

// slipsNamed is how many commissions are named that a delay makes late.
const slipsNamed = 2

// mostToSpare is the most minutes to spare that are told: more is no more exact than that.
const mostToSpare = planner.MostFloat - 1

// later says what an hour's delay of a step does.
func (r *room) later(stake planner.Stake) string {
	switch {
	case stake.FloatMin > mostToSpare:
		return r.say.say("no promise moves; more than %s of shop hours to spare.", span(mostToSpare/60*60))
	case stake.FloatMin >= 60:
		return r.say.say("no promise moves; %s of shop hours to spare.", span(stake.FloatMin))
	case stake.Hour.Stuck:
		return r.gives(stake.Hour.Gives)
	}
	var late, inTime []string
	for _, s := range stake.Hour.Slips {
		if s.To.After(s.PromisedBy) {
			late = append(late, r.slip(s))
		} else {
			inTime = append(inTime, r.slip(s))
		}
	}
	if len(late) > slipsNamed {
		more := r.say.say("%d more commissions miss their promise.", len(late)-slipsNamed)
		return strings.Join(append(late[:slipsNamed:slipsNamed], more), " ")
	}
	if len(late) == 0 {
		late = append([]string{r.say.say("no promise moves, if other work takes its turn first.")}, inTime[:min(len(inTime), 1)]...)
	}
	return strings.Join(late, " ")
}

// gives says what has to give that is no promise, "" where that is not known.
func (r *room) gives(g planner.Gives) string {
	st, after := r.snap.Step(g.StepID), r.snap.Step(g.After)
	switch {
	case g.Off != 0:
		return r.say.say("the work runs into the time off of %[1]s, %[2]s.", r.who(&g.Off), r.say.at(g.At))
	case st == nil:
		return ""
	case after != nil:
		return r.say.say("“%[1]s” (%[2]s) does not start within %[3]s of %[4]s any more.", st.Name, r.commission(st.CommissionID), r.say.clockSpan(g.Within), g.Point(after))
	}
	return r.say.say("“%[1]s” (%[2]s) cannot start when it is pinned, %[3]s.", st.Name, r.commission(st.CommissionID), r.say.at(g.At))
}

func (r *room) slip(s planner.Slip) string {
	from, to := r.say.at(s.From), r.say.at(s.To)
	late, wasLate := s.To.After(s.PromisedBy), s.From.After(s.PromisedBy)
	switch {
	case wasLate && !late:
		return r.say.say("“%[1]s” is ready %[2]s instead of %[3]s, within its promise again.", s.Name, to, from)
	case wasLate && s.To.Before(s.From):
		return r.say.say("“%[1]s” is ready %[2]s instead of %[3]s, less late than before.", s.Name, to, from)
	case wasLate:
		return r.say.say("“%[1]s” is ready %[2]s instead of %[3]s, later still than promised.", s.Name, to, from)
	case late:
		return r.say.say("“%[1]s” is ready %[2]s instead of %[3]s, after its promise, %[4]s.", s.Name, to, from, r.say.at(s.PromisedBy))
	}
	return r.say.say("“%[1]s” is ready %[2]s instead of %[3]s, still within its promise.", s.Name, to, from)
}
