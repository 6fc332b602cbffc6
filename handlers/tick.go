package handlers

import (
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"
	"github.com/google/uuid"

	"faceside/models"
)

// tick notes that one piece of a step is done, or that it is not after all.
func (s *server) tick(c *gin.Context) {
	t, err := s.tickRequest(c)
	if err == nil && doubted(c, t.PersonID) {
		err = s.store.MayTick(c.Request.Context(), t.PersonID, t.Tablet, admission(c).Person != nil)
	}
	if err == nil {
		err = s.store.TickPart(c.Request.Context(), t)
	}
	forget(c)
	switch {
	case wantsJSON(c):
		s.answerTick(c, err)
	case err != nil && statusOf(err) >= http.StatusInternalServerError:
		s.fail(c, err)
	case err != nil:
		s.tapRefused(c, localPath(c.PostForm("back")), err)
	default:
		seeOther(c, localPath(c.PostForm("back")))
	}
}

// answerTick tells the tablet's script what came of a tick; an answer from 500 on, and
// 401, means that it is still to be sent.
func (s *server) answerTick(c *gin.Context, err error) {
	if err == nil {
		c.JSON(http.StatusOK, gin.H{})
		return
	}
	if statusOf(err) >= http.StatusInternalServerError {
		s.log.Error("a tick from a tablet", "error", models.Logged(err))
	}
	c.JSON(statusOf(err), gin.H{"why": s.words(c).sentence(err)})
}

func (s *server) tickRequest(c *gin.Context) (models.PartTick, error) {
	if err := parseForm(c); err != nil {
		return models.PartTick{}, err
	}
	t := models.PartTick{ID: c.PostForm("tick_id"), Done: c.PostForm("done") != "", Tablet: tabletID(c)}
	if _, err := uuid.Parse(t.ID); err != nil {
		return t, refused("tick_id", t.ID, "The tick has no id of its own (%q): load the page again.", t.ID)
	}
	var number models.ID
	for _, field := range []struct {
		name string
		to   *models.ID
	}{{"step", &t.StepID}, {"part", &t.PartID}, {"person", &t.PersonID}, {"number", &number}} {
		text := c.PostForm(field.name)
		n, err := strconv.ParseInt(text, 10, 32)
		if err != nil || n < 1 {
			return t, refused(field.name, text, "%q is no number of a record.", text)
		}
		*field.to = n
	}
	t.Number = int(number)
	return t, nil
}
