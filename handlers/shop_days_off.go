package handlers

import (
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/views"
)

// daysOff lists the days off to come.
func (r *room) daysOff() []views.DayOffRow {
	today := r.say.now.Format(time.DateOnly)
	remove := r.say.say("Remove")
	if hasWork(r.snap) {
		remove = r.say.say("What if it is taken back?")
	}
	var rows []views.DayOffRow
	for _, d := range r.snap.DaysOff {
		if d.Date < today {
			continue
		}
		row := views.DayOffRow{ID: d.ID, Date: r.say.date(d.Date), Who: r.say.say("the whole shop"), Reason: d.Reason, Remove: remove}
		if d.PersonID != nil {
			row.Who = r.who(d.PersonID)
		}
		rows = append(rows, row)
	}
	return rows
}

func (r *room) dayOffForm() views.Form {
	id, action := recordForm("days-off", 0)
	return views.Form{ID: id, Action: action, Title: r.say.say("Add a day off"), Save: r.saveOrTry(r.say.say("Add the day off")), Fields: []views.Field{
		{Name: "date", Label: r.say.say("Day"), Kind: "date"},
		{Name: "person", Label: r.say.say("Who"), Kind: "select", Options: r.peopleOptions(r.say.say("the whole shop"))},
		{Name: "reason", Label: r.say.say("Reason"), Kind: "text"},
	}}
}

// saveDayOff has a day off tried, or adds it where there is nothing to try it on.
func (s *server) saveDayOff(c *gin.Context) {
	_, _, in, ok := s.posted(c, recordID)
	if !ok {
		return
	}
	change, to := in.steer(models.SteerDayOff), ""
	err := in.err()
	if err == nil {
		to, err = s.triedFirst(c, change, sectionHref("days-off"), func() error {
			_, err := s.store.SaveDayOff(c.Request.Context(), models.DayOff{Date: change.Date, PersonID: in.record("person"), Reason: change.Name})
			return err
		})
	}
	formID, _ := recordForm("days-off", 0)
	s.shopTried(c, to, "days-off", formID, in.form, err)
}

// removeDayOff has it tried that a day off is taken back, or removes it where there is
// nothing to try that on.
func (s *server) removeDayOff(c *gin.Context) {
	to := ""
	id, err := idOf(c)
	if err == nil {
		to, err = s.triedFirst(c, models.Steer{Kind: models.SteerDayBack, DayOffID: id}, sectionHref("days-off"), func() error {
			return s.store.RemoveDayOff(c.Request.Context(), id)
		})
	}
	s.shopTried(c, to, "days-off", "", nil, err)
}
