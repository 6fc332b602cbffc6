package handlers

import (
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"faceside/models"
)

// who notes which person is at this tablet; where people sign in it asks for the PIN.
func (s *server) who(c *gin.Context) {
	snap, err := s.snapshot(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	text := c.PostForm("person")
	id, err := strconv.ParseInt(text, 10, 64)
	p := snap.Person(id)
	if err != nil || p == nil || !p.Active {
		s.problem(c, http.StatusUnprocessableEntity, s.words(c).say("Nobody who works here has the number %q.", text), nil)
		return
	}
	if a := admission(c); a.On && a.Role != models.Planner {
		s.signInAgain(c, p.ID, "/")
		return
	}
	setCookie(c, personCookie, strconv.FormatInt(p.ID, 10))
	seeOther(c, "/")
}
