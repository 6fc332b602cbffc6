package handlers

import "github.com/gin-gonic/gin"

// steerRoutes are the screens on which the plan is steered.
func (s *server) steerRoutes(e *gin.Engine) {
	e.GET("/what-if", s.whatIf)
	e.POST("/what-if", s.keepWhatIf)
	e.GET("/steered", s.steered)
	e.POST("/steered/:id/let-go", s.letGo)
	e.GET("/commissions/:id/help", s.whatHelps)
	e.POST("/commissions/:id/help/anew", s.helpsAnew)
}
