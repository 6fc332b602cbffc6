package handlers

import (
	"fmt"
	"net/http"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/views"
)

// historyShown is how many rows of a step's journal its screen shows.
const historyShown = 50

// step is the screen of one step, in whatever state it is.
func (s *server) step(c *gin.Context) {
	id, err := idOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	data, err := s.stepData(c, id)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.pageOrPart(c, http.StatusOK, "step", "step", data.Card.Name, data)
}

// stepTaps says what was tapped on the step whose screen it is.
var stepTaps = map[models.TapKind]phrase.Key{
	models.TapStart:   "started it",
	models.TapPutDown: "put down it",
	models.TapFinish:  "finished it",
	models.TapOut:     "took out it",
	models.TapTrouble: "reported trouble with it",
	models.TapSettled: "settled the trouble with it",
	models.TapHelp:    "gave it further hands",
	models.TapManage:  "freed its helping hands",
	models.TapGather:  "went on with it in a run",
	models.TapSet:     "set it",
	models.TapUndo:    "took back a tap",
}

// stepTroubles says of which kind a trouble with it was.
var stepTroubles = map[models.TroubleKind]phrase.Key{
	models.TroubleSpoiled:  "reported something spoiled in it",
	models.TroubleOrder:    "said that another step comes before it",
	models.TroubleMissing:  "reported that something is missing for it",
	models.TroubleHelp:     "asked for one more pair of hands for it",
	models.TroubleHand:     "called for a hand with it",
	models.TroubleEstimate: "said how long it really takes",
}

func stepTap(tap models.Tap) phrase.Key {
	if words, known := stepTroubles[tap.Trouble]; known {
		return words
	}
	return stepTaps[tap.Kind]
}

func (s *server) stepData(c *gin.Context, id models.ID) (views.Step, error) {
	r, err := s.room(c)
	if err != nil {
		return views.Step{}, err
	}
	st := r.snap.Step(id)
	if st == nil {
		return views.Step{}, noOpenStep(id)
	}
	taps, err := s.store.Journal(c.Request.Context(), models.JournalFilter{StepID: id, Newest: historyShown})
	if err != nil {
		return views.Step{}, fmt.Errorf("read the journal of step %d: %w", id, err)
	}
	data := views.Step{Href: stepHref(id), Told: r.toldOf(st), Change: r.planners(editStepHref(st)), Card: r.card(st, stepHref(id)), Pin: r.pin(st), Why: r.whyThen(st)}
	if person := s.person(c, r.snap); person != nil {
		r.whyNow(&data.Card, person.ID)
	}
	if data.More, err = s.atHand(c, r, &data.Card, stepHref(id)); err != nil {
		return views.Step{}, err
	}
	for _, link := range r.snap.Before(id) {
		if before := r.snap.Step(link.BeforeID); before != nil {
			data.Before = append(data.Before, r.linked(before, link))
		}
	}
	for _, link := range r.snap.After(id) {
		if after := r.snap.Step(link.AfterID); after != nil {
			data.After = append(data.After, r.linked(after, link))
		}
	}
	for _, tap := range taps {
		row := views.TapRow{When: r.say.at(tap.At), Who: r.who(&tap.PersonID), What: r.say.tell(stepTap(tap).Of())}
		if tap.Note != "" {
			row.What += " (" + tap.Note + ")"
		}
		data.History = append(data.History, row)
	}
	data.Late, err = s.cameLate(c, r, id)
	return data, err
}

// linked is a step at the other end of a link, with the reason for it.
func (r *room) linked(st *models.Step, link models.Link) views.StepRow {
	row := r.row(st, false)
	row.Commission, row.Detail = "", r.say.shipped(link.Why)
	return row
}
