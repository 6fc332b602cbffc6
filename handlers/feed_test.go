package handlers

import (
	"bytes"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	ics "github.com/arran4/golang-ical"
	ical "github.com/emersion/go-ical" // reads what the other library writes
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"faceside/models"
	"faceside/models/testrig"
)

// feedOf makes an address for a person's calendar, or "" for the shop's.
func (r *rig) feedOf(name string) string {
	r.Helper()
	var person *models.ID
	if name != "" {
		id := testrig.Person(r.T, testrig.Snapshot(r.T, r.store), name)
		person = &id
	}
	f, err := r.store.RenewFeed(r.Context(), person)
	require.NoError(r, err)
	return feedPath(f)
}

// read fetches a calendar and reads it with a reader that is not the writer's.
func (t *browser) read(path string) []ical.Event {
	t.Helper()
	p := t.get(path)
	require.Equal(t, http.StatusOK, p.status, p.body)
	assert.Equal(t, "text/calendar; charset=utf-8", p.header.Get("Content-Type"))
	assert.Equal(t, "private, no-store", p.header.Get("Cache-Control"))
	assert.Empty(t, p.header.Values("Set-Cookie"))
	return eventsOf(t.T, p.body)
}

// eventsOf holds a calendar against RFC 5545 and returns its entries.
func eventsOf(t testing.TB, text string) []ical.Event {
	t.Helper()
	require.True(t, strings.HasSuffix(text, "\r\n"))
	for _, line := range strings.Split(strings.TrimSuffix(text, "\r\n"), "\r\n") {
		require.LessOrEqual(t, len(line), 75, "section 3.1: %s", line)
		require.True(t, utf8.ValidString(line), "no character is torn apart: %q", line)
		require.NotContains(t, line, "\n")
	}
	cal, err := ical.NewDecoder(strings.NewReader(text)).Decode()
	require.NoError(t, err)
	// The reader's own writer refuses what lacks a property or has one twice.
	require.NoError(t, ical.NewEncoder(io.Discard).Encode(cal))
	version, err := cal.Props.Text(ical.PropVersion)
	require.NoError(t, err)
	require.Equal(t, "2.0", version)
	uids := map[string]bool{}
	for _, e := range cal.Events() {
		uid := textOf(t, e, ical.PropUID)
		require.False(t, uids[uid], "twice: %s", uid)
		uids[uid] = true
		_, err := e.Props.DateTime(ical.PropDateTimeStamp, nil)
		require.NoError(t, err)
		from, to := spanOf(t, e)
		require.True(t, from.Before(to), "%s ends %s", from, to)
	}
	return cal.Events()
}

func textOf(t testing.TB, e ical.Event, name string) string {
	t.Helper()
	text, err := e.Props.Text(name)
	require.NoError(t, err)
	return text
}

func spanOf(t testing.TB, e ical.Event) (from, to time.Time) {
	t.Helper()
	from, err := e.DateTimeStart(time.UTC)
	require.NoError(t, err)
	to, err = e.DateTimeEnd(time.UTC)
	require.NoError(t, err)
	return from, to
}

func allDay(e ical.Event) bool {
	return e.Props.Get(ical.PropDateTimeStart).ValueType() == ical.ValueDate
}

// steps are the entries that are no promised dates.
func stepsOf(events []ical.Event) []ical.Event {
	var all []ical.Event
	for _, e := range events {
		if !allDay(e) {
			all = append(all, e)
		}
	}
	return all
}

const awkward = `Tisch „Ähre“; rund, 2 \ 3 — für die Stube im ersten Stock, mit Überzug 🪑 und Schublade`

