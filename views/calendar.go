package views

import (
	"strconv"
	"strings"
	"time"

	"faceside/models/phrase"
	"faceside/views/tongues"
)

// A browser shows the fields of days and times as its own language has them, which may
// be another than the shop's. So what is understood is said beside them.

// Calendar is what a script needs to say days as the shop does.
type Calendar struct {
	Weekdays string // from Sunday on, parted by spaces
	Months   string // from January on
	Date     string // with places {weekday}, {day}, {month} and {year}
}

// calendarIn is the calendar of a language.
func calendarIn(say *tongues.Speaker) Calendar {
	var weekdays, months []string
	for d := time.Sunday; d <= time.Saturday; d++ {
		weekdays = append(weekdays, say.Phrase(phrase.ShortWeekday(d)))
	}
	for m := time.January; m <= time.December; m++ {
		months = append(months, say.Phrase(phrase.ShortMonth(m)))
	}
	return Calendar{Weekdays: strings.Join(weekdays, " "), Months: strings.Join(months, " "),
		Date: say.Say("%[1]s %[2]s %[3]s %[4]s ## date", "{weekday}", "{day}", "{month}", "{year}")}
}

// Understood says what a field of that kind holds: "Thu 3 Dec 2026", "8:05"; "" where
// it holds nothing, or something else.
func (c Calendar) Understood(kind, value string) string {
	layout, isTime := time.DateOnly, kind == "time"
	if isTime {
		layout = "15:04"
	}
	t, err := time.Parse(layout, value)
	switch {
	case err != nil:
		return ""
	case isTime:
		return phrase.Clock(t)
	}
	return strings.NewReplacer("{weekday}", strings.Split(c.Weekdays, " ")[t.Weekday()], "{day}", strconv.Itoa(t.Day()),
		"{month}", strings.Split(c.Months, " ")[t.Month()-1], "{year}", strconv.Itoa(t.Year())).Replace(c.Date)
}
