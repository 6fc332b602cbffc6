package handlers

import (
	"slices"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"
	"github.com/google/uuid"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/wood"
	"faceside/views"
)

// stationRow is a station's form under the line that tells it.
func (s *server) stationRow(r *room, st models.Station) views.StationForm {
	row := views.StationForm{Form: s.stationForm(r, st), State: r.say.say("in order"), Mark: "done", Set: r.setting(st.SetupID)}
	if st.Down {
		row.State, row.Mark = r.say.say("out of order"), "in-trouble"
	}
	var limits []string
	if kind := r.say.kindName(st.Kind); !strings.EqualFold(kind, st.Name) {
		limits = append(limits, kind)
	}
	for _, l := range []struct {
		say phrase.Key
		of  wood.Length
	}{{phrase.Key("up to %s wide"), st.MaxWidth}, {phrase.Key("up to %s thick"), st.MaxThickness}, {phrase.Key("at least %s long"), st.MinLength}} {
		if l.of > 0 {
			limits = append(limits, r.say.tell(l.say.Of(l.of)))
		}
	}
	if st.SetupMinutes > 0 {
		limits = append(limits, r.say.say("setup %s", span(st.SetupMinutes)))
	}
	row.Line = strings.Join(limits, " · ")
	return row
}

func (s *server) stationForm(r *room, st models.Station) views.Form {
	id, action := recordForm("stations", st.ID)
	downHelp := r.say.say("No step starts here until it is in order again.")
	if st.ID != 0 && !st.Down && hasWork(r.snap) {
		downHelp += " " + r.say.say("What that does is shown first, and kept by one tap more.")
	}
	form := views.Form{ID: id, Action: action, Title: st.Name, Save: r.say.say("Save"), Fields: []views.Field{
		{Name: "name", Label: r.say.say("Name"), Kind: "text", Value: st.Name},
		{Name: "kind", Label: r.say.say("Kind"), Kind: "select", Value: st.Kind, Options: s.stationKinds(r), Help: r.say.say("What steps ask for.")},
		{Name: "down", Label: r.say.say("out of order"), Kind: "check", Value: on(st.Down), Help: downHelp},
		{Name: "down_shown", Kind: "hidden", Value: on(st.Down)}, // somebody may tap it while the form is open
		{Name: "places", Label: r.say.say("Steps at once"), Kind: "number", Mode: "numeric", Least: "1", Value: strconv.Itoa(st.Places), Help: r.say.say("1 wherever it must be set up.")},
		{Name: "greatest_width", Label: r.say.say("Greatest width"), Kind: "text", Value: r.orNone(st.MaxWidth), Help: r.say.say("Empty: no limit.")},
		{Name: "greatest_thickness", Label: r.say.say("Greatest thickness"), Kind: "text", Value: r.orNone(st.MaxThickness), Help: r.say.say("Empty: no limit.")},
		{Name: "least_length", Label: r.say.say("Least length"), Kind: "text", Value: r.orNone(st.MinLength), Help: r.say.say("The least that is safe to feed; see the machine's manual.")},
		{Name: "open_ended", Label: r.say.say("open-ended"), Kind: "check", Value: on(st.OpenEnded), Help: r.say.say("Takes up to twice its width in two passes.")},
		{Name: "setup_time", Label: r.say.say("Setup, minutes"), Kind: "number", Mode: "numeric", Least: "0", Value: strconv.Itoa(st.SetupMinutes), Help: r.say.say("To another kind of setting.")},
		{Name: "reset_time", Label: r.say.say("Reset, minutes"), Kind: "number", Mode: "numeric", Least: "0", Value: strconv.Itoa(st.ResetMinutes), Help: r.say.say("To another value of the same setting.")},
		{Name: "zone", Label: r.say.say("Zone"), Kind: "select", Value: chosen(st.ZoneID), Options: r.zoneOptions(), Help: r.say.say("The air it shares: dust and wet finish keep apart there.")},
		{Name: "caution", Label: r.say.say("Caution"), Kind: "textarea", Value: st.Caution, Wide: true, Help: r.say.say("Shown with every step here. The machine's manual goes before it.")},
	}}
	if st.ID == 0 {
		form.Title, form.Save = r.say.say("Add a station"), r.say.say("Add the station")
	}
	return form
}

