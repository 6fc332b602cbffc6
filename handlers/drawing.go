package handlers

import (
	"runtime"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models/behind"
)

// drawing is held by those that draw what the tablets fetch anew by themselves.
type drawing chan struct{}

// newDrawing leaves one processor for the taps.
func newDrawing() drawing { return make(drawing, max(1, runtime.NumCPU()-1)) }

// inTurn has such a screen wait for its turn: after one tap two hundred tablets
// ask at once, and the next tap must not wait for all of them. It is drawn behind the
// taps, too.
func (s *server) inTurn(c *gin.Context) {
	if _, err := s.snapshot(c); err != nil {
		s.fail(c, err)
		c.Abort()
		return
	}
	forget(c)
	select {
	case s.drawing <- struct{}{}:
		defer func() { <-s.drawing }()
		read := s.catchUp(c)
		began := time.Now()
		behind.Do(c.Next)
		s.readings.drawn(read, time.Since(began))
	case <-c.Request.Context().Done():
		c.Abort()
	}
}
