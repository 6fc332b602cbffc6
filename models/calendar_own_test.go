package models

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// Whatever hours people have of their own, the openings of a day are those of the shop and
// those, each stretch of the latter with all who work then and nobody else.
func TestOwnHoursOfADay(t *testing.T) {
	const people = 3
	date, noon := "2026-03-03", time.Date(2026, time.March, 3, 12, 0, 0, 0, time.UTC)
	rapid.Check(t, func(r *rapid.T) {
		snap := &Snapshot{Hours: []Hours{{Weekday: time.Tuesday, Opens: 8 * 60, Closes: 12 * 60}, {Weekday: time.Tuesday, Opens: 13 * 60, Closes: 17 * 60}}}
		works := map[ID][2]int{}
		for p := ID(1); p <= people; p++ {
			if !rapid.Bool().Draw(r, "works longer") {
				continue
			}
			opens := rapid.IntRange(0, 22).Draw(r, "opens") * 60
			closes := opens + rapid.IntRange(1, 24-opens/60).Draw(r, "hours")*60
			works[p] = [2]int{opens, closes}
			snap.ExtraHours = append(snap.ExtraHours, ExtraHours{Date: date, Opens: opens, Closes: closes, PersonID: &p})
		}
		off := ID(rapid.IntRange(0, people).Draw(r, "off"))
		if off > 0 {
			snap.DaysOff = []DayOff{{Date: date, PersonID: &off}}
		}
		c := snap.Calendar(time.UTC)
		for minute := 30; minute < 24*60; minute += 60 {
			at := noon.Truncate(24 * time.Hour).Add(time.Duration(minute) * time.Minute)
			shop := minute >= 8*60 && minute < 12*60 || minute >= 13*60 && minute < 17*60
			anybody := false
			for p := ID(1); p <= people; p++ {
				w, own := works[p]
				there := p != off && (shop || own && minute >= w[0] && minute < w[1])
				anybody = anybody || there || shop
				if there || shop {
					assert.Equal(r, there, c.There(p, at), "person %d at %s", p, at)
				}
			}
			assert.Equal(r, anybody, openHours{c}.isOpen(at), "open at %s", at)
			for _, o := range c.Own(noon, 0) {
				if !at.Before(o.From) && at.Before(o.To) {
					assert.False(r, shop)
					assert.NotEmpty(r, o.People)
				}
			}
		}
	})
}

func (h openHours) isOpen(at time.Time) bool {
	_, open := h.opening(at)
	return open
}
