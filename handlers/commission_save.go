package handlers

import (
	"net/url"

	"github.com/gin-gonic/gin"

	"faceside/models"
)

// saveCommission changes what is written of a commission.
func (s *server) saveCommission(c *gin.Context) {
	com, err := s.commissionOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	in, err := s.reader(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	in.about(com)
	if err = in.err(); err == nil {
		err = s.store.SaveCommission(c.Request.Context(), *com)
	}
	s.commissionSaved(c, com.ID, in.form, err)
}

// about reads the questions about a commission itself.
func (r *reader) about(com *models.Commission) {
	com.Name, com.Client, com.Note = r.text("name"), r.text("client"), r.text("note")
	com.PromisedOn, com.Weight = r.text("promised_date"), r.whole("weight")
}

// moveCommission holds, resumes, delivers or drops a commission.
func (s *server) moveCommission(c *gin.Context) {
	com, err := s.commissionOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	com.State = models.CommissionState(c.PostForm("state"))
	s.commissionSaved(c, com.ID, nil, s.store.SaveCommission(c.Request.Context(), *com))
}

// commissionOf reads the commission the path names; the record is the caller's own.
func (s *server) commissionOf(c *gin.Context) (*models.Commission, error) {
	_, com, err := s.commissionRead(c)
	if err != nil {
		return nil, err
	}
	changed := *com
	return &changed, nil
}

// commissionSaved goes back to the commission, or shows it again with what is
// wrong and, where a form was sent, what was typed.
func (s *server) commissionSaved(c *gin.Context, id models.ID, typed url.Values, refusal error) {
	forget(c)
	if refusal == nil {
		seeOther(c, commissionHref(id))
		return
	}
	data, err := s.commissionData(c, id)
	if err != nil {
		s.fail(c, err)
		return
	}
	if typed == nil {
		data.Notice = s.words(c).sentence(refusal)
	} else {
		s.words(c).refuse(&data.Edit, typed, refusal)
	}
	s.page(c, formStatus(refusal), "commission", data.Row.Name, data)
}
