package handlers

import (
	"context"
	"errors"
	"net/http"
	"os"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/views"
)

// statuses is the one table from what went wrong to what HTTP calls it.
var statuses = map[models.Code]int{
	models.Invalid:  http.StatusUnprocessableEntity,
	models.NotFound: http.StatusNotFound,
	models.Gone:     http.StatusGone,
	models.Conflict: http.StatusConflict,
	models.Stale:    http.StatusConflict,
	models.Internal: http.StatusInternalServerError,

	models.Barred:    http.StatusForbidden,
	models.SignedOut: http.StatusUnauthorized,
	models.TooSoon:   http.StatusTooManyRequests,
	models.Busy:      http.StatusServiceUnavailable,
	models.NoRoom:    http.StatusInsufficientStorage,

	models.DiskFull:  http.StatusInsufficientStorage,
	models.DiskFails: http.StatusServiceUnavailable,
}

// statusOf is the HTTP status of an error.
func statusOf(err error) int {
	var tooBig *http.MaxBytesError
	if errors.As(err, &tooBig) {
		return http.StatusRequestEntityTooLarge
	}
	if errors.Is(err, os.ErrDeadlineExceeded) {
		return http.StatusRequestTimeout
	}
	if status, ok := statuses[models.CodeOf(err)]; ok {
		return status
	}
	return http.StatusInternalServerError
}

// formStatus is the HTTP status of a form that was refused: fields that cannot
// be read are no error of the store.
func formStatus(err error) int {
	var fields *formError
	if errors.As(err, &fields) {
		return http.StatusUnprocessableEntity
	}
	return statusOf(err)
}

// failed says whether the server could not do what was asked, though nothing was wrong
// with it. That it is busy, or has no room, is told where it was asked, like any refusal.
func failed(err error) bool {
	return formStatus(err) >= http.StatusInternalServerError && !models.CodeOf(err).Refusal()
}

// sentence is what a person is told of an error. What is not theirs to mend
// stays in the log.
func (w words) sentence(err error) string {
	var known *models.Error
	if errors.As(err, &known) {
		return w.tell(known.Sentence)
	}
	var tooBig *http.MaxBytesError
	if errors.As(err, &tooBig) {
		return w.say("The form is larger than %d kB; nothing was saved.", bodyLimit>>10)
	}
	if errors.Is(err, os.ErrDeadlineExceeded) {
		return w.say("The form came too slowly and was not waited for; nothing was saved. Send it again.")
	}
	return w.say("The server could not do that; nothing was saved. The reason is in its log.")
}

// fail answers with a page that says what went wrong.
func (s *server) fail(c *gin.Context, err error) {
	if errors.Is(err, context.Canceled) {
		c.Abort() // the tablet went away; nobody reads the answer
		return
	}
	status := statusOf(err)
	if status >= http.StatusInternalServerError {
		s.log.Error("request failed", "method", c.Request.Method, "path", loggedPath(c), "error", models.Logged(err))
	}
	s.problem(c, status, s.words(c).sentence(err), err)
}

func (s *server) notFound(c *gin.Context) {
	s.problem(c, http.StatusNotFound, s.words(c).say("There is no page at %s.", c.Request.URL.Path), nil)
}

func (s *server) notAllowed(c *gin.Context) {
	s.problem(c, http.StatusMethodNotAllowed, s.words(c).say("%s cannot be sent to %s.", c.Request.Method, c.Request.URL.Path), nil)
}

// problem answers with the sentence: a page, for a script the one line above the
// screen, which stays as it is, or for a program what programs read.
func (s *server) problem(c *gin.Context, status int, sentence string, cause error) {
	if isAPI(c) {
		s.failAPI(c, status, sentence, cause)
	} else if swapped(c) {
		c.Header("HX-Retarget", "#failed")
		c.Header("HX-Reswap", "innerHTML")
		s.fragment(c, status, "problem", "failed", sentence)
	} else {
		s.page(c, status, "problem", s.words(c).say("Not possible"), views.Problem{Sentence: sentence, SignIn: plannerHref(c, status)})
	}
	c.Abort()
}
