package handlers

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/google/uuid"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/planner"
	"faceside/views"
)

// trouble asks what is wrong with a step.
func (s *server) trouble(c *gin.Context) {
	id, err := idOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.troublePage(c, http.StatusOK, id, nil)
}

// troubleAgain shows the question again after a refusal, with what was typed.
func (s *server) troubleAgain(c *gin.Context, id models.ID, refusal error) {
	s.troublePage(c, statusOf(refusal), id, refusal)
}

func (s *server) troublePage(c *gin.Context, status int, id models.ID, refusal error) {
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	st := r.snap.Step(id)
	if st == nil {
		s.fail(c, noOpenStep(id))
		return
	}
	data := troubleAsk{room: r, step: st, person: s.person(c, r.snap), typed: c.PostForm}.ask()
	switch {
	case refusal != nil:
		data.Notice = r.say.sentence(refusal)
	case len(data.Kinds) == 0:
		data.Notice = r.say.say("“%s” is %s: no trouble can be reported of it.", st.Name, r.say.standing(r.standing(st)))
	}
	s.page(c, status, "trouble", r.say.say("Trouble"), data)
}

// noOpenStep refuses a step of no open commission.
func noOpenStep(id models.ID) error {
	return &models.Error{Code: models.NotFound, Field: "step", Value: fmt.Sprint(id),
		Sentence: phrase.Of("No open commission has a step with number %d.", id)}
}

func toldHref(id models.ID) string { return stepHref(id) + "/trouble/told" }

// troubleAsk draws up the answers to "what is wrong?" for one step.
type troubleAsk struct {
	*room
	step   *models.Step
	person *models.Person
	typed  func(field string) string
}

// ask is the question with the answers that the step allows as it stands.
func (a troubleAsk) ask() views.Trouble {
	data := views.Trouble{Step: a.step.ID, Name: a.step.Name, Href: stepHref(a.step.ID), Commission: a.commission(a.step.CommissionID),
		TapID: uuid.NewString(), Told: toldHref(a.step.ID), Note: a.typed("note")}
	all := a.kinds()
	for _, kind := range a.step.CanReport() {
		switch ask := all[kind]; {
		case ask == nil:
		case kind == models.TroubleHelp && a.step.State == models.InHand:
			data.Kinds = slices.Insert(data.Kinds, 0, *ask) // who has the piece in both hands does not look for it
		default:
			data.Kinds = append(data.Kinds, *ask)
		}
	}
	if len(a.step.CanReport()) > 0 {
		data.Kinds = append(data.Kinds, a.other())
	}
	return data
}

func (a troubleAsk) kinds() map[models.TroubleKind]*views.TroubleKind {
	return map[models.TroubleKind]*views.TroubleKind{
		models.TroubleSpoiled: a.spoiled(), models.TroubleMissing: a.missing(), models.TroubleHelp: a.help(),
		models.TroubleEstimate: a.estimate(), models.TroubleOrder: a.order(),
	}
}

// spoiled asks which parts; nil where the step works on none.
func (a troubleAsk) spoiled() *views.TroubleKind {
	k := &views.TroubleKind{Key: string(models.TroubleSpoiled), Title: a.say.say("Something is spoiled"),
		Says: a.say.say("What was done to it before comes back, for just that many. What is on the rack for it is looked up.")}
	more := &views.TroubleMore{Title: a.say.say("Several"), Answer: views.TroubleAnswer{Value: "spoiled", Label: a.say.say("These are spoiled")}}
	several := 0
	for _, u := range a.snap.PartsOf(a.step.ID) {
		p := a.snap.Part(u.PartID)
		if p == nil {
			continue
		}
		k.Answers = append(k.Answers, views.TroubleAnswer{Value: fmt.Sprintf("spoiled:part:%d", p.ID), Label: "1 × " + p.Name, Detail: a.say.say("of %d", u.Quantity), Of: k.Title})
		name := countField(p.ID)
		more.Fields = append(more.Fields, views.Field{Name: name, Label: p.Name, Kind: "number", Mode: "numeric", Least: "0",
			Greatest: strconv.Itoa(u.Quantity), Value: a.typed(name), Help: a.say.say("how many of %d", u.Quantity)})
		several += u.Quantity
	}
	for _, id := range a.assemblies() {
		if made := a.snap.Assembly(id); made != nil {
			k.Answers = append(k.Answers, views.TroubleAnswer{Value: fmt.Sprintf("spoiled:all:%d", id), Label: made.Name, Detail: a.say.say("all that is in it"), Of: k.Title})
		}
	}
	if several > 1 {
		k.More = more
	}
	if len(k.Answers) == 0 {
		return nil
	}
	return k
}

