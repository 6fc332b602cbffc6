package handlers

import (
	"net/http"
	"net/url"

	"github.com/gin-gonic/gin"

	"faceside/views"
)

// arrive lets who follows a link of another site in: an entry of a calendar on the web,
// a message. Browsers send no cookie of ours along with that (they are SameSite=Strict,
// so that no other site can act for a tablet); asked without one, the server would take
// the tablet for a new one and give it another id. The page that is sent instead asks
// for the same again by itself, and then it is this site that asks.
func (s *server) arrive(c *gin.Context) {
	r := c.Request
	if r.Method != http.MethodGet || r.Header.Get("Sec-Fetch-Site") != "cross-site" || r.Header.Get("Sec-Fetch-Mode") != "navigate" {
		c.Next()
		return
	}
	to := url.URL{Path: r.URL.Path, RawQuery: r.URL.RawQuery}
	s.fragment(c, http.StatusOK, "arrive", "arrive-page", views.Arrive{Bare: views.Bare{Title: s.words(c).say("On the way to the shop"), Asset: s.assets.url}, To: localPath(to.RequestURI())})
	c.Abort()
}
