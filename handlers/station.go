package handlers

import (
	"fmt"
	"net/http"
	"slices"

	"github.com/gin-gonic/gin"
	"github.com/google/uuid"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/planner"
	"faceside/views"
)

// stationHistory is how many lines of a station's journal its screen shows, a run
// in one, and stationRead how many rows are read for them.
const (
	stationHistory = 30
	stationRead    = 300
)

// downReasons are the few large answers to "why is it out of order?".
var downReasons = []phrase.Key{"Blade dull", "Motor out", "Waiting for a part", "Something else"}

// stationPage is the screen of one station.
func (s *server) stationPage(c *gin.Context) {
	id, err := idOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	data, err := s.stationData(c, id)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.pageOrPart(c, http.StatusOK, "station", "station", data.Card.Name, data)
}

// stationRefused shows a station's screen again after a tap from it was refused,
// with the reason above; false where the tap came from no station.
func (s *server) stationRefused(c *gin.Context, back string, refusal error) bool {
	var id models.ID
	if _, err := fmt.Sscanf(back, "/stations/%d", &id); err != nil {
		return false
	}
	data, err := s.stationData(c, id)
	if err != nil {
		return false
	}
	data.Notice, data.Down.Note = s.words(c).sentence(refusal), c.PostForm("note")
	s.page(c, statusOf(refusal), "station", data.Card.Name, data)
	return true
}

// stationAsked reads the station that the path names.
func (s *server) stationAsked(c *gin.Context) (*room, *models.Station, error) {
	id, err := idOf(c)
	if err != nil {
		return nil, nil, err
	}
	r, err := s.room(c)
	if err != nil {
		return nil, nil, err
	}
	st, err := r.station(id)
	return r, st, err
}

// station is a station by its number.
func (r *room) station(id models.ID) (*models.Station, error) {
	if st := r.snap.Station(id); st != nil {
		return st, nil
	}
	return nil, &models.Error{Code: models.NotFound, Field: "station", Value: fmt.Sprint(id),
		Sentence: phrase.Of("The shop has no station with number %d.", id)}
}

func (s *server) stationData(c *gin.Context, id models.ID) (views.Station, error) {
	r, err := s.room(c)
	if err != nil {
		return views.Station{}, err
	}
	st, err := r.station(id)
	if err != nil {
		return views.Station{}, err
	}
	all, err := s.store.StationTaps(c.Request.Context())
	if err != nil {
		return views.Station{}, err
	}
	base, taps := s.baseline(c, r.snap), all[id]
	q := planner.Queues(r.snap, r.at)[id]
	person := s.person(c, r.snap)
	data := views.Station{
		Href: stationHref(id), Card: r.stationCard(st, q, taps, base), Nobody: person == nil,
		Limits: r.limits(st), Caution: st.Caution, EditHref: r.planners(fmt.Sprintf("/shop#stations-%d", id)),
	}
	r.queueRows(&data.Card, q, len(q.Runs), q.Steps)
	r.setButtons(&data, st, q)
	r.stationOrder(&data, st)
	for _, o := range planner.RunOffers(r.snap, r.at) {
		if o.StationID == id {
			offer := r.runOffer(o, base, 0)
			offer.Back, offer.Free = "/", r.mayTakeRun(person, st)
			data.Offers = append(data.Offers, offer)
		}
	}
	if person != nil {
		if run := r.atStation(person.ID, id); run != nil {
			data.Along = r.along(run)
		}
	}
	if err := s.stationMoved(c, r, &data, taps.Order); err != nil {
		return data, err
	}
	data.History, data.Undo, err = s.stationJournal(c, r, id)
	return data, err
}

// mayTakeRun tells whether somebody could take a run at a station now.
func (r *room) mayTakeRun(person *models.Person, st *models.Station) bool {
	if person == nil || st.Down || r.inHand(person.ID) != nil {
		return false
	}
	return !slices.ContainsFunc(r.snap.Steps, func(step models.Step) bool {
		return step.StationID == st.ID && step.State == models.InHand
	})
}

// setButtons offers the setups of the queue, in its order, and how it stands now.
func (r *room) setButtons(data *views.Station, st *models.Station, q *planner.Queue) {
	form := func(setup models.ID, label string) views.TapForm {
		return views.TapForm{ID: uuid.NewString(), Kind: string(models.TapSet), Station: st.ID, Setup: setup, Label: label, Back: stationHref(st.ID)}
	}
	wanted := map[models.ID]int{}
	var order []models.ID
	for _, run := range q.Runs {
		if run.SetupID != 0 && wanted[run.SetupID] == 0 {
			order = append(order, run.SetupID)
		}
		wanted[run.SetupID] += len(run.Steps)
	}
	if st.SetupID != nil && wanted[*st.SetupID] == 0 {
		order = append([]models.ID{*st.SetupID}, order...)
	}
	for _, id := range order {
		setup := r.snap.Setup(id)
		if setup == nil {
			continue
		}
		b := views.SetButton{TapForm: form(id, setup.State), Current: st.SetupID != nil && *st.SetupID == id}
		b.Note = r.say.say("%d steps want it", wanted[id])
		if wanted[id] == 0 {
			b.Note = r.say.say("no step wants it now")
		}
		data.Sets = append(data.Sets, b)
	}
	if len(order) > 0 {
		unknown := form(0, r.say.say("Set otherwise, or not known"))
		data.Unknown = &unknown
	}
}

