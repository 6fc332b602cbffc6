package models_test

import (
	"context"
	"math"
	"strings"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"
	"faceside/models/wood"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestSaveShop(t *testing.T) {
	store := testrig.Shop(t, testrig.Monday())
	ctx := context.Background()
	was := testrig.Snapshot(t, store).Shop
	want := models.Shop{ID: 1, Name: "Other", TimeZone: "America/Lima", Units: "inch", Fraction: 64, TemperatureC: 0, HumidityPct: 0, Language: "de"}
	change := want
	change.ID, change.Revision, change.UID = 7, 7, "7" // the store's own
	require.NoError(t, store.SaveShop(ctx, change))
	want.Revision, want.UID = was.Revision+1, was.UID
	assert.Equal(t, want, testrig.Snapshot(t, store).Shop, "zeroes are kept too")

	for _, c := range []struct {
		name     string
		with     func(*models.Shop)
		sentence string
	}{
		{"empty name", func(s *models.Shop) { s.Name = " " }, "The name is empty."},
		{"long name", func(s *models.Shop) { s.Name = strings.Repeat("ä", 121) }, "The name has 121 characters; at most 120 can be kept."},
		{"no such zone", func(s *models.Shop) { s.TimeZone = "Quince/Lane" }, `There is no time zone "Quince/Lane"; write one such as Europe/Zurich or UTC.`},
		{"no zone", func(s *models.Shop) { s.TimeZone = "" }, `There is no time zone ""; write one such as Europe/Zurich or UTC.`},
		{"units", func(s *models.Shop) { s.Units = "cubit" }, `The units "cubit" is not one of "inch", "mm".`},
		{"language", func(s *models.Shop) { s.Language = "la" }, `The language "la" is not one of "en", "de".`},
		{"fraction", func(s *models.Shop) { s.Fraction = 12 }, `The fraction "12" is not one of "8", "16", "32", "64".`},
		{"hot", func(s *models.Shop) { s.TemperatureC = 61 }, "The temperature 61 °C is not between -30 and 60 °C."},
		{"no number", func(s *models.Shop) { s.HumidityPct = math.NaN() }, "The humidity NaN % is not between 0 and 100 %."},
	} {
		t.Run(c.name, func(t *testing.T) {
			bad := want
			c.with(&bad)
			refused(t, store.SaveShop(ctx, bad), models.Invalid, c.sentence)
			assert.Equal(t, want, testrig.Snapshot(t, store).Shop)
		})
	}
}

func TestSaveHours(t *testing.T) {
	store := testrig.Shop(t, testrig.Monday())
	ctx := context.Background()
	week := testrig.Snapshot(t, store).Hours
	require.Len(t, week, 10)
	for _, c := range []struct {
		name     string
		hours    []models.Hours
		sentence string
	}{
		{"overlap", []models.Hours{{Weekday: 1, Opens: 600, Closes: 720}, {Weekday: 1, Opens: 480, Closes: 610}}, "The hours of Monday overlap: 8:00–10:10 and 10:00–12:00."},
		{"backwards", []models.Hours{{Weekday: 2, Opens: 600, Closes: 600}}, "The hours of Tuesday, 10:00–10:00, do not open before they close within one day."},
		{"too long", []models.Hours{{Weekday: 2, Opens: 600, Closes: 1441}}, "The hours of Tuesday, 10:00–24:01, do not open before they close within one day."},
		{"no weekday", []models.Hours{{Weekday: 7, Opens: 600, Closes: 700}}, "The weekday 7 is not between 0 (Sunday) and 6."},
	} {
		t.Run(c.name, func(t *testing.T) {
			refused(t, store.SaveHours(ctx, c.hours), models.Invalid, c.sentence)
			assert.Equal(t, week, testrig.Snapshot(t, store).Hours, "nothing is half saved")
		})
	}
	touching := []models.Hours{{Weekday: 6, Opens: 720, Closes: 1440}, {Weekday: 6, Opens: 0, Closes: 720}}
	require.NoError(t, store.SaveHours(ctx, touching))
	got := testrig.Snapshot(t, store).Hours
	require.Len(t, got, 2)
	assert.Equal(t, 0, got[0].Opens, "in order")
	require.NoError(t, store.SaveHours(ctx, nil))
	assert.Empty(t, testrig.Snapshot(t, store).Hours)
}

func TestDaysOff(t *testing.T) {
	store := testrig.Shop(t, testrig.Monday())
	ctx := context.Background()
	ana := testrig.Person(t, testrig.Snapshot(t, store), "Ana")
	all, err := store.SaveDayOff(ctx, models.DayOff{Date: "2026-04-06", Reason: "Easter Monday"})
	require.NoError(t, err)
	hers, err := store.SaveDayOff(ctx, models.DayOff{Date: "2026-04-06", PersonID: &ana})
	require.NoError(t, err)
	assert.Equal(t, []models.DayOff{all, hers}, testrig.Snapshot(t, store).DaysOff)

	_, err = store.SaveDayOff(ctx, models.DayOff{Date: "2026-04-06"})
	refused(t, err, models.Invalid, "2026-04-06 is a day off already.")
	_, err = store.SaveDayOff(ctx, models.DayOff{Date: "2026-02-29"})
	refused(t, err, models.Invalid, `The date "2026-02-29" is not a day such as 2026-03-31.`)
	nobody := models.ID(99)
	_, err = store.SaveDayOff(ctx, models.DayOff{Date: "2026-04-07", PersonID: &nobody})
	refused(t, err, models.NotFound, "There is no person with number 99.")

	all.Date = "2026-04-07"
	_, err = store.SaveDayOff(ctx, all)
	require.NoError(t, err)
	require.NoError(t, store.RemoveDayOff(ctx, hers.ID))
	assert.Equal(t, []models.DayOff{all}, testrig.Snapshot(t, store).DaysOff)
	refused(t, store.RemoveDayOff(ctx, hers.ID), models.NotFound, "There is no day off with number 2.")
}

func TestSavePerson(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	_, err := b.store.SavePerson(ctx, models.Person{Name: "ana", Active: true})
	refused(t, err, models.Invalid, `The name "ana" is taken already.`)
	_, err = b.store.SavePerson(ctx, models.Person{ID: 99, Name: "Cleo"})
	refused(t, err, models.NotFound, "There is no person with number 99.")
	b.tap(models.TapStart, "joint", b.ana)
	_, err = b.store.SavePerson(ctx, models.Person{ID: b.ana, Name: "Ana"})
	refused(t, err, models.Conflict, "Ana has “Joint a face and an edge” in hand: finish it or put it down first.")
	ben, err := b.store.SavePerson(ctx, models.Person{ID: b.ben, Name: "Benno"})
	require.NoError(t, err)
	assert.Equal(t, ben, *b.snap().Person(b.ben))
}

func TestSaveStation(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	b.do("joint", "plane")
	planer := *testrig.Station(t, b.snap(), "planer")
	require.NotNil(t, planer.SetupID)
	want := planer
	want.Name, want.MaxWidth, want.Caution, want.ZoneID, want.SetupMinutes = "Thicknesser", 0, "", nil, 0
	edited := want
	edited.SetupID = nil // a form knows nothing of it
	got, err := b.store.SaveStation(ctx, edited)
	require.NoError(t, err)
	assert.Equal(t, want, got)
	assert.Equal(t, want, *testrig.Station(t, b.snap(), "planer"), "zeroes are kept, and the journal's setup")

	nowhere := models.ID(99)
	for _, c := range []struct {
		name     string
		with     func(*models.Station)
		code     models.Code
		sentence string
	}{
		{"key taken", func(s *models.Station) { s.Key = "jointer" }, models.Invalid, `The key "jointer" is taken already.`},
		{"no key", func(s *models.Station) { s.Key = "the planer" }, models.Invalid, `The key "the planer" is no key: use letters and digits without accents, and - . _ / : # after the first.`},
		{"no name", func(s *models.Station) { s.Name = "" }, models.Invalid, "The name is empty."},
		{"no kind", func(s *models.Station) { s.Kind = "" }, models.Invalid, `The kind "" is no key: use letters and digits without accents, and - . _ / : # after the first.`},
		{"no place", func(s *models.Station) { s.Places = 0 }, models.Invalid, "The places 0 is not between 1 and 100."},
		{"places and setups", func(s *models.Station) { s.Places = 2 }, models.Invalid, "Thicknesser is set up for its steps, so it has one place, not 2."},
		{"narrow", func(s *models.Station) { s.MaxWidth = -wood.Millimetre }, models.Invalid, "The greatest width -1 mm is not between 0 and 100 m."},
		{"slow", func(s *models.Station) { s.SetupMinutes = 1441 }, models.Invalid, "The setup time 1441 minutes is not between 0 and 1440 minutes."},
		{"no zone", func(s *models.Station) { s.ZoneID = &nowhere }, models.NotFound, "There is no zone with number 99."},
		{"no such", func(s *models.Station) { s.ID = 99 }, models.NotFound, "There is no station with number 99."},
	} {
		t.Run(c.name, func(t *testing.T) {
			bad := want
			c.with(&bad)
			_, err := b.store.SaveStation(ctx, bad)
			refused(t, err, c.code, c.sentence)
			assert.Equal(t, want, *testrig.Station(t, b.snap(), "planer"))
		})
	}
}

func TestSaveClampClass(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	bars := b.snap().Clamps[0]
	bars.Count = 4
	_, err := b.store.SaveClampClass(ctx, bars)
	refused(t, err, models.Invalid, "4 of 600 mm bar clamps are too few: “Glue up the panel” needs 5.")
	bars.Count = 5
	_, err = b.store.SaveClampClass(ctx, bars)
	require.NoError(t, err)
	assert.Equal(t, 5, b.snap().Clamps[0].Count)
	bars.Reach = 0
	_, err = b.store.SaveClampClass(ctx, bars)
	refused(t, err, models.Invalid, "The reach 0 mm is not above 0 and at most 100 m.")
	bars.Reach, bars.Key = wood.Foot, "f-300"
	_, err = b.store.SaveClampClass(ctx, bars)
	refused(t, err, models.Invalid, `The key "f-300" is taken already.`)
}

func TestSaveMaterialsAndZones(t *testing.T) {
	store := testrig.Shop(t, testrig.Monday())
	ctx := context.Background()
	snap := testrig.Snapshot(t, store)

	glue := snap.Glues[0]
	glue.CureMin, glue.Caution = 0, ""
	_, err := store.SaveGlue(ctx, glue)
	require.NoError(t, err)
	glue.OpenMin = 0
	_, err = store.SaveGlue(ctx, glue)
	refused(t, err, models.Invalid, "The open time 0 minutes is not between 1 and 10080 minutes.")
	glue.OpenMin, glue.Key = 5, "epoxy"
	_, err = store.SaveGlue(ctx, glue)
	refused(t, err, models.Invalid, `The key "epoxy" is taken already.`)

	finish := snap.Finishes[0]
	finish.RecoatGreatestMin = 719
	_, err = store.SaveFinish(ctx, finish)
	refused(t, err, models.Invalid, "The greatest recoat time 719 minutes is shorter than the least, 720.")
	finish.RecoatGreatestMin = 0
	_, err = store.SaveFinish(ctx, finish)
	require.NoError(t, err)
	finish.Key = "shellac"
	_, err = store.SaveFinish(ctx, finish)
	refused(t, err, models.Invalid, `The key "shellac" is taken already.`)

	zone := snap.Zones[0]
	zone.Name = ""
	_, err = store.SaveZone(ctx, zone)
	refused(t, err, models.Invalid, "The name is empty.")
	zone.Name = "Machines"
	_, err = store.SaveZone(ctx, zone)
	require.NoError(t, err)

	after := testrig.Snapshot(t, store)
	assert.Equal(t, "Machines", after.Zone(zone.ID).Name)
	assert.Zero(t, after.Glues[0].CureMin)
	assert.Zero(t, after.Finishes[0].RecoatGreatestMin)
	assert.Equal(t, snap.Shop.Revision+3, after.Shop.Revision, "each saved record counts, no refused one")
}

func TestToday(t *testing.T) {
	shop := models.Shop{TimeZone: "Pacific/Auckland"}
	today, err := shop.Today(time.Date(2026, 3, 2, 20, 0, 0, 0, time.UTC))
	require.NoError(t, err)
	assert.Equal(t, "2026-03-03", today)
}

// A station that is saved with a tap is saved with it or not at all.
func TestSaveStationTapped(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	var told []models.Change
	b.store.OnChange(func(c models.Change) { told = append(told, c) })
	was := b.snap().Shop.Revision
	planer := *testrig.Station(t, b.snap(), "planer")
	planer.Name = "Thicknesser"
	down := models.TapRequest{ID: b.id(), Kind: models.TapDown, PersonID: b.ana}
	got, err := b.store.SaveStationTapped(ctx, planer, down)
	require.NoError(t, err)
	now := *testrig.Station(t, b.snap(), "planer")
	assert.Equal(t, now, got)
	assert.Equal(t, "Thicknesser", now.Name)
	assert.True(t, now.Down)
	require.Len(t, told, 1, "it is one change")
	assert.Equal(t, models.ChangedShop, told[0].Kind)
	assert.Equal(t, down.ID, told[0].Tap.ID)
	assert.Equal(t, was+1, b.snap().Shop.Revision)

	planer.Name = "Planer of old"
	down.ID = b.id()
	_, err = b.store.SaveStationTapped(ctx, planer, down) // from a screen that did not know
	refused(t, err, models.Conflict, "Planer of old is out of order already.")
	assert.Equal(t, now, *testrig.Station(t, b.snap(), "planer"), "its name is not changed either")
	added := models.Station{Key: "bandsaw-2", Name: "Second bandsaw", Kind: "bandsaw", Places: 1}
	got, err = b.store.SaveStationTapped(ctx, added, models.TapRequest{ID: b.id(), Kind: models.TapDown, PersonID: b.ana})
	require.NoError(t, err)
	assert.True(t, b.snap().Station(got.ID).Down, "a new one too")
	assertReplays(t, b.store, b.snap())
}
