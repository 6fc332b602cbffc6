package handlers

import (
	"fmt"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/views"
)

// weekdays in the order a shop reads them.
var weekdays = []time.Weekday{time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday, time.Saturday, time.Sunday}

// openings is how many openings of one day the form offers.
const openings = 2

func (r *room) hoursForm() views.HoursForm {
	w, hours := r.say, r.snap.Hours
	form := views.HoursForm{Save: r.saveOrTry(w.say("Save the hours"))}
	for _, day := range weekdays {
		row := views.HoursDay{Name: w.tell(phrase.Weekday(day)), Total: w.say("closed")}
		var times []string
		total := 0
		for _, h := range hours {
			if h.Weekday == day {
				times = append(times, clockTime(h.Opens), clockTime(h.Closes))
				total += h.Closes - h.Opens
			}
		}
		if total > 0 {
			row.Total = span(total)
		}
		for len(times) < 2*openings {
			times = append(times, "")
		}
		for i, t := range times {
			label := w.say("Opens")
			if i%2 == 1 {
				label = w.say("Closes")
			}
			row.Times = append(row.Times, views.Field{Name: hourField(day, i), Label: label, Kind: "time", Value: t})
		}
		form.Days = append(form.Days, row)
	}
	return form
}

func hourField(day time.Weekday, i int) string {
	return fmt.Sprintf("%s_%d", strings.ToLower(day.String()), i)
}

// clockTime writes minutes from midnight as 07:30; the end of the day is 24:00.
func clockTime(minute int) string { return fmt.Sprintf("%02d:%02d", minute/60, minute%60) }

// saveHours has the week's openings tried, or saves them where there is nothing to try
// them on.
func (s *server) saveHours(c *gin.Context) {
	in, err := s.reader(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	week, to := in.week(), sectionHref("hours")
	if err = in.err(); err == nil {
		to, err = s.weekTried(c, week, to)
	}
	forget(c)
	if err == nil {
		seeOther(c, to)
		return
	}
	data, broken := s.shopData(c)
	if broken != nil {
		s.fail(c, broken)
		return
	}
	for d := range data.Hours.Days {
		fields := data.Hours.Days[d].Times
		retyped(fields, in.form)
		if left := s.words(c).blame(fields, err); left != "" && len(in.wrong) == 0 {
			data.Hours.Notice = left
		}
	}
	data.Notice = s.words(c).say("%s: see what is marked below.", phrase.Of("Hours"))
	s.page(c, formStatus(err), "shop", s.words(c).say("Shop"), data)
}

// weekTried has a week tried, unless it is the one that there is.
func (s *server) weekTried(c *gin.Context, week []models.Hours, home string) (string, error) {
	snap, err := s.snapshot(c)
	if err != nil {
		return home, err
	}
	change := models.Steer{Kind: models.SteerWeek, Week: models.OpeningsOf(week)}
	if slices.Equal(change.Week, models.OpeningsOf(snap.Hours)) {
		return home, nil
	}
	return s.triedFirst(c, change, home, func() error { return s.store.SaveHours(c.Request.Context(), week) })
}

// writeWeek writes a week as the fields that week reads.
func writeWeek(v url.Values, week []models.Opens) {
	next := map[time.Weekday]int{}
	for _, o := range week {
		i := next[o.Weekday]
		v.Set(hourField(o.Weekday, i), clockTime(o.Opens))
		v.Set(hourField(o.Weekday, i+1), clockTime(o.Closes))
		next[o.Weekday] = i + 2
	}
}

// week reads every opening that was typed. One without its other end is refused.
func (r *reader) week() []models.Hours {
	var week []models.Hours
	for _, day := range weekdays {
		for i := 0; r.form.Has(hourField(day, i)); i += 2 {
			from, opened := r.minute(hourField(day, i))
			to, closed := r.minute(hourField(day, i+1))
			switch {
			case opened && closed:
				week = append(week, models.Hours{Weekday: day, Opens: from, Closes: to})
			case opened && r.text(hourField(day, i+1)) == "":
				r.refuse(hourField(day, i+1), "%s opens at %s and never closes.", phrase.Weekday(day), clockTime(from))
			case closed && r.text(hourField(day, i)) == "":
				r.refuse(hourField(day, i), "%s closes at %s and never opens.", phrase.Weekday(day), clockTime(to))
			}
		}
	}
	return week
}
