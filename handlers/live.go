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

// live is the stream of changes: an event "shop-changed" for each, named by the
// version it led to, so that a tablet that was away is told when it comes back.
func (s *server) live(c *gin.Context) {
	events, version, leave := s.hub.join()
	defer leave()
	h := c.Writer.Header()
	h.Set("Content-Type", "text/event-stream; charset=utf-8")
	h.Set("Cache-Control", "no-store")
	h.Set("X-Accel-Buffering", "no") // a proxy must pass each event on at once
	c.Status(http.StatusOK)
	out := stream{c.Writer, http.NewResponseController(c.Writer)}

	if err := out.write(greeting(c, version)); err != nil {
		return
	}
	beat := time.NewTicker(s.hub.heartbeat)
	defer beat.Stop()
	for {
		var text string
		select {
		case <-c.Request.Context().Done():
			return
		case <-s.stopping:
			return
		case <-beat.C:
			text = ": still here\n\n"
		case e, ok := <-events:
			if !ok {
				return
			}
			text = changed(e.version, e.kind)
		}
		if err := out.write(text); err != nil {
			return
		}
	}
}

// greeting tells a tablet at once when what it shows has moved on since.
func greeting(c *gin.Context, version string) string {
	seen := c.GetHeader("Last-Event-ID")
	if seen == "" {
		seen = c.Query("since")
	}
	if seen == version {
		return "retry: 1000\n: welcome\n\n"
	}
	return "retry: 1000\n" + changed(version, "missed")
}

func changed(version, kind string) string {
	return fmt.Sprintf("id: %s\nevent: shop-changed\ndata: %s\n\n", version, kind)
}

// stream writes events with a limit of their own, whatever limit the server
// sets on ordinary answers.
type stream struct {
	w    http.ResponseWriter
	ctrl *http.ResponseController
}

func (o stream) write(text string) error {
	if err := o.ctrl.SetWriteDeadline(time.Now().Add(writeLimit)); err != nil {
		return fmt.Errorf("set the stream's write limit: %w", err)
	}
	if _, err := o.w.Write([]byte(text)); err != nil {
		return fmt.Errorf("write to the stream: %w", err)
	}
	if err := o.ctrl.Flush(); err != nil {
		return fmt.Errorf("flush the stream: %w", err)
	}
	return nil
}
