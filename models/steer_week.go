package models

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"faceside/models/phrase"
)

// A change of the hours of the week.

// week has the shop open by other hours.
func (s *steerer) week(c *Steer) (was SteerWas, says phrase.Phrase, err error) {
	hours := make([]Hours, len(c.Week))
	for i, o := range c.Week {
		hours[i] = Hours{Weekday: o.Weekday, Opens: o.Opens, Closes: o.Closes}
	}
	if hours, err = inOrder(hours); err != nil {
		return was, says, err
	}
	if len(hours) == 0 {
		return was, says, invalid("hours", "", "With these hours the shop would never be open.")
	}
	c.Week = OpeningsOf(hours)
	before, err := s.snapshot()
	if err != nil {
		return was, says, err
	}
	was.Week = OpeningsOf(before.Hours)
	if slices.Equal(was.Week, c.Week) {
		return was, says, conflict("hours", weekWords(c.Week), "These are the hours of the week already: %s.", weekWords(c.Week))
	}
	if err := saveWeek(s.tx, hours); err != nil {
		return was, says, err
	}
	after, err := s.snapshot()
	if err != nil {
		return was, says, err
	}
	return was, phrase.Of("The shop is open %s, week by week", weekWords(c.Week)), s.noPinClosed(before, after)
}

// noPinClosed refuses hours by which the shop is closed when a pinned step is to start.
func (s *steerer) noPinClosed(before, after *Snapshot) error {
	was, is := openHours{before.Calendar(s.zone)}, openHours{after.Calendar(s.zone)}
	for i := range after.Steps {
		st := &after.Steps[i]
		c := after.Commission(st.CommissionID)
		if c == nil || c.State != Open {
			continue
		}
		when, shut := phrase.Phrase{}, false
		if at, ok := st.Pinned(); ok && !at.Before(s.now) {
			_, open := was.opening(at)
			_, still := is.opening(at)
			when, shut = clockTime(at, s.now, s.zone), open && !still
		} else if w := after.Wants(st.ID); w != nil && w.Day >= s.today {
			day, err := time.ParseInLocation(time.DateOnly, w.Day, s.zone)
			if err != nil {
				return fmt.Errorf("the day that step %d is pinned to: %w", st.ID, err)
			}
			when, shut = dayWords(w.Day), len(was.Day(day, 0)) > 0 && len(is.Day(day, 0)) == 0
		}
		if shut {
			return conflict("hours", when, "The shop would be closed then: “%[1]s” (%[2]s) is pinned to %[3]s. Let go of that pin first.", st.Name, c.Name, when)
		}
	}
	return nil
}

// weekBack has the shop open as it was before, unless its hours were changed since.
func (s *steerer) weekBack(row *Steered) error {
	var now []Hours
	if err := s.tx.Order("weekday, opens").Find(&now).Error; err != nil {
		return fmt.Errorf("read the week: %w", err)
	}
	if !slices.Equal(OpeningsOf(now), row.Change.Week) {
		return conflict("hours", weekWords(OpeningsOf(now)), "The hours of the week were changed since: change them back on the Shop screen.")
	}
	back := make([]Hours, len(row.Was.Week))
	for i, o := range row.Was.Week {
		back[i] = Hours{Weekday: o.Weekday, Opens: o.Opens, Closes: o.Closes}
	}
	return saveWeek(s.tx, back)
}

// OpeningsOf are the hours of a week as a change carries them, in the order in which they
// are kept.
func OpeningsOf(hours []Hours) []Opens {
	var all []Opens
	for _, h := range hours {
		all = append(all, Opens{h.Weekday, h.Opens, h.Closes})
	}
	slices.SortStableFunc(all, func(a, b Opens) int {
		return cmp.Or(cmp.Compare(a.Weekday, b.Weekday), cmp.Compare(a.Opens, b.Opens))
	})
	return all
}

// weekWords say the hours of a week, days with the same hours together: "Mon–Thu
// 8:00–12:00, 12:30–17:00; Fri 8:00–13:00".
func weekWords(week []Opens) phrase.Phrase {
	var all phrase.Phrase
	days := [7]string{}
	for _, o := range week {
		text := Hours{Opens: o.Opens, Closes: o.Closes}.String()
		if days[o.Weekday] != "" {
			text = days[o.Weekday] + ", " + text
		}
		days[o.Weekday] = text
	}
	monday := func(i int) time.Weekday { return time.Weekday((i + 1) % 7) }
	for from := 0; from < 7; {
		to, hours := from, days[monday(from)]
		for to < 6 && days[monday(to+1)] == hours {
			to++
		}
		part := phrase.Of("%[1]s %[2]s ## a weekday and its hours", phrase.ShortWeekday(monday(from)), hours)
		if from < to {
			part = phrase.Of("%[1]s–%[2]s %[3]s ## weekdays and their hours", phrase.ShortWeekday(monday(from)), phrase.ShortWeekday(monday(to)), hours)
		}
		switch {
		case hours == "":
		case all.Empty():
			all = part
		default:
			all = phrase.Of("%[1]s; %[2]s ## hours of the week", all, part)
		}
		from = to + 1
	}
	return all
}
