package handlers

import (
	"fmt"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/planner"
	"faceside/views"
	"faceside/views/tongues"
)

// room is what a screen is drawn from: the records of one moment, the moment,
// and the shop's words for both.
type room struct {
	snap    *models.Snapshot // its texts in the shop's language
	records *models.Snapshot // as they are kept: what is written back comes from these
	at      time.Time
	say     words

	played *planner.Promises // what the weeks played last say; nil before the first

	atBench bool // who asks may not go to the planner's screens
}

// room reads what is open for one request.
func (s *server) room(c *gin.Context) (*room, error) {
	snap, err := s.snapshot(c)
	if err != nil {
		return nil, err
	}
	r, err := s.roomOf(snap)
	if err == nil {
		a := admission(c)
		r.atBench = a.On && a.Role != models.Planner
	}
	return r, err
}

// planners is the address of a screen of the planner's, "" for who may not go there:
// nobody is offered a link that is refused.
func (r *room) planners(href string) string {
	if r.atBench {
		return ""
	}
	return href
}

// plannersLink is a link to a screen of the planner's, nil for who may not go there.
func (r *room) plannersLink(name, href string) *views.Link {
	if r.atBench {
		return nil
	}
	return &views.Link{Name: name, Href: href}
}

// roomOf is a room at the moment of its records, in the shop's language.
func (s *server) roomOf(snap *models.Snapshot) (*room, error) {
	r, err := roomOf(snap, snap.At, s.views.In(snap.Shop.Language).Say)
	if err == nil {
		r.played = s.planner.Promises()
	}
	return r, err
}

func roomOf(snap *models.Snapshot, at time.Time, speaker *tongues.Speaker) (*room, error) {
	say, err := wordsOf(snap.Shop, at, speaker)
	if err != nil {
		return nil, err
	}
	return &room{snap: saidBy(speaker, snap), records: snap, at: at, say: say.named(snap)}, nil
}

// saidBy are the records with their texts in a language.
func saidBy(speaker *tongues.Speaker, snap *models.Snapshot) *models.Snapshot {
	if speaker.Code() == tongues.English {
		return snap
	}
	return snap.Said(speaker.Shipped)
}

// words are the shop's. They are found for a page about a failing database, and
// for a shop whose time zone this machine does not know, too.
func (s *server) words(c *gin.Context) words {
	snap, err := s.snapshot(c)
	if err != nil {
		return words{now: s.store.Now(), speaker: s.screens(c).Say}
	}
	w, err := wordsOf(snap.Shop, s.store.Now(), s.screens(c).Say)
	if err != nil {
		w = words{now: s.store.Now(), shop: snap.Shop, speaker: s.screens(c).Say}
	}
	return w.named(snap)
}

// commission is the name of a step's commission.
func (r *room) commission(id models.ID) string {
	if c := r.snap.Commission(id); c != nil {
		return c.Name
	}
	return ""
}

// who is a person's name, or "" for nobody.
func (r *room) who(id *models.ID) string {
	if id == nil {
		return ""
	}
	if p := r.snap.Person(*id); p != nil {
		return p.Name
	}
	return ""
}

// setting is what a station is set to, as it is shown in few words; "" for nothing that
// is known.
func (r *room) setting(id *models.ID) string {
	if id == nil {
		return ""
	}
	if setup := r.snap.Setup(*id); setup != nil {
		return setup.State
	}
	return ""
}

// inHand is the step a person has in hand, or nil.
func (r *room) inHand(person models.ID) *models.Step {
	for i := range r.snap.Steps {
		st := &r.snap.Steps[i]
		if st.State == models.InHand && st.PersonID != nil && *st.PersonID == person {
			return st
		}
	}
	return nil
}

// standing is where a step stands now: a step at rest stays so until a person
// says it is out, however long its time has been over.
func (r *room) standing(st *models.Step) models.Standing {
	if st.State != models.AtRest {
		return r.snap.Standing(st.ID, r.at)
	}
	switch st.Rest {
	case string(models.StandsInClamps):
		return models.StandsInClamps
	case "drying":
		return models.StandsDrying
	}
	return models.StandsResting
}

func stepHref(id models.ID) string       { return fmt.Sprintf("/steps/%d", id) }
func commissionHref(id models.ID) string { return fmt.Sprintf("/commissions/%d", id) }
