package handlers

import (
	"fmt"
	"net/http"
	"net/url"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

// What is typed on the Shop screen is tried first, kept by one tap more, and let go again.
func TestShopFormsAreTriedFirst(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	ana := r.as("Ana")
	ben := testrig.Person(t, r.snap(), "Ben")
	for name, c := range map[string]struct {
		form   string
		change func(url.Values)
		says   string
		holds  func(*models.Snapshot) bool
	}{
		"hours": {`form[action="/shop/hours"]`, func(v url.Values) { v.Set("friday_1", "11:00") },
			"The shop is open Mon–Thu 8:00–12:00, 12:30–17:00; Fri 8:00–11:00, 12:30–17:00, week by week",
			func(s *models.Snapshot) bool { return s.Hours[8].Closes == 11*60 }},
		"a day off": {"#days-off-new", func(v url.Values) { v.Set("date", "2026-03-06"); v.Set("person", fmt.Sprint(ben)) },
			"Ben is off on Fri 6 Mar", func(s *models.Snapshot) bool { return len(s.DaysOff) == 1 && s.DaysOff[0].NotedOn == "2026-03-02" }},
	} {
		t.Run(name, func(t *testing.T) {
			form := ana.get("/shop").doc.Find(c.form)
			assert.Contains(t, readable(form.Find("button")), "See what it does")
			values := fieldsOf(form, nil)
			c.change(values)
			p := ana.post(form.AttrOr("action", ""), values)
			require.Equal(t, http.StatusOK, p.status)
			require.Equal(t, "/what-if", p.path)
			assert.Contains(t, p.text("#what-if .row-person"), c.says)
			assert.False(t, c.holds(r.snap()), "nothing is changed until it is kept")
			kept := ana.press(p, "Keep it")
			require.Equal(t, "/steered", kept.path)
			assert.True(t, c.holds(r.snap()))
			gone := ana.press(kept, "Let it go : "+c.says)
			require.Equal(t, http.StatusOK, gone.status)
			assert.False(t, c.holds(r.snap()))
		})
	}
}

// Taking a day off back is tried first, whether from its row or from the what-if, and let
// go it is a day off again.
func TestTakingADayOffBackIsTriedFirst(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ben := testrig.Person(t, r.snap(), "Ben")
	_, err := r.store.SaveDayOff(t.Context(), models.DayOff{Date: "2026-03-03", Reason: "Fair"})
	require.NoError(t, err)
	_, err = r.store.SaveDayOff(t.Context(), models.DayOff{Date: "2026-03-10", PersonID: &ben})
	require.NoError(t, err)
	before := r.snap().DaysOff
	r.plan()
	ana := r.as("Ana")
	p := ana.press(ana.get("/shop"), "What if it is taken back? Tue 3 Mar, the whole shop")
	require.Equal(t, "/what-if", p.path)
	assert.Contains(t, p.text("#what-if .row-person"), "The whole shop works on Tue 3 Mar after all")
	assert.Contains(t, p.texts(".what-if-rows dd"), "1 day earlier")
	assert.Equal(t, before, r.snap().DaysOff, "nothing is changed until it is kept")
	kept := ana.press(p, "Keep it")
	require.Equal(t, "/steered", kept.path)
	assert.Equal(t, before[1:], r.snap().DaysOff)
	assert.Contains(t, kept.text(".state"), "in force")
	ana.press(kept, "Let it go : The whole shop works on Tue 3 Mar after all")
	assert.Equal(t, before, r.snap().DaysOff)

	p = ana.get("/what-if")
	assert.Equal(t, []string{"Tue 3 Mar · the whole shop", "Tue 10 Mar · Ben"}, p.texts("#try-day-back option"))
	values := fieldsOf(p.doc.Find("#try-day-back"), nil)
	values.Set("off", fmt.Sprint(before[1].ID))
	assert.Contains(t, ana.get("/what-if?"+values.Encode()).text("#what-if .row-person"), "Ben works on Tue 10 Mar after all")
	r.clock.Step(48 * time.Hour)
	p = ana.post(fmt.Sprintf("/shop/days-off/%d/remove", before[0].ID), nil)
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text(".notice"), "Tue 3 Mar is past: today is Wed 4 Mar.")
}

