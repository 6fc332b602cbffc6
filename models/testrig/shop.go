package testrig

import (
	"context"
	"path/filepath"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/wood"

	"github.com/stretchr/testify/require"
)

// Zone is the time zone of Shop.
const Zone = "Europe/Zurich"

// Open opens an empty store in a folder of the test, which ends with it.
func Open(t testing.TB, clock *Clock) *models.Store {
	t.Helper()
	store, err := models.OpenStore(context.Background(), filepath.Join(t.TempDir(), "shop.db"), clock.Now)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, store.Close()) })
	return store
}

// Shop opens a store with an invented shop: two people (Ana and Ben), the
// hours of a working week, a station of each usual kind, three clamp classes,
// two zones, glues and finishes. Records get their numbers in the order in
// which they stand here.
func Shop(t testing.TB, clock *Clock) *models.Store {
	t.Helper()
	store := Open(t, clock)
	ctx := context.Background()
	require.NoError(t, store.SaveShop(ctx, models.Shop{
		Name: "Quince Lane Workshop", TimeZone: Zone, Units: "mm", Fraction: 16, TemperatureC: 20, HumidityPct: 45, Language: "en",
	}))
	require.NoError(t, store.SaveHours(ctx, Week()))
	for _, name := range []string{"Ana", "Ben"} {
		_, err := store.SavePerson(ctx, models.Person{Name: name, Active: true})
		require.NoError(t, err)
	}
	saveStations(t, store)
	for _, c := range []models.ClampClass{
		{Key: "bar-600", Name: "600 mm bar clamps", Reach: 600 * wood.Millimetre, Count: 10},
		{Key: "bar-1200", Name: "1200 mm bar clamps", Reach: 1200 * wood.Millimetre, Count: 6},
		{Key: "f-300", Name: "300 mm F-clamps", Reach: 300 * wood.Millimetre, Count: 16},
	} {
		_, err := store.SaveClampClass(ctx, c)
		require.NoError(t, err)
	}
	saveMaterials(t, store)
	return store
}

// Week is Monday to Friday, 8:00–12:00 and 12:30–17:00.
func Week() []models.Hours {
	var week []models.Hours
	for day := time.Monday; day <= time.Friday; day++ {
		week = append(week,
			models.Hours{Weekday: day, Opens: 8 * 60, Closes: 12 * 60},
			models.Hours{Weekday: day, Opens: 12*60 + 30, Closes: 17 * 60})
	}
	return week
}

// saveStations adds two zones and a station of each kind; its key is its kind.
func saveStations(t testing.TB, store *models.Store) {
	t.Helper()
	ctx := context.Background()
	machines, err := store.SaveZone(ctx, models.Zone{Key: "machine-room", Name: "Machine room"})
	require.NoError(t, err)
	wet, err := store.SaveZone(ctx, models.Zone{Key: "finish-room", Name: "Finish room"})
	require.NoError(t, err)
	const guard = "Guards on and dust drawn off; see the machine's manual."
	mm := wood.Millimetre
	for _, s := range []models.Station{
		{Kind: "jointer", Name: "Jointer", Places: 1, MaxWidth: 400 * mm, MinLength: 300 * mm, SetupMinutes: 5, ResetMinutes: 2, ZoneID: &machines.ID, Caution: guard},
		{Kind: "planer", Name: "Planer", Places: 1, MaxWidth: 400 * mm, MaxThickness: 220 * mm, MinLength: 200 * mm, SetupMinutes: 8, ResetMinutes: 3, ZoneID: &machines.ID, Caution: guard},
		{Kind: "table-saw", Name: "Table saw", Places: 1, MaxWidth: 800 * mm, MaxThickness: 80 * mm, SetupMinutes: 10, ResetMinutes: 4, ZoneID: &machines.ID, Caution: guard},
		{Kind: "band-saw", Name: "Band saw", Places: 1, MaxWidth: 450 * mm, MaxThickness: 300 * mm, SetupMinutes: 8, ResetMinutes: 3, ZoneID: &machines.ID, Caution: guard},
		{Kind: "mitre-station", Name: "Mitre saw", Places: 1, MaxWidth: 310 * mm, MaxThickness: 90 * mm, SetupMinutes: 3, ResetMinutes: 2, ZoneID: &machines.ID, Caution: guard},
		{Kind: "drum-sander", Name: "Drum sander", Places: 1, MaxWidth: 560 * mm, MaxThickness: 100 * mm, MinLength: 60 * mm, OpenEnded: true, SetupMinutes: 10, ResetMinutes: 2, ZoneID: &machines.ID, Caution: guard},
		{Kind: "router-table", Name: "Router table", Places: 1, SetupMinutes: 12, ResetMinutes: 5, ZoneID: &machines.ID, Caution: guard},
		{Kind: "drill-press", Name: "Drill press", Places: 1, SetupMinutes: 5, ResetMinutes: 2, ZoneID: &machines.ID, Caution: guard},
		{Kind: "bench", Name: "Benches", Places: 3},
		{Kind: "sanding-bench", Name: "Sanding bench", Places: 1, SetupMinutes: 2, ResetMinutes: 1, ZoneID: &machines.ID, Caution: "Wear a mask; dust drawn off."},
		{Kind: "finish-room", Name: "Finish room", Places: 4, ZoneID: &wet.ID, Caution: "Oily rags flat to dry, outdoors, or under water in a closed metal bin."},
	} {
		s.Key = s.Kind
		_, err := store.SaveStation(ctx, s)
		require.NoError(t, err)
	}
}

