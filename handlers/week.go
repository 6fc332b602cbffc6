package handlers

import (
	"net/http"

	"github.com/gin-gonic/gin"
)

// week shows the plan over the coming days.
func (s *server) week(c *gin.Context) {
	s.page(c, http.StatusOK, "week", "Week", nil)
}
