package planner

import (
	"time"

	"faceside/models"
)

// Opening is one stretch of a day in which the shop is open.
type Opening struct{ From, To time.Time }

// Openings returns when the shop is open on the day that t lies in by the
// shop's clock, in order and apart; none on a day off.
func Openings(snap *models.Snapshot, t time.Time) []Opening {
	var all []Opening
	for _, o := range localCalendar(snap).day(t, 0) {
		all = append(all, Opening{o.from, o.to})
	}
	return all
}
