package handlers

import (
	"slices"

	"faceside/models"
	"faceside/models/planner"
	"faceside/views"
)

const (
	// heaviestShown is how many of the steps that matter most the week tells of,
	heaviestShown = 5
	// and heavyLeast from what part of the weeks played on a step is one of them.
	heavyLeast = 0.1
)

// weighs says in how many of the weeks played an hour more on a step moves a promise,
// "" where none were played with it.
func (r *room) weighs(st *models.Step) string {
	weighs, played := r.played.Weighs(st.ID)
	if !played || st.FinishedAt != nil {
		return ""
	}
	n, of := outOf(weighs.Moves)
	switch {
	case n == 0:
		return r.say.say("In none of the weeks played does an hour more on it move a promise.")
	case n == of:
		return r.say.say("In all the weeks played an hour more on it moves a promise, most often that of “%s”.", r.commission(weighs.Most))
	}
	return r.say.say("In %[1]d of %[2]d weeks played an hour more on it moves a promise, most often that of “%[3]s”.", n, of, r.commission(weighs.Most))
}

// heaviest are the steps that matter most in the weeks played and are still to be done,
// the first one most.
func (r *room) heaviest() []planner.Weighs {
	var all []planner.Weighs
	for _, weighs := range r.played.Heaviest(heavyLeast) {
		if st := r.snap.Step(weighs.StepID); st != nil && st.FinishedAt == nil && len(all) < heaviestShown {
			all = append(all, weighs)
		}
	}
	return all
}

// tellHeaviest tells of the steps that matter most.
func (w *weekRoom) tellHeaviest() []views.WeekHeavy {
	var all []views.WeekHeavy
	for _, weighs := range w.heavy {
		st := w.snap.Step(weighs.StepID)
		n, of := outOf(weighs.Moves)
		i := w.letter[st.CommissionID]
		row := views.WeekHeavy{Letter: views.Letter(i), Look: views.Look(i), Name: st.Name, Of: w.commission(st.CommissionID), Href: stepHref(st.ID),
			Part: w.say.say("%[1]d of %[2]d weeks", n, of)}
		if planned := planner.Expected(w.snap, st.ID); planned != nil && st.State != models.InHand {
			row.When = w.say.at(planned.Start)
		} else {
			row.When = w.say.standing(w.standing(st))
		}
		if weighs.Most != st.CommissionID {
			row.Moves = w.say.say("most often that of “%s”", w.commission(weighs.Most))
		}
		all = append(all, row)
	}
	return all
}

// isHeavy tells whether a step is one of those that matter most.
func (w *weekRoom) isHeavy(step models.ID) bool {
	return slices.ContainsFunc(w.heavy, func(weighs planner.Weighs) bool { return weighs.StepID == step })
}
