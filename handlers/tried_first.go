package handlers

import (
	"slices"

	"github.com/gin-gonic/gin"

	"faceside/models"
)

// triedFirst leads to the what-if of a change that was typed on the Shop screen, where
// there is work that it could move; else it is made at once, and the way leads home.
// Either way it is refused where the what-if would refuse it.
func (s *server) triedFirst(c *gin.Context, change models.Steer, home string, atOnce func() error) (string, error) {
	snap, err := s.snapshot(c)
	if err != nil {
		return home, err
	}
	if _, err := s.store.Try(c.Request.Context(), []models.Steer{change}); err != nil {
		return home, err
	}
	if hasWork(snap) {
		return tryHref(change), nil
	}
	return home, atOnce()
}

// hasWork tells whether any commission is open.
func hasWork(snap *models.Snapshot) bool {
	return slices.ContainsFunc(snap.Commissions, func(c models.Commission) bool { return c.State == models.Open })
}

// saveOrTry says on a button what becomes of what is typed.
func (r *room) saveOrTry(save string) string {
	if hasWork(r.snap) {
		return r.say.say("See what it does")
	}
	return save
}
