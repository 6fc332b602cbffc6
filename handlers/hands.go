package handlers

import (
	"slices"

	"github.com/google/uuid"

	"faceside/models"
	"faceside/views"
)

// hands tells who helps with a step in hand that takes several people, and offers
// the hands that are free; nil for any other. back is where plain HTML goes on.
func (r *room) hands(st *models.Step, back string) *views.StepHands {
	wanted := st.Hands - 1 - len(st.Helpers)
	if st.State != models.InHand || wanted <= 0 && len(st.Helpers) == 0 {
		return nil
	}
	all := &views.StepHands{}
	for _, h := range st.Helpers {
		all.Helping = append(all.Helping, views.HelpRow{Says: r.say.say("%[1]s helps since %[2]s", r.who(&h.PersonID), r.say.at(h.Since)),
			Manage: r.handsForm(models.TapManage, st, h.PersonID, r.say.say("Thanks, I manage"), back)})
	}
	if wanted <= 0 {
		return all
	}
	if r.callFor(st) != 0 {
		all.Called = r.say.say("A hand was called. The work goes on meanwhile.")
	}
	for _, p := range r.snap.People {
		if p.Active && r.handsFree(p.ID) {
			all.Offers = append(all.Offers, r.handsForm(models.TapHelp, st, p.ID, r.say.say("%s helps", p.Name), back))
		}
	}
	if all.Wanted = r.say.say("Whose hands has it been given?"); len(all.Offers) == 0 {
		all.Wanted = r.say.say("Nobody's hands are free just now.")
	}
	return all
}

func (r *room) handsForm(kind models.TapKind, st *models.Step, helper models.ID, label, back string) views.TapForm {
	return views.TapForm{ID: uuid.NewString(), Kind: string(kind), Step: st.ID, Helper: helper, Of: st.Name, Label: label, Back: back}
}

// handsFree says whether a person has nothing in hand, and helps nobody.
func (r *room) handsFree(person models.ID) bool {
	return r.inHand(person) == nil && r.snap.Helps(person) == nil
}

// helpOffer lets who is at this tablet give a step in hand the hands that it still
// wants; nil where it wants none, or they are not free.
func (r *room) helpOffer(st *models.Step, person models.ID) *views.TapForm {
	if st.Hands-1 <= len(st.Helpers) || !r.handsFree(person) {
		return nil
	}
	form := r.handsForm(models.TapHelp, st, person, r.say.say("I help"), "")
	form.Detail = st.Name
	return &form
}

// benchHelping puts the step that a person helps with on the bench.
func (r *room) benchHelping(b *views.Bench, st *models.Step, person *models.Person) {
	card := r.card(st, "")
	card.Big, card.Helpers, card.TroubleHref = true, nil, ""
	free := r.handsForm(models.TapManage, st, person.ID, r.say.say("My hands are free again"), "")
	free.Main = true
	card.Actions = []views.TapForm{free}
	i := slices.IndexFunc(st.Helpers, func(h models.Helping) bool { return h.PersonID == person.ID })
	b.Lead = r.say.say("You help %[1]s, since %[2]s:", r.who(st.PersonID), r.say.at(st.Helpers[i].Since))
	b.Now = &card
}
