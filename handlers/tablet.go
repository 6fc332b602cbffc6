package handlers

import (
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"
	"github.com/google/uuid"

	"faceside/models"
)

const (
	tabletCookie = "faceside_tablet"
	personCookie = "faceside_person"
	cookieLife   = 400 * 24 * 60 * 60 // seconds; the most browsers keep a cookie
)

// tablet gives every browser an id of its own, so that the journal can say
// which tablet a tap came from.
func tablet(c *gin.Context) {
	path := c.Request.URL.Path
	if strings.HasPrefix(path, "/static/") || path == "/healthz" || path == "/live" {
		c.Next()
		return
	}
	id, err := c.Cookie(tabletCookie)
	if _, bad := uuid.Parse(id); err != nil || bad != nil {
		id = uuid.NewString()
		setCookie(c, tabletCookie, id)
	}
	c.Set(tabletCookie, id)
	c.Next()
}

// tabletID is the id of the asking tablet.
func tabletID(c *gin.Context) string { return c.GetString(tabletCookie) }

// person is who said they are at this tablet, if they still work here.
func (s *server) person(c *gin.Context, snap *models.Snapshot) *models.Person {
	text, err := c.Cookie(personCookie)
	if err != nil {
		return nil
	}
	id, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return nil
	}
	p := snap.Person(id)
	if p == nil || !p.Active {
		return nil
	}
	return p
}

func setCookie(c *gin.Context, name, value string) {
	http.SetCookie(c.Writer, &http.Cookie{
		Name: name, Value: value, Path: "/", MaxAge: cookieLife,
		HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: c.Request.TLS != nil,
	})
}
