package handlers

import (
	"net/url"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"faceside/models"
	"faceside/models/wood"
	"faceside/views/tongues"
)

// speaker says messages of the catalogue in a language.
func speaker(t testing.TB, code string) *tongues.Speaker {
	t.Helper()
	catalogue, err := tongues.Load()
	require.NoError(t, err)
	return catalogue.In(code)
}

func TestTimesAreSaidInTheShopsLanguage(t *testing.T) {
	now := time.Date(2026, 3, 28, 10, 30, 0, 0, time.UTC)
	w, err := wordsOf(models.Shop{TimeZone: "Europe/Zurich"}, now, speaker(t, "de"))
	require.NoError(t, err)
	for want, at := range map[string]time.Time{
		"11:30": now, "morgen 11:30": now.AddDate(0, 0, 1).Add(-time.Hour), "gestern 11:30": now.AddDate(0, 0, -1),
		"Mi 10:05": time.Date(2026, 4, 1, 8, 5, 0, 0, time.UTC), "So 5. Apr. 10:05": time.Date(2026, 4, 5, 8, 5, 0, 0, time.UTC),
	} {
		assert.Equal(t, want, w.at(at))
	}
	assert.Equal(t, "Mo 4. Jan. 2027", w.date("2027-01-04"))
	assert.Equal(t, "2 Tage 12\u00a0h", w.clockSpan(3600))
}

func TestTimesAreSaidInTheShopsZone(t *testing.T) {
	// 2026-03-28 23:30 UTC is 0:30 on Sunday the 29th in Zurich, the day the
	// clocks go forward.
	now := time.Date(2026, 3, 28, 23, 30, 0, 0, time.UTC)
	w, err := wordsOf(models.Shop{TimeZone: "Europe/Zurich"}, now, speaker(t, "en"))
	require.NoError(t, err)
	for want, at := range map[string]time.Time{
		"0:30":             now,
		"3:15":             now.Add(105 * time.Minute),
		"tomorrow 8:00":    time.Date(2026, 3, 30, 6, 0, 0, 0, time.UTC),
		"tomorrow 0:00":    time.Date(2026, 3, 29, 22, 0, 0, 0, time.UTC),
		"yesterday 23:59":  now.Add(-31 * time.Minute),
		"yesterday 0:00":   time.Date(2026, 3, 27, 23, 0, 0, 0, time.UTC),
		"Wed 8:05":         time.Date(2026, 4, 1, 6, 5, 0, 0, time.UTC),
		"Sat 23:00":        time.Date(2026, 4, 4, 21, 0, 0, 0, time.UTC),
		"Sun 5 Apr 0:00":   time.Date(2026, 4, 4, 22, 0, 0, 0, time.UTC),
		"Thu 26 Mar 17:00": time.Date(2026, 3, 26, 16, 0, 0, 0, time.UTC),
	} {
		assert.Equal(t, want, w.at(at))
	}
	_, err = wordsOf(models.Shop{TimeZone: "Nowhere/Here"}, now, speaker(t, "en"))
	assert.ErrorContains(t, err, "Nowhere/Here")
}

func TestDatesAreSaidWithTheYearWhereItIsAnother(t *testing.T) {
	w := words{now: time.Date(2026, 12, 1, 0, 0, 0, 0, time.UTC), speaker: speaker(t, "en")}
	assert.Equal(t, "Wed 23 Dec", w.date("2026-12-23"))
	assert.Equal(t, "Mon 4 Jan 2027", w.date("2027-01-04"))
	assert.Equal(t, "soon", w.date("soon"))
}

func TestSpans(t *testing.T) {
	w := words{speaker: speaker(t, "en")}
	for minutes, want := range map[int]string{0: "0\u00a0min", 25: "25\u00a0min", 60: "1\u00a0h", 250: "4\u00a0h\u00a010", 605: "10\u00a0h\u00a005", 3120: "52\u00a0h"} {
		assert.Equal(t, want, span(minutes))
	}
	for minutes, want := range map[int]string{45: "45\u00a0min", 1440: "24\u00a0h", 2880: "2 days", 3600: "2 days 12\u00a0h", 10080: "7 days"} {
		assert.Equal(t, want, w.clockSpan(minutes))
	}
}

func TestSizes(t *testing.T) {
	mm := words{shop: models.Shop{Units: wood.Millimetres}}
	assert.Equal(t, "1170 × 60 × 45 mm", mm.size(1170*wood.Millimetre, 60*wood.Millimetre, 45*wood.Millimetre))
	inch := words{shop: models.Shop{Units: wood.Inches, Fraction: 16}}
	assert.Equal(t, `46" × 2 1/4" × 3/4"`, inch.size(46*wood.Inch, 9*wood.Inch/4, 3*wood.Inch/4))
}

// A key is always one that the store takes, and never one that is there.
func TestKeysAreTheStoresOwn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		there := map[string]bool{}
		for _, name := range rapid.SliceOfN(rapid.StringN(0, 20, 80), 1, 12).Draw(t, "names") {
			k := key(name, "station", func(k string) bool { return there[k] })
			assert.Regexp(t, `^[a-z0-9]+(-[a-z0-9]+)*$`, k)
			assert.False(t, there[k])
			there[k] = true
		}
	})
	assert.Equal(t, "bar-clamp-24-in", key("Bar clamp, 24 in", "clamps", func(string) bool { return false }))
}

func TestNumbersHaveTheDecimalSignOfTheLanguage(t *testing.T) {
	for language, want := range map[string]string{"en": "379 × 110.5 × 12 mm", "de": "379 × 110,5 × 12 mm"} {
		w, err := wordsOf(models.Shop{TimeZone: "UTC", Units: wood.Millimetres}, time.Time{}, speaker(t, language))
		require.NoError(t, err)
		assert.Equal(t, want, w.size(379*wood.Millimetre, 1105*wood.Millimetre/10, 12*wood.Millimetre))
		in := newReader(url.Values{"l": {w.length(1105 * wood.Millimetre / 10)}}, w)
		assert.Equal(t, 1105*wood.Millimetre/10, in.length("l", 0), "what is said can be typed")
		assert.NoError(t, in.err())
	}
}
