package handlers

import (
	"fmt"
	"net/http"
	"slices"
	"strings"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/planner"
	"faceside/views"
)

// How much of each station's queue the list shows.
const (
	stationRuns  = 3
	stationSteps = 4
)

func stationHref(id models.ID) string { return fmt.Sprintf("/stations/%d", id) }

// stationRoutes are the screens of the stations and of the time book.
func (s *server) stationRoutes(e *gin.Engine) {
	e.GET("/stations", s.stations)
	e.GET("/stations/:id", s.stationPage)
	e.GET("/times", s.times)
}

// stations is the screen of all stations.
func (s *server) stations(c *gin.Context) {
	data, err := s.stationsData(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.pageOrPart(c, http.StatusOK, "stations", "stations", s.words(c).say("Stations"), data)
}

func (s *server) stationsData(c *gin.Context) (views.Stations, error) {
	r, err := s.room(c)
	if err != nil {
		return views.Stations{}, err
	}
	taps, err := s.store.StationTaps(c.Request.Context())
	if err != nil {
		return views.Stations{}, err
	}
	base := s.baseline(c, r.snap)
	queues := planner.Queues(r.snap, r.at)
	data := views.Stations{Add: r.planners(sectionHref("stations"))}
	var down, inHand, ready []views.StationCard // those stand first that want somebody's eye
	for i := range r.snap.Stations {
		st := &r.snap.Stations[i]
		card := r.stationCard(st, queues[st.ID], taps[st.ID], base)
		r.queueRows(&card, queues[st.ID], stationRuns, stationSteps)
		switch {
		case st.Down:
			down = append(down, card)
		case len(card.Hand) > 0:
			inHand = append(inHand, card)
		case r.anyReady(queues[st.ID]):
			ready = append(ready, card)
		case queues[st.ID].Steps > 0:
			data.Later = append(data.Later, card)
		default:
			data.Idle = append(data.Idle, card)
		}
	}
	data.Cards = slices.Concat(down, inHand, ready)
	if base != nil && r.snap.Plan != nil {
		data.Basis = r.basis()
	}
	return data, nil
}

// anyReady tells whether something of a queue can be begun now.
func (r *room) anyReady(q *planner.Queue) bool {
	for _, run := range q.Runs {
		if slices.ContainsFunc(run.Steps, func(id models.ID) bool {
			standing := r.snap.Standing(id, r.at)
			return standing == models.StandsReady || standing == models.StandsPutDown && len(r.snap.WaitsFor(id, r.at)) == 0
		}) {
			return true
		}
	}
	return false
}

// basis says how the numbers of setups were made.
func (r *room) basis() string {
	return r.say.say("How it is counted: the plan's settings for the steps still to be begun, beside those of the same steps done commission by commission in order of promised date, laid out by the same rules for hours, hands, links, clamps and air.")
}

// baseline is the order of promised dates; nil where it could not be made, for
// the screens work without it.
func (s *server) baseline(c *gin.Context, snap *models.Snapshot) *planner.Baseline {
	base, err := s.planner.ByPromise(c.Request.Context(), snap)
	if err != nil {
		s.log.Info("no baseline", "error", err)
		return nil
	}
	return base
}

// stationCard tells how a station stands.
func (r *room) stationCard(st *models.Station, q *planner.Queue, taps models.StationTaps, base *planner.Baseline) views.StationCard {
	card := views.StationCard{Name: st.Name, Href: stationHref(st.ID), State: r.say.say("in order"), Mark: "done", Settled: !r.isSet(st.ID)}
	if st.Down {
		card.State, card.Mark, card.Down = r.say.say("out of order"), "in-trouble", r.downWords(taps.Order)
	}
	if !card.Settled {
		card.Set, card.SetBy = r.setWords(st, taps.Set)
		if next := q.Next(); next != nil {
			card.Next = r.nextWords(next)
		}
	}
	for i := range r.snap.Steps {
		if step := &r.snap.Steps[i]; step.StationID == st.ID && step.State == models.InHand {
			card.Hand = append(card.Hand, r.say.say("%[1]s has %[2]s in hand", r.who(step.PersonID), step.Name))
		}
	}
	if q.Steps > 0 {
		card.Left = r.say.say("%[1]d steps wait, %[2]s of work", q.Steps, span(q.Attended))
		if first := q.Runs[0].Start; !first.IsZero() {
			card.From = r.say.at(first)
		}
	}
	if base != nil && r.snap.Plan != nil && !card.Settled {
		card.Setups = r.setupsWords(planner.PlannedSetups(r.snap, st.ID), base.Setups(st.ID))
	}
	return card
}

// isSet tells whether any setup belongs to a station.
func (r *room) isSet(station models.ID) bool {
	for i := range r.snap.Setups {
		if r.snap.Setups[i].StationID == station {
			return true
		}
	}
	return false
}

// downWords says since when a station is out of order, who said so and why.
func (r *room) downWords(order *models.Tap) string {
	switch {
	case order == nil || order.Kind != models.TapDown:
		return r.say.say("Out of order.")
	case order.Note == "":
		return r.say.say("Out of order since %[1]s, says %[2]s.", r.say.at(order.At), r.who(&order.PersonID))
	}
	return r.say.say("Out of order since %[1]s, says %[2]s: %[3]s.", r.say.at(order.At), r.who(&order.PersonID), strings.TrimRight(order.Note, "."))
}

// setWords says how a station stands, and who tapped that.
func (r *room) setWords(st *models.Station, set *models.Tap) (how, by string) {
	if set != nil {
		by = r.say.say("tapped by %[1]s, %[2]s", r.who(&set.PersonID), r.say.at(set.At))
	}
	if how = r.setting(st.SetupID); how != "" {
		return how, by
	}
	if set == nil {
		return r.say.say("not known: nobody has tapped it yet"), ""
	}
	return r.say.say("set otherwise, or not known"), by
}

// nextWords says how a station is set next.
func (r *room) nextWords(next *planner.QueuedRun) string {
	setup := r.snap.Setup(next.SetupID)
	switch {
	case setup == nil:
		return ""
	case next.Minutes > 0:
		return r.say.say("%[1]s, %[2]s to set", setup.State, span(next.Minutes))
	}
	return setup.State
}

// setupsWords sets the plan beside the order of promised dates.
func (r *room) setupsWords(plan, dates planner.Count) string {
	if plan.Setups == 0 && dates.Setups == 0 {
		return ""
	}
	return r.say.say("%[1]d settings planned, %[2]s. In order of promised dates: %[3]d, %[4]s.",
		plan.Setups, span(plan.Minutes), dates.Setups, span(dates.Minutes))
}

// queueRows puts the queue on a card, at most so many runs and steps of each.
func (r *room) queueRows(card *views.StationCard, q *planner.Queue, runs, steps int) {
	shown := 0
	for i := range q.Runs {
		if i == runs {
			break
		}
		run := &q.Runs[i]
		row := views.QueuedRun{Mark: r.runMark(run), Set: run.Setting}
		if !run.Start.IsZero() {
			row.When = r.say.at(run.Start)
		}
		for k, id := range run.Steps {
			if k == steps {
				row.More = r.say.say("and %d more steps under it", len(run.Steps)-steps)
				break
			}
			if st := r.snap.Step(id); st != nil {
				row.Steps = append(row.Steps, r.queueRow(st))
			}
		}
		shown += len(run.Steps)
		card.Runs = append(card.Runs, row)
	}
	if q.Steps > shown {
		card.More = r.say.say("and %d more steps after these", q.Steps-shown)
	}
}

// queueRow is a step where its station is named already.
func (r *room) queueRow(st *models.Step) views.StepRow {
	row := r.row(st, false)
	row.Detail = r.work(st, r.standing(st))
	return row
}

// runMark says what stands before a run of the queue.
func (r *room) runMark(run *planner.QueuedRun) string {
	setup := r.snap.Setup(run.SetupID)
	switch {
	case setup == nil:
		return r.say.say("needs no setup")
	case !run.Setting:
		return r.say.say("%s: it stands so", setup.State)
	case run.Minutes > 0:
		return r.say.say("set %[1]s, %[2]s ## what is to be done", setup.State, span(run.Minutes))
	}
	return r.say.say("set %s ## a station", setup.State)
}
