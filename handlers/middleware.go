package handlers

import (
	"fmt"
	"net/http"
	"runtime/debug"

	"github.com/gin-gonic/gin"
)

// bodyLimit is the most a form may send, in bytes: the longest form here is a
// pattern's measures.
const bodyLimit = 256 << 10

// policy lets a page use what this server serves and nothing else; no script or
// style stands in the page itself.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; " +
	"connect-src 'self'; worker-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// recovered turns a panic into a logged error and a plain page.
func (s *server) recovered(c *gin.Context) {
	defer func() {
		if r := recover(); r != nil {
			s.log.Error("panic in a handler", "path", loggedPath(c), "panic", fmt.Sprint(r), "stack", string(debug.Stack()))
			if !c.Writer.Written() {
				s.fail(c, fmt.Errorf("panic: %v", r))
			}
			c.Abort()
		}
	}()
	c.Next()
}

// secured sets the headers every answer carries.
func secured(c *gin.Context) {
	h := c.Writer.Header()
	h.Set("Content-Security-Policy", policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "same-origin")
	h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=()")
	c.Next()
}

// limited keeps a request's body small. What takes a photo limits itself, so that
// it can say how large the photo was.
func limited(c *gin.Context) {
	if c.FullPath() == notesPath {
		c.Next()
		return
	}
	c.Request.Body = http.MaxBytesReader(c.Writer, c.Request.Body, bodyLimit)
	c.Next()
}
