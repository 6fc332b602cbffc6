package seed

import (
	"context"
	"fmt"
	"time"

	"faceside/models"
	"faceside/models/wood"
)

const (
	demoZone        = "America/New_York"
	demoStartHour   = 10
	demoStartMinute = 20
)

// The people and places of the demo, by the names its history uses.
const (
	demoMaren  = "Maren"
	demoTobias = "Tobias"
)

// What a maker is reminded of at a station beyond what the step catalogue says of
// every step at such a machine. Common practice, no source; the local code comes first.
const (
	finishCaution = "Open the window or run the fan. Dry rags flat outdoors or put them in a closed metal can: piled up they can catch fire by themselves."
)

// demoStation is a station with its zone by key.
type demoStation struct {
	models.Station
	zone string
}

// inches is a length in inches, for the tables below.
func inches(n float64) wood.Length { return wood.Length(n * float64(wood.Inch)) }

// demoStations are the stations of the demo shop. Their limits are those of
// ordinary small-shop machines (common practice, no source).
func demoStations() []demoStation {
	return []demoStation{
		{models.Station{Key: "jointer-1", Name: "Jointer", Kind: "jointer", Places: 1, MaxWidth: inches(8), MinLength: inches(12),
			SetupMinutes: 6, ResetMinutes: 3}, "machine-room"},
		{models.Station{Key: "planer-1", Name: "Planer", Kind: "planer", Places: 1, MaxWidth: inches(15), MaxThickness: inches(6), MinLength: inches(14),
			SetupMinutes: 8, ResetMinutes: 5}, "machine-room"},
		{models.Station{Key: "table-saw-1", Name: "Table saw", Kind: "table-saw", Places: 1, MaxWidth: inches(50), MaxThickness: inches(3.125),
			SetupMinutes: 12, ResetMinutes: 4}, "machine-room"},
		{models.Station{Key: "band-saw-1", Name: "Band saw", Kind: "band-saw", Places: 1, MaxThickness: inches(12),
			SetupMinutes: 10, ResetMinutes: 4}, "machine-room"},
		{models.Station{Key: "mitre-1", Name: "Mitre station", Kind: "mitre-station", Places: 1, MaxWidth: inches(13.5), MaxThickness: inches(4),
			SetupMinutes: 5, ResetMinutes: 3}, "machine-room"},
		{models.Station{Key: "router-table-1", Name: "Router table", Kind: "router-table", Places: 1,
			SetupMinutes: 14, ResetMinutes: 6}, "machine-room"},
		{models.Station{Key: "mortiser-1", Name: "Mortiser", Kind: "mortiser", Places: 1, MaxThickness: inches(4.5),
			SetupMinutes: 12, ResetMinutes: 5}, "machine-room"},
		{models.Station{Key: "drill-press-1", Name: "Drill press", Kind: "drill-press", Places: 1,
			SetupMinutes: 6, ResetMinutes: 3}, "machine-room"},
		{models.Station{Key: "drum-sander-1", Name: "Drum sander", Kind: "drum-sander", Places: 1, MaxWidth: inches(18), MaxThickness: inches(4), MinLength: inches(6), OpenEnded: true,
			SetupMinutes: 12, ResetMinutes: 4}, "machine-room"},
		{models.Station{Key: "bench-1", Name: "Assembly bench", Kind: "bench", Places: 2}, ""},
		{models.Station{Key: "sanding-bench-1", Name: "Sanding bench", Kind: "sanding-bench", Places: 1, SetupMinutes: 2, ResetMinutes: 1}, "bench-room"},
		{models.Station{Key: "finish-1", Name: "Finish corner", Kind: "finish-room", Places: 3, Caution: finishCaution}, "bench-room"},
	}
}

func demoClamps() []models.ClampClass {
	return []models.ClampClass{
		{Key: "f-300", Name: "F-clamp 12 in", Reach: inches(12), Count: 14},
		{Key: "bar-600", Name: "Bar clamp 24 in", Reach: inches(24), Count: 8},
		{Key: "bar-1200", Name: "Bar clamp 48 in", Reach: inches(48), Count: 10},
	}
}

// fitDemoShop enters the shop itself, its people, places and materials.
func fitDemoShop(ctx context.Context, store *models.Store, start time.Time) error {
	snap, err := store.Snapshot(ctx)
	if err != nil {
		return fmt.Errorf("reading the shop: %w", err)
	}
	shop := snap.Shop
	shop.Name, shop.TimeZone = "Ninth Plank", demoZone
	shop.Units, shop.Fraction = wood.Inches, 16
	shop.TemperatureC, shop.HumidityPct = 20, 45
	if err := store.SaveShop(ctx, shop); err != nil {
		return fmt.Errorf("naming the shop: %w", err)
	}
	if err := store.SaveHours(ctx, usualWeek()); err != nil {
		return fmt.Errorf("entering the hours: %w", err)
	}
	if err := addMaterials(ctx, store, snap); err != nil {
		return err
	}
	return addPlacesAndPeople(ctx, store, start)
}

func addPlacesAndPeople(ctx context.Context, store *models.Store, start time.Time) error {
	people := map[string]models.ID{}
	for _, name := range []string{demoMaren, demoTobias} {
		p, err := store.SavePerson(ctx, models.Person{Name: name, Active: true})
		if err != nil {
			return fmt.Errorf("entering %s: %w", name, err)
		}
		people[name] = p.ID
	}
	tobias := people[demoTobias]
	away := models.DayOff{Date: workdays(start, 4).Format(time.DateOnly), PersonID: &tobias, Reason: "At the timber yard"}
	if _, err := store.SaveDayOff(ctx, away); err != nil {
		return fmt.Errorf("entering %s's day off: %w", demoTobias, err)
	}
	for _, c := range demoClamps() {
		if _, err := store.SaveClampClass(ctx, c); err != nil {
			return fmt.Errorf("entering the clamps %s: %w", c.Key, err)
		}
	}
	zones := map[string]*models.ID{}
	for _, z := range []models.Zone{{Key: "machine-room", Name: "Machine room"}, {Key: "bench-room", Name: "Sanding bench and finish corner"}} {
		saved, err := store.SaveZone(ctx, z)
		if err != nil {
			return fmt.Errorf("entering the zone %s: %w", z.Key, err)
		}
		zones[z.Key] = &saved.ID
	}
	for _, st := range demoStations() {
		st.ZoneID = zones[st.zone]
		if _, err := store.SaveStation(ctx, st.Station); err != nil {
			return fmt.Errorf("entering the station %s: %w", st.Key, err)
		}
	}
	return nil
}
