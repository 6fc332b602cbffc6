package phrase

import (
	"fmt"
	"time"
)

var weekdays = [...]Key{"Sunday", "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday"}

var shortWeekdays = [...]Key{"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"}

var months = [...]Key{"January", "February", "March", "April", "May", "June",
	"July", "August", "September", "October", "November", "December"}

var shortMonths = [...]Key{"Jan", "Feb", "Mar", "Apr", "May ## short", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"}

// Weekday says "Thursday".
func Weekday(d time.Weekday) Phrase { return weekdays[d].Of() }

// ShortWeekday says "Thu".
func ShortWeekday(d time.Weekday) Phrase { return shortWeekdays[d].Of() }

// Month says "December".
func Month(m time.Month) Phrase { return months[m-1].Of() }

// ShortMonth says "Dec".
func ShortMonth(m time.Month) Phrase { return shortMonths[m-1].Of() }

// Day says a date "3 December".
func Day(t time.Time) Phrase { return Of("%[1]d %[2]s", t.Day(), Month(t.Month())) }

// ShortDay says a date "3 Dec".
func ShortDay(t time.Time) Phrase {
	return Of("%[1]d %[2]s ## date", t.Day(), ShortMonth(t.Month()))
}

// Date says "Thursday 3 December".
func Date(t time.Time) Phrase { return Of("%[1]s %[2]s ## long date", Weekday(t.Weekday()), Day(t)) }

// ShortDate says "Thu 3 Dec".
func ShortDate(t time.Time) Phrase {
	return Of("%[1]s %[2]s ## date", ShortWeekday(t.Weekday()), ShortDay(t))
}

// Clock says a time of day: "8:05".
func Clock(t time.Time) string { return fmt.Sprintf("%d:%02d", t.Hour(), t.Minute()) }
