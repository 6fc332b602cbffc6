package handlers

import (
	"net/http"
	"net/url"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/views"
)

// weekSpans are the numbers of working days the Week screen can show.
var weekSpans = []struct {
	days int
	name phrase.Key
}{{1, phrase.Key("One day")}, {5, phrase.Key("Five days")}, {10, phrase.Key("Ten days")}}

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
	data.Plan, data.PlanBad = r.say.planNote(s.planner.Status())
	status := http.StatusOK
	if refused != nil {
		status, data.Notice = statusOf(refused), r.say.sentence(refused)
	}
	s.pageOrPart(c, status, "week", "week", s.words(c).say("Week"), data)
}

// weekAsked reads the query. What cannot be shown is refused with a sentence,
// and what is usual shown instead.
func (r *room) weekAsked(from, days string) (first time.Time, n int, refused error) {
	first, n = midnight(r.say.now), weekDefault
	if from != "" {
		asked, err := time.ParseInLocation(time.DateOnly, from, r.say.now.Location())
		if err != nil {
			return first, n, &models.Error{Code: models.Invalid, Field: "from", Value: from,
				Sentence: phrase.Of("From: %q is no date. Write it like %s.", from, first.Format(time.DateOnly))}
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
		Sentence: phrase.Of("Days: %q cannot be shown; choose 1, 5 or 10.", days)}
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
		v.Spans = append(v.Spans, views.WeekSpan{Name: w.say.tell(span.name.Of()), Href: weekHref(w.from, span.days), Current: span.days == w.span})
	}
	if w.snap.Plan != nil {
		v.Relaxed = w.say.tellAll(w.snap.Plan.Note)
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
		return w.say.say("No commission is open, so nothing is planned. Take one in under Commissions.")
	case w.snap.Plan == nil:
		return w.say.say("There is no plan yet.")
	case len(w.shifts) == 0:
		return w.say.say("Nothing is planned on these days.")
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
		return w.say.tell(phrase.Date(first)) + year
	case first.Year() != last.Year():
		return w.say.say("%s to %s", w.say.tell(phrase.Day(first))+first.Format(" 2006"), phrase.Day(last)) + year
	case first.Month() != last.Month():
		return w.say.say("%s to %s", phrase.Day(first), phrase.Day(last)) + year
	}
	return w.say.say("%d to %s ## two days of a month", first.Day(), phrase.Day(last)) + year
}
