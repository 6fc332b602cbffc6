package handlers

import (
	"net/http"

	"github.com/gin-gonic/gin"

	"faceside/models"
)

// healthz answers 200 while the records can be read.
func (s *server) healthz(c *gin.Context) {
	if _, err := s.store.CurrentPlan(c.Request.Context()); err != nil {
		s.log.Error("health check", "error", models.Logged(err))
		c.String(http.StatusServiceUnavailable, "the records cannot be read\n")
		return
	}
	c.String(http.StatusOK, "ok\n")
}
