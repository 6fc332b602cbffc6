package handlers

import (
	"slices"

	"github.com/google/uuid"

	"faceside/models"
	"faceside/models/planner"
	"faceside/views"
)

// troubles lists what holds steps up, and who needs help.
func (r *room) troubles(person models.ID) []views.StepRow {
	var rows []views.StepRow
	for i := range r.snap.Steps {
		if st := &r.snap.Steps[i]; st.State == models.InTrouble {
			row := r.row(st, false)
			row.Detail = r.heldBy(st)
			row.Action = &views.TapForm{ID: uuid.NewString(), Kind: string(models.TapSettled), Step: st.ID, Of: st.Name, Label: r.settled(st), Detail: st.Name}
			rows = append(rows, row)
		}
	}
	return append(rows, r.helpWanted(person)...)
}

// heldBy says what holds a step in trouble: what was said, and by when it is expected.
func (r *room) heldBy(st *models.Step) string {
	why := st.Trouble
	if why == "" && st.TroubleKind == models.TroubleMissing {
		why = r.say.say("something is missing")
	}
	if st.ExpectedOn == "" {
		return why
	}
	return r.say.say("%[1]s; expected %[2]s", why, r.say.date(st.ExpectedOn))
}

// troubleWords is what a card says of the trouble that a step is in, "" if it is in none.
func (r *room) troubleWords(st *models.Step) string {
	if st.State != models.InTrouble {
		return ""
	}
	return r.heldBy(st)
}

// helpWanted lists the steps that wait for one more pair of hands. Where somebody is
// asked for by name, it is for that person and for who asks.
func (r *room) helpWanted(person models.ID) []views.StepRow {
	var rows []views.StepRow
	for _, tap := range r.snap.Troubles {
		st := r.snap.Step(*tap.StepID)
		if !tap.Trouble.Hands() || st == nil || st.State != models.Todo && st.State != models.PutDown {
			continue
		}
		said, err := tap.Told()
		if err != nil || said == nil || said.HelperID != 0 && said.HelperID != person && tap.PersonID != person {
			continue
		}
		row := r.row(st, false)
		row.Detail = r.say.say("%s needs a second pair of hands for it", r.who(&tap.PersonID))
		if said.HelperID != 0 {
			row.Detail = r.say.say("%[1]s needs %[2]s's hands for it", r.who(&tap.PersonID), r.who(&said.HelperID))
		}
		if tap.Note != "" {
			row.Detail += " · " + tap.Note
		}
		if p := planner.Expected(r.snap, st.ID); p != nil {
			row.When = r.say.at(p.Start)
		}
		rows = append(rows, row)
	}
	return rows
}

// called lists the steps in others' hands for which this person's are called, while
// they are still wanted.
func (r *room) called(person models.ID) []views.Call {
	var all []views.Call
	for _, tap := range r.snap.Troubles {
		st := r.snap.Step(*tap.StepID)
		if st == nil || st.PersonID == nil || *st.PersonID == person || r.callFor(st) != tap.Seq {
			continue
		}
		said, err := tap.Told()
		if err != nil || said == nil || said.HelperID != 0 && said.HelperID != person {
			continue
		}
		all = append(all, views.Call{Href: stepHref(st.ID), Name: st.Name, Note: tap.Note, Help: r.helpOffer(st, person),
			Says: r.say.say("%[1]s calls for a hand, %[2]s:", r.who(&tap.PersonID), r.say.at(tap.At))})
	}
	return all
}

// callFor is the newest row by which a hand was called for a step in hand; 0 where none
// was, or as many came as it wants.
func (r *room) callFor(st *models.Step) (seq int64) {
	if st.State != models.InHand || st.Hands-1 <= len(st.Helpers) {
		return 0
	}
	for _, tap := range r.snap.Troubles {
		if *tap.StepID == st.ID && tap.Trouble == models.TroubleHand {
			seq = tap.Seq
		}
	}
	return seq
}

// toldOf is where what came of the trouble with a step is told, "" where none
// bears on it any more.
func (r *room) toldOf(st *models.Step) string {
	if st.State == models.InTrouble || slices.ContainsFunc(r.snap.Troubles, func(t models.Tap) bool { return *t.StepID == st.ID }) {
		return toldHref(st.ID)
	}
	return ""
}

// troubleOf says of a commission what is in trouble there, "" if nothing is.
func (r *room) troubleOf(commission models.ID) string {
	var held []*models.Step
	for _, st := range r.snap.StepsOf(commission) {
		if st.State == models.InTrouble {
			held = append(held, st)
		}
	}
	switch {
	case len(held) == 0:
		return ""
	case len(held) > 1:
		return r.say.say("%d steps are in trouble", len(held))
	}
	if why := r.heldBy(held[0]); why != "" {
		return r.say.say("“%[1]s” is held: %[2]s", held[0].Name, why)
	}
	return r.say.say("“%s” is in trouble", held[0].Name)
}
