package handlers

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"unicode"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/wood"
	"faceside/views"
)

// shop is the screen where the shop itself is written down.
func (s *server) shop(c *gin.Context) {
	data, err := s.shopData(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.page(c, http.StatusOK, "shop", s.words(c).say("Shop"), data)
}

func (s *server) shopData(c *gin.Context) (*views.Shop, error) {
	records, err := s.snapshot(c)
	if err != nil {
		return nil, err
	}
	snap := saidBy(s.screens(c).Say, records)
	// A time zone that is not known can be mended only here, so this screen does without it.
	r := &room{snap: snap, records: records, at: s.store.Now(), say: s.words(c)}
	data := &views.Shop{
		Missing: s.missing, Near: nearWords[snap.Shop.Units], General: r.say.generalForm(), Hours: r.hoursForm(),
		DaysOff: r.daysOff(), DayOff: r.dayOffForm(), Person: r.say.personForm(models.Person{Active: true}),
		Station: s.stationForm(r, models.Station{Places: 1}), Clamp: r.clampForm(models.ClampClass{}),
		Glue: r.say.glueForm(models.Glue{}), Finish: r.say.finishForm(models.Finish{}), Zone: r.say.zoneForm(models.Zone{}),
	}
	data.Log, _ = s.logSaid(r.say)
	data.Clock = s.clockSaid(r.say)
	data.Backups = s.backupsSaid(r)
	data.Tablets = s.tablets(c, r)
	data.Trust = s.trusted(c, r.say)
	if data.Feeds, err = s.feeds(c, r); err != nil {
		return nil, err
	}
	for _, p := range snap.People {
		data.People = append(data.People, r.say.personForm(p))
	}
	for _, st := range snap.Stations {
		data.Stations = append(data.Stations, s.stationRow(r, st))
	}
	for _, class := range snap.Clamps {
		data.Clamps = append(data.Clamps, r.clampForm(class))
	}
	for _, g := range snap.Glues {
		data.Glues = append(data.Glues, r.say.glueRow(g))
	}
	for _, f := range snap.Finishes {
		data.Finishes = append(data.Finishes, r.say.finishRow(f))
	}
	for _, z := range snap.Zones {
		data.Zones = append(data.Zones, r.zoneRow(z))
	}
	return data, nil
}

// sections are the parts of the screen as their headings say them.
var sections = map[string]phrase.Key{
	"general": "General", "days-off": "Days off", "people": "People", "stations": "Stations",
	"clamps": "Clamps", "zones": "Zones", "glues": "Glues", "finishes": "Finishes", "tablet": "This tablet", "calendars": "Calendars",
}

// shopSaved goes back to the section that was saved, or shows the screen again
// with what was typed in the one form that was refused.
func (s *server) shopSaved(c *gin.Context, section, formID string, typed url.Values, refusal error) {
	s.shopTried(c, sectionHref(section), section, formID, typed, refusal)
}

// sectionHref leads to a part of the screen.
func sectionHref(section string) string { return "/shop#" + section }

// shopTried is shopSaved for what may have to be tried first: it goes where that leads to.
func (s *server) shopTried(c *gin.Context, to, section, formID string, typed url.Values, refusal error) {
	forget(c)
	if refusal == nil {
		seeOther(c, to)
		return
	}
	data, err := s.shopData(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	if form := shopForm(data, formID); form != nil {
		s.words(c).refuse(form, typed, refusal)
		data.Notice = s.words(c).say("%s: see what is marked below.", sections[section].Of())
	} else {
		data.Notice = s.words(c).blame(nil, refusal)
	}
	s.page(c, formStatus(refusal), "shop", s.words(c).say("Shop"), data)
}

// shopForm finds a form of the screen by its id.
func shopForm(data *views.Shop, id string) *views.Form {
	forms := []*views.Form{&data.General, &data.Tablets.This, &data.DayOff, &data.Person, &data.Station, &data.Clamp, &data.Glue, &data.Finish, &data.Zone}
	for i := range data.People {
		forms = append(forms, &data.People[i])
	}
	for i := range data.Stations {
		forms = append(forms, &data.Stations[i].Form)
	}
	for i := range data.Clamps {
		forms = append(forms, &data.Clamps[i])
	}
	for _, rows := range [][]views.FoldedForm{data.Glues, data.Finishes, data.Zones} {
		for i := range rows {
			forms = append(forms, &rows[i].Form)
		}
	}
	for _, f := range forms {
		if f.ID == id {
			return f
		}
	}
	return nil
}

// posted reads what a form about one record begins with: its number in the path,
// the shop, the fields. Where it is not ok the answer has been given.
func (s *server) posted(c *gin.Context, number func(*gin.Context) (models.ID, error)) (id models.ID, snap *models.Snapshot, in *reader, ok bool) {
	id, err := number(c)
	if err == nil {
		snap, err = s.snapshot(c)
	}
	if err == nil {
		in, err = s.reader(c)
	}
	if err != nil {
		s.fail(c, err)
	}
	return id, snap, in, err == nil
}

// saveRecord reads the form of one record of a kind and has it saved; id is 0
// for a new one.
func (s *server) saveRecord(c *gin.Context, kind string, save func(*models.Snapshot, *reader, models.ID) error) {
	id, snap, in, ok := s.posted(c, recordID)
	if !ok {
		return
	}
	formID, _ := recordForm(kind, id)
	s.shopSaved(c, kind, formID, in.form, save(snap, in, id))
}

// recordForm names the form of a record and where it is sent; number 0 is a new one.
func recordForm(kind string, id models.ID) (formID, action string) {
	if id == 0 {
		return kind + "-new", "/shop/" + kind
	}
	return fmt.Sprintf("%s-%d", kind, id), fmt.Sprintf("/shop/%s/%d", kind, id)
}

// recordID is the number in the path of a record's form, 0 for a new one.
func recordID(c *gin.Context) (models.ID, error) {
	if c.Param("id") == "" {
		return 0, nil
	}
	return idOf(c)
}

// key makes a record's key of its name: small letters, digits and hyphens, and
// a number where it is taken.
func key(name, fallback string, taken func(string) bool) string {
	var b strings.Builder
	for _, c := range strings.ToLower(name) {
		switch {
		case c < unicode.MaxASCII && (unicode.IsLetter(c) || unicode.IsDigit(c)):
			b.WriteRune(c)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	base := strings.Trim(b.String(), "-")
	if base == "" {
		base = fallback
	}
	made := base
	for n := 2; taken(made); n++ {
		made = fmt.Sprintf("%s-%d", base, n)
	}
	return made
}

// nearWords say the temperature that times of glue and finish are given near.
var nearWords = map[string]string{wood.Millimetres: "21 °C", wood.Inches: "70 °F"}
