package handlers

import (
	"net/http"

	"github.com/gin-gonic/gin"

	"faceside/views"
	"faceside/views/tongues"
)

const htmlType = "text/html; charset=utf-8"

// shown is what the layout is told of the shop. A page about a failing database
// must still be drawn, so it falls back to the program's own name.
func (s *server) shown(c *gin.Context) (shop, person string) {
	snap, err := s.snapshot(c)
	if err != nil {
		return "Faceside", ""
	}
	if p := s.person(c, snap); p != nil {
		person = p.Name
	}
	if snap.Shop.Name == "" {
		return "Faceside", person
	}
	return s.words(c).shipped(snap.Shop.Name), person
}

// screens are those in the shop's language.
func (s *server) screens(c *gin.Context) *views.Screens {
	snap, err := s.snapshot(c)
	if err != nil {
		return s.views.In(tongues.English) // a page about a failing database is drawn all the same
	}
	return s.views.In(snap.Shop.Language)
}

// page answers with a whole page: screen names the template and title the tab.
func (s *server) page(c *gin.Context, status int, screen, title string, data any) {
	shop, person := s.shown(c)
	lit, ok := navOf[screen]
	if !ok {
		lit = screen
	}
	out, err := s.screens(c).Page(screen, views.Page{
		Title: title, Screen: lit, Shop: shop, Person: person,
		Version: s.version(c), Scripts: len(s.missing) == 0 && !s.atDoor(c), Asset: s.assets.url, Data: data,
		Tablet: s.pageTablet(c), Signed: signed(c),
	})
	s.answer(c, status, out, err)
}

// atDoor says whether nobody is signed in who has to: a page then follows nothing.
func (s *server) atDoor(c *gin.Context) bool {
	a := admission(c)
	return a.On && a.Session == nil
}

// pageOrPart answers with a whole page, or a script with the one named template of it
// that it swaps.
func (s *server) pageOrPart(c *gin.Context, status int, screen, part, title string, data any) {
	if swapped(c) {
		s.fragment(c, status, screen, part, data)
		return
	}
	s.page(c, status, screen, title, data)
}

// navOf says which nav entry is lit on the screens that have none of their own.
var navOf = map[string]string{
	"note": "bench",

	"access": "shop",

	"commission":   "commissions",
	"traveller":    "commissions",
	"patterns":     "commissions",
	"pattern-own":  "commissions",
	"pattern-keep": "commissions",
	"edit":         "commissions",
	"edit-step":    "commissions",
	"edit-add":     "commissions",
	"draft":        "commissions",

	"what-if": "week",
	"steered": "week",
	"helps":   "commissions",

	"station": "stations",
	"sheet":   "stations",
	"times":   "commissions",

	"stock":         "commissions",
	"stock-board":   "commissions",
	"stock-buy":     "commissions",
	"stock-cuts":    "commissions",
	"stock-cutlist": "commissions",
	"stock-runs":    "commissions",
	"stock-cutting": "commissions",
}

// fragment answers with one named template of a screen, for a swap.
func (s *server) fragment(c *gin.Context, status int, screen, name string, data any) {
	out, err := s.screens(c).Fragment(screen, name, data)
	s.answer(c, status, out, err)
}

func (s *server) answer(c *gin.Context, status int, out []byte, err error) {
	if err != nil {
		s.log.Error("draw a page", "path", loggedPath(c), "error", err)
		c.String(http.StatusInternalServerError, "The page could not be drawn; the reason is in the server's log.")
		return
	}
	s.send(c, status, htmlType, out)
}

// swapped says whether the tablet's script asked, and wants a fragment.
func swapped(c *gin.Context) bool {
	return c.GetHeader("HX-Request") == "true"
}

// seeOther sends the browser on after a form was accepted.
func seeOther(c *gin.Context, path string) { c.Redirect(http.StatusSeeOther, path) }
