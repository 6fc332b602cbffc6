package handlers

import (
	"net/url"
	"strconv"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/planner"
)

// keepWhatIf keeps the changes of a what-if, or shows it again where something else
// was changed since.
func (s *server) keepWhatIf(c *gin.Context) {
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	if err := parseForm(c); err != nil {
		s.fail(c, err)
		return
	}
	asked := askedIf(c.Request.PostForm, r.say)
	if asked.err == nil && len(asked.of) > 0 {
		asked.err = s.keepAsked(c, r, &asked)
	}
	if asked.err == nil {
		forget(c)
		seeOther(c, "/steered?kept="+url.QueryEscape(c.PostForm("act")))
		return
	}
	refusal := asked.err
	asked.err = nil
	if failed(refusal) {
		s.fail(c, refusal)
		return
	}
	data, err := s.whatIfData(c, r, &asked, planner.IfAtOnce)
	if err != nil {
		data = r.askAgain(&asked, err)
	}
	data.Notice = r.say.sentence(refusal)
	s.page(c, formStatus(refusal), "what-if", r.say.say("What if"), data)
}

func (s *server) keepAsked(c *gin.Context, r *room, asked *whatIfAsked) error {
	seen, err := strconv.ParseInt(c.PostForm("revision"), 10, 64)
	if err != nil {
		seen = -1 // of no records: it is shown anew
	}
	var by models.ID
	if p := s.person(c, r.snap); p != nil {
		by = p.ID
	}
	_, err = s.store.Steer(c.Request.Context(), c.PostForm("act"), asked.of, by, seen)
	return err
}