func TestFeedShowsThePlan(t *testing.T) {
	r := newRig(t)
	r.take(awkward)
	r.plan()
	tab := r.browser()
	snap := testrig.Snapshot(t, r.store)
	minutes := map[string]time.Duration{}
	for _, name := range []string{"Ana", "Ben"} {
		for _, e := range stepsOf(tab.read(r.feedOf(name))) {
			from, to := spanOf(t, e)
			minutes[name] += to.Sub(from)
			assert.NotContains(t, textOf(t, e, ical.PropSummary), name, "it is their own calendar")
		}
	}
	shop := tab.read(r.feedOf(""))
	var all time.Duration
	for _, e := range stepsOf(shop) {
		from, to := spanOf(t, e)
		all += to.Sub(from)
		assert.Regexp(t, "^(Ana|Ben): ", textOf(t, e, ical.PropSummary))
	}
	assert.Equal(t, minutes["Ana"]+minutes["Ben"], all, "the shop's is both")
	planned := time.Duration(0)
	for _, p := range snap.Plan.Steps {
		planned += p.AttendedEnd.Sub(p.SetupStart)
	}
	assert.Positive(t, all)
	assert.LessOrEqual(t, all, planned, "breaks are left out")

	for _, e := range shop {
		if !allDay(e) {
			continue
		}
		assert.Equal(t, "Promised: "+awkward, textOf(t, e, ical.PropSummary), "nothing is lost in folding and escaping")
		from, to := spanOf(t, e)
		assert.Equal(t, "2026-03-20 2026-03-21", from.Format(time.DateOnly)+" "+to.Format(time.DateOnly), "the end is not part of it")
		assert.Contains(t, textOf(t, e, ical.PropDescription), "in time")
		url, err := e.Props.URI(ical.PropURL)
		require.NoError(t, err)
		assert.Equal(t, http.StatusOK, tab.get(url.Path).status)
		assert.Equal(t, r.server.URL+"/commissions/1", url.String())
	}
	assert.NotContains(t, tab.get(r.feedOf("")).body, "A. Client", "a client's name stays in the shop")
}

// Steps under one setup that one person does one after another are one entry.
func TestFeedJoinsRuns(t *testing.T) {
	r := newRig(t)
	for i := range 3 {
		r.take(fmt.Sprintf("Regal %d", i))
	}
	r.plan()
	snap := testrig.Snapshot(t, r.store)
	joined, told := 0, map[string]int{}
	for _, e := range stepsOf(r.browser().read(r.feedOf(""))) {
		lines := strings.Split(textOf(t, e, ical.PropDescription), "\n")
		if strings.Contains(textOf(t, e, ical.PropSummary), " steps") {
			joined++
		}
		for _, line := range lines {
			for i := range snap.Steps {
				st := &snap.Steps[i]
				if strings.HasPrefix(line, st.Name+", "+snap.Commission(st.CommissionID).Name+":") {
					told[fmt.Sprint(st.CommissionID, st.Key)]++
				}
			}
		}
	}
	assert.Positive(t, joined, "the plan has runs")
	assert.Len(t, told, len(snap.Steps), "each step is told")
}

// A new plan moves entries and makes no others of them.
func TestFeedEntriesStayTheSame(t *testing.T) {
	r := newRig(t)
	r.take("Regal Huber")
	r.plan()
	path, tab := r.feedOf(""), r.as("Ana")
	before := map[string]ical.Event{}
	for _, e := range tab.read(path) {
		before[textOf(t, e, ical.PropUID)] = e
	}
	assert.Equal(t, uidsOf(t, tab.read(path)), uidsOf(t, tab.read(path)), "read again")

	tab.tap(models.TapStart, r.step("joint"))
	r.clock.Step(3 * time.Hour) // it takes much longer, so that all that comes after it moves
	r.plan()
	moved := 0
	for _, e := range tab.read(path) {
		was, known := before[textOf(t, e, ical.PropUID)]
		if !known {
			continue
		}
		a, _ := spanOf(t, was)
		b, _ := spanOf(t, e)
		if !a.Equal(b) {
			moved++
			assert.Greater(t, sequenceOf(t, e), sequenceOf(t, was), "a program sees that it is newer")
		}
		assert.Equal(t, was.Props.Get(ical.PropURL).Value, e.Props.Get(ical.PropURL).Value, "the same step")
	}
	assert.Greater(t, moved, 3)
}

