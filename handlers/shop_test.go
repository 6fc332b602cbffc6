package handlers

import (
	"net/http"
	"net/url"
	"strconv"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
	"faceside/models/wood"
)

// stationForm is the form of a station as the screen shows it.
func stationFields(r *rig, p page, key string) (path string, form url.Values) {
	r.Helper()
	id := testrig.Station(r.T, testrig.Snapshot(r.T, r.store), key).ID
	f := p.doc.Find("#stations-" + strconv.FormatInt(id, 10))
	require.Equal(r, 1, f.Length())
	return f.AttrOr("action", ""), fieldsOf(f, nil)
}

func TestSavingTheShopUnchangedChangesNothing(t *testing.T) {
	for language, fraction := range map[string]string{"en": "16", "de": "8"} {
		t.Run(language, func(t *testing.T) { savedUnchanged(t, language, fraction) })
	}
}

func savedUnchanged(t *testing.T, language, fraction string) {
	r := newRig(t)
	tab := r.browser()
	// Lengths that are no fraction of the shop's unit must not move either, nor names
	// that are shown in another language than they are kept in.
	general := fieldsOf(tab.get("/shop").doc.Find("#general-form"), nil)
	general.Set("units", wood.Inches)
	general.Set("fraction", fraction)
	general.Set("language", language)
	require.Equal(t, http.StatusOK, tab.post("/shop", general).status)
	before := testrig.Snapshot(t, r.store)
	p := tab.get("/shop")
	for _, form := range p.doc.Find("main form").EachIter() {
		action := form.AttrOr("action", "")
		if button := readable(form.Find("button")); button == "Save" || button == "Speichern" || action == "/shop/hours" {
			res := tab.post(action, fieldsOf(form, nil))
			assert.Equal(t, http.StatusOK, res.status, action)
		}
	}
	after := testrig.Snapshot(t, r.store)
	before.Shop.Revision, after.Shop.Revision = 0, 0
	assert.Equal(t, before.Shop, after.Shop)
	assert.Equal(t, before.People, after.People)
	assert.Equal(t, before.Stations, after.Stations)
	assert.Equal(t, before.Clamps, after.Clamps)
	assert.Equal(t, before.Glues, after.Glues)
	assert.Equal(t, before.Finishes, after.Finishes)
	assert.Equal(t, before.Zones, after.Zones)
	require.Len(t, after.Hours, len(before.Hours))
	for i := range after.Hours {
		after.Hours[i].ID = before.Hours[i].ID
	}
	assert.Equal(t, before.Hours, after.Hours)
}

func TestTheShopIsEdited(t *testing.T) {
	r := newRig(t)
	tab := r.as("Ana")
	form := fieldsOf(tab.get("/shop").doc.Find("#general-form"), nil)
	form.Set("units", "inch")
	form.Set("fraction", "32")
	form.Set("temperature", "17.5")
	p := tab.post("/shop", form)
	assert.Equal(t, http.StatusOK, p.status)
	shop := testrig.Snapshot(t, r.store).Shop
	assert.Equal(t, "inch", shop.Units)
	assert.Equal(t, 32, shop.Fraction)
	assert.InDelta(t, 17.5, shop.TemperatureC, 1e-9)

	path, station := stationFields(r, p, "planer")
	assert.Equal(t, `15 3/4"`, station.Get("greatest_width"), "to the shop's fraction")
	p = tab.post(path, station)
	assert.Equal(t, 400*wood.Millimetre, testrig.Station(t, testrig.Snapshot(t, r.store), "planer").MaxWidth, "sent as it stands it stays what it is")
	station.Set("greatest_width", `16 1/2"`)
	station.Set("down", "on")
	p = tab.post(path, station)
	planer := testrig.Station(t, testrig.Snapshot(t, r.store), "planer")
	assert.Equal(t, 33*wood.Inch/2, planer.MaxWidth)
	assert.True(t, planer.Down)
	assert.Contains(t, p.text("#stations"), "Planer out of order")
}

