package handlers

import (
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
)

// Hours are told a week at a time: the one in which the step left the hand.
func TestHoursOfAWeek(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	ana.tap(models.TapStart, r.step("joint"))
	r.clock.Step(25 * time.Minute)
	ana.tap(models.TapFinish, r.step("joint"))
	const people = "section[aria-labelledby=by-person]"
	p := ana.get("/times")
	assert.Contains(t, p.text(people), "Week from Mon 2 Mar to Sun 8 Mar")
	assert.Contains(t, p.text(people), "Ana 25 min 0 min 25 min")
	assert.Equal(t, []string{"The week before"}, p.texts(people+" .jump a"), "nothing can have been booked in the next")

	r.clock.Step(7 * 24 * time.Hour)
	p = ana.get("/times")
	assert.Contains(t, p.text(people), "No time was booked in this week.")
	p = ana.get(p.doc.Find(people+" .jump a").AttrOr("href", ""))
	assert.Contains(t, p.text(people), "Ana 25 min 0 min 25 min")
	assert.Equal(t, []string{"The week before", "The week after"}, p.texts(people+" .jump a"))
	assert.Contains(t, ana.get("/times?week=2026-03-05").text(people), "Ana 25 min", "any day of the week will do")
	p = ana.get("/times?week=soon")
	require.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.body, "&#34;soon&#34; is no day such as 2026-03-31")
}
