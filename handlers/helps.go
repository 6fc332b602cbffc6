package handlers

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"sync"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/behind"
	"faceside/models/phrase"
	"faceside/models/planner"
	"faceside/views"
)

const (
	// helpsFor bounds the search for what would help one commission.
	helpsFor = 2 * time.Minute
	// helpsFirst is how long the page waits for it before it is drawn.
	helpsFirst = 600 * time.Millisecond
	// helpsShown is how many changes are shown unfolded.
	helpsShown = 5
	// helpsKept is how long an answer is shown though other things were changed since.
	helpsKept = 30 * time.Minute
)

// helpsFound is what was found out of late, by commission. One is searched for at a
// time; another waits for the planner's turn.
type helpsFound struct {
	mu  sync.Mutex
	all map[models.ID]*helpsJob
}

// helpsJob is one search, under way or ended.
type helpsJob struct {
	mu    sync.Mutex
	helps planner.Helps
	err   error
	ended chan struct{}
}

// helpsJob returns the search for a commission; begun where there is none, it is too old,
// or it is to be made anew.
func (s *server) helpsJob(id models.ID, helper string, anew bool) *helpsJob {
	s.helps.mu.Lock()
	defer s.helps.mu.Unlock()
	if j := s.helps.all[id]; j != nil && !(anew && j.over()) && !j.old(s.store.Now()) {
		return j
	}
	for other, j := range s.helps.all {
		if j.over() && j.old(s.store.Now()) {
			delete(s.helps.all, other)
		}
	}
	if s.helps.all == nil {
		s.helps.all = map[models.ID]*helpsJob{}
	}
	j := &helpsJob{ended: make(chan struct{})}
	s.helps.all[id] = j
	go behind.Do(func() { s.findHelps(j, id, helper) })
	return j
}

// findHelps searches until it is done, the time is over or the program stops.
func (s *server) findHelps(j *helpsJob, id models.ID, helper string) {
	ctx, cancel := context.WithTimeout(context.Background(), helpsFor)
	defer cancel()
	go func() {
		select {
		case <-s.stopping:
			cancel()
		case <-ctx.Done():
		}
	}()
	err := s.planner.Helps(ctx, id, helper, func(h planner.Helps) {
		j.mu.Lock()
		j.helps = h
		j.mu.Unlock()
	})
	if err != nil && statusOf(err) >= http.StatusInternalServerError && !errors.Is(err, context.Canceled) {
		s.log.Error("look for what would help", "commission", id, "error", models.Logged(err))
	}
	j.mu.Lock()
	j.err = err
	j.mu.Unlock()
	close(j.ended)
}

func (j *helpsJob) over() bool {
	select {
	case <-j.ended:
		return true
	default:
		return false
	}
}

// old tells whether a search that has ended is not shown any more.
func (j *helpsJob) old(now time.Time) bool {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.over() && now.Sub(j.helps.At).Abs() > helpsKept
}

// known is what it has found so far.
func (j *helpsJob) known() (planner.Helps, error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.helps, j.err
}

// whatHelps shows what would help a commission, as far as it is found out.
func (s *server) whatHelps(c *gin.Context) {
	id, err := idOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	com := r.snap.Commission(id)
	if com == nil || com.State != models.Open {
		s.fail(c, &models.Error{Code: models.NotFound, Field: "commission", Value: fmt.Sprint(id), Sentence: phrase.Of("There is no open commission with number %d.", id)})
		return
	}
	j := s.helpsJob(id, r.say.say("Helper"), false)
	if !swapped(c) {
		first := time.NewTimer(helpsFirst)
		defer first.Stop()
		select {
		case <-j.ended:
		case <-first.C:
		case <-c.Request.Context().Done():
		}
	}
	h, err := j.known()
	if err != nil && statusOf(err) < http.StatusInternalServerError {
		s.fail(c, err)
		return
	}
	data := r.helpsView(com, &h, j.over())
	if err != nil {
		data.Wrong = r.say.say("The search was broken off: these are the changes that were tried until then.")
	}
	s.pageOrPart(c, http.StatusOK, "helps", "helps", r.say.say("What would help"), data)
}

// helpsAnew searches again, on the records as they are now.
func (s *server) helpsAnew(c *gin.Context) {
	id, err := idOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.helpsJob(id, s.words(c).say("Helper"), true)
	seeOther(c, helpsHref(id))
}

func helpsHref(id models.ID) string { return fmt.Sprintf("/commissions/%d/help", id) }

// helpsView tells what was found.
func (r *room) helpsView(com *models.Commission, h *planner.Helps, over bool) views.Helps {
	v := views.Helps{Name: com.Name, Href: helpsHref(com.ID), Commission: commissionHref(com.ID), Promised: r.say.date(com.PromisedOn), Running: !over,
		Tried: h.Tried, Of: h.Of}
	if !h.Before.Ends.IsZero() {
		v.Ends, v.Word, v.Mark = r.endIf(h.Before, models.Open, r.played.Of(com.ID))
	}
	if !h.At.IsZero() {
		v.At, v.Since = r.say.at(h.At), h.Revision != r.snap.Shop.Revision
	}
	for i := range h.Levers {
		if lever := r.lever(com.ID, &h.Levers[i]); i < helpsShown {
			v.Levers = append(v.Levers, lever)
		} else {
			v.More = append(v.More, lever)
		}
	}
	return v
}

// lever tells of one change that helps.
func (r *room) lever(commission models.ID, l *planner.Lever) views.Lever {
	v := views.Lever{}
	var with []string
	for i := range l.Changes {
		with = append(with, steerFields(l.Changes[i]).Encode())
	}
	for _, says := range l.Says {
		v.Says = append(v.Says, capital(r.say.tell(says)))
	}
	v.Href = whatIfHref(with)
	for i := range l.Promises {
		p := &l.Promises[i]
		row := r.promiseIf(p, l.Played)
		switch {
		case p.CommissionID == commission:
			v.Own = row
		case p.Moves():
			v.Others = append(v.Others, row)
		}
	}
	switch {
	case l.Cost > 0:
		v.Cost = r.say.say("%s more of hands", span(l.Cost))
	case l.Cost < 0:
		v.Cost = r.say.say("%s less of hands", span(-l.Cost))
	}
	return v
}
