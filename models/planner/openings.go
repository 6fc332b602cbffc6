package planner

import (
	"time"

	"faceside/models"
)

// Openings returns when the shop is open on the day that t lies in by the
// shop's clock, in order and apart; none on a day off.
func Openings(snap *models.Snapshot, t time.Time) []models.Opening {
	return localCalendar(snap).Day(t, 0)
}

// OwnHours returns those stretches of them in which only some people work.
func OwnHours(snap *models.Snapshot, t time.Time) []models.OwnOpening {
	return localCalendar(snap).Own(t, 0)
}
