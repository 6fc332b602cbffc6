package handlers

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/google/uuid"

	"faceside/models"
	"faceside/models/checks"
	"faceside/models/phrase"
	"faceside/models/planner"
	"faceside/views"
)

// planPatience is how long a screen waits for a plan made since the trouble; after
// that it says so, and is told by the live stream.
const planPatience = 400 * time.Millisecond

// troubleTold tells what came of the newest trouble of a step.
func (s *server) troubleTold(c *gin.Context) {
	id, err := idOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	data, err := s.toldData(c, id)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.pageOrPart(c, http.StatusOK, "trouble-told", "told", data.Step.Name, data)
}

func (s *server) toldData(c *gin.Context, id models.ID) (views.TroubleTold, error) {
	tap, err := s.store.TroubleOf(c.Request.Context(), id)
	if err != nil {
		return views.TroubleTold{}, err
	}
	if err := s.planSince(c, tap); err != nil {
		return views.TroubleTold{}, err
	}
	r, err := s.room(c)
	if err != nil {
		return views.TroubleTold{}, err
	}
	st := r.snap.Step(id)
	if st == nil {
		return views.TroubleTold{}, noOpenStep(id)
	}
	data := views.TroubleTold{Href: toldHref(id), Step: r.row(st, false), Commission: r.commission(st.CommissionID)}
	if tap == nil {
		return data, nil
	}
	said, err := tap.Told()
	if err != nil {
		return data, err
	}
	t := told{room: r, step: st, tap: tap, said: said}
	data.Said, data.Note, data.Does = t.sentence(), tap.Note, t.does()
	data.Undo, data.Settle = t.undo(), t.settle()
	if err := t.promises(c.Request.Context(), s, &data); err != nil {
		return data, err
	}
	return data, t.effects(c.Request.Context(), s, &data)
}

// planSince has a plan made where none was since the trouble: the planner is at it
// too, and whoever is first is shown.
func (s *server) planSince(c *gin.Context, tap *models.Tap) error {
	snap, err := s.snapshot(c)
	if err != nil || tap == nil || replanned(snap, tap) {
		return err
	}
	ctx, cancel := context.WithTimeout(c.Request.Context(), planPatience)
	defer cancel()
	if _, err := s.planner.Plan(ctx); err != nil && ctx.Err() == nil {
		return nil // the planner says on every screen why no plan can be made
	}
	forget(c)
	return nil
}

// replanned says whether the plan is another than the one followed at the trouble.
func replanned(snap *models.Snapshot, tap *models.Tap) bool {
	return snap.Plan != nil && (tap.PlanID == nil || snap.Plan.ID != *tap.PlanID)
}

// told tells of one trouble.
type told struct {
	*room
	step *models.Step
	tap  *models.Tap
	said *models.TroubleDetails // nil where only the note tells
}

func (t told) kind() models.TroubleKind { return t.tap.Trouble }

// troubleSays say what was reported: who, of what, when.
var troubleSays = map[models.TroubleKind]phrase.Key{
	models.TroubleSpoiled:  "%[1]s reported something spoiled in “%[2]s”, %[3]s.",
	models.TroubleOrder:    "%[1]s said that another step comes before “%[2]s”, %[3]s.",
	models.TroubleMissing:  "%[1]s reported that something is missing for “%[2]s”, %[3]s.",
	models.TroubleHelp:     "%[1]s asked for one more pair of hands for “%[2]s”, %[3]s.",
	models.TroubleHand:     "%[1]s called for a hand with “%[2]s”, %[3]s.",
	models.TroubleEstimate: "%[1]s said how long “%[2]s” really takes, %[3]s.",
	"":                     "%[1]s reported trouble with “%[2]s”, %[3]s.",
}

func (t told) sentence() string {
	return t.say.tell(troubleSays[t.kind()].Of(t.who(&t.tap.PersonID), t.step.Name, t.say.at(t.tap.At)))
}

// does says what the trouble means for the step.
func (t told) does() string {
	switch t.kind() {
	case models.TroubleSpoiled:
		if n := len(t.said.Effect.Came); n > 0 {
			return t.say.say("%d steps came back, and it waits for them.", n)
		}
		return t.say.say("Nothing was done before that would have to be done again.")
	case models.TroubleOrder:
		if first := t.snap.Step(t.said.FirstID); first != nil {
			return t.say.say("“%s” comes first now.", first.Name)
		}
	case models.TroubleMissing:
		if t.tap.ExpectedOn != "" {
			return t.say.say("It is expected on %s; until then the step is held, and everything else goes on.", t.say.date(t.tap.ExpectedOn))
		}
		return t.say.say("The step is held and not planned until it is there; everything else goes on.")
	case models.TroubleHelp, models.TroubleHand:
		return t.helps()
	case models.TroubleEstimate:
		return t.say.say("It was estimated at %s, and is at %s now.", span(max(t.step.FirstAttended, 1)), span(t.step.Attended))
	case "":
		return t.say.say("The step is held until somebody taps that the trouble is over.")
	}
	return ""
}

// helps says for when the hands are planned, and whose.
func (t told) helps() string {
	p := t.snap.Planned(t.step.ID)
	if p == nil || t.step.State == models.InHand {
		return t.say.say("It takes %d people now.", t.step.Hands)
	}
	var names []string
	for _, id := range p.PersonIDs {
		names = append(names, t.who(&id))
	}
	return t.say.say("It takes %[1]d people now, and is planned for %[2]s: %[3]s.", t.step.Hands, t.say.at(p.Start), strings.Join(names, ", "))
}

