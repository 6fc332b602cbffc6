package handlers

import (
	"errors"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"
)

// How long a request may take, so that nobody keeps the server waiting: a form to
// come, a photo to come over a workshop's Wi-Fi, and from then on an answer to be made
// and taken.
const (
	formTime   = 30 * time.Second
	photoTime  = 5 * time.Minute
	answerTime = 2 * time.Minute
)

// timed sets the limits of one request. A live stream, which has no end, sets those of
// each of its writes itself.
func (s *server) timed(c *gin.Context) {
	coming := time.Duration(0)
	control := http.NewResponseController(c.Writer)
	if c.Request.ContentLength != 0 {
		coming = formTime
		if c.FullPath() == notesPath {
			coming = photoTime
		}
		if !s.deadline(c, control.SetReadDeadline, coming) {
			return
		}
	}
	if s.deadline(c, control.SetWriteDeadline, coming+answerTime) {
		c.Next()
	}
}

// deadline sets one; ok is false where the connection is gone.
func (s *server) deadline(c *gin.Context, set func(time.Time) error, in time.Duration) (ok bool) {
	err := set(time.Now().Add(in))
	if err == nil || errors.Is(err, http.ErrNotSupported) { // a test's own writer has none
		return true
	}
	s.log.Debug("set the limit of a request", "path", loggedPath(c), "error", err)
	c.Abort()
	return false
}
