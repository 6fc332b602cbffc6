package handlers

import (
	"net/http"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
)

// tapAnswer is what a tablet's queue is told of one tap. State is
//
//	written  the journal has it (now, or since an earlier sending)
//	refused  it was not possible, and who tapped can be told at once
//	asked    it was not possible, and a person is asked about it
//	send     earlier ones have not come: send from number From
//
// Any other answer means that the tap is still to be sent.
type tapAnswer struct {
	State string    `json:"state"`
	From  int64     `json:"from,omitempty"`
	Why   string    `json:"why,omitempty"`
	Seq   int64     `json:"seq,omitempty"` // of the row that was written
	Now   time.Time `json:"now"`
}

// queued says whether a tap comes from a tablet's queue.
func queued(c *gin.Context) bool { return c.PostForm("queue") != "" }

// queuedTap reads where a tap stands in its tablet's queue: the form of any tap
// with a few fields more.
func (s *server) queuedTap(c *gin.Context, req *models.TapRequest) error {
	q := models.Queued{Queue: c.PostForm("queue"), First: c.PostForm("first") != "", Late: c.PostForm("late") != "", Heard: saidAt(c.PostForm("heard"))}
	var err error
	if q.Number, err = strconv.ParseInt(c.PostForm("number"), 10, 64); err != nil {
		return refused("number", c.PostForm("number"), "%q is no number of a tap in a tablet's queue.", c.PostForm("number"))
	}
	if text := c.PostForm("waited"); text != "" {
		ms, err := strconv.ParseInt(text, 10, 64)
		if err != nil || ms < 0 || ms > int64(100*365*24*time.Hour/time.Millisecond) {
			return refused("waited", text, "A tap cannot have waited %q milliseconds.", text)
		}
		q.Waited = time.Duration(ms) * time.Millisecond
	}
	if sent := saidAt(c.PostForm("sent_at")); sent != nil {
		off := sent.Sub(s.wallClock())
		req.ClockOff = &off
	}
	req.Queued, req.UndoesID = &q, c.PostForm("undoes_id")
	req.Doubted = doubted(c, req.PersonID)
	return nil
}

// doubted says whether what a tablet sends for a person may be somebody else's: that
// person is not signed in there now.
func doubted(c *gin.Context, person models.ID) bool {
	a := admission(c)
	return a.On && a.Role != models.Planner && (a.Person == nil || *a.Person != person)
}

// answerQueue tells a tablet's queue what its tap came to.
func (s *server) answerQueue(c *gin.Context, result models.TapResult, err error) {
	answer := tapAnswer{Now: s.store.Now(), State: "written"}
	switch back := result.Returned; {
	case err == nil:
		answer.Seq = result.Tap.Seq
	case models.CodeOf(err) == models.SignedOut: // the tablet keeps it until somebody signed in
		c.JSON(statusOf(err), tapAnswer{Now: answer.Now, Why: s.words(c).sentence(err)})
		return
	case statusOf(err) >= http.StatusInternalServerError:
		s.log.Error("a tap from a queue", "error", models.Logged(err))
		c.JSON(statusOf(err), tapAnswer{Now: answer.Now, Why: s.words(c).sentence(err)})
		return
	case result.SendFrom > 0:
		answer.State, answer.From, answer.Why = "send", result.SendFrom, s.words(c).sentence(err)
	case back != nil && back.Answer == models.AnswerOpen:
		answer.State, answer.Why = "asked", s.words(c).sentence(err)
	case back != nil && back.Answer != models.AnswerTold: // a person has answered it since
	default:
		answer.State, answer.Why = "refused", s.words(c).sentence(err)
	}
	c.JSON(http.StatusOK, answer)
}
