package handlers

import (
	"net/http"
	"slices"
	"sync"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/planner"
	"faceside/views"
)

// aheadMost is how many steps a tablet knows beyond the one on its bench: a
// morning's work without a connection.
const aheadMost = 12

// ahead is what the tablet's script keeps for the time without a connection:
// the cards of the steps that this person would be shown one after the other.
func (s *server) ahead(c *gin.Context) {
	if !swapped(c) {
		seeOther(c, "/")
		return
	}
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	person, at := s.person(c, r.snap), s.station(c, r.snap)
	if person == nil {
		s.fragment(c, http.StatusOK, "bench", "ahead", views.Ahead{})
		return
	}
	key := aheadKey{version: s.version(c), language: r.say.speaker.Code(), minute: r.at.Truncate(time.Minute), person: person.ID}
	if at != nil {
		key.station = at.ID
	}
	out, err := s.aheads.once(key, func() ([]byte, error) {
		known, err := s.aheadOf(c, r, person, at)
		if err != nil {
			return nil, err
		}
		return s.screens(c).Fragment("bench", "ahead", known)
	})
	s.answer(c, http.StatusOK, out, err)
}

// aheadKey is what the cards ahead hang on.
type aheadKey struct {
	version, language string
	minute            time.Time
	person, station   models.ID
}

// aheads keeps what was drawn for one state of the shop: after each change every
// tablet asks, and most of them the same.
type aheads struct {
	mu    sync.Mutex
	drawn map[aheadKey][]byte
}

func (a *aheads) once(key aheadKey, draw func() ([]byte, error)) ([]byte, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if out, ok := a.drawn[key]; ok {
		return out, nil
	}
	out, err := draw()
	if err != nil {
		return nil, err
	}
	for k := range a.drawn {
		if k.version != key.version || k.minute != key.minute {
			delete(a.drawn, k)
		}
	}
	if a.drawn == nil {
		a.drawn = map[aheadKey][]byte{}
	}
	a.drawn[key] = out
	return out, nil
}

// aheadOf is what a person could be shown next, with what a maker may tap of it.
func (s *server) aheadOf(c *gin.Context, r *room, person *models.Person, at *models.Station) (views.Ahead, error) {
	runs, err := s.runsAhead(c, r, person)
	if err != nil {
		return views.Ahead{}, err
	}
	along, err := s.alongAhead(c, r, person)
	if err != nil {
		return views.Ahead{}, err
	}
	runs = append(runs, along...)
	a := aheadCards{room: r.trial(), person: person, known: map[models.ID]bool{}}
	if run := r.snap.RunInHand(person.ID); run != nil {
		for _, id := range run.Steps {
			a.ask(a.snap.Step(id))
		}
	}
	if err := a.play(at); err != nil {
		return views.Ahead{}, err
	}
	return views.Ahead{Cards: a.cards, Runs: runs, Troubles: a.troubles}, nil
}

// trial is a room whose steps may be moved on.
func (r *room) trial() *room {
	t := *r
	t.snap = r.snap.Trial()
	return &t
}

// aheadCards gathers the cards of the steps ahead. The room is a trial's.
type aheadCards struct {
	*room
	person   *models.Person
	known    map[models.ID]bool
	cards    []views.StepCard
	troubles []views.Trouble
}

// play plays the next steps through: each finished as soon as it is begun, so
// that the next is what the bench would show then. What could run under the
// present setup is known too.
func (a *aheadCards) play(at *models.Station) error {
	now := a.inHand(a.person.ID)
	if now == nil {
		now = a.next(at)
	}
	var run []models.ID
	if now != nil {
		run = planner.SameSetup(a.snap, now.ID, a.at)
	}
	for ; now != nil && len(a.cards) < aheadMost; now = a.next(at) {
		if now.State != models.InHand {
			a.add(now)
			if err := a.move(now, models.TapStart); err != nil {
				return err
			}
		}
		a.ask(now)
		if err := a.move(now, models.TapFinish); err != nil {
			return err
		}
	}
	for _, id := range run {
		if st := a.snap.Step(id); st != nil && st.State != models.Done && st.State != models.AtRest {
			a.add(st)
			a.ask(st)
		}
	}
	return nil
}

// next is the step that the bench would show now.
func (a *aheadCards) next(at *models.Station) *models.Step {
	for _, s := range stationFirst(a.snap, planner.Next(a.snap, a.person.ID, a.at), at) {
		if st := a.snap.Step(s.StepID); st != nil && s.Ready {
			return st
		}
	}
	return nil
}

func (a *aheadCards) add(st *models.Step) {
	if a.known[st.ID] {
		return
	}
	a.known[st.ID] = true
	card := a.card(st, "")
	card.Big = true
	a.cards = append(a.cards, card)
}