func uidsOf(t testing.TB, events []ical.Event) (all []string) {
	for _, e := range events {
		all = append(all, textOf(t, e, ical.PropUID))
	}
	return all
}

func sequenceOf(t testing.TB, e ical.Event) int {
	n, err := e.Props.Get(ical.PropSequence).Int()
	require.NoError(t, err)
	return n
}

// On the days the clocks change, work begins at the hour that the shop opens.
func TestFeedWhenTheClocksChange(t *testing.T) {
	zone, err := time.LoadLocation(testrig.Zone)
	require.NoError(t, err)
	for name, saturday := range map[string]time.Time{
		"an hour less": time.Date(2026, time.March, 28, 8, 0, 0, 0, zone),
		"an hour more": time.Date(2026, time.October, 24, 8, 0, 0, 0, zone),
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t)
			r.clock.Set(saturday)
			var week []models.Hours
			for day := time.Sunday; day <= time.Saturday; day++ { // an hour a day, so that the work takes days
				week = append(week, models.Hours{Weekday: day, Opens: 8 * 60, Closes: 9 * 60})
			}
			require.NoError(t, r.store.SaveHours(r.Context(), week))
			testrig.Commission(t, r.store, "Regal", saturday.AddDate(0, 0, 20).Format(time.DateOnly))
			r.plan()
			opened := map[string]bool{}
			for _, e := range stepsOf(r.browser().read(r.feedOf(""))) {
				from, to := spanOf(t, e)
				assert.Equal(t, time.UTC, from.Location())
				local := from.In(zone)
				assert.Equal(t, 8, local.Hour(), "%s", local)
				assert.False(t, to.In(zone).After(time.Date(local.Year(), local.Month(), local.Day(), 9, 0, 0, 0, zone)), "%s", to)
				if local.Minute() == 0 {
					opened[local.Format("02 15:04 -0700")] = true
				}
			}
			before, after := saturday.Format("02 15:04 -0700"), saturday.AddDate(0, 0, 1).Format("02 15:04 -0700")
			assert.True(t, opened[before] && opened[after], "%s and %s: %v", before, after, opened)
			assert.NotEqual(t, before[len(before)-5:], after[len(after)-5:])
		})
	}
}

func TestFeedIsNeverEmpty(t *testing.T) {
	r := newRig(t)
	p := r.browser().get(r.feedOf("Ben"))
	assert.Empty(t, eventsOf(t, p.body))
	assert.Contains(t, p.body, "BEGIN:VTIMEZONE", "RFC 5545 has no calendar without a component")
}