// That a station is out of order is tried first from its form on the Shop screen too; what
// else was typed there is saved, unless something is refused: then nothing is.
func TestAStationsFormHasDownTriedFirst(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	ana := r.as("Ana")
	path, station := stationFields(r, ana.get("/shop"), "planer")
	assert.Contains(t, ana.get("/shop").text("#stations"), "What that does is shown first")
	station.Set("down", "on")
	station.Set("setup_time", "11")
	station.Set("name", "")
	assert.Equal(t, http.StatusUnprocessableEntity, ana.post(path, station).status)
	planer := testrig.Station(t, r.snap(), "planer")
	assert.NotEqual(t, 11, planer.SetupMinutes, "nothing is half saved")
	station.Set("name", planer.Name)
	p := ana.post(path, station)
	require.Equal(t, "/what-if", p.path)
	assert.Contains(t, p.text("#what-if"), "“Planer” is out of order from now on")
	planer = testrig.Station(t, r.snap(), "planer")
	assert.Equal(t, 11, planer.SetupMinutes, "the rest is saved")
	assert.False(t, planer.Down, "and that is tried")
	require.Equal(t, "/steered", ana.press(p, "Keep it").path)
	assert.True(t, testrig.Station(t, r.snap(), "planer").Down)

	path, station = stationFields(r, ana.get("/shop"), "planer")
	assert.NotContains(t, ana.get("/shop").text(`form[action="`+path+`"]`), "What that does is shown first")
	station.Del("down")
	assert.Equal(t, "/shop", ana.post(path, station).path, "that it is in order again is so at once")
	assert.False(t, testrig.Station(t, r.snap(), "planer").Down)
}

// The hours as they are, also of a shop that is open on Sundays, are nothing to try; longer
// ones have their caution.
func TestHoursThatStayAreNothingToTry(t *testing.T) {
	r := newRig(t)
	require.NoError(t, r.store.SaveHours(r.Context(), append(r.snap().Hours, models.Hours{Weekday: time.Sunday, Opens: 8 * 60, Closes: 12 * 60})))
	r.take("Hall shelf")
	r.plan()
	ana, before := r.as("Ana"), r.revision()
	values := fieldsOf(ana.get("/shop").doc.Find(`form[action="/shop/hours"]`), nil)
	p := ana.post("/shop/hours", values)
	assert.Equal(t, http.StatusOK, p.status)
	assert.Equal(t, "/shop", p.path)
	assert.Equal(t, before, r.revision())
	values.Set("sunday_1", "11:00")
	assert.NotContains(t, ana.post("/shop/hours", values).text("#what-if"), "Tired hands")
	values.Set("sunday_1", "13:00")
	assert.Contains(t, ana.post("/shop/hours", values).text("#what-if"), "Tired hands make mistakes at machines")
}

// A station that is down from now on is tried from its own screen; kept, the journal says
// by whom, and let go it is in order again.
func TestStationDownIsTriedFirst(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	id := testrig.Station(t, r.snap(), "planer").ID
	ana := r.as("Ana")
	p := ana.get(fmt.Sprintf("/stations/%d", id))
	p = ana.get(p.doc.Find(`#down a.button`).AttrOr("href", ""))
	require.Equal(t, http.StatusOK, p.status)
	assert.Contains(t, p.text("#what-if"), "“Planer” is out of order from now on")
	assert.Contains(t, p.text("#what-if"), "the steps there are planned from Tuesday 8:00 on")
	assert.False(t, r.snap().Station(id).Down)
	stranger := r.browser()
	refused := stranger.press(p, "Keep it")
	assert.Equal(t, http.StatusUnprocessableEntity, refused.status)
	assert.Contains(t, refused.text(".notice"), "Say first, on the Bench, who is at this tablet")
	kept := ana.press(p, "Keep it")
	require.Equal(t, "/steered", kept.path)
	assert.True(t, r.snap().Station(id).Down)
	assert.Contains(t, ana.get(fmt.Sprintf("/stations/%d", id)).text(".history"), "Ana put it out of order")
	assert.Contains(t, kept.text(".state"), "in force")
	ana.press(kept, "Let it go : “Planer” is out of order from now on")
	assert.False(t, r.snap().Station(id).Down)
}

// Hours of one person alone are tried, and stand in the week with that person.
func TestOwnHoursAreTriedAndShown(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	ana := r.as("Ana")
	values := fieldsOf(ana.get("/what-if").doc.Find("#try-hours"), nil)
	values.Set("date", "2026-03-03")
	values.Set("opens", "17:00")
	values.Set("closes", "19:30")
	values.Set("person", fmt.Sprint(testrig.Person(t, r.snap(), "Ben")))
	p := ana.get("/what-if?" + values.Encode())
	require.Equal(t, http.StatusOK, p.status)
	assert.Contains(t, p.text("#what-if"), "Ben works on Tue 3 Mar from 17:00–19:30 too")
	assert.Contains(t, p.text("#what-if"), "Tired hands make mistakes at machines")
	ana.press(p, "Keep it")
	week := ana.get("/week").text("main")
	assert.Contains(t, week, "also Tue 17–19:30")
	assert.Contains(t, week, "of 11 h", "his day is longer")
	assert.Contains(t, week, "of 8 h 30", "and hers is not")
}