// countField is the name of the field that says how many of a part are spoiled.
func countField(part models.ID) string { return fmt.Sprintf("count.%d", part) }

// assemblies are those that can be spoiled as a whole: what the step works on, and
// what it makes, once that is begun.
func (a troubleAsk) assemblies() []models.ID {
	var ids []models.ID
	if a.step.MakesID != nil && a.step.StartedAt != nil {
		ids = append(ids, *a.step.MakesID)
	}
	for _, u := range a.snap.AssembliesOf(a.step.ID) {
		if !slices.Contains(ids, u.AssemblyID) {
			ids = append(ids, u.AssemblyID)
		}
	}
	return ids
}

func (a troubleAsk) missing() *views.TroubleKind {
	return &views.TroubleKind{Key: string(models.TroubleMissing), Title: a.say.say("Hardware or stock is missing"),
		Says: a.say.say("This step is held until you tap that it is there; everything else goes on. With a day it is planned from then on."),
		Fields: []views.Field{{Name: "expected_day", Label: a.say.say("Expected on, if you know"), Kind: "date", Value: a.typed("expected_day"),
			Least: a.say.now.Format(time.DateOnly)}},
		Answers: []views.TroubleAnswer{{Value: "missing", Label: a.say.say("Hold this step")}}}
}

// help asks whose hands; nil where nobody else works here. Of a step in hand the work
// goes on meanwhile, unless it is put down.
func (a troubleAsk) help() *views.TroubleKind {
	k := &views.TroubleKind{Key: string(models.TroubleHelp), Title: a.say.say("It needs one more pair of hands"),
		Says: a.say.say("It is put down, and planned for when %d are free. The others are told.", a.step.Hands+1)}
	kind, to := models.TroubleHelp, ""
	if a.step.State == models.InHand {
		kind, to = models.TroubleHand, "/"
		k.Says = a.say.say("It stays in hand, and who is called sees it at once. Who came may be tapped on the Bench, now or later.")
	}
	if a.step.Hands > 1 { // whether or not it was tapped who is at it
		k.Says = a.say.say("It is planned for %d people; this asks for one more than those.", a.step.Hands) + " " + k.Says
	}
	answer := func(value, label string) {
		k.Answers = append(k.Answers, views.TroubleAnswer{Value: value, Label: label, Of: a.say.say("one more pair of hands"), To: to})
	}
	answer(string(kind), a.say.say("Anybody's"))
	active := 0
	for _, p := range a.snap.People {
		if !p.Active {
			continue
		}
		active++
		if a.person == nil || p.ID != a.person.ID {
			answer(fmt.Sprintf("%s:%d", kind, p.ID), p.Name)
		}
	}
	if a.step.Hands >= active {
		return nil
	}
	if active == 2 {
		k.Answers = k.Answers[1:] // there is one other
	}
	if kind == models.TroubleHand {
		k.Answers = append(k.Answers, views.TroubleAnswer{Value: string(models.TroubleHelp), Label: a.say.say("Put it down until then"),
			Detail: a.say.say("planned for when %d are free", a.step.Hands+1), Of: k.Title})
	}
	return k
}

// furthers are the minutes by which a step may take longer in one tap.
var furthers = []int{15, 30, 60}

