package handlers

import (
	"fmt"
	"slices"
	"strings"

	"github.com/google/uuid"

	"faceside/models"
	"faceside/models/planner"
	"faceside/views"
)

// card tells one step as an instruction. back is where plain HTML goes on after
// a tap, "" for the bench.
func (r *room) card(st *models.Step, back string) views.StepCard {
	standing := r.standing(st)
	card := views.StepCard{
		ID: st.ID, Name: st.Name, Phase: r.say.phase(st.Phase), Note: st.Note, Trouble: r.troubleWords(st),
		Commission: r.commission(st.CommissionID), CommissionHref: r.planners(commissionHref(st.CommissionID)),
		Standing: r.say.standing(standing), Mark: mark(standing),
		Estimate: r.say.say("about %s", span(st.Attended)), Parts: r.partRows(st), Assemblies: r.assembliesOf(st),
		Clamps: r.clampsOf(st), Cautions: r.cautionsOf(st), Actions: r.actions(st, standing, back),
	}
	if p := r.snap.Piece(st.PieceID); p != nil && p.Name != card.Commission {
		card.Piece = p.Name
	}
	r.cardStation(&card, st)
	r.cardTimes(&card, st)
	r.stake(&card, st)
	if at, ok := st.Pinned(); ok {
		card.Pinned = r.say.at(at)
	}
	card.Helpers = r.hands(st, back)
	if st.Hands > 1 {
		card.Hands = r.say.say("%d people", st.Hands)
	}
	if st.OpenTime > 0 {
		card.OpenTime = r.say.say("%s from first glue to last clamp", span(st.OpenTime))
	}
	if st.MakesID != nil {
		if a := r.snap.Assembly(*st.MakesID); a != nil {
			card.Makes = a.Name
		}
	}
	if standing == models.StandsWaiting || standing == models.StandsPutDown {
		for _, w := range r.snap.WaitsFor(st.ID, r.at) {
			card.Waits = append(card.Waits, r.say.tell(w.Sentence))
		}
	}
	if st.State != models.Done && st.State != models.InTrouble {
		card.TroubleHref = stepHref(st.ID) + "/trouble"
	}
	return card
}

func (r *room) cardStation(card *views.StepCard, st *models.Step) {
	station := r.snap.Station(st.StationID)
	if station == nil {
		return
	}
	card.Station = station.Name
	if station.Down {
		card.Station = r.say.say("%s (out of order)", station.Name)
	}
	if setup := r.snap.SetupOf(st); setup != nil {
		card.Setup = setup.Instruction
		card.SetupThere = station.SetupID != nil && *station.SetupID == setup.ID
		var under []string
		if station.Down || !strings.HasPrefix(setup.Instruction, station.Name+":") {
			under = append(under, card.Station)
		}
		if card.SetupThere {
			under = append(under, r.say.say("it stands so already"))
		}
		card.SetupUnder = strings.Join(under, " · ")
	}
}

func (r *room) cardTimes(card *views.StepCard, st *models.Step) {
	if st.State == models.InHand && st.TakenAt != nil {
		card.Who, card.Since = r.who(st.PersonID), r.say.say("since %s", r.say.at(*st.TakenAt))
	}
	card.Timer = r.timer(st)
	if st.Unattended > 0 {
		card.Rest = r.say.say("then %[1]s %[2]s", r.say.clockSpan(st.Unattended), r.say.rest(st.Rest))
		if st.State == models.AtRest && st.RestEndsAt != nil {
			card.Rest = r.say.say("%[1]s until %[2]s", r.say.rest(st.Rest), r.say.at(*st.RestEndsAt))
		}
	}
}

// timer holds a step's attended time against its estimate, once it was begun.
func (r *room) timer(st *models.Step) *views.Timer {
	seconds := r.snap.WorkedBy(st, r.at)
	_, rate, running := r.snap.Running(st)
	if seconds < 60 && !running {
		return nil
	}
	timer := &views.Timer{
		Worked: span(seconds / 60), Seconds: seconds, Rate: rate, Estimate: st.Attended * 60,
		Within: r.say.say("of about %s", span(st.Attended)), Beyond: r.say.say("estimated %s", span(st.Attended)),
	}
	timer.Against = timer.Within
	if seconds > timer.Estimate {
		timer.Against = timer.Beyond
	}
	return timer
}