// undo takes the trouble back, while it is the newest of the step.
func (t told) undo() *views.TapForm {
	return &views.TapForm{ID: uuid.NewString(), Kind: string(models.TapUndo), Step: t.step.ID, Undoes: t.tap.Seq, Of: t.step.Name,
		Label: t.say.say("Take the trouble back"), Back: stepHref(t.step.ID)}
}

// settle says that it is over, where the step is held.
func (t told) settle() *views.TapForm {
	if t.step.State != models.InTrouble {
		return nil
	}
	return &views.TapForm{ID: uuid.NewString(), Kind: string(models.TapSettled), Step: t.step.ID, Of: t.step.Name,
		Label: t.settled(t.step), Back: stepHref(t.step.ID)}
}

// settled is the button that ends what holds a step.
func (r *room) settled(st *models.Step) string {
	if st.TroubleKind == models.TroubleMissing {
		return r.say.say("It is there now")
	}
	return r.say.say("Trouble is over")
}

// promises says what the trouble did to the promises: the plan now beside the one
// that was followed then.
func (t told) promises(ctx context.Context, s *server, data *views.TroubleTold) error {
	if data.Planning = !replanned(t.snap, t.tap); data.Planning || t.tap.PlanID == nil {
		return nil
	}
	before, err := s.store.Plan(ctx, *t.tap.PlanID)
	if models.CodeOf(err) == models.NotFound {
		return nil // too long ago to tell
	}
	if err != nil {
		return err
	}
	data.Promises = t.unplanned()
	for _, m := range planner.Moved(t.snap, before) {
		data.Promises = append(data.Promises, t.moved(m))
	}
	slices.SortStableFunc(data.Promises, func(a, b views.Promised) int { return strings.Compare(b.Mark, a.Mark) }) // the grave ones first
	if len(data.Promises) == 0 {
		data.Promises = []views.Promised{{Says: t.say.say("No promise moves."), Mark: "in-time", Word: t.say.say("in time")}}
	}
	return nil
}

func (t told) moved(m planner.PromiseMoved) views.Promised {
	p := views.Promised{Says: t.slip(planner.Slip(m)), Mark: "in-time", Word: t.say.say("in time")}
	if m.To.After(m.PromisedBy) {
		p.Mark, p.Word = "late", t.say.say("late")
	}
	return p
}

// unplanned says that nobody can say when the commission ends while what the step
// waits for is missing.
func (t told) unplanned() []views.Promised {
	com := t.snap.Commission(t.step.CommissionID)
	if com == nil || com.State != models.Open || planner.HeldUp(t.snap)[t.step.ID] != t.step.ID {
		return nil
	}
	return []views.Promised{{Mark: "waiting", Word: t.say.say("waiting"),
		Says: t.say.say("When “%s” is ready can be said once what is missing for “%s” is there.", com.Name, t.step.Name)}}
}

// effects tells what the trouble changed in the order of work.
func (t told) effects(ctx context.Context, s *server, data *views.TroubleTold) error {
	if t.said == nil {
		return nil
	}
	if t.kind() == models.TroubleOrder {
		return t.order(data)
	}
	for _, came := range t.said.Effect.Came {
		if st := t.snap.Step(came.ID); st != nil {
			row := t.row(st, false)
			if p := t.snap.Planned(st.ID); p != nil && st.State == models.Todo {
				row.When = t.say.at(p.Start)
			}
			data.Came = append(data.Came, row)
		}
	}
	if t.kind() == models.TroubleSpoiled {
		return t.wood(ctx, s, data)
	}
	return nil
}

// order says what the checks would stop for in where the two steps stand now.
func (t told) order(data *views.TroubleTold) error {
	data.Order = t.plannersLink(t.say.say("Look at the order of work"), editHref(t.step.CommissionID))
	all, err := findingsOf(t.records)
	if err != nil {
		return fmt.Errorf("check the order of work: %w", err)
	}
	for _, f := range all {
		if f.Severity == checks.Stops && (slices.Contains(f.steps, t.step.ID) || slices.Contains(f.steps, t.said.FirstID)) {
			data.Stops = append(data.Stops, t.say.tell(f.Reason))
		}
	}
	return nil
}

// wood says which boards on hand give the spoiled parts, or what to buy.
func (t told) wood(ctx context.Context, s *server, data *views.TroubleTold) error {
	boards, err := s.boardsOnHand(ctx)
	if err != nil {
		return err
	}
	all, err := planner.WoodFor(ctx, t.snap, t.said.Lost, boards)
	if err != nil {
		return err
	}
	w := s.stockWords(t.room)
	for _, one := range all {
		data.Wood = append(data.Wood, t.woodFor(w, one))
	}
	if len(all) > 0 {
		data.Cut = t.planners("/stock")
	}
	return nil
}

func (t told) woodFor(w stockWords, one planner.SpoiledWood) string {
	l := one.Line
	what := strconv.Itoa(l.Quantity) + " × " + l.Name
	switch {
	case !one.Measured:
		return t.say.say("%s: the part has no rough size, so no board was looked for.", what)
	case l.TooThick:
		return t.say.say("%s: no stock is that thick; it is glued up of thinner boards.", what)
	}
	buy := t.say.say("%s, at least %s", w.stock(l.Species, l.Quarter, l.Finished.Thickness), w.face(l.Rough.Length, l.Rough.Width))
	switch {
	case one.Short == l.Quantity:
		return t.say.say("%[1]s: no board on hand gives it. To buy: %[2]s.", what, buy)
	case one.Short > 0:
		return t.say.say("%[1]s: board %[2]s gives some; %[3]d are short. To buy: %[4]s.", what, strings.Join(one.Boards, ", "), one.Short, buy)
	}
	return t.say.say("%[1]s: board %[2]s gives it.", what, strings.Join(one.Boards, ", "))
}
