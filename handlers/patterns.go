package handlers

import (
	"net/http"

	"github.com/gin-gonic/gin"

	"faceside/views"
)

// patterns asks what a new commission is.
func (s *server) patterns(c *gin.Context) {
	s.page(c, http.StatusOK, "patterns", "New commission", views.Patterns{Title: "New commission", Back: "/commissions",
		Patterns: s.patternCards(draftHref)})
}

// patternCards are the patterns that can be chosen; href leads on from each.
func (s *server) patternCards(href func(key string) string) []views.PatternCard {
	var cards []views.PatternCard
	for _, p := range s.library.Patterns() {
		cards = append(cards, views.PatternCard{
			Title: p.Title, Blurb: p.Blurb, Href: href(p.Key),
			Facts: []string{count(len(p.Measures), "measure"), count(len(p.Choices), "choice")},
		})
	}
	return cards
}

func draftHref(key string) string { return "/commissions/new/" + key }
