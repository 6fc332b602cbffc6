package handlers

import (
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/views"
)

// kindOfWork stands before the verbs of the catalogue where German is looked up: a bare
// verb would be taken for the beginning of a step that somebody named.
const kindOfWork = "verb:"

// times is the time book: estimated and actual attended time, side by side.
func (s *server) times(c *gin.Context) {
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	rows, err := s.store.TimeBook(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	data := views.Times{
		Rule: r.say.say("Attended time only, of steps that are finished, from taking in hand to tapping off: setting the station is in it. Nobody knows which step of a run a minute went into: between two taps a run's time is shared among the steps then in hand, in proportion to their estimates. Such steps are counted under “in runs”; of one of them alone the time says little."),
		Kinds: timeRows(rows, func(t models.Times) (string, string) {
			return strings.TrimPrefix(r.say.shipped(kindOfWork+capital(t.Verb)), kindOfWork), ""
		}),
		Commissions: timeRows(rows, func(t models.Times) (string, string) { return t.Commission, commissionHref(t.CommissionID) }),
	}
	if all := timeRows(rows, func(models.Times) (string, string) { return "", "" }); len(all) > 0 {
		data.All = all[0]
	}
	if data.Week, err = s.hoursOfWeek(c, r); err != nil {
		s.fail(c, err)
		return
	}
	s.page(c, http.StatusOK, "times", r.say.say("Time book"), data)
}

// hoursOfWeek tells the time that was booked for each person in one week: the one that
// the address names by any of its days, else the present one.
func (s *server) hoursOfWeek(c *gin.Context, r *room) (views.HoursWeek, error) {
	this := monday(r.say.now)
	from := this
	if text := c.Query("week"); text != "" {
		day, err := time.ParseInLocation(time.DateOnly, text, r.say.now.Location())
		if err != nil {
			return views.HoursWeek{}, refused("week", text, "%q is no day such as 2026-03-31: the time book shows the week of a day.", text)
		}
		from = monday(day)
	}
	to := from.AddDate(0, 0, 7)
	week := views.HoursWeek{Says: r.say.say("Week from %[1]s to %[2]s", r.say.date(from.Format(time.DateOnly)), r.say.date(to.AddDate(0, 0, -1).Format(time.DateOnly))),
		Earlier: timesHref(from.AddDate(0, 0, -7))}
	if from.Before(this) {
		week.Later = timesHref(to)
	}
	all, err := s.store.Hours(c.Request.Context(), from, to)
	for _, h := range all {
		week.People = append(week.People, views.HoursRow{Name: h.Name, Own: span(minutes(h.Own)), Helped: span(minutes(h.Helped)), Together: span(minutes(h.Own + h.Helped))})
	}
	return week, err
}

// monday is the first moment of a day's week.
func monday(t time.Time) time.Time {
	return time.Date(t.Year(), t.Month(), t.Day()-(int(t.Weekday())+6)%7, 0, 0, 0, 0, t.Location())
}

func timesHref(monday time.Time) string {
	return "/times?week=" + monday.Format(time.DateOnly) + "#by-person"
}

// minutes rounds seconds.
func minutes(seconds int) int { return (seconds + 30) / 60 }

// timeRows adds up the times of those with the same name, in the order in which
// they come.
func timeRows(all []models.Times, named func(models.Times) (name, href string)) []views.TimeRow {
	type sum struct{ estimated, later, actual, helped int }
	var rows []views.TimeRow
	var sums []sum
	for _, t := range all {
		name, href := named(t)
		i := slices.IndexFunc(rows, func(r views.TimeRow) bool { return r.Name == name && r.Href == href })
		if i < 0 {
			rows, sums, i = append(rows, views.TimeRow{Name: name, Href: href}), append(sums, sum{}), len(rows)
		}
		rows[i].Steps += t.Steps
		rows[i].InRuns += t.InRuns
		sums[i].estimated += t.Estimated
		sums[i].later += t.Later
		sums[i].actual += t.Actual
		sums[i].helped += t.Helped
	}
	for i, s := range sums {
		rows[i].Estimated, rows[i].Actual = span(s.estimated), span(minutes(s.actual))
		if s.helped > 0 {
			rows[i].Helped = span(minutes(s.helped))
		}
		if s.later != s.estimated {
			rows[i].Later = span(s.later)
		}
		if s.estimated > 0 {
			rows[i].Ratio = strconv.Itoa((s.actual*100+s.estimated*30)/(s.estimated*60)) + " %"
		}
	}
	return rows
}
