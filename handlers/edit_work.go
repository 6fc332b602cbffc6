package handlers

import (
	"fmt"
	"strconv"
	"strings"

	"faceside/models"
	"faceside/models/pattern"
	"faceside/views"
)

// workOf is what a step says now: as the screens say it, or as the records keep it.
func workOf(snap *models.Snapshot, st *models.Step) models.StepWork {
	w := models.StepWork{Name: st.Name, Kind: st.Kind, Phase: st.Phase, Verb: st.Verb, StationID: st.StationID, Attended: st.Attended,
		Unattended: st.Unattended, Rest: st.Rest, Interruptible: st.Interruptible, Hands: st.Hands, Dusty: st.Dusty, Wet: st.Wet,
		OpenTime: st.OpenTime, GlueID: st.GlueID, FinishID: st.FinishID, Cautions: st.Cautions, Note: st.Note, Clamps: map[models.ID]int{},
		Setup: snap.SetupOf(st)}
	for _, use := range snap.ClampsOf(st.ID) {
		w.Clamps[use.ClampClassID] = use.Count
	}
	return w
}

func (s *server) changeForm(e *editing, st *models.Step) views.EditForm {
	form := e.form(st, "change", e.say.say("Save the step"))
	form.Fields, form.More = s.workFields(e, workOf(e.snap, st))
	kind := views.Field{Name: "kind", Label: e.say.say("Kind"), Kind: "select", Value: st.Kind, Options: s.kindOptions(e.say), Help: e.say.say("What the checks take it for.")}
	if _, known := s.library.Catalogue().Kind(st.Kind); !known && st.Kind != "" {
		kind.Options = append(kind.Options, views.Option{Value: st.Kind, Name: st.Kind})
	}
	form.More = append([]views.Field{kind}, form.More...)
	form.MoreTitle = e.say.say("Setup, rest, clamps, glue and more")
	return form
}

// workFields are the questions about a step: those often asked, and the others.
func (s *server) workFields(e *editing, w models.StepWork) (often, more []views.Field) {
	setup := models.Setup{}
	if w.Setup != nil {
		setup = *w.Setup
	}
	often = []views.Field{
		{Name: "name", Label: e.say.say("Name"), Kind: "text", Value: w.Name, Wide: true},
		{Name: "station", Label: e.say.say("Station"), Kind: "select", Value: chosen(idOrNil(w.StationID)), Options: e.stationChoices()},
		number("attended", e.say.say("Minutes of work"), w.Attended, 1, e.say.say("Someone's hands on it.")),
		number("hands", e.say.say("People"), w.Hands, 1, ""),
		{Name: "phase", Label: e.say.say("Phase"), Kind: "select", Value: w.Phase, Options: e.say.phaseOptions()},
		{Name: "note", Label: e.say.say("Note"), Kind: "textarea", Value: w.Note, Wide: true},
	}
	more = []views.Field{
		{Name: "setup", Label: e.say.say("Setup"), Kind: "text", Value: setup.State, Help: e.say.say("The state the station must be in, e.g. thickness 22 mm. Empty: none.")},
		{Name: "what_to_set", Label: e.say.say("What to set"), Kind: "text", Value: setup.Instruction, Help: e.say.say("Shown large at the bench.")},
		{Name: "setup_kind", Label: e.say.say("Kind of setting"), Kind: "text", Value: e.say.shipped(setup.Family), Help: e.say.say("E.g. thickness, fence, bit. Empty: the first word of the setup.")},
		number("unattended", e.say.say("Minutes of rest after it"), w.Unattended, 0, e.say.say("In clamps, drying or resting; 0: none.")),
		{Name: "rest", Label: e.say.say("What the rest is"), Kind: "select", Value: w.Rest, Options: e.say.restOptions()},
		{Name: "interruptible", Label: e.say.say("may be put down and taken up again"), Kind: "check", Value: on(w.Interruptible)},
		{Name: "dusty", Label: e.say.say("raises dust"), Kind: "check", Value: on(w.Dusty)},
		{Name: "wet", Label: e.say.say("leaves it wet"), Kind: "check", Value: on(w.Wet), Help: e.say.say("No dust near it until it has dried.")},
		{Name: "glue", Label: e.say.say("Glue"), Kind: "select", Value: chosen(w.GlueID), Options: e.glueOptions(e.say.say("none"))},
		number("open_time", e.say.say("Open time, minutes"), w.OpenTime, 0, e.say.say("From first glue to last clamp; 0: no glue.")),
		{Name: "finish", Label: e.say.say("Finish"), Kind: "select", Value: chosen(w.FinishID), Options: e.finishOptions(e.say.say("none"))},
	}
	for _, class := range e.snap.Clamps {
		more = append(more, number(clampField(class.ID), class.Name, w.Clamps[class.ID], 0, e.say.say("Of %d, held until the rest is over.", class.Count)))
	}
	return often, more
}