// stationOrder offers to say that the station is out of order, or in order again.
func (r *room) stationOrder(data *views.Station, st *models.Station) {
	if st.Down {
		data.Up = &views.TapForm{ID: uuid.NewString(), Kind: string(models.TapUp), Station: st.ID, Label: r.say.say("In order again"), Back: stationHref(st.ID)}
		return
	}
	data.Down = views.DownForm{TapID: uuid.NewString(), Station: st.ID, Back: stationHref(st.ID)}
	data.Down.WhatIf = r.planners(tryHref(models.Steer{Kind: models.SteerDown, StationID: st.ID}))
	for _, reason := range downReasons {
		data.Down.Reasons = append(data.Down.Reasons, r.say.tell(reason.Of()))
	}
}

// limits lists what a station takes.
func (r *room) limits(st *models.Station) []views.Fact {
	var all []views.Fact
	add := func(name, value string) { all = append(all, views.Fact{Name: name, Value: value}) }
	if st.MaxWidth > 0 {
		width := r.say.length(st.MaxWidth)
		if st.OpenEnded {
			width = r.say.say("%[1]s, in two passes %[2]s", width, r.say.length(2*st.MaxWidth))
		}
		add(r.say.say("Greatest width"), width)
	}
	if st.MaxThickness > 0 {
		add(r.say.say("Greatest thickness"), r.say.length(st.MaxThickness))
	}
	if st.MinLength > 0 {
		add(r.say.say("Least length"), r.say.length(st.MinLength))
	}
	if st.Places > 1 {
		add(r.say.say("Steps at once"), fmt.Sprint(st.Places))
	}
	if st.SetupMinutes > 0 {
		add(r.say.say("Setting"), r.say.say("%[1]s; within the same kind %[2]s", span(st.SetupMinutes), span(st.ResetMinutes)))
	}
	return all
}

// stationMoved tells what became of the promises since the station went out of
// order, or since it came back, as long as that is news.
func (s *server) stationMoved(c *gin.Context, r *room, data *views.Station, order *models.Tap) error {
	if order == nil || order.PlanID == nil || r.snap.Plan == nil || order.Kind == models.TapUp && r.at.Sub(order.At) > undoFor {
		return nil
	}
	if r.snap.Plan.ID == *order.PlanID {
		data.Still = r.say.say("The plan is being made anew…")
		return nil
	}
	before, err := s.store.Plan(c.Request.Context(), *order.PlanID)
	if models.CodeOf(err) == models.NotFound {
		return nil
	}
	if err != nil {
		return err
	}
	data.MovedAt = r.say.at(order.At)
	for _, m := range planner.Moved(r.snap, before) {
		row := views.PromiseMoved{Name: m.Name, Href: r.planners(commissionHref(m.CommissionID)), Was: r.say.at(m.From), Is: r.say.at(m.To),
			Mark: "in-time", State: r.say.say("the promise holds")}
		if m.To.After(m.PromisedBy) {
			row.Mark, row.State = "late", r.say.say("after the promise, %s", r.say.at(m.PromisedBy))
		}
		data.Moved = append(data.Moved, row)
	}
	if len(data.Moved) == 0 {
		data.Still = r.say.say("Since %s no promise has moved.", data.MovedAt)
	}
	return nil
}

// stationTaps say a row of a station's journal.
var stationTaps = map[models.TapKind]phrase.Key{
	models.TapStart: "set it to %[1]s, for %[2]s", models.TapSet: "set it to %[1]s",
	models.TapDown: "put it out of order", models.TapUp: "put it in order again", models.TapUndo: "took back a tap",
}

// stationJournal tells what was tapped for a station, the newest first, and how
// the newest setting or report of it is taken back.
func (s *server) stationJournal(c *gin.Context, r *room, id models.ID) ([]views.TapRow, *views.TapForm, error) {
	taps, err := s.store.Journal(c.Request.Context(), models.JournalFilter{StationID: id, Newest: stationRead})
	if err != nil {
		return nil, nil, fmt.Errorf("read the journal of station %d: %w", id, err)
	}
	var undo *views.TapForm
	if counted := models.Effective(taps); len(counted) > 0 {
		last := counted[len(counted)-1]
		if last.StepID == nil && r.at.Sub(last.At) <= undoFor {
			undo = &views.TapForm{ID: uuid.NewString(), Kind: string(models.TapUndo), Undoes: last.Seq, Back: stationHref(id),
				Label: r.say.say("Undo: %s", r.stationTap(last))}
		}
	}
	var rows []views.TapRow
	for i := len(taps) - 1; i >= 0 && len(rows) < stationHistory; i-- {
		tap := taps[i]
		if tap.Act != "" && !tap.Joined && i > 0 && taps[i-1].Act == tap.Act {
			continue // the run's first step stands for it
		}
		rows = append(rows, views.TapRow{When: r.say.at(tap.At), Who: r.who(&tap.PersonID), What: r.stationTap(tap)})
	}
	return rows, undo, nil
}

// stationTap says one row, e.g. "set it to thickness 22 mm".
func (r *room) stationTap(tap models.Tap) string {
	to := r.setting(tap.SetupID)
	if to == "" {
		to = r.say.say("not known")
	}
	switch {
	case tap.Act != "" && tap.Kind == models.TapStart && !tap.Joined:
		return r.say.say("set it to %s, for a run", to)
	case tap.Kind == models.TapStart:
		step := r.say.say("a step of a closed commission")
		if st := r.snap.Step(*tap.StepID); st != nil {
			step = st.Name
		}
		return r.say.tell(stationTaps[tap.Kind].Of(to, step))
	case tap.Kind == models.TapSet:
		return r.say.tell(stationTaps[tap.Kind].Of(to))
	}
	said := r.say.tell(stationTaps[tap.Kind].Of())
	if tap.Note != "" {
		said += " (" + tap.Note + ")"
	}
	return said
}
