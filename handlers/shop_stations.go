package handlers

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/wood"
	"faceside/views"
)

// stationRow is a station's form under the line that tells it.
func (s *server) stationRow(r *room, st models.Station) views.StationForm {
	row := views.StationForm{Form: s.stationForm(r, st), State: "in order", Mark: "done"}
	if st.Down {
		row.State, row.Mark = "out of order", "in-trouble"
	}
	if st.SetupID != nil {
		if setup := r.snap.Setup(*st.SetupID); setup != nil {
			row.Set = setup.State
		}
	}
	limits := []string{kindName(st.Kind)}
	for _, l := range []struct {
		say string
		of  wood.Length
	}{{"up to %s wide", st.MaxWidth}, {"up to %s thick", st.MaxThickness}, {"at least %s long", st.MinLength}} {
		if l.of > 0 {
			limits = append(limits, fmt.Sprintf(l.say, r.say.length(l.of)))
		}
	}
	if st.SetupMinutes > 0 {
		limits = append(limits, "setup "+span(st.SetupMinutes))
	}
	row.Line = strings.Join(limits, " · ")
	return row
}

func (s *server) stationForm(r *room, st models.Station) views.Form {
	id, action := recordForm("stations", st.ID)
	form := views.Form{ID: id, Action: action, Title: st.Name, Save: "Save", Fields: []views.Field{
		{Name: "name", Label: "Name", Kind: "text", Value: st.Name},
		{Name: "kind", Label: "Kind", Kind: "select", Value: st.Kind, Options: s.stationKinds(r), Help: "What steps ask for."},
		{Name: "down", Label: "out of order", Kind: "check", Value: on(st.Down), Help: "No step starts here until it is in order again."},
		{Name: "places", Label: "Steps at once", Kind: "number", Mode: "numeric", Least: "1", Value: strconv.Itoa(st.Places), Help: "1 wherever it must be set up."},
		{Name: "greatest_width", Label: "Greatest width", Kind: "text", Value: r.orNone(st.MaxWidth), Help: "Empty: no limit."},
		{Name: "greatest_thickness", Label: "Greatest thickness", Kind: "text", Value: r.orNone(st.MaxThickness), Help: "Empty: no limit."},
		{Name: "least_length", Label: "Least length", Kind: "text", Value: r.orNone(st.MinLength), Help: "The least that is safe to feed; see the machine's manual."},
		{Name: "open_ended", Label: "open-ended", Kind: "check", Value: on(st.OpenEnded), Help: "Takes up to twice its width in two passes."},
		{Name: "setup_time", Label: "Setup, minutes", Kind: "number", Mode: "numeric", Least: "0", Value: strconv.Itoa(st.SetupMinutes), Help: "To another kind of setting."},
		{Name: "reset_time", Label: "Reset, minutes", Kind: "number", Mode: "numeric", Least: "0", Value: strconv.Itoa(st.ResetMinutes), Help: "To another value of the same setting."},
		{Name: "zone", Label: "Zone", Kind: "select", Value: chosen(st.ZoneID), Options: zoneOptions(r.snap.Zones), Help: "The air it shares: dust and wet finish keep apart there."},
		{Name: "caution", Label: "Caution", Kind: "textarea", Value: st.Caution, Wide: true, Help: "Shown with every step here. The machine's manual goes before it."},
	}}
	if st.ID == 0 {
		form.Title, form.Save = "Add a station", "Add the station"
	}
	return form
}

// orNone is a length as a field holds it: exactly, so that saving it unchanged does not
// move it to the shop's fraction; or nothing where there is no limit.
func (r *room) orNone(l wood.Length) string {
	if l == 0 {
		return ""
	}
	return l.Exactly(r.say.shop.Units)
}

// chosen is the value of a select that names a record.
func chosen(id *models.ID) string {
	if id == nil {
		return ""
	}
	return strconv.FormatInt(*id, 10)
}

func zoneOptions(zones []models.Zone) []views.Option {
	options := []views.Option{{Value: "", Name: "none"}}
	for _, z := range zones {
		options = append(options, views.Option{Value: strconv.FormatInt(z.ID, 10), Name: z.Name})
	}
	return options
}

// kindName says the kind of a station, e.g. "table saw".
func kindName(kind string) string { return strings.ReplaceAll(kind, "-", " ") }

// stationKinds are the kinds steps ask for and the kinds there are.
func (s *server) stationKinds(r *room) []views.Option {
	var kinds []string
	for _, st := range s.library.GenerousShop().Stations {
		kinds = append(kinds, st.Kind)
	}
	for _, st := range r.snap.Stations {
		kinds = append(kinds, st.Kind)
	}
	slices.Sort(kinds)
	var options []views.Option
	for _, kind := range slices.Compact(kinds) {
		options = append(options, views.Option{Value: kind, Name: kindName(kind)})
	}
	return options
}

// saveStation saves one station; without a number in the path, a new one.
func (s *server) saveStation(c *gin.Context) {
	s.saveRecord(c, "stations", func(snap *models.Snapshot, in *reader, id models.ID) error {
		st := in.station()
		st.ID = id
		was := snap.Station(id)
		if was != nil {
			st.Key = was.Key
		} else {
			st.Key = key(st.Name, "station", func(k string) bool {
				return slices.ContainsFunc(snap.Stations, func(o models.Station) bool { return o.Key == k })
			})
		}
		moved := in.check("down") != (was != nil && was.Down)
		who := s.person(c, snap)
		if moved && who == nil {
			in.refuse("down", "Say first, on the Bench, who is at this tablet: the journal names who says this.")
		}
		if err := in.err(); err != nil {
			return err
		}
		st, err := s.store.SaveStation(c.Request.Context(), st)
		if err != nil || !moved {
			return err
		}
		return s.orderTap(c, st.ID, in.check("down"), who.ID)
	})
}

func (r *reader) station() models.Station {
	return models.Station{
		Name: r.text("name"), Kind: r.text("kind"), Places: r.whole("places"),
		MaxWidth: r.length("greatest_width"), MaxThickness: r.length("greatest_thickness"), MinLength: r.length("least_length"),
		OpenEnded: r.check("open_ended"), SetupMinutes: r.whole("setup_time"), ResetMinutes: r.whole("reset_time"),
		ZoneID: r.record("zone"), Caution: r.text("caution"),
	}
}