func TestFeedAddressIsASecret(t *testing.T) {
	var log bytes.Buffer
	r := newRig(t, func(c *Config) {
		c.Log = slog.New(slog.NewTextHandler(&log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	})
	tab := r.browser()
	old := r.feedOf("Ana")
	now := r.feedOf("Ana")
	for path, want := range map[string]struct {
		status int
		said   string
	}{
		now:                                   {http.StatusOK, "BEGIN:VCALENDAR"},
		strings.TrimSuffix(now, ".ics"):       {http.StatusOK, "BEGIN:VCALENDAR"},
		old:                                   {http.StatusGone, "The address of this calendar was renewed or taken back"},
		now + "x":                             {http.StatusNotFound, "There is no calendar at this address."},
		"/calendars/people/1/x.ics":           {http.StatusNotFound, "There is no calendar at this address."},
		"/calendars/people/999/x.ics":         {http.StatusNotFound, "There is no calendar at this address."},
		"/calendars/people/Ana/x.ics":         {http.StatusNotFound, `"Ana" is no number of a record.`},
		"/calendars/shop/" + now[20:]:         {http.StatusNotFound, "There is no calendar at this address."},
		strings.Replace(now, "/1/", "/2/", 1): {http.StatusNotFound, "There is no calendar at this address."},
	} {
		p := tab.get(path)
		assert.Equal(t, want.status, p.status, path)
		assert.Contains(t, p.body, want.said, path)
		if !strings.Contains(path, "Ana") {
			assert.Equal(t, "private, no-store", p.header.Get("Cache-Control"), path)
		}
	}
	require.NoError(t, r.store.Close()) // what fails is logged
	r.clock.Step(time.Hour)
	assert.Equal(t, http.StatusInternalServerError, tab.get(now).status)
	assert.Contains(t, log.String(), "/calendars/people/:id/:secret")
	assert.NotContains(t, log.String(), strings.TrimSuffix(now[strings.LastIndex(now, "/")+1:], ".ics"))
}

func TestFeedsOnTheShopScreen(t *testing.T) {
	r := newRig(t)
	tab := r.browser()
	p := tab.get("/shop")
	assert.Equal(t, []string{"The whole shop", "Ana", "Ben"}, p.texts("#calendars .row-person"))
	assert.Contains(t, p.text("#calendars .note"), "only this machine has")
	p = tab.press(p, "Make an address Ana")
	first := p.doc.Find("#calendars input[type=url]").AttrOr("value", "")
	require.True(t, strings.HasPrefix(first, r.server.URL+"/calendars/people/1/"), first)
	assert.Equal(t, 1, p.doc.Find("#calendars svg.code").Length())
	path := func(address string) string { return strings.TrimPrefix(address, r.server.URL) }
	assert.Equal(t, http.StatusOK, tab.get(path(first)).status)

	p = tab.press(p, "Renew the address Ana")
	second := p.doc.Find("#calendars input[type=url]").AttrOr("value", "")
	assert.NotEqual(t, first, second)
	assert.Equal(t, http.StatusGone, tab.get(path(first)).status)
	assert.Equal(t, http.StatusOK, tab.get(path(second)).status)

	p = tab.press(p, "Take the address back Ana")
	assert.Equal(t, 0, p.doc.Find("#calendars input[type=url]").Length())
	assert.Equal(t, http.StatusGone, tab.get(path(second)).status)
	assert.Contains(t, tab.post("/shop/calendars/end", url.Values{"person": {"1"}}).text("main"), "no address that could be taken back")
	assert.Contains(t, tab.post("/shop/calendars", url.Values{"person": {"99"}}).text("main"), "There is no person with number 99.")
	assert.Contains(t, tab.post("/shop/calendars", url.Values{"person": {"Ana"}}).text("main"), `"Ana" is no number of a record.`)

	r.german()
	p = tab.press(tab.get("/shop"), "Adresse anlegen Die ganze Werkstatt")
	assert.Contains(t, p.text("#calendars"), "Adresse erneuern")
	shop := p.doc.Find("#calendars input[type=url]").AttrOr("value", "")
	r.take("Regal")
	assert.Contains(t, tab.get(path(shop)).body, "SUMMARY:Zugesagt: Regal\r\n")
}

// Whatever somebody typed comes out of the calendar as it went in.
func TestFeedTextsAreReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOf(rapid.OneOf(rapid.Rune(), rapid.SampledFrom([]rune(`,;:\"n N<>äß漢🪑`+"\n\r\t")))).Draw(t, "text")
		cal := ics.NewCalendarFor("Faceside")
		e := cal.AddEvent("1")
		e.SetDtStampTime(time.Now())
		e.SetSummary(calendarText(text))
		var out bytes.Buffer
		if err := cal.SerializeTo(&out, ics.WithNewLineWindows); err != nil {
			t.Fatal(err)
		}
		read, err := ical.NewDecoder(&out).Decode()
		if err != nil {
			t.Fatal(err)
		}
		got, err := read.Events()[0].Props.Text(ical.PropSummary)
		if err != nil || got != calendarText(text) {
			t.Fatalf("%q came back as %q (%v)", calendarText(text), got, err)
		}
	})
}
