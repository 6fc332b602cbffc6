package handlers

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
)

// staleBackup is how old the newest good backup may be: one is made every hour.
const staleBackup = 2 * time.Hour

// readiness says whether a shop can be worked with, and if not why not. It holds
// nothing of the shop's.
type readiness struct {
	Ready  bool         `json:"ready"`
	Checks []readyCheck `json:"checks"`
}

type readyCheck struct {
	Name   string `json:"name"`
	OK     bool   `json:"ok"`
	Reason string `json:"reason,omitempty"`
}

// readyz answers 200 where the records can be written, their schema is this program's,
// plans are made, backups are, the log of the records is brought into their file, and the
// clock does not stand before the last tap; else 503. Reasons are in English: they are
// read by programs and by who looks after them.
func (s *server) readyz(c *gin.Context) {
	ctx := c.Request.Context()
	checks := []struct {
		name string
		look func(context.Context) error
	}{
		{"records", s.store.Writable},
		{"schema", s.store.SchemaCurrent},
		{"planner", func(context.Context) error { return s.planner.Alive() }},
		{"backups", s.backedUp},
		{"log", func(context.Context) error { return s.store.LogShortened() }},
		{"clock", func(context.Context) error { return s.store.ClockRight() }},
	}
	answer := readiness{Ready: true}
	for _, check := range checks {
		row := readyCheck{Name: check.name, OK: true}
		if err := check.look(ctx); err != nil {
			row.OK, row.Reason, answer.Ready = false, saidReason(err), false
		}
		answer.Checks = append(answer.Checks, row)
	}
	status := http.StatusOK
	if !answer.Ready {
		status = http.StatusServiceUnavailable
	}
	c.JSON(status, answer)
}

// saidReason is what may be told of an error to whoever asks.
func saidReason(err error) string {
	var known *models.Error
	if errors.As(err, &known) {
		return known.Error() // of the store itself: its sentences name nobody
	}
	return err.Error()
}

// backedUp is nil while the newest good backup is fresh, or none are to be made.
func (s *server) backedUp(context.Context) error {
	if s.backups == nil {
		return nil
	}
	status := s.backups.Status()
	switch now := s.store.Now(); {
	case status.LastGood == nil && !status.Failed.Empty():
		return errors.New("no backup could be made yet")
	case status.LastGood == nil:
		return errors.New("no backup is made yet")
	case now.Sub(*status.LastGood) > staleBackup:
		return fmt.Errorf("the last good backup is %s old", now.Sub(*status.LastGood).Truncate(time.Minute))
	}
	return nil
}
