package handlers

import (
	"fmt"

	"github.com/gin-gonic/gin"

	"faceside/models"
)

const (
	snapshotKey = "snapshot"
	versionKey  = "version"
)

// snapshot reads what is open, once a request: everything on one page is of
// one moment.
func (s *server) snapshot(c *gin.Context) (*models.Snapshot, error) {
	if kept, ok := c.Value(snapshotKey).(*models.Snapshot); ok {
		return kept, nil
	}
	version := s.hub.version()
	snap, err := s.store.Snapshot(c.Request.Context())
	if err != nil {
		return nil, fmt.Errorf("read what is open: %w", err)
	}
	c.Set(versionKey, version)
	c.Set(snapshotKey, snap)
	return snap, nil
}

// forget drops the request's snapshot after something was written.
func forget(c *gin.Context) { c.Set(snapshotKey, nil) }

// version names the state the page was drawn from.
func (s *server) version(c *gin.Context) string {
	if v := c.GetString(versionKey); v != "" {
		return v
	}
	return s.hub.version()
}