// orNone is a length as a field holds it, or nothing where there is no limit.
func (r *room) orNone(l wood.Length) string {
	if l == 0 {
		return ""
	}
	return r.say.length(l)
}

// chosen is the value of a select that names a record.
func chosen(id *models.ID) string {
	if id == nil {
		return ""
	}
	return strconv.FormatInt(*id, 10)
}

func (r *room) zoneOptions() []views.Option {
	return options(r.say.say("none"), r.snap.Zones, func(z *models.Zone) (models.ID, string) { return z.ID, z.Name })
}

// kindName says the kind of a station, e.g. "table saw".
func (w words) kindName(kind string) string { return w.shipped(strings.ReplaceAll(kind, "-", " ")) }

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
		options = append(options, views.Option{Value: kind, Name: r.say.kindName(kind)})
	}
	return options
}

// saveStation saves one station; without a number in the path, a new one.
func (s *server) saveStation(c *gin.Context) {
	id, snap, in, ok := s.posted(c, recordID)
	if !ok {
		return
	}
	formID, _ := recordForm("stations", id)
	to, err := s.stationSaved(c, snap, in, id)
	s.shopTried(c, to, "stations", formID, in.form, err)
}

// stationSaved saves what was typed of a station, and says where that leads to. That it is
// out of order is tried first, where there is work that it would move.
func (s *server) stationSaved(c *gin.Context, snap *models.Snapshot, in *reader, id models.ID) (to string, err error) {
	was := snap.Station(id)
	st := in.station(was)
	st.ID = id
	if was == nil {
		st.Key = key(st.Name, "station", func(k string) bool {
			return slices.ContainsFunc(snap.Stations, func(o models.Station) bool { return o.Key == k })
		})
	}
	down, who := in.check("down"), s.person(c, snap)
	moved := down != in.check("down_shown") && down != (was != nil && was.Down)
	if moved && who == nil {
		in.refuse("down", "Say first, on the Bench, who is at this tablet: the journal names who says this.")
	}
	if err := in.err(); err != nil {
		return "", err
	}
	save := func() error {
		_, err := s.store.SaveStation(c.Request.Context(), st)
		return err
	}
	tapped := func() error {
		_, err := s.store.SaveStationTapped(c.Request.Context(), st, orderTap(c, down, who.ID))
		return err
	}
	home := sectionHref("stations")
	switch {
	case !moved:
		return home, save()
	case !down || was == nil:
		return home, tapped()
	}
	if to, err = s.triedFirst(c, models.Steer{Kind: models.SteerDown, StationID: id}, home, tapped); err == nil && to != home {
		err = save()
	}
	return to, err
}

// orderTap puts a station out of order, or in order again.
func orderTap(c *gin.Context, down bool, who models.ID) models.TapRequest {
	tap := models.TapRequest{ID: uuid.NewString(), Kind: models.TapUp, PersonID: who, Tablet: tabletID(c)}
	if down {
		tap.Kind = models.TapDown
	}
	return tap
}

// station reads a station; was is it so far, nil for a new one.
func (r *reader) station(was *models.Station) models.Station {
	if was == nil {
		was = &models.Station{}
	}
	return models.Station{
		Key: was.Key, Name: r.kept("name", was.Name), Kind: r.text("kind"), Places: r.whole("places"),
		MaxWidth: r.length("greatest_width", was.MaxWidth), MaxThickness: r.length("greatest_thickness", was.MaxThickness), MinLength: r.length("least_length", was.MinLength),
		OpenEnded: r.check("open_ended"), SetupMinutes: r.whole("setup_time"), ResetMinutes: r.whole("reset_time"),
		ZoneID: r.record("zone"), Caution: r.kept("caution", was.Caution),
	}
}