// ask adds what can be said of trouble with a step, once.
func (a *aheadCards) ask(st *models.Step) {
	asked := func(t views.Trouble) bool { return t.Step == st.ID }
	if st == nil || len(st.CanReport()) == 0 || slices.ContainsFunc(a.troubles, asked) {
		return
	}
	a.troubles = append(a.troubles, troubleAsk{room: a.room, step: st, person: a.person, typed: func(string) string { return "" }}.ask())
}

// move lets a tap of the person take effect on a step, in memory.
func (a *aheadCards) move(st *models.Step, kind models.TapKind) error {
	return st.Move(models.Tap{Kind: kind, PersonID: a.person.ID, At: a.at})
}

// runsAhead are the runs that a person can take now, as they look in hand.
func (s *server) runsAhead(c *gin.Context, r *room, person *models.Person) ([]views.RunCard, error) {
	var cards []views.RunCard
	offers := planner.RunOffers(r.snap, r.at)
	var steps []models.ID
	for _, o := range offers {
		steps = append(steps, o.Steps...)
	}
	ticked, err := s.store.Ticked(c.Request.Context(), steps...)
	if err != nil {
		return nil, err
	}
	for _, o := range offers {
		if st := r.snap.Station(o.StationID); st == nil || !r.mayTakeRun(person, st) {
			continue
		}
		card, err := r.runAhead(models.Run{PersonID: person.ID, StationID: o.StationID, SetupID: o.SetupID, TakenAt: r.at, Steps: o.Steps}, ticked)
		if err != nil {
			return nil, err
		}
		card.Times = "" // nobody knows yet
		cards = append(cards, card)
	}
	return cards, nil
}

// alongAhead is what a person has in hand with all that can be taken along with it, as
// the run that it would be; none where nothing can.
func (s *server) alongAhead(c *gin.Context, r *room, person *models.Person) ([]views.RunCard, error) {
	run := r.single(r.inHand(person.ID))
	if run == nil {
		return nil, nil
	}
	along := r.along(run)
	if len(along) == 0 {
		return nil, nil
	}
	for _, a := range along {
		run.Steps = append(run.Steps, a.Step.ID)
	}
	ticked, err := s.store.Ticked(c.Request.Context(), run.Steps...)
	if err != nil {
		return nil, err
	}
	card, err := r.runAhead(*run, ticked)
	card.Along = along
	return []views.RunCard{card}, err
}

// runAhead is how a run looks that nobody has taken yet. Of what is in hand the tap
// makes a run; all else it takes in hand.
func (r *room) runAhead(run models.Run, ticked map[models.ID]models.Ticked) (views.RunCard, error) {
	run.ID = "run" // the tap that takes it gives it its id
	t := r.trial()
	for _, step := range run.Steps {
		st := t.snap.Step(step)
		kind := models.TapStart
		if st.State == models.InHand {
			kind = models.TapGather
		}
		if err := st.Move(models.Tap{Kind: kind, PersonID: run.PersonID, At: r.at, Act: run.ID, Share: st.Attended}); err != nil {
			return views.RunCard{}, err
		}
	}
	card := t.runCard(&run)
	for _, step := range card.Steps {
		tickable(step.Parts, t.snap.Step(step.ID), ticked[step.ID], run.PersonID, "")
	}
	return card, nil
}

// stationFirst puts the steps at a tablet's own station before the others, each
// group in its order; those that can be taken stay before those that wait.
func stationFirst(snap *models.Snapshot, all []planner.Suggestion, at *models.Station) []planner.Suggestion {
	if at == nil {
		return all
	}
	out := make([]planner.Suggestion, 0, len(all))
	for _, ready := range []bool{true, false} {
		for _, own := range []bool{true, false} {
			for _, s := range all {
				st := snap.Step(s.StepID)
				if s.Ready == ready && st != nil && (st.StationID == at.ID) == own {
					out = append(out, s)
				}
			}
		}
	}
	return out
}

// pageTablet is what the scripts of a page are told.
func (s *server) pageTablet(c *gin.Context) views.PageTablet {
	t := views.PageTablet{Now: s.store.Now().Format(time.RFC3339Nano), BeatMs: s.hub.heartbeat.Milliseconds()}
	r, err := s.room(c)
	if err != nil {
		return t // a page about a failing database is drawn all the same
	}
	t.Zone = r.snap.Shop.TimeZone
	if p := s.person(c, r.snap); p != nil {
		t.Person = p.ID
	}
	for _, standing := range []models.Standing{models.StandsInHand, models.StandsPutDown, models.StandsDone, models.StandsInTrouble} {
		m := views.Moved{Mark: mark(standing), Standing: r.say.standing(standing)}
		if standing != models.StandsInTrouble {
			m.Actions = r.actions(&models.Step{}, standing, "")
		}
		for i := range m.Actions {
			m.Actions[i].ID = "" // the script makes it when it is tapped
		}
		t.Moved = append(t.Moved, m)
	}
	return t
}
