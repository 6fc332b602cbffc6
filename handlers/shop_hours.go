package handlers

import (
	"fmt"
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

func (w words) hoursForm(hours []models.Hours) views.HoursForm {
	var form views.HoursForm
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

// saveHours saves the week's openings.
func (s *server) saveHours(c *gin.Context) {
	in, err := s.reader(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	week := in.week()
	if err = in.err(); err == nil {
		err = s.store.SaveHours(c.Request.Context(), week)
	}
	forget(c)
	if err == nil {
		seeOther(c, "/shop#hours")
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
