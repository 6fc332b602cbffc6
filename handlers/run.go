package handlers

import (
	"slices"
	"strconv"
	"strings"

	"github.com/google/uuid"

	"faceside/models"
	"faceside/models/planner"
	"faceside/views"
)

// runShown is how many steps of a run are offered at once: what a person takes
// in at a glance.
const runShown = 10

// runCard tells a run in hand: its steps in the order taken, with what is to be
// tapped of each.
func (r *room) runCard(run *models.Run) views.RunCard {
	card := views.RunCard{
		PutDown: views.TapForm{ID: uuid.NewString(), Kind: string(models.TapPutDownRun), Run: run.ID, Label: r.say.say("Put the run down")},
		Times:   r.say.say("since %[1]s, %[2]s so far", r.say.at(run.TakenAt), span(int(r.at.Sub(run.TakenAt).Minutes()))),
	}
	if station := r.snap.Station(run.StationID); station != nil {
		card.Station, card.StationHref = station.Name, stationHref(station.ID)
	}
	setup := r.snap.Setup(run.SetupID)
	if setup != nil {
		card.Setup = setup.Instruction
	}
	inHand := 0
	for _, id := range run.Steps {
		st := r.snap.Step(id)
		if st == nil {
			continue
		}
		step := r.runStep(run, st, setup)
		if st.Run == run.ID {
			if step.Next = inHand == 0; step.Next {
				finish := step.Actions[0]
				finish.Main, card.Main = true, &finish
			}
			inHand++
		}
		card.Steps = append(card.Steps, step)
		for _, caution := range r.cautionsOf(st) {
			if !slices.Contains(card.Cautions, caution) {
				card.Cautions = append(card.Cautions, caution)
			}
		}
	}
	card.LeftSays = r.say.say("%[1]s of %[2]s still in hand", "{n}", "{of}")
	card.Left = strings.NewReplacer("{n}", strconv.Itoa(inHand), "{of}", strconv.Itoa(len(run.Steps))).Replace(card.LeftSays)
	if next := planner.Queues(r.snap, r.at)[run.StationID].Next(); next != nil {
		if to := r.snap.Setup(next.SetupID); to != nil {
			card.Next = r.say.say("After it: %s", to.State)
		}
	}
	return card
}

func (r *room) runStep(run *models.Run, st *models.Step, setup *models.Setup) views.RunStep {
	step := views.RunStep{ID: st.ID, Row: r.queueRow(st), Parts: r.partRows(st), Assemblies: r.assembliesOf(st), Note: st.Note}
	if setup != nil && st.SetTo != "" && st.SetTo != setup.Instruction {
		step.Setup = st.SetTo
	}
	if st.Run != run.ID {
		return step
	}
	for _, a := range r.actions(st, models.StandsInHand, "") {
		a.Main, a.Detail = false, st.Name
		step.Actions = append(step.Actions, a)
	}
	step.TroubleHref, step.Hands = stepHref(st.ID)+"/trouble", r.hands(st, "")
	return step
}

// single is a single step in hand as the run that it becomes with what is taken along
// with it; nil where that cannot be.
func (r *room) single(st *models.Step) *models.Run {
	if st == nil || st.State != models.InHand || st.Run != "" || st.SetupID == nil {
		return nil
	}
	return &models.Run{PersonID: *st.PersonID, StationID: st.StationID, SetupID: *st.SetupID, TakenAt: *st.TakenAt, Steps: []models.ID{st.ID}}
}

// atStation is what a person has in hand at a station, as a run; nil where that is
// nothing, or nothing can be taken along with it.
func (r *room) atStation(person, station models.ID) *models.Run {
	run := r.snap.RunInHand(person)
	if run == nil {
		run = r.single(r.inHand(person))
	}
	if run == nil || run.StationID != station {
		return nil
	}
	return run
}

// along lists what can be taken along with a run in hand: one tap each.
func (r *room) along(run *models.Run) []views.RunAlong {
	t := r.trial()
	setup := t.snap.Setup(run.SetupID)
	var all []views.RunAlong
	for _, id := range planner.Along(r.snap, run.StationID, run.SetupID, r.at) {
		st := r.snap.Step(id)
		a := views.RunAlong{Row: r.queueRow(st), Tap: views.TapForm{ID: uuid.NewString(), Kind: string(models.TapJoinRun), Run: run.ID, Step: id,
			Of: st.Name, Label: r.say.say("Take along"), Detail: st.Name}}
		then := t.snap.Step(id)
		if err := then.Move(models.Tap{Kind: models.TapStart, PersonID: run.PersonID, At: r.at, Act: run.ID, Joined: true, Share: st.Attended}); err != nil {
			continue // it came into somebody's hands in between: it cannot
		}
		a.Step = t.runStep(run, then, setup)
		if all = append(all, a); len(all) == runShown {
			break
		}
	}
	return all
}

// runOffer tells a run that can be taken; first is a step of it that the screen
// shows already, 0 for none.
func (r *room) runOffer(o planner.RunOffer, base *planner.Baseline, first models.ID) views.RunOffer {
	offer := views.RunOffer{TapID: uuid.NewString(), Label: r.say.say("Take as one run")}
	if setup := r.snap.Setup(o.SetupID); setup != nil {
		offer.Setup = setup.State
	}
	if slices.Contains(o.Steps, first) {
		offer.First = first
	}
	for _, id := range o.Steps {
		if st := r.snap.Step(id); st != nil && id != first && len(offer.Rows) < runShown {
			offer.Rows = append(offer.Rows, views.RunChoice{ID: id, Row: r.queueRow(st)})
		}
	}
	offer.Note = r.savedWords(o, base)
	return offer
}

// savedWords says what a run spares, "" where that is not known.
func (r *room) savedWords(o planner.RunOffer, base *planner.Baseline) string {
	if base == nil {
		return ""
	}
	saved := base.Saves(r.snap, o)
	if saved.Setups == 0 && saved.Minutes == 0 {
		return r.say.say("%s of work. In order of promised dates it would not be set more often.", span(o.Attended))
	}
	return r.say.say("Taken as one run they spare %[1]d settings, %[2]s, against the order of promised dates. %[3]s of work.",
		saved.Setups, span(saved.Minutes), span(o.Attended))
}
