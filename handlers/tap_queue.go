package handlers

import (
	"net/http"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/handlers/tapform"
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

// queuedTap says of a tap where it stands in its tablet's queue.
func (s *server) queuedTap(c *gin.Context, req *models.TapRequest, tap tapform.Tap) {
	q := tap.Queue
	req.Queued = &models.Queued{Queue: q.ID, Number: q.Number, First: q.First, Late: q.Late, Waited: q.Waited, Heard: q.Heard}
	if q.SentAt != nil {
		off := q.SentAt.Sub(s.wallClock())
		req.ClockOff = &off
	}
	req.UndoesID = tap.UndoesID
	req.Doubted = doubted(c, req.PersonID)
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