// By each door a change that cannot be is refused in a sentence, beside its field where it
// has one, and nothing is changed.
func TestEachDoorRefuses(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	ana := r.as("Ana")
	glue, sand, ben := r.step("glue-panel").ID, r.step("sand").ID, testrig.Person(t, r.snap(), "Ben")
	for _, pin := range []models.Steer{{Kind: models.SteerPin, StepID: glue, Date: "2026-03-06"},
		{Kind: models.SteerHours, Date: "2026-03-04", Opens: 17 * 60, Closes: 19 * 60, PersonID: ben}} {
		_, err := r.store.Steer(r.Context(), fmt.Sprint(pin.Kind), []models.Steer{pin}, 0, r.revision())
		require.NoError(t, err)
	}
	post := func(form string, change func(url.Values)) page {
		f := ana.get("/shop").doc.Find(form)
		values := fieldsOf(f, nil)
		change(values)
		return ana.post(f.AttrOr("action", ""), values)
	}
	get := func(query string) page { return ana.get("/what-if?" + query) }
	for name, c := range map[string]struct {
		sent   func() page
		status int
		in     string
		says   string
	}{
		"a day off of a pinned glue-up": {func() page {
			return post("#days-off-new", func(v url.Values) { v.Set("date", "2026-03-06") })
		}, http.StatusConflict, `#days-off-new [data-said="date"]`, "Fri 6 Mar cannot be a day off: “Glue up the panel” (Hall shelf) is pinned to Fri 6 Mar."},
		"a week without that day": {func() page {
			return post(`form[action="/shop/hours"]`, func(v url.Values) {
				for i := range 4 {
					v.Set(fmt.Sprintf("friday_%d", i), "")
				}
			})
		}, http.StatusConflict, "#hours", "The shop would be closed then: “Glue up the panel” (Hall shelf) is pinned to Fri 6 Mar."},
		"a week that overlaps": {func() page {
			return post(`form[action="/shop/hours"]`, func(v url.Values) { v.Set("monday_2", "11:00") })
		}, http.StatusUnprocessableEntity, "#hours", "The hours of Monday overlap: 8:00–12:00 and 11:00–17:00."},
		"a week that is never open": {func() page { return get("with=" + url.QueryEscape("kind=week")) },
			http.StatusUnprocessableEntity, "main", "With these hours the shop would never be open."},
		"a day off that is past": {func() page {
			return post("#days-off-new", func(v url.Values) { v.Set("date", "2026-02-28") })
		}, http.StatusUnprocessableEntity, `#days-off-new [data-said="date"]`, "Sat 28 Feb is past: today is Mon 2 Mar."},
		"own hours on the shop's": {func() page {
			return get(fmt.Sprintf("kind=hours&date=2026-03-03&opens=16:00&closes=18:00&person=%d", ben))
		}, http.StatusUnprocessableEntity, `#try-hours [data-said="opens"]`, "The hours 16:00–18:00 overlap those of Tue 3 Mar, 12:30–17:00."},
		"own hours on own hours": {func() page {
			return get(fmt.Sprintf("kind=hours&date=2026-03-04&opens=18:00&closes=20:00&person=%d", ben))
		}, http.StatusUnprocessableEntity, `#try-hours [data-said="opens"]`, "The hours 18:00–20:00 overlap those that Ben works on Wed 4 Mar, 17:00–19:00."},
		"a pin against a link": {func() page { return get(fmt.Sprintf("kind=pin&step=%d&date=2026-03-02&time=09:00", sand)) },
			http.StatusUnprocessableEntity, `#try-pin [data-said="time"]`, "“Sand the shelf” cannot be pinned to 9:00: it can begin"},
		"a station that nobody has": {func() page { return get("kind=down&station=99") },
			http.StatusNotFound, "main", "There is no station with number 99."},
		"no station": {func() page { return get("kind=down") },
			http.StatusUnprocessableEntity, `#try-down [data-said="station"]`, "Nothing was chosen here."},
	} {
		t.Run(name, func(t *testing.T) {
			before := r.revision()
			p := c.sent()
			assert.Equal(t, c.status, p.status)
			assert.Contains(t, p.text(c.in), c.says)
			assert.Equal(t, before, r.revision(), "nothing was changed")
		})
	}
}
