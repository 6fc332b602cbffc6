package handlers

import (
	"fmt"
	"strings"
	"time"

	"faceside/models"
	"faceside/models/wood"
)

// words says times, spans and sizes the way the shop does: in its time zone,
// its units and its fraction.
type words struct {
	now  time.Time // in the shop's time zone
	shop models.Shop
}

// wordsOf fails when the shop's time zone is not known on this machine.
func wordsOf(shop models.Shop, now time.Time) (words, error) {
	zone, err := time.LoadLocation(shop.TimeZone)
	if err != nil {
		return words{}, fmt.Errorf("the shop's time zone %q: %w", shop.TimeZone, err)
	}
	return words{now: now.In(zone), shop: shop}, nil
}

// at says a moment: "14:30" or "8:05" today, "tomorrow 8:00", "Thu 8:00" within a week,
// else "Thu 3 Dec 8:00".
func (w words) at(t time.Time) string {
	t = t.In(w.now.Location())
	clock := fmt.Sprintf("%d:%02d", t.Hour(), t.Minute())
	switch days := daysBetween(w.now, t); {
	case days == 0:
		return clock
	case days == 1:
		return "tomorrow " + clock
	case days == -1:
		return "yesterday " + clock
	case days > 0 && days < 7:
		return t.Format("Mon ") + clock
	default:
		return t.Format("Mon 2 Jan ") + clock
	}
}

// date says a YYYY-MM-DD as "Thu 3 Dec", with the year when it is another; text
// that is no date is said as it is.
func (w words) date(text string) string {
	t, err := time.ParseInLocation(time.DateOnly, text, w.now.Location())
	if err != nil {
		return text
	}
	if t.Year() != w.now.Year() {
		return t.Format("Mon 2 Jan 2006")
	}
	return t.Format("Mon 2 Jan")
}

// daysBetween counts midnights from one moment to another of the same zone.
func daysBetween(from, to time.Time) int {
	day := func(t time.Time) time.Time { return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC) }
	return int(day(to).Sub(day(from)).Hours() / 24)
}

// span says minutes: "25 min", "1 h", "4 h 10".
func span(minutes int) string {
	h, m := minutes/60, minutes%60
	switch {
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m == 0:
		return fmt.Sprintf("%d h", h)
	default:
		return fmt.Sprintf("%d h %02d", h, m)
	}
}

// clockSpan says minutes around the clock, in days from two days on: "45 min",
// "24 h", "7 days", "2 days 12 h".
func clockSpan(minutes int) string {
	const day = 24 * 60
	switch {
	case minutes < 2*day:
		return span(minutes)
	case minutes%day < 60:
		return fmt.Sprintf("%d days", minutes/day)
	default:
		return fmt.Sprintf("%d days %d h", minutes/day, minutes%day/60)
	}
}

// size says length × width × thickness, in millimetres with the unit once.
func (w words) size(l, width, thickness wood.Length) string {
	all := []string{w.length(l), w.length(width), w.length(thickness)}
	if w.shop.Units != wood.Inches {
		for i := range all[:2] {
			all[i] = strings.TrimSuffix(all[i], " mm")
		}
	}
	return strings.Join(all, " × ")
}

func (w words) length(l wood.Length) string { return l.Format(w.shop.Units, w.shop.Fraction) }

// count says "1 step", "7 steps".
func count(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}

// mark is a standing as the name of a class.
func mark(s models.Standing) string { return strings.ReplaceAll(string(s), " ", "-") }

// capital makes the first letter large.
func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