func TestHoursAreEdited(t *testing.T) {
	r := newRig(t)
	tab := r.browser()
	form := fieldsOf(tab.get("/shop").doc.Find(`form[action="/shop/hours"]`), nil)
	assert.Equal(t, "12:30", form.Get("monday_2"), "the lunch is the gap between two openings")
	form.Set("saturday_0", "09:00")
	form.Set("saturday_1", "13:00")
	form.Set("friday_2", "")
	form.Set("friday_3", "")
	require.Equal(t, http.StatusOK, tab.post("/shop/hours", form).status)
	hours := testrig.Snapshot(t, r.store).Hours
	assert.Len(t, hours, 10)

	for name, c := range map[string]struct {
		field, value, beside, say string
	}{
		"never closes": {"sunday_0", "10:00", "sunday_1", "Sunday opens at 10:00 and never closes."},
		"never opens":  {"sunday_1", "10:00", "sunday_0", "Sunday closes at 10:00 and never opens."},
		"no time":      {"monday_0", "dawn", "monday_0", `"dawn" is no time of day`},
		"overlap":      {"monday_2", "11:00", "", "overlap"},
		"backwards":    {"monday_1", "07:00", "", "Monday"},
	} {
		t.Run(name, func(t *testing.T) {
			bad := url.Values{}
			for k, v := range form {
				bad[k] = v
			}
			bad.Set(c.field, c.value)
			p := tab.post("/shop/hours", bad)
			assert.Equal(t, http.StatusUnprocessableEntity, p.status)
			where := "#hours .refusal"
			if c.beside != "" {
				where = `[data-said="` + c.beside + `"] .wrong-why`
			}
			assert.Contains(t, p.text(where), c.say)
			assert.Equal(t, c.value, p.typed(c.field))
			assert.Equal(t, "09:00", p.typed("saturday_0"), "the rest of the week is kept too")
			assert.Equal(t, hours, testrig.Snapshot(t, r.store).Hours)
		})
	}
}

func TestPeopleComeAndGo(t *testing.T) {
	r := newRig(t)
	tab := r.browser()
	p := tab.post("/shop/people", url.Values{"name": {"Cleo"}, "active": {"on"}})
	assert.Equal(t, http.StatusOK, p.status)
	assert.Equal(t, []string{"Ana", "Ben", "Cleo"}, tab.get("/").texts(".who-choice button"))

	p = tab.post("/shop/people", url.Values{"name": {"Cleo"}, "active": {"on"}})
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text("#people-new .wrong-why"), "Cleo")
	assert.Equal(t, 1, p.doc.Find("#people-new").Closest("details[open]").Length(), "the form is unfolded")

	cleo := testrig.Person(t, testrig.Snapshot(t, r.store), "Cleo")
	tab = r.as("Cleo")
	tab.post("/shop/people/"+strconv.FormatInt(cleo, 10), url.Values{"name": {"Cleo"}})
	assert.Equal(t, "Who is at this tablet?", tab.get("/").text("h1"), "who has left is asked again")
}

func TestDaysOff(t *testing.T) {
	r := newRig(t)
	tab := r.browser()
	ben := strconv.FormatInt(testrig.Person(t, testrig.Snapshot(t, r.store), "Ben"), 10)
	tab.post("/shop/days-off", url.Values{"date": {"2026-03-19"}, "reason": {"Town fair"}})
	p := tab.post("/shop/days-off", url.Values{"date": {"2026-03-10"}, "person": {ben}, "reason": {"Course"}})
	require.Equal(t, []string{"Tue 10 Mar · Ben", "Thu 19 Mar · the whole shop"}, p.texts("#days-off .row-person"))

	p = tab.post("/shop/days-off", url.Values{"date": {"the tenth"}, "person": {ben}, "reason": {"Course"}})
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text(`[data-said="date"]`), "the tenth")
	assert.Equal(t, ben, p.typed("person"))
	assert.Equal(t, "Course", p.doc.Find("#days-off-new [name=reason]").AttrOr("value", ""))

	p = tab.post("/shop/days-off", url.Values{"date": {"2026-03-01"}, "reason": {"Slip"}})
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text(`[data-said="date"]`), "Sun 1 Mar is past: today is Mon 2 Mar.")

	p = tab.press(p, "Remove Tue 10 Mar, Ben")
	assert.Equal(t, []string{"Thu 19 Mar · the whole shop"}, p.texts("#days-off .row-person"))
	assert.Equal(t, http.StatusNotFound, tab.post("/shop/days-off/99/remove", nil).status)
}

