package handlers

import (
	"fmt"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"
)

// writeLimit is how long one write to a stream may take before the tablet
// counts as gone.
const writeLimit = 10 * time.Second

// gathering is how long what changes right after an event waits to be told
// together: a shop where much is tapped is told of ten times a second, not five
// hundred. What changes after a quiet moment is told at once.
const gathering = 100 * time.Millisecond

const livePath = "/live"

// live is the stream of changes: an event "shop-changed" with what changed, named
// by the version it led to, so that a tablet that was away is told when it comes
// back what it missed; a "beat" with the server's time every few seconds, so that
// it notices a network that died without a word; "elsewhere" when another page of
// the same tablet has taken the stream over.
func (s *server) live(c *gin.Context) {
	closed, ok := s.pace.open(askedFrom(c.Request))
	if !ok {
		s.askLater(c, writeLimit)
		return
	}
	defer closed()
	sub, leave := s.hub.join(tabletID(c), seen(c))
	defer leave()
	h := c.Writer.Header()
	h.Set("Content-Type", "text/event-stream; charset=utf-8")
	h.Set("X-Accel-Buffering", "no") // a proxy must pass each event on at once
	c.Status(http.StatusOK)
	out := streamWriter{c.Writer, http.NewResponseController(c.Writer)}

	if err := out.write("retry: 1000\n" + s.beat()); err != nil {
		return
	}
	beat := time.NewTicker(s.hub.heartbeat)
	defer beat.Stop()
	gathered := time.NewTimer(gathering)
	defer gathered.Stop()
	wake := sub.wake // nil while changes are gathered
	for {
		var text string
		select {
		case <-c.Request.Context().Done():
			return
		case <-s.stopping:
			return
		case <-sub.elsewhere:
			_ = out.write("event: elsewhere\ndata: \n\n") // the last word; it is not heard where the tablet is gone
			return
		case <-beat.C:
			if s.gone(c) {
				_ = out.write("event: signed-out\ndata: \n\n") // the last word
				return
			}
			text = s.beat()
		case <-gathered.C:
			wake = sub.wake
			continue
		case <-wake:
			e, ok := s.hub.news(sub)
			if !ok {
				continue
			}
			text, wake = e.text(), nil
			gathered.Reset(gathering)
		}
		if err := out.write(text); err != nil {
			return
		}
	}
}

// gone says whether who opened the stream is signed in no more.
func (s *server) gone(c *gin.Context) bool {
	a, err := s.store.Admit(c.Request.Context(), shown(c), false)
	return err == nil && a.On && !allows(a, bench, c)
}

// seen is the version that a tablet saw last.
func seen(c *gin.Context) string {
	if id := c.GetHeader("Last-Event-ID"); id != "" {
		return id
	}
	return c.Query("since")
}

// beat tells the server's time.
func (s *server) beat() string {
	return "event: beat\ndata: " + s.store.Now().Format(time.RFC3339Nano) + "\n\n"
}

// streamWriter writes events with a limit of their own, whatever limit there is on
// ordinary answers. Between two events there is none: over HTTP/2 one would end the
// stream though nothing is being written.
type streamWriter struct {
	w    http.ResponseWriter
	ctrl *http.ResponseController
}

func (o streamWriter) write(text string) error {
	if err := o.ctrl.SetWriteDeadline(time.Now().Add(writeLimit)); err != nil {
		return fmt.Errorf("set the stream's write limit: %w", err)
	}
	if _, err := o.w.Write([]byte(text)); err != nil {
		return fmt.Errorf("write to the stream: %w", err)
	}
	if err := o.ctrl.Flush(); err != nil {
		return fmt.Errorf("flush the stream: %w", err)
	}
	if err := o.ctrl.SetWriteDeadline(time.Time{}); err != nil {
		return fmt.Errorf("lift the stream's write limit: %w", err)
	}
	return nil
}
