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
	id := cookieTablet(c)
	if id == "" && !isFile(path) && path != livePath {
		id = uuid.NewString()
		setCookie(c, tabletCookie, id)
	}
	c.Set(tabletCookie, id)
	c.Next()
}

// cookieTablet is the id that the asking tablet says it has, "" for none.
func cookieTablet(c *gin.Context) string {
	id, err := c.Cookie(tabletCookie)
	if _, bad := uuid.Parse(id); err != nil || bad != nil {
		return ""
	}
	return id
}

// isFile tells paths that no person looks at.
func isFile(path string) bool {
	for _, of := range []string{"/static/", "/calendars/", trustPath, apiPath + "/"} {
		if strings.HasPrefix(path, of) {
			return true
		}
	}
	return path == "/healthz" || path == "/readyz" || path == "/sw.js"
}

// tabletID is the id of the asking tablet.
func tabletID(c *gin.Context) string { return c.GetString(tabletCookie) }

// person is who said they are at this tablet, or whose tablet it is, if they
// still work here. Where people sign in it is who did; the planner may be anybody.
func (s *server) person(c *gin.Context, snap *models.Snapshot) *models.Person {
	a := admission(c)
	id, said := personSaid(c)
	if a.On && (a.Role != models.Planner || !said) {
		if a.Person == nil {
			return nil
		}
		id, said = *a.Person, true
	}
	if !said {
		t := snap.Tablet(tabletID(c))
		if t == nil || t.PersonID == nil {
			return nil
		}
		id = *t.PersonID
	}
	p := snap.Person(id)
	if p == nil || !p.Active {
		return nil
	}
	return p
}

// personSaid reads who said they are at this tablet.
func personSaid(c *gin.Context) (models.ID, bool) {
	text, err := c.Cookie(personCookie)
	if err != nil {
		return 0, false
	}
	id, err := strconv.ParseInt(text, 10, 64)
	return id, err == nil
}

// station is the one this tablet hangs at, nil for none.
func (s *server) station(c *gin.Context, snap *models.Snapshot) *models.Station {
	t := snap.Tablet(tabletID(c))
	if t == nil || t.StationID == nil {
		return nil
	}
	return snap.Station(*t.StationID)
}

func setCookie(c *gin.Context, name, value string) { setCookieFor(c, name, value, cookieLife) }

// endCookie has the browser forget a cookie.
func endCookie(c *gin.Context, name string) { setCookieFor(c, name, "", -1) }

// setCookieFor sets a cookie for so many seconds, for 0 as long as the browser runs.
func setCookieFor(c *gin.Context, name, value string, seconds int) {
	http.SetCookie(c.Writer, &http.Cookie{
		Name: name, Value: value, Path: "/", MaxAge: seconds,
		HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: overTLS(c.Request),
	})
}