func TestStationsAndClampsAreAdded(t *testing.T) {
	r := newRig(t)
	tab := r.browser()
	p := tab.post("/shop/stations", url.Values{"name": {"Second planer"}, "kind": {"planer"}, "places": {"1"}, "greatest_width": {"12 in"}, "setup_time": {"8"}, "reset_time": {"3"}})
	require.Equal(t, http.StatusOK, p.status)
	st := testrig.Station(t, testrig.Snapshot(t, r.store), "second-planer")
	assert.Equal(t, 12*wood.Inch, st.MaxWidth)

	p = tab.post("/shop/clamps", url.Values{"name": {"Long pipe clamps"}, "reach": {"2 m"}, "count": {"4"}})
	require.Equal(t, http.StatusOK, p.status, p.text(".wrong-why"))
	snap := testrig.Snapshot(t, r.store)
	last := snap.Clamps[len(snap.Clamps)-1]
	assert.Equal(t, models.ClampClass{ID: last.ID, Key: "long-pipe-clamps", Name: "Long pipe clamps", Reach: 2000 * wood.Millimetre, Count: 4}, last)
}

func TestGluesFinishesAndZonesAreAddedAndChanged(t *testing.T) {
	r := newRig(t)
	tab := r.browser()
	p := tab.post("/shop/glues", url.Values{"name": {"Fish glue"}, "open_time": {"15"}, "clamp_time": {"12 h"}, "cure_time": {"2 days"}, "least_temperature": {"18.5"}})
	require.Equal(t, http.StatusOK, p.status, p.text(".wrong-why"))
	snap := testrig.Snapshot(t, r.store)
	glue := snap.Glues[len(snap.Glues)-1]
	assert.Equal(t, models.Glue{ID: glue.ID, Key: "fish-glue", Name: "Fish glue", OpenMin: 15, ClampMin: 720, CureMin: 2880, LeastTempC: 18.5}, glue)
	assert.Contains(t, p.text("#glues"), "Fish glue open time 15 min, in clamps 12 h, cured after 2 days; not below 18.5 °C")

	path := "/shop/finishes/" + strconv.FormatInt(snap.Finishes[0].ID, 10)
	form := fieldsOf(p.doc.Find(`form[action="`+path+`"]`), nil)
	form.Set("drying_time", "1 h 30")
	form.Set("greatest_recoat_time", "")
	require.Equal(t, http.StatusOK, tab.post(path, form).status)
	finish := testrig.Snapshot(t, r.store).Finishes[0]
	assert.Equal(t, 90, finish.DryMin)
	assert.Zero(t, finish.RecoatGreatestMin, "empty: no limit")
	assert.Equal(t, snap.Finishes[0].Key, finish.Key, "patterns ask for it by its key")

	p = tab.post("/shop/zones", url.Values{"name": {"Spray booth"}})
	require.Equal(t, http.StatusOK, p.status)
	zone := testrig.Snapshot(t, r.store).Zones
	assert.Equal(t, "spray-booth", zone[len(zone)-1].Key)
	assert.Contains(t, p.text("#zones"), "Spray booth no station yet")
	path, station := stationFields(r, p, "planer")
	station.Set("zone", strconv.FormatInt(zone[len(zone)-1].ID, 10))
	assert.Contains(t, tab.post(path, station).text("#zones"), "Spray booth Planer")
}

