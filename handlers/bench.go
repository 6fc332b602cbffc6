package handlers

import (
	"cmp"
	"net/http"

	"github.com/gin-gonic/gin"

	"faceside/views"
)

// bench is the first screen: what the person at this tablet does next.
func (s *server) bench(c *gin.Context) {
	data, err := s.benchData(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.page(c, http.StatusOK, "bench", s.words(c).say("Bench"), data)
}

// benchLive is the part of the bench that follows the shop.
func (s *server) benchLive(c *gin.Context) {
	if !swapped(c) {
		seeOther(c, "/")
		return
	}
	data, err := s.benchData(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.fragment(c, http.StatusOK, "bench", "bench", data)
}

func (s *server) benchData(c *gin.Context) (views.Bench, error) {
	r, err := s.room(c)
	if err != nil {
		return views.Bench{}, err
	}
	data := r.bench(s.person(c, r.snap), s.station(c, r.snap), s.planner.Status(), s.baseline(c, r.snap))
	_, log := s.logSaid(r.say)
	if said := cmp.Or(log, s.clockSaid(r.say)); said != "" {
		data.Plan, data.PlanBad = said, true
	}
	if len(r.snap.People) == 0 {
		data.Tongues = s.tongues(r)
	}
	data.Questions = r.questions(tabletID(c), "/")
	switch {
	case data.InRun != nil:
		err = s.runAtHand(c, r, data.InRun)
	case data.Now != nil:
		data.More, err = s.atHand(c, r, data.Now, "")
	}
	return data, err
}
