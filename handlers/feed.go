package handlers

import (
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"faceside/models"
)

// calendarType is that of RFC 5545, section 3.1.4.
const calendarType = "text/calendar; charset=utf-8"

// Where calendars are read. The last part of the path is the secret.
const (
	shopFeedPath   = "/calendars/shop/:secret"
	personFeedPath = "/calendars/people/:id/:secret"
)

// feedRoutes are the calendars that other programs read.
func (s *server) feedRoutes(e *gin.Engine) {
	e.GET(shopFeedPath, s.inTurn, s.shopFeed)
	e.GET(personFeedPath, s.inTurn, s.personFeed)
	e.POST("/shop/calendars", s.renewFeed)
	e.POST("/shop/calendars/end", s.endFeed)
}

// shopFeed is the calendar of the whole shop.
func (s *server) shopFeed(c *gin.Context) { s.feed(c, nil) }

// personFeed is the calendar of one person.
func (s *server) personFeed(c *gin.Context) {
	id, err := idOf(c)
	if err != nil {
		s.refuseFeed(c, err)
		return
	}
	s.feed(c, &id)
}

func (s *server) feed(c *gin.Context, person *models.ID) {
	c.Header("Cache-Control", "private, no-store")
	c.Header("Referrer-Policy", "no-referrer") // the address is the key
	if _, err := s.store.OpenFeed(c.Request.Context(), person, feedSecret(c)); err != nil {
		s.refuseFeed(c, err)
		return
	}
	r, err := s.room(c)
	if err != nil {
		s.refuseFeed(c, err)
		return
	}
	text, err := r.calendar(person, origin(c))
	if err != nil {
		s.refuseFeed(c, err)
		return
	}
	c.Header("Content-Disposition", "inline; filename=faceside.ics")
	s.send(c, http.StatusOK, calendarType, text)
}

// feedSecret is what the path ends with, without the ending of a calendar's file.
func feedSecret(c *gin.Context) string { return strings.TrimSuffix(c.Param("secret"), ".ics") }

// refuseFeed answers a program that reads calendars, in a sentence that it may show.
func (s *server) refuseFeed(c *gin.Context, err error) {
	status := statusOf(err)
	if status >= http.StatusInternalServerError {
		s.log.Error("write a calendar", "path", loggedPath(c), "error", models.Logged(err))
	}
	c.String(status, "%s\n", s.words(c).sentence(err))
}

// loggedPath is the path of a request as a log may keep it: of what stands in it only
// numbers. A secret may stand there, a name that somebody gave, or anything at all where
// there is no such page.
func loggedPath(c *gin.Context) string {
	if c.FullPath() == "" {
		return "/(none)"
	}
	parts := strings.Split(c.FullPath(), "/")
	for i, part := range parts {
		if name, given := strings.CutPrefix(part, ":"); given && isNumber(c.Param(name)) {
			parts[i] = c.Param(name)
		}
	}
	return strings.Join(parts, "/")
}

func isNumber(text string) bool {
	_, err := strconv.ParseUint(text, 10, 32)
	return err == nil
}