func (r *room) partRows(st *models.Step) []views.PartRow {
	var rows []views.PartRow
	for _, use := range r.snap.PartsOf(st.ID) {
		p := r.snap.Part(use.PartID)
		if p == nil {
			continue
		}
		row := views.PartRow{Part: p.ID, Count: use.Quantity, Name: p.Name, Species: r.say.shipped(p.Species), Note: p.Note,
			Size: r.say.size(p.Length, p.Width, p.Thickness)}
		if st.Phase == "milling" && p.RoughLength > 0 {
			row.Rough = r.say.size(p.RoughLength, p.RoughWidth, p.RoughThickness)
		}
		rows = append(rows, row)
	}
	return rows
}

func (r *room) assembliesOf(st *models.Step) []string {
	var names []string
	for _, use := range r.snap.AssembliesOf(st.ID) {
		if a := r.snap.Assembly(use.AssemblyID); a != nil {
			names = append(names, a.Name)
		}
	}
	return names
}

func (r *room) clampsOf(st *models.Step) []string {
	var all []string
	for _, use := range r.snap.ClampsOf(st.ID) {
		if class := r.snap.Clamp(use.ClampClassID); class != nil {
			all = append(all, fmt.Sprintf("%d × %s", use.Count, class.Name))
		}
	}
	return all
}

// cautionsOf gathers the cautions of the step, its station, its glue and its
// finish, each once.
func (r *room) cautionsOf(st *models.Step) []string {
	all := slices.Clone(st.Cautions)
	if station := r.snap.Station(st.StationID); station != nil {
		all = append(all, station.Caution)
	}
	if st.GlueID != nil {
		if g := r.snap.Glue(*st.GlueID); g != nil {
			all = append(all, g.Caution)
		}
	}
	if st.FinishID != nil {
		if f := r.snap.Finish(*st.FinishID); f != nil {
			all = append(all, f.Caution)
		}
	}
	var once []string
	for _, text := range all {
		if text != "" && !slices.Contains(once, text) {
			once = append(once, text)
		}
	}
	return once
}

// actions are the taps that are possible on a step, the main one first.
func (r *room) actions(st *models.Step, standing models.Standing, back string) []views.TapForm {
	form := func(kind models.TapKind, label string, main bool) views.TapForm {
		return views.TapForm{ID: uuid.NewString(), Kind: string(kind), Step: st.ID, Of: st.Name, Label: label, Main: main, Back: back}
	}
	switch standing {
	case models.StandsReady:
		return []views.TapForm{form(models.TapStart, r.say.say("Start"), true)}
	case models.StandsPutDown:
		return []views.TapForm{form(models.TapStart, r.say.say("Take up again"), true)}
	case models.StandsInHand:
		return []views.TapForm{form(models.TapFinish, r.say.say("Finish"), true), form(models.TapPutDown, r.say.say("Put down"), false)}
	case models.StandsInClamps:
		return []views.TapForm{form(models.TapOut, r.say.say("Out of clamps"), true)}
	case models.StandsDrying:
		return []views.TapForm{form(models.TapOut, r.say.say("Dry"), true)}
	case models.StandsResting:
		return []views.TapForm{form(models.TapOut, r.say.say("Rested"), true)}
	case models.StandsInTrouble:
		return []views.TapForm{form(models.TapSettled, r.settled(st), true)}
	}
	return nil
}

// row is a step in a list, with a start button where asked for and possible.
func (r *room) row(st *models.Step, start bool) views.StepRow {
	standing := r.standing(st)
	row := views.StepRow{
		Name: st.Name, Href: stepHref(st.ID), Commission: r.commission(st.CommissionID),
		Mark: mark(standing), Standing: r.say.standing(standing), Detail: r.work(st, standing),
	}
	if station := r.snap.Station(st.StationID); station != nil {
		row.Detail = r.say.shipped(station.Name) + " · " + row.Detail
	}
	if start && (standing == models.StandsReady || standing == models.StandsPutDown) {
		row.Action = &views.TapForm{ID: uuid.NewString(), Kind: string(models.TapStart), Step: st.ID, Of: st.Name, Label: r.say.say("Start"), Detail: st.Name}
	}
	return row
}

// work is about how long a step takes, or what is left of one that was put down.
func (r *room) work(st *models.Step, standing models.Standing) string {
	if standing == models.StandsPutDown {
		return r.say.say("%s left", span(planner.Left(r.snap, st, r.at)))
	}
	return r.say.say("about %s", span(st.Attended))
}