func TestWhatIsWrongWithTheShopStandsBesideItsField(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf") // it needs 5 of the 600 mm clamps
	tab := r.browser()
	screen := tab.get("/shop")
	planer, station := stationFields(r, screen, "planer")
	for name, c := range map[string]struct {
		path, field, value, say string
		form                    url.Values
	}{
		"time zone": {"/shop", "time_zone", "Mars/Olympus", "Mars/Olympus", fieldsOf(screen.doc.Find("#general-form"), nil)},
		"too hot":   {"/shop", "temperature", "900", "900", fieldsOf(screen.doc.Find("#general-form"), nil)},
		"no number": {"/shop", "humidity", "damp", `"damp" is not a number`, fieldsOf(screen.doc.Find("#general-form"), nil)},
		"no warmth": {"/shop", "temperature", "", "Nothing was typed here.", fieldsOf(screen.doc.Find("#general-form"), nil)},
		"no damp":   {"/shop", "humidity", "", "Nothing was typed here.", fieldsOf(screen.doc.Find("#general-form"), nil)},
		"no length": {planer, "greatest_width", "wide", "wide", station},
		"no places": {planer, "places", "0", "0", station},
		"no name":   {planer, "name", "", "name", station},
		"too few":   {"/shop/clamps/1", "count", "2", "2", fieldsOf(screen.doc.Find("#clamps-1"), nil)},
		"no reach":  {"/shop/clamps/1", "reach", "", "reach", fieldsOf(screen.doc.Find("#clamps-1"), nil)},
		"no span":   {"/shop/glues/1", "clamp_time", "soon", `"soon" is no span of time`, fieldsOf(screen.doc.Find("#glues-1"), nil)},
		"no time":   {"/shop/glues/1", "cure_time", "", "Nothing was typed here.", fieldsOf(screen.doc.Find("#glues-1"), nil)},
		"no glue":   {"/shop/glues/1", "open_time", "0", "0", fieldsOf(screen.doc.Find("#glues-1"), nil)},
		"too soon":  {"/shop/finishes/1", "greatest_recoat_time", "1", "shorter", fieldsOf(screen.doc.Find("#finishes-1"), nil)},
		"no zone":   {"/shop/zones/1", "name", "", "name", fieldsOf(screen.doc.Find("#zones-1"), nil)},
	} {
		t.Run(name, func(t *testing.T) {
			form := url.Values{}
			for k, v := range c.form {
				form[k] = v
			}
			form.Set(c.field, c.value)
			before := testrig.Snapshot(t, r.store).Shop.Revision
			p := tab.post(c.path, form)
			assert.Equal(t, http.StatusUnprocessableEntity, p.status)
			beside := p.doc.Find(".field.wrong")
			require.Equal(t, 1, beside.Length(), "one field is marked; the screen says: %s", p.text(".refusal"))
			assert.Equal(t, c.field, beside.Find("[name]").AttrOr("name", ""))
			assert.Contains(t, readable(beside.Find(".wrong-why")), c.say)
			assert.Equal(t, c.value, fieldsOf(beside, nil).Get(c.field), "what was typed is kept")
			assert.Equal(t, before, testrig.Snapshot(t, r.store).Shop.Revision, "nothing was saved")
		})
	}
}

func TestWhoPutsAStationOutOfOrderIsAsked(t *testing.T) {
	r := newRig(t)
	tab := r.browser()
	path, station := stationFields(r, tab.get("/shop"), "planer")
	station.Set("down", "on")
	p := tab.post(path, station)
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text("#stations"), "Say first, on the Bench, who is at this tablet")
	assert.False(t, testrig.Station(t, testrig.Snapshot(t, r.store), "planer").Down)
	assert.Empty(t, r.journal())
}

// Whatever form is refused, the sentence above says in which part of the screen it is.
func TestARefusalSaysWhereOnTheScreenItIs(t *testing.T) {
	r := newRig(t)
	tab := r.as("Ana")
	p := tab.post("/tablet", url.Values{"name": {""}})
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text(".notice"), "This tablet: see what is marked below.")
	assert.Contains(t, p.text("#tablet .wrong-why"), "The name is empty.")
}

// A form that was open while somebody put the station out of order does not put it
// back in order.
func TestAStationsFormLeavesItOutOfOrder(t *testing.T) {
	r := newRig(t)
	tab := r.as("Ana")
	path, station := stationFields(r, tab.get("/shop"), "planer")
	planer := testrig.Station(t, r.snap(), "planer")
	_, err := r.store.Tap(t.Context(), models.TapRequest{ID: uuid.NewString(), Kind: models.TapDown, StationID: planer.ID,
		PersonID: testrig.Person(t, r.snap(), "Ben"), Note: "Blade dull"})
	require.NoError(t, err)
	station.Set("setup_time", "9")
	require.Equal(t, http.StatusOK, tab.post(path, station).status)
	planer = testrig.Station(t, r.snap(), "planer")
	assert.Equal(t, 9, planer.SetupMinutes)
	assert.True(t, planer.Down)

	path, station = stationFields(r, tab.get("/shop"), "planer")
	station.Del("down") // the tick is taken away
	require.Equal(t, http.StatusOK, tab.post(path, station).status)
	assert.False(t, testrig.Station(t, r.snap(), "planer").Down)
}