func (a troubleAsk) estimate() *views.TroubleKind {
	left := planner.Left(a.snap, a.step, a.at)
	k := &views.TroubleKind{Key: string(models.TroubleEstimate), Title: a.say.say("The estimate is far off"),
		Says: a.say.say("By the estimate, %s, there are %s left. How much is it really?", span(a.step.Attended), span(left))}
	answer := func(label string, minutes int) {
		k.Answers = append(k.Answers, views.TroubleAnswer{Value: fmt.Sprintf("estimate:%d", minutes), Label: label, Detail: a.say.say("%s left ## of the work", span(minutes)), Of: k.Title})
	}
	for _, more := range furthers {
		answer("+"+span(more), left+more)
	}
	answer(a.say.say("Double"), 2*left)
	k.More = &views.TroubleMore{Title: a.say.say("Another time"), Open: a.typed("left") != "",
		Fields: []views.Field{{Name: "left", Label: a.say.say("Still to do"), Kind: "text", Mode: "text", Value: a.typed("left"), Help: a.say.say("For example 25 min or 1 h 30 min.")}},
		Answer: views.TroubleAnswer{Value: "estimate", Label: a.say.say("That much is left")}}
	return k
}

// firstsOffered is how many steps are offered to come first in one tap.
const firstsOffered = 3

// order asks which step comes first; nil where none is left that could.
func (a troubleAsk) order() *views.TroubleKind {
	k := &views.TroubleKind{Key: string(models.TroubleOrder), Title: a.say.say("Another step has to come first"),
		Says: a.say.say("This one waits for it from now on. What you choose must not be begun yet."),
		Link: a.plannersLink(a.say.say("Change the order of work"), editHref(a.step.CommissionID))}
	var options []views.Option
	for _, st := range a.firsts() {
		value := strconv.FormatInt(st.ID, 10)
		options = append(options, views.Option{Value: value, Name: st.Name})
		if len(k.Answers) < firstsOffered {
			k.Answers = append(k.Answers, views.TroubleAnswer{Value: "order:" + value, Label: st.Name, Of: k.Title})
		}
	}
	if len(options) > len(k.Answers) {
		k.More = &views.TroubleMore{Title: a.say.say("Another one"),
			Fields: []views.Field{{Name: "first", Label: a.say.say("This comes first"), Kind: "select", Value: a.typed("first"), Options: options}},
			Answer: views.TroubleAnswer{Value: "order", Label: a.say.say("Put it first")}}
	}
	return k
}

// firsts are the steps of the commission that could be put before this one, the
// likeliest at the head: those of the same piece that the plan has soonest.
func (a troubleAsk) firsts() []*models.Step {
	earlier := a.behind()
	var all []*models.Step
	for _, st := range a.snap.StepsOf(a.step.CommissionID) {
		if st.ID != a.step.ID && st.StartedAt == nil && !earlier[st.ID] {
			all = append(all, st)
		}
	}
	start := func(st *models.Step) int64 {
		if p := a.snap.Planned(st.ID); p != nil {
			return p.Start.Unix()
		}
		return 1 << 60
	}
	slices.SortStableFunc(all, func(x, y *models.Step) int {
		if near := (x.PieceID == a.step.PieceID); near != (y.PieceID == a.step.PieceID) {
			if near {
				return -1
			}
			return 1
		}
		return int(min(1, max(-1, start(x)-start(y))))
	})
	return all
}

// behind are the steps that come before this one already.
func (a troubleAsk) behind() map[models.ID]bool {
	found := map[models.ID]bool{}
	for open := []models.ID{a.step.ID}; len(open) > 0; open = open[1:] {
		for _, l := range a.snap.Before(open[0]) {
			if !found[l.BeforeID] {
				found[l.BeforeID] = true
				open = append(open, l.BeforeID)
			}
		}
	}
	return found
}

// other is trouble that only the note tells.
func (a troubleAsk) other() views.TroubleKind {
	return views.TroubleKind{Key: "other", Title: a.say.say("Something else"),
		Says:    a.say.say("This step is held until you tap that it is over, and planned from the next working day on."),
		Answers: []views.TroubleAnswer{{Value: "other", Label: a.say.say("Report it"), Of: a.say.say("Something else")}}}
}
