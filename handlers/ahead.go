package handlers

import (
	"net/http"
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
	key := aheadKey{version: s.version(c), minute: r.at.Truncate(time.Minute), person: person.ID}
	if at != nil {
		key.station = at.ID
	}
	out, err := s.aheads.once(key, func() ([]byte, error) {
		r.snap = r.snap.Trial()
		cards, err := r.ahead(person.ID, at)
		if err != nil {
			return nil, err
		}
		return s.screens(c).Fragment("bench", "ahead", views.Ahead{Cards: cards})
	})
	s.answer(c, http.StatusOK, out, err)
}

// aheadKey is what the cards ahead hang on.
type aheadKey struct {
	version         string
	minute          time.Time
	person, station models.ID
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

// ahead plays the next steps through: each finished as soon as it is begun, so
// that the next is what the bench would show then. The room is a trial's. What
// could run under the present setup is known too.
func (r *room) ahead(person models.ID, at *models.Station) ([]views.StepCard, error) {
	var cards []views.StepCard
	known := map[models.ID]bool{}
	add := func(st *models.Step) {
		if !known[st.ID] {
			known[st.ID] = true
			card := r.card(st, "")
			card.Big = true
			cards = append(cards, card)
		}
	}
	next := func() *models.Step {
		for _, s := range stationFirst(r.snap, planner.Next(r.snap, person, r.at), at) {
			if st := r.snap.Step(s.StepID); st != nil && s.Ready {
				return st
			}
		}
		return nil
	}
	now := r.inHand(person)
	if now == nil {
		now = next()
	}
	var run []models.ID
	if now != nil {
		run = planner.SameSetup(r.snap, now.ID, r.at)
	}
	for ; now != nil && len(cards) < aheadMost; now = next() {
		if now.State != models.InHand {
			add(now)
		}
		if err := playThrough(now, person, r.at); err != nil {
			return nil, err
		}
	}
	for _, id := range run {
		if st := r.snap.Step(id); st != nil && st.State != models.Done && st.State != models.AtRest {
			add(st)
		}
	}
	return cards, nil
}

// playThrough takes a step from where it stands to finished, in memory.
func playThrough(st *models.Step, person models.ID, at time.Time) error {
	kinds := []models.TapKind{models.TapStart, models.TapFinish}
	if st.State == models.InHand {
		kinds = kinds[1:]
	}
	for _, kind := range kinds {
		if err := st.Move(models.Tap{Kind: kind, PersonID: person, At: at}); err != nil {
			return err
		}
	}
	return nil
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
