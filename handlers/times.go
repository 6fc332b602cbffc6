package handlers

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

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
	if data.People, err = s.hours(c); err != nil {
		s.fail(c, err)
		return
	}
	s.page(c, http.StatusOK, "times", r.say.say("Time book"), data)
}

// hours tells the time that is booked for each person.
func (s *server) hours(c *gin.Context) ([]views.HoursRow, error) {
	all, err := s.store.Hours(c.Request.Context())
	var rows []views.HoursRow
	for _, h := range all {
		rows = append(rows, views.HoursRow{Name: h.Name, Own: span(minutes(h.Own)), Helped: span(minutes(h.Helped)), Together: span(minutes(h.Own + h.Helped))})
	}
	return rows, err
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
