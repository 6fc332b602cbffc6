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
	"connect-src 'self'; object-src 'none'; worker-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

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

// secured sets the headers every answer carries, which say what browsers may do with
// it. An action that lets it be kept says so itself. There is no
// Strict-Transport-Security: it would bar a tablet from the page over plain HTTP where it
// learns to trust this server's authority (trust.go), and so shut it out for good once a
// new authority was made.
func secured(c *gin.Context) {
	h := c.Writer.Header()
	h.Set("Content-Security-Policy", policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "same-origin")
	h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=()")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Cache-Control", "no-store")
	if overTLS(c.Request) || onlyHere(c) { // elsewhere browsers leave it aside, and complain
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
	}
	c.Next()
}

// limited keeps a request's body small, and to what a browser's form is written as.
// What takes a photo limits itself, so that it can say how large the photo was.
func (s *server) limited(c *gin.Context) {
	if c.Request.ContentLength != 0 && !formType(c) {
		s.problem(c, http.StatusUnsupportedMediaType, s.words(c).say("What was sent is written as %q, which is not read here.", short(c.ContentType())), nil)
		return
	}
	if c.FullPath() != notesPath {
		if c.Request.ContentLength > bodyLimit && c.ContentType() == gin.MIMEPOSTForm { // not waited for
			s.problem(c, http.StatusRequestEntityTooLarge, s.words(c).sentence(&http.MaxBytesError{Limit: bodyLimit}), nil)
			return
		}
		c.Request.Body = http.MaxBytesReader(c.Writer, c.Request.Body, bodyLimit)
	}
	if c.ContentType() == gin.MIMEPOSTForm {
		c.Set(formReadKey, c.Request.ParseForm()) // the library tells it only once
	}
	c.Next()
}

// formType says whether a body is written as forms of this address are.
func formType(c *gin.Context) bool {
	if packed := c.GetHeader("Content-Encoding"); packed != "" && packed != "identity" {
		return false // it is not unpacked: a small one can become any size
	}
	switch c.FullPath() {
	case notesPath, ownPatternsPath: // with a file
		return c.ContentType() == gin.MIMEMultipartPOSTForm
	}
	return c.ContentType() == gin.MIMEPOSTForm
}
