package handlers

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"
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
}{{1, phrase.Key("Day")}, {weekDefault, phrase.Key("Week")}, {weekMonth, phrase.Key("Month")}}

const (
	weekDefault = 5  // working days are shown unless asked otherwise
	weekMonth   = 20 // are too many for every block to be drawn
)

// weekAsked is what of the plan is to be shown, and how.
type weekAsked struct {
	from time.Time // midnight
	span int       // working days
	list bool      // as a list alone
}

// week shows the plan over some working days, from a day on: today, unless the
// query says from=YYYY-MM-DD; five, unless it says days=1 or days=20. With as=list
// there is no chart.
func (s *server) week(c *gin.Context) {
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	asked, refused := r.weekAsked(c.Query("from"), c.Query("days"), c.Query("as"))
	w := r.weekRoom(asked)
	if w.since, err = s.since(c, r.records); err != nil {
		s.fail(c, err)
		return
	}
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
func (r *room) weekAsked(from, days, as string) (weekAsked, error) {
	a := weekAsked{from: midnight(r.say.now), span: weekDefault, list: as == "list"}
	if from != "" {
		day, err := time.ParseInLocation(time.DateOnly, from, r.say.now.Location())
		if err != nil {
			return a, &models.Error{Code: models.Invalid, Field: "from", Value: from,
				Sentence: phrase.Of("From: %q is no date. Write it like %s.", from, a.from.Format(time.DateOnly))}
		}
		a.from = midnight(day)
	}
	if as != "" && !a.list {
		return a, &models.Error{Code: models.Invalid, Field: "as", Value: as,
			Sentence: phrase.Of("As: %q cannot be shown; write list, or nothing for the chart.", as)}
	}
	if days == "" {
		return a, nil
	}
	for _, span := range weekSpans {
		if days == strconv.Itoa(span.days) {
			a.span = span.days
			return a, nil
		}
	}
	return a, &models.Error{Code: models.Invalid, Field: "days", Value: days,
		Sentence: phrase.Of("Days: %q cannot be shown; choose 1, 5 or 20.", days)}
}

func (a weekAsked) href() string {
	q := url.Values{"from": {a.from.Format(time.DateOnly)}, "days": {strconv.Itoa(a.span)}}
	if a.list {
		q.Set("as", "list")
	}
	return "/week?" + q.Encode()
}

// on is the same from another day on.
func (a weekAsked) on(day time.Time) weekAsked { a.from = day; return a }

// over is the same over another number of days.
func (a weekAsked) over(days int) weekAsked { a.span = days; return a }

// other is the same as a list instead of a chart, and back.
func (a weekAsked) other() weekAsked { a.list = !a.list; return a }

// view puts the whole screen together.
func (w *weekRoom) view() views.Week {
	last := w.days[len(w.days)-1].date
	v := views.Week{
		Title:   w.title(),
		Here:    w.href(),
		Earlier: w.on(w.earlier()).href(),
		Later:   w.on(last.AddDate(0, 0, 1)).href(),
		Today:   w.on(midnight(w.say.now)).href(),
		AsList:  w.weekAsked.list,
		Other:   w.other().href(),
		Days:    w.list(),
		Since:   w.tellSince(),
	}
	for _, span := range weekSpans {
		v.Spans = append(v.Spans, views.WeekSpan{Name: w.say.tell(span.name.Of()), Href: w.over(span.days).href(), Current: span.days == w.span})
	}
	if w.snap.Plan != nil {
		v.Relaxed = w.say.tellAll(w.snap.Plan.Note)
	}
	v.Promises, v.Heavy, v.Steers = w.promises(), w.tellHeaviest(), !w.atBench
	v.Empty = w.nothing()
	if !v.AsList {
		chart := w.chart()
		v.Labels, v.Chart = chart.Drawings()
		var left []string
		v.Paper, left = chart.OnPaper()
		v.Left = w.leftOut(left)
	}
	return v
}

// leftNamed is how many rows a sheet names that it has no room for; one more is named too.
const leftNamed = 8

// leftOut says what a sheet of paper has no room for, and where it is; "" if nothing.
func (w *weekRoom) leftOut(rows []string) string {
	switch {
	case len(rows) == 0:
		return ""
	case len(rows) > leftNamed+1:
		return w.say.say("No room on this sheet for: %[1]s and %[2]d more rows. The week printed as a list has every step.", strings.Join(rows[:leftNamed], ", "), len(rows)-leftNamed)
	}
	return w.say.say("No room on this sheet for: %s. The week printed as a list has every step.", strings.Join(rows, ", "))
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

// title says which days are shown: "30 Nov to 4 Dec", "2 to 6 March", with the year
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
		return w.say.say("%s to %s", w.say.tell(phrase.ShortDay(first))+first.Format(" 2006"), phrase.ShortDay(last)) + year
	case first.Month() != last.Month():
		return w.say.say("%s to %s", phrase.ShortDay(first), phrase.ShortDay(last)) + year
	}
	return w.say.say("%d to %s ## two days of a month", first.Day(), phrase.Day(last)) + year
}
