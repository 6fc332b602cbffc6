package handlers

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/views"
)

// weekSpans are the numbers of working days the Week screen can show.
var weekSpans = []struct {
	days int
	name string
}{{1, "One day"}, {5, "Five days"}, {10, "Ten days"}}

// weekDefault is how many working days are shown unless asked otherwise.
const weekDefault = 5

// week shows the plan over some working days, from a day on: today, unless the
// query says from=YYYY-MM-DD; five, unless it says days=1 or days=10.
func (s *server) week(c *gin.Context) {
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	from, days, refused := r.weekAsked(c.Query("from"), c.Query("days"))
	w := r.weekRoom(from, days)
	data := w.view()
	data.Plan, data.PlanBad = planNote(s.planner.Status())
	status := http.StatusOK
	if refused != nil {
		status, data.Notice = statusOf(refused), refused.Error()
	}
	if swapped(c) {
		s.fragment(c, status, "week", "week", data)
		return
	}
	s.page(c, status, "week", "Week", data)
}

// weekAsked reads the query. What cannot be shown is refused with a sentence,
// and what is usual shown instead.
func (r *room) weekAsked(from, days string) (first time.Time, n int, refused error) {
	first, n = midnight(r.say.now), weekDefault
	if from != "" {
		asked, err := time.ParseInLocation(time.DateOnly, from, r.say.now.Location())
		if err != nil {
			return first, n, &models.Error{Code: models.Invalid, Field: "from", Value: from,
				Message: fmt.Sprintf("From: %q is no date. Write it like %s.", from, first.Format(time.DateOnly))}
		}
		first = midnight(asked)
	}
	if days == "" {
		return first, n, nil
	}
	for _, span := range weekSpans {
		if days == strconv.Itoa(span.days) {
			return first, span.days, nil
		}
	}
	return first, n, &models.Error{Code: models.Invalid, Field: "days", Value: days,
		Message: fmt.Sprintf("Days: %q cannot be shown; choose 1, 5 or 10.", days)}
}

func weekHref(from time.Time, days int) string {
	q := url.Values{"from": {from.Format(time.DateOnly)}, "days": {strconv.Itoa(days)}}
	return "/week?" + q.Encode()
}

// view puts the whole screen together.
func (w *weekRoom) view() views.Week {
	last := w.days[len(w.days)-1].date
	v := views.Week{
		Title:   w.title(),
		Here:    weekHref(w.from, w.span),
		Earlier: weekHref(w.earlier(), w.span),
		Later:   weekHref(last.AddDate(0, 0, 1), w.span),
		Today:   weekHref(midnight(w.say.now), w.span),
		Days:    w.list(),
	}
	for _, span := range weekSpans {
		v.Spans = append(v.Spans, views.WeekSpan{Name: span.name, Href: weekHref(w.from, span.days), Current: span.days == w.span})
	}
	if w.snap.Plan != nil {
		v.Relaxed = lines(w.snap.Plan.Note)
	}
	v.Promises = w.promises()
	v.Empty = w.nothing()
	v.Labels, v.Chart = w.chart().Drawings()
	return v
}

// nothing says why the chart is empty, or "".
func (w *weekRoom) nothing() string {
	switch {
	case len(w.snap.Commissions) == 0:
		return "No commission is open, so nothing is planned. Take one in under Commissions."
	case w.snap.Plan == nil:
		return "There is no plan yet."
	case len(w.shifts) == 0:
		return "Nothing is planned on these days."
	}
	return ""
}

// title says which days are shown: "30 November to 4 December", with the year
// if it is not this one.
func (w *weekRoom) title() string {
	first, last := w.days[0].date, w.days[len(w.days)-1].date
	year := ""
	if last.Year() != w.say.now.Year() || first.Year() != last.Year() {
		year = last.Format(" 2006")
	}
	switch {
	case first.Equal(last):
		return first.Format("Monday 2 January") + year
	case first.Year() != last.Year():
		return first.Format("2 January 2006") + " to " + last.Format("2 January") + year
	case first.Month() != last.Month():
		return first.Format("2 January") + " to " + last.Format("2 January") + year
	}
	return first.Format("2") + " to " + last.Format("2 January") + year
}
