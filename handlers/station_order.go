package handlers

import (
	"github.com/gin-gonic/gin"
	"github.com/google/uuid"

	"faceside/models"
)

// orderTap puts a station out of order, or in order again, by a tap of the journal.
func (s *server) orderTap(c *gin.Context, station models.ID, down bool, who models.ID) error {
	kind := models.TapUp
	if down {
		kind = models.TapDown
	}
	_, err := s.store.Tap(c.Request.Context(), models.TapRequest{ID: uuid.NewString(), Kind: kind, StationID: station, PersonID: who, Tablet: tabletID(c)})
	return err
}