func number(name, label string, value, least int, help string) views.Field {
	return views.Field{Name: name, Label: label, Kind: "number", Mode: "numeric", Value: strconv.Itoa(value), Least: strconv.Itoa(least), Help: help}
}

func clampField(id models.ID) string { return fmt.Sprintf("clamps.%d", id) }

func idOrNil(id models.ID) *models.ID {
	if id == 0 {
		return nil
	}
	return &id
}

func (w words) restOptions() []views.Option {
	options := []views.Option{{Name: w.say("none")}}
	for _, rest := range []models.Standing{models.StandsInClamps, models.StandsDrying, models.StandsResting} {
		options = append(options, views.Option{Value: string(rest), Name: w.standing(rest)})
	}
	return options
}

func (w words) phaseOptions() []views.Option {
	var options []views.Option
	for _, p := range models.Phases() {
		options = append(options, views.Option{Value: p, Name: capital(w.phase(p))})
	}
	return options
}

// stationChoices are the stations, and which of them are out of order.
func (e *editing) stationChoices() []views.Option {
	return options("", e.snap.Stations, func(st *models.Station) (models.ID, string) {
		if st.Down {
			return st.ID, e.say.say("%s (out of order)", st.Name)
		}
		return st.ID, st.Name
	})
}

// kindOptions are the kinds of the catalogue, by phase and name, and one's own.
func (s *server) kindOptions(w words) []views.Option {
	options := []views.Option{{Name: w.say("a step of my own")}}
	catalogue := s.library.Catalogue()
	for _, phase := range models.Phases() {
		for _, key := range catalogue.Kinds() {
			if k, ok := catalogue.Kind(key); ok && string(k.Phase) == phase {
				options = append(options, views.Option{Value: key, Name: capital(w.phase(phase)) + ": " + w.shipped(k.Name)})
			}
		}
	}
	return options
}

// readWork reads the questions about a step. was is what the step said so far:
// what the form does not ask stays, unless it becomes a step of another kind.
func (s *server) readWork(e *editing, in *reader, was models.StepWork) models.StepWork {
	w := models.StepWork{
		Name: in.kept("name", was.Name), Kind: in.text("kind"), Phase: in.text("phase"), Verb: was.Verb, Attended: in.whole("attended"),
		Unattended: in.whole("unattended"), Rest: in.text("rest"), Interruptible: in.check("interruptible"), Hands: in.whole("hands"),
		Dusty: in.check("dusty"), Wet: in.check("wet"), OpenTime: in.whole("open_time"), GlueID: in.record("glue"), FinishID: in.record("finish"),
		Cautions: was.Cautions, Note: in.kept("note", was.Note), Clamps: map[models.ID]int{},
	}
	if id := in.record("station"); id != nil {
		w.StationID = *id
	}
	if w.Kind != was.Kind {
		k, known := s.library.Catalogue().Kind(w.Kind)
		if !known && w.Kind != "" {
			in.refuse("kind", "There is no kind of step %q.", w.Kind)
		}
		w.Verb, w.Cautions = k.Verb, k.Cautions
	}
	w.Setup = readSetup(in, was.Setup)
	for _, class := range e.snap.Clamps {
		if n := in.whole(clampField(class.ID)); n != 0 {
			w.Clamps[class.ID] = n
		}
	}
	return w
}

func readSetup(in *reader, was *models.Setup) *models.Setup {
	if was == nil {
		was = &models.Setup{}
	}
	state := in.kept("setup", was.State)
	if state == "" {
		return nil
	}
	setup := &models.Setup{State: state, Family: in.kept("setup_kind", was.Family), Instruction: in.kept("what_to_set", was.Instruction)}
	if setup.Family == "" {
		setup.Family = strings.Fields(state)[0]
	}
	if setup.Instruction == "" {
		setup.Instruction = state
		if was.State == state {
			setup.Instruction = was.Instruction
		}
	}
	return setup
}

// workOfKind is what a new step of a kind says before anything is typed.
func (e *editing) workOfKind(k pattern.StepKind) models.StepWork {
	w := models.StepWork{Name: k.Name, Kind: k.Key, Phase: string(k.Phase), Verb: k.Verb, Attended: max(1, k.Minutes), Hands: 1,
		Interruptible: k.Interruptible, Dusty: k.Dusty, Wet: k.Wet, Cautions: k.Cautions}
	for _, st := range e.snap.Stations {
		if st.Kind == k.Station && (w.StationID == 0 || !st.Down) {
			w.StationID = st.ID
		}
	}
	if k.Glued && len(e.snap.Glues) > 0 {
		g := e.snap.Glues[0]
		w.GlueID, w.OpenTime, w.Rest, w.Unattended = &g.ID, g.OpenMin, string(pattern.InClamps), g.ClampMin
	}
	if k.Coated && len(e.snap.Finishes) > 0 {
		f := e.snap.Finishes[0]
		w.FinishID, w.Rest, w.Unattended = &f.ID, string(pattern.Drying), f.DryMin
	}
	if w.Unattended == 0 {
		w.Rest = ""
	}
	return w
}
