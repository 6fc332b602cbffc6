package handlers

import (
	"slices"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/views"
)

// saveTablet names the asking tablet and says whose it is.
func (s *server) saveTablet(c *gin.Context) {
	in, err := s.reader(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	t := models.Tablet{ID: tabletID(c), Name: in.text("name"), PersonID: in.record("person"), StationID: in.record("station")}
	if err = in.err(); err == nil {
		err = s.store.SaveTablet(c.Request.Context(), t)
	}
	s.shopSaved(c, "tablet", "tablet-form", in.form, err)
}

// tablets is what the Shop screen says of them: this one first.
func (s *server) tablets(c *gin.Context, r *room) views.Tablets {
	own := tabletID(c)
	this := r.snap.Tablet(own)
	if this == nil {
		this = &models.Tablet{ID: own}
	}
	t := views.Tablets{This: r.tabletForm(*this), Clock: s.wallClock().UTC().Format(time.RFC3339Nano), Questions: r.questions("", "/shop")}
	for _, known := range r.snap.Tablets {
		row := views.TabletRow{Name: known.Name, This: known.ID == own, Belongs: r.belongs(known), Connected: s.hub.connected(known.ID), ClockOff: r.say.clockOff(known.ClockOff)}
		if known.TappedAt != nil {
			row.Tapped = r.say.at(*known.TappedAt)
		}
		t.Known = append(t.Known, row)
	}
	slices.SortStableFunc(t.Known, func(a, b views.TabletRow) int { return lastIf(a.Name == "") - lastIf(b.Name == "") })
	return t
}

func lastIf(b bool) int {
	if b {
		return 1
	}
	return 0
}

// belongs names the person or the station a tablet belongs to.
func (r *room) belongs(t models.Tablet) string {
	if t.StationID != nil {
		if st := r.snap.Station(*t.StationID); st != nil {
			return st.Name
		}
	}
	return r.who(t.PersonID)
}

func (r *room) tabletForm(t models.Tablet) views.Form {
	return views.Form{ID: "tablet-form", Action: "/tablet", Save: r.say.say("Save the tablet"), Fields: []views.Field{
		{Name: "name", Label: r.say.say("Name of this tablet"), Kind: "text", Value: t.Name},
		{Name: "person", Label: r.say.say("Belongs to"), Kind: "select", Value: chosen(t.PersonID), Options: r.peopleOptions(r.say.say("nobody in particular")), Help: r.say.say("The Bench then opens for this person.")},
		{Name: "station", Label: r.say.say("Hangs at"), Kind: "select", Value: chosen(t.StationID), Options: r.stationOptions(r.say.say("no station")), Help: r.say.say("The Bench then begins with what is done there.")},
	}}
}

// clockRight is by how much a tablet's clock may be off without a word, in seconds.
const clockRight = 60

// clockOff says how wrong a tablet's clock was; "" where it was right.
func (w words) clockOff(seconds *int) string {
	switch {
	case seconds == nil || -clockRight < *seconds && *seconds < clockRight:
		return ""
	case *seconds > 0:
		return w.say("its clock was %s ahead of the server's", w.clockSpan(*seconds/60))
	}
	return w.say("its clock was %s behind the server's", w.clockSpan(-*seconds/60))
}
