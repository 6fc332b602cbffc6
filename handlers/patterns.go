package handlers

import (
	"net/http"

	"github.com/gin-gonic/gin"

	"faceside/views"
)

// patterns asks what a new commission is.
func (s *server) patterns(c *gin.Context) {
	var data views.Patterns
	for _, p := range s.library.Patterns() {
		data.Patterns = append(data.Patterns, views.PatternCard{
			Title: p.Title, Blurb: p.Blurb, Href: draftHref(p.Key),
			Facts: []string{count(len(p.Measures), "measure"), count(len(p.Choices), "choice")},
		})
	}
	s.page(c, http.StatusOK, "patterns", "New commission", data)
}

func draftHref(key string) string { return "/commissions/new/" + key }
