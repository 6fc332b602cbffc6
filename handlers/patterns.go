package handlers

import (
	"net/http"

	"github.com/gin-gonic/gin"

	"faceside/views"
)

// patterns asks what a new commission is.
func (s *server) patterns(c *gin.Context) {
	s.page(c, http.StatusOK, "patterns", s.words(c).say("New commission"), views.Patterns{Title: s.words(c).say("New commission"), Back: "/commissions",
		Patterns: s.patternCards(s.words(c), draftHref)})
}

// patternCards are the patterns that can be chosen; href leads on from each.
func (s *server) patternCards(w words, href func(key string) string) []views.PatternCard {
	var cards []views.PatternCard
	for _, p := range s.library.Patterns() {
		cards = append(cards, views.PatternCard{
			Title: w.shipped(p.Title), Blurb: w.shipped(p.Blurb), Href: href(p.Key),
			Facts: []string{w.say("%d measures", len(p.Measures)), w.say("%d choices", len(p.Choices))},
		})
	}
	return cards
}

func draftHref(key string) string { return "/commissions/new/" + key }
