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
	var rows []views.DayOffRow
	for _, d := range r.snap.DaysOff {
		if d.Date < today {
			continue
		}
		row := views.DayOffRow{ID: d.ID, Date: r.say.date(d.Date), Who: r.say.say("the whole shop"), Reason: d.Reason}
		if d.PersonID != nil {
			row.Who = r.who(d.PersonID)
		}
		rows = append(rows, row)
	}
	return rows
}

func (r *room) dayOffForm() views.Form {
	id, action := recordForm("days-off", 0)
	return views.Form{ID: id, Action: action, Title: r.say.say("Add a day off"), Save: r.say.say("Add the day off"), Try: string(models.SteerDayOff), Fields: []views.Field{
		{Name: "date", Label: r.say.say("Day"), Kind: "date"},
		{Name: "person", Label: r.say.say("Who"), Kind: "select", Options: r.peopleOptions(r.say.say("the whole shop"))},
		{Name: "reason", Label: r.say.say("Reason"), Kind: "text"},
	}}
}

// saveDayOff adds a day off.
func (s *server) saveDayOff(c *gin.Context) {
	s.saveRecord(c, "days-off", func(snap *models.Snapshot, in *reader, _ models.ID) error {
		day := models.DayOff{Date: in.text("date"), PersonID: in.record("person"), Reason: in.text("reason")}
		today, err := snap.Shop.Today(s.store.Now())
		if err != nil {
			return err
		}
		if _, err := time.Parse(time.DateOnly, day.Date); err == nil && day.Date < today {
			in.refuse("date", "The day %s is past: today is %s.", day.Date, today)
		}
		if err := in.err(); err != nil {
			return err
		}
		_, err = s.store.SaveDayOff(c.Request.Context(), day)
		return err
	})
}

// removeDayOff makes a day off a working day again.
func (s *server) removeDayOff(c *gin.Context) {
	id, err := idOf(c)
	if err == nil {
		err = s.store.RemoveDayOff(c.Request.Context(), id)
	}
	s.shopSaved(c, "days-off", "", nil, err)
}
