package planner

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"faceside/models"
	"faceside/models/phrase"
)

// The names that records have in a problem.

const (
	handsName  = "hands"
	shopName   = "shop"   // the calendar
	originName = "origin" // a task fixed at minute 0, for bounds that run already
)

func stepName(id models.ID) string       { return "step:" + strconv.FormatInt(id, 10) }
func commissionName(id models.ID) string { return "commission:" + strconv.FormatInt(id, 10) }
func stationName(id models.ID) string    { return "station:" + strconv.FormatInt(id, 10) }
func clampName(id models.ID) string      { return "clamps:" + strconv.FormatInt(id, 10) }
func zoneName(id models.ID) string       { return "zone:" + strconv.FormatInt(id, 10) }
func setupName(id models.ID) string      { return strconv.FormatInt(id, 10) }

// stepOf returns the step that a task stands for; false for other tasks.
func stepOf(task string) (models.ID, bool) {
	digits, ok := strings.CutPrefix(task, "step:")
	if !ok {
		return 0, false
	}
	id, err := strconv.ParseInt(digits, 10, 64)
	return id, err == nil
}

// commissionOf returns the commission that a job stands for; false for none.
func commissionOf(job string) (models.ID, bool) {
	digits, ok := strings.CutPrefix(job, "commission:")
	if !ok {
		return 0, false
	}
	id, err := strconv.ParseInt(digits, 10, 64)
	return id, err == nil
}

// isClamps tells whether a resource is a class of clamps.
func isClamps(resource string) bool { return strings.HasPrefix(resource, "clamps:") }

// awayName names the task that keeps a person's hands from work in one opening of a day off.
func awayName(person models.ID, date string, opening int) string {
	return fmt.Sprintf("away:%d:%s:%d", person, date, opening)
}

// quoted is a step as sentences name it.
func quoted(st *models.Step) phrase.Phrase { return phrase.Of("“%s”", st.Name) }

// The plain words of times and durations.

// clockWords is "8:20" on the day of now, "Tuesday 8:20" up to six days before or
// after, else "Tuesday 1 December 8:20".
func clockWords(t, now time.Time, loc *time.Location) phrase.Phrase {
	t, now = t.In(loc), now.In(loc)
	switch days := daysBetween(now, t); {
	case days == 0:
		return phrase.Name(phrase.Clock(t))
	case days > -7 && days < 7:
		return phrase.Of("%s %s", phrase.Weekday(t.Weekday()), phrase.Clock(t))
	}
	return phrase.Of("%s %s", phrase.Date(t), phrase.Clock(t))
}

// daysBetween counts midnights, negative if b is the earlier.
func daysBetween(a, b time.Time) int {
	noon := func(t time.Time) time.Time {
		y, m, d := t.Date()
		return time.Date(y, m, d, 12, 0, 0, 0, time.UTC)
	}
	return int(noon(b).Sub(noon(a)) / (24 * time.Hour))
}

func sameDay(a, b time.Time) bool { return daysBetween(a, b) == 0 }

// minuteWords is "35 min", "4 h" or "4 h 20 min". No line breaks between a number and
// its unit.
func minuteWords(n int) string {
	switch {
	case n < 60:
		return fmt.Sprintf("%d\u00a0min", n)
	case n%60 == 0:
		return fmt.Sprintf("%d\u00a0h", n/60)
	}
	return fmt.Sprintf("%d\u00a0h %d\u00a0min", n/60, n%60)
}

// peopleWords is "1 person", "2 people".
func peopleWords(n int) phrase.Phrase {
	if n == 1 {
		return phrase.Of("1 person")
	}
	return phrase.Of("%d people", n)
}

// isAre is "1 is", "2 are".
func isAre(n int) phrase.Phrase {
	if n == 1 {
		return phrase.Of("1 is")
	}
	return phrase.Of("%d are", n)
}
