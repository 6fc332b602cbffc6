package handlers

import (
	"net/http"

	"github.com/gin-gonic/gin"
)

// gates is the screen of what keeps other steps waiting, of what is in clamps or
// drying, and of the rack.
func (s *server) gates(c *gin.Context) { s.gatesPage(c, http.StatusOK, "") }

// gatesPage draws the screen, with why a tap was refused there, "" if none was.
func (s *server) gatesPage(c *gin.Context, status int, notice string) {
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	data := r.gatesScreen()
	data.Notice = notice
	data.Plan, data.PlanBad = r.say.planNote(s.planner.Status())
	s.pageOrPart(c, status, "gates", "gates", r.say.say("Gates"), data)
}

// resting tells a page what is in clamps or drying, so that it can announce its end.
func (s *server) resting(c *gin.Context) {
	if !swapped(c) {
		seeOther(c, "/gates")
		return
	}
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.fragment(c, http.StatusOK, "gates", "resting", r.resting())
}