// saveMaterials adds glues and finishes. The times are only of the right order
// of magnitude (common practice, no source): tests hang on them, no shop does.
func saveMaterials(t testing.TB, store *models.Store) {
	t.Helper()
	ctx := context.Background()
	const skin = "Gloves on; see the maker's sheet."
	for _, g := range []models.Glue{
		{Key: "pva", Name: "PVA glue", OpenMin: 8, ClampMin: 45, CureMin: 1440, LeastTempC: 10},
		{Key: "pva-slow", Name: "Slow PVA glue", OpenMin: 20, ClampMin: 90, CureMin: 1440, LeastTempC: 10},
		{Key: "polyurethane", Name: "Polyurethane glue", OpenMin: 20, ClampMin: 180, CureMin: 1440, LeastTempC: 10, Caution: skin},
		{Key: "epoxy", Name: "Epoxy", OpenMin: 30, ClampMin: 480, CureMin: 1440, LeastTempC: 10, Caution: skin},
		{Key: "hide", Name: "Liquid hide glue", OpenMin: 10, ClampMin: 480, CureMin: 1440, LeastTempC: 10},
	} {
		_, err := store.SaveGlue(ctx, g)
		require.NoError(t, err)
	}
	const rags = "Rags can catch fire by themselves: dry them flat, or under water in a closed metal bin."
	for _, f := range []models.Finish{
		{Key: "penetrating-oil", Name: "Penetrating oil", DryMin: 720, RecoatLeastMin: 720, RecoatGreatestMin: 4320, CureMin: 20160, LeastTempC: 10, Caution: rags},
		{Key: "wiping-varnish", Name: "Wiping varnish", DryMin: 360, RecoatLeastMin: 360, RecoatGreatestMin: 1440, CureMin: 20160, LeastTempC: 13, Caution: rags},
		{Key: "waterborne", Name: "Waterborne clear coat", DryMin: 60, RecoatLeastMin: 120, CureMin: 10080, LeastTempC: 15},
		{Key: "shellac", Name: "Shellac", DryMin: 30, RecoatLeastMin: 60, CureMin: 1440, LeastTempC: 15, Caution: "Alcohol burns: air the room, no flame."},
	} {
		_, err := store.SaveFinish(ctx, f)
		require.NoError(t, err)
	}
}

// Snapshot reads the store and must succeed.
func Snapshot(t testing.TB, store *models.Store) *models.Snapshot {
	t.Helper()
	snap, err := store.Snapshot(context.Background())
	require.NoError(t, err)
	return snap
}

// Station returns the station with that key.
func Station(t testing.TB, snap *models.Snapshot, key string) *models.Station {
	t.Helper()
	for i := range snap.Stations {
		if snap.Stations[i].Key == key {
			return &snap.Stations[i]
		}
	}
	require.Failf(t, "no such station", "%q", key)
	return nil
}

// Down puts the station with that key out of order.
func Down(t testing.TB, store *models.Store, key string) {
	t.Helper()
	snap := Snapshot(t, store)
	_, err := store.Tap(context.Background(), models.TapRequest{ID: "down-" + key, Kind: models.TapDown,
		StationID: Station(t, snap, key).ID, PersonID: snap.People[0].ID, Note: "Blade dull"})
	require.NoError(t, err)
}

// Step returns the first step with that key.
func Step(t testing.TB, snap *models.Snapshot, key string) *models.Step {
	t.Helper()
	for i := range snap.Steps {
		if snap.Steps[i].Key == key {
			return &snap.Steps[i]
		}
	}
	require.Failf(t, "no such step", "%q", key)
	return nil
}

// Person returns the number of the person with that name.
func Person(t testing.TB, snap *models.Snapshot, name string) models.ID {
	t.Helper()
	for _, p := range snap.People {
		if p.Name == name {
			return p.ID
		}
	}
	require.Failf(t, "no such person", "%q", name)
	return 0
}
