package handlers

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
	"faceside/models/wood"
	"faceside/seed"
)

// newShop serves a shop that was just fitted out.
func newShop(t *testing.T) *rig {
	t.Helper()
	store := testrig.Open(t, testrig.Monday())
	require.NoError(t, seed.FitOut(context.Background(), store, testrig.Zone))
	r := newRig(t, func(cfg *Config) {
		stopping := cfg.Stopping
		*cfg = config(t, store)
		cfg.Stopping = stopping
	})
	r.store, r.planner = store, r.cfg.Planner
	return r
}

func TestANewShopIsAskedForItsLanguageAndUnits(t *testing.T) {
	r := newShop(t)
	tab := r.browser()
	p := tab.get("/")
	assert.Contains(t, p.text("main"), "Language and units · Sprache und Einheiten")
	assert.Contains(t, readable(p.doc.Find(`button[aria-pressed="true"]`)), "✓ English")
	p = tab.press(p, "Deutsch · Millimeter")
	assert.Equal(t, "/", p.path)
	assert.Equal(t, "de", p.doc.Find("html").AttrOr("lang", ""))
	assert.Contains(t, p.text("main"), "Eine neue Werkstatt")
	assert.Equal(t, "✓ Deutsch · Millimeter", readable(p.doc.Find(`button[aria-pressed="true"]`)))
	shop := r.snap().Shop
	assert.Equal(t, "de", shop.Language)
	assert.Equal(t, wood.Millimetres, shop.Units)

	p = tab.post("/shop/language", url.Values{"language": {"fr"}, "units": {"mm"}})
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text("main"), `„Sprache“: "fr" ist keines von`)
	assert.Equal(t, shop, r.snap().Shop, "nothing is saved")

	_, err := r.store.SavePerson(t.Context(), models.Person{Name: "Ana", Active: true})
	require.NoError(t, err)
	assert.Zero(t, tab.get("/").doc.Find(`form[action="/shop/language"]`).Length(), "once somebody works here the Shop screen has it")
}

// What a shop was fitted out with is said in its language, until its owner types another
// name; that one is never changed.
func TestTheFitOutFollowsTheLanguageAndWhatWasTypedStays(t *testing.T) {
	r := newShop(t)
	tab := r.browser()
	speak := func(language string) page {
		return tab.post("/shop/language", url.Values{"language": {language}, "units": {wood.Millimetres}})
	}
	station := func(key string) (string, url.Values) { return stationFields(r, tab.get("/shop"), key) }

	p := speak("de")
	assert.Contains(t, p.text("header"), "Unsere Werkstatt")
	german := tab.get("/shop").text("main")
	assert.Contains(t, german, "Hobelbank in Ordnung")
	assert.NotContains(t, german, "Hobelbank in Ordnung Hobelbank", "a station whose name is its kind says it once")
	de := speaker(t, "de")
	snap := r.snap()
	for _, kept := range append([]string{snap.Stations[0].Name, snap.Stations[1].Name, snap.Zones[0].Name, snap.Glues[0].Name, snap.Finishes[0].Name}, snap.Stations[1].Caution) {
		assert.NotEqual(t, kept, de.Shipped(kept), "has its German")
		assert.NotContains(t, german, kept)
	}
	path, form := station("bench-1")
	assert.Equal(t, "Hobelbank", form.Get("name"))
	form.Set("places", "3")
	require.Equal(t, http.StatusOK, tab.post(path, form).status)
	assert.Equal(t, "Bench", r.snap().Stations[0].Name, "saved without another name it stays the shipped one")
	assert.Equal(t, 3, r.snap().Stations[0].Places)

	speak("en")
	_, form = station("bench-1")
	assert.Equal(t, "Bench", form.Get("name"))
	form.Set("name", "Bench by the window")
	require.Equal(t, http.StatusOK, tab.post(path, form).status)
	speak("de")
	_, form = station("bench-1")
	assert.Equal(t, "Bench by the window", form.Get("name"), "typed: it stays in every language")
	form.Set("name", "Table saw")
	require.Equal(t, http.StatusOK, tab.post(path, form).status)
	assert.Equal(t, "Table saw", r.snap().Stations[0].Name)
}

// What is wrong with what was typed is said in German, with the value as it was typed.
func TestWhatIsWrongIsSaidInGerman(t *testing.T) {
	r := newRig(t)
	r.german()
	tab := r.as("Ana")
	path, planer := stationFields(r, tab.get("/shop"), "planer")
	for typed, says := range map[string]string{
		"leg":       `„leg“ ist keine Länge: eine Zahl fehlt.`,
		"-3":        `„-3“ ist keine Länge: das ist weniger als nichts; ohne Minus schreiben.`,
		"1.200":     `"1.200" kann zweierlei heißen: ohne Punkt oder mit Komma schreiben.`,
		"1.200 mm":  `"1.200 mm" kann zweierlei heißen`,
		"1,2,3":     `„1,2,3“ ist keine Länge: ein Komma zu viel; schreiben wie 45,5.`,
		"2 furlong": `„2 furlong“ ist keine Länge: furlong ist keine bekannte Einheit (mm, cm, m, in, ft).`,
		"101 m":     `„101 m“ ist keine Länge: das ist länger als 100 m.`,
		"1/":        `unter dem Bruchstrich fehlt die Zahl.`,
		"3 €":       `das Zeichen '€' gehört nicht hinein.`,
	} {
		planer.Set("greatest_width", typed)
		p := tab.post(path, planer)
		assert.Equal(t, http.StatusUnprocessableEntity, p.status, typed)
		assert.Contains(t, p.text(`#stations [data-said="greatest_width"] .wrong-why`), says, typed)
	}
	for typed, want := range map[string]wood.Length{"400,125 mm": 400_125_000, "1200": 1200 * wood.Millimetre, "0.125 m": 125 * wood.Millimetre, "12,5cm": 125 * wood.Millimetre} {
		planer.Set("greatest_width", typed)
		require.Equal(t, http.StatusOK, tab.post(path, planer).status, typed)
		assert.Equal(t, want, testrig.Station(t, r.snap(), "planer").MaxWidth, typed)
	}

	draft := fieldsOf(tab.get("/commissions/new/stool").doc.Find("main form"), nil)
	for field, all := range map[string]map[string]string{
		"measure.height": {"1 mm": "1 mm liegt nicht zwischen", "leg": "„leg“ ist keine Länge: eine Zahl fehlt", "1.200": "kann zweierlei heißen"},
	} {
		for typed, says := range all {
			require.Contains(t, draft, field)
			sent := url.Values{}
			for k, v := range draft {
				sent[k] = v
			}
			sent.Set(field, typed)
			p := tab.post("/commissions/new/stool/preview", sent)
			assert.Contains(t, p.text("main"), says, "%s %s", field, typed)
			assert.NotContains(t, strings.ToLower(p.text("main")), "must lie")
		}
	}
}

// The numbers of records are written as they stand in an address.
func TestNumbersOfRecordsAreWrittenWithoutSeparators(t *testing.T) {
	r := newRig(t)
	r.german()
	tab := r.browser()
	for path, says := range map[string]string{"/stock/boards/1234567": "Die Nummer 1234567 gibt es nicht", "/stations/12345": "keinen Platz mit der Nummer 12345"} {
		assert.Contains(t, tab.get(path).text("main"), says)
	}
}
